"""What to expect of a job's joints before they are cut: how tight, and how surely."""

from __future__ import annotations

from lasernest.domain.joints import Joint, JointKind
from lasernest.domain.readings import Rung
from lasernest.job import Job
from lasernest.joints.hardware import hardware
from lasernest.joints.joined import Joined
from lasernest.joints.laid import LaidJoint
from lasernest.joints.nut import nut_pocket
from lasernest.services.tuning import Forecast, Tuning, forecast


def forecast_joints(job: Job, joined: Joined, tuning: Tuning) -> dict[Joint, Forecast]:
    """By joint, what the kerf and fit of the job's stock promise.

    Joints with a panel of another stock are left out: nothing is known of it here.

    Args:
        job: whose fit is wished for.
        joined: its joints worked out.
        tuning: of its stock.
    """
    elsewhere = {name for name, _ in job.joint_rules.other_sheets}
    return {
        laid.joint: forecast(
            tuning,
            laid.interference_mm,
            job.joint_rules.fit,
            rung=Rung.GAP if laid.kind is JointKind.FINGER else Rung.SLOT,
        )
        for laid in joined.joints
        if not {laid.joint.a.panel, laid.joint.b.panel} & elsewhere
    }


def screw_words(laid: LaidJoint) -> str:
    """The screws a bolted joint takes, such as `M3 × 16`.

    Raises:
        JointError: no screw is long enough.
    """
    size = hardware(laid.joint.screw)
    pocket = nut_pocket(size, through_mm=laid.b.thickness_mm)
    return f"{size.name} × {pocket.screw_length_mm:g}"
