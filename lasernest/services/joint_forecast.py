"""What to expect of a job's joints before they are cut: how tight, and how surely."""

from __future__ import annotations

from collections.abc import Mapping

from lasernest.domain.joints import Joint, JointKind
from lasernest.domain.readings import Rung
from lasernest.job import Job
from lasernest.joints.hardware import hardware
from lasernest.joints.joined import Joined
from lasernest.joints.laid import LaidJoint
from lasernest.joints.nut import nut_pocket
from lasernest.services.tuning import Forecast, Tuning, forecast


def forecast_joints(
    job: Job, joined: Joined, tunings: Mapping[str, Tuning]
) -> dict[Joint, Forecast]:
    """By joint, what the kerf and fit of its stock promise.

    Args:
        job: whose fit is wished for.
        joined: its joints worked out.
        tunings: by stock name; joints of other stocks are left out.
    """
    own = job.setup.stock.name if job.setup.stock is not None else ""
    stock_of = {panel.name: panel.stock_name or own for panel in job.panels}
    found = {}
    for laid in joined.joints:
        a, b = stock_of[laid.joint.a.panel], stock_of[laid.joint.b.panel]
        if a in tunings and b in tunings:
            found[laid.joint] = forecast(
                tunings[a],
                laid.interference_mm,
                job.joint_rules.fit,
                rung=Rung.GAP if laid.kind is JointKind.FINGER else Rung.SLOT,
                mate=tunings[b] if a != b else None,
            )
    return found


def screw_words(laid: LaidJoint) -> str:
    """The screws a bolted joint takes, such as `M3 × 16`.

    Raises:
        JointError: no screw is long enough.
    """
    size = hardware(laid.joint.screw)
    pocket = nut_pocket(size, through_mm=laid.b.thickness_mm)
    return f"{size.name} × {pocket.screw_length_mm:g}"
