"""What the page says of every joint: one row each, for the list, the tags and the figures."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from lasernest.domain.joints import Joint, JointKind
from lasernest.gui.joining.pair_names import pair_names
from lasernest.gui.lengths import lengths
from lasernest.gui.words import count_of, tr
from lasernest.job import Job

if TYPE_CHECKING:
    from lasernest.joints.joined import Joined
    from lasernest.joints.laid import LaidJoint
    from lasernest.services.tuning import Forecast

KIND_NAMES = {
    JointKind.FINGER: "finger joint",
    JointKind.SLOT: "tabs in slots",
    JointKind.NUT: "tabs, bolts and nuts",
    JointKind.LAP: "half-lap",
}


@dataclass(frozen=True, slots=True)
class JointRow:
    """One joint of the job."""

    index: int
    joint: Joint
    laid: LaidJoint | None
    """None while it is worked out, or when it cannot be made."""
    waiting: bool
    forecast: Forecast | None = None

    @property
    def panels(self) -> tuple[str, str]:
        return self.joint.a.panel, self.joint.b.panel

    @property
    def names(self) -> str:
        return pair_names(*self.panels)

    @property
    def figures(self) -> str:
        """Fingers, width and interference, in short."""
        laid = self.laid
        if laid is None:
            return tr("being worked out…") if self.waiting else tr("cannot be made; see below")
        tight = signed(laid.interference_mm)
        if laid.kind is JointKind.LAP:
            return tr(
                "half-lap, {width} wide · {tight}", width=lengths.text(laid.width_mm), tight=tight
            )
        one, many = ("finger", "fingers") if laid.kind is JointKind.FINGER else ("tab", "tabs")
        return tr(
            "{count} of {width} · {tight}",
            count=count_of(laid.fingers, one, many),
            width=lengths.text(laid.width_mm),
            tight=tight,
        )

    @property
    def tip(self) -> str:
        """All figures in a sentence."""
        kind = tr(KIND_NAMES[self.joint.kind])
        laid = self.laid
        if laid is None:
            return f"{self.names}, {kind}, {self.figures}"
        text = tr(
            "{names}, {kind}: {figures}, {depth} deep",
            names=self.names,
            kind=kind,
            figures=self.figures.replace(" · ", ", "),
            depth=lengths.text(laid.depth_mm),
        )
        if laid.angle_deg != 90.0:
            text += tr(", {angle}° inside", angle=f"{laid.angle_deg:.1f}".rstrip("0").rstrip("."))
        return text


def signed(interference_mm: float, decimals: int = 2) -> str:
    """Interference with its sign: tight is positive."""
    number = lengths.text(abs(interference_mm), decimals)
    rounded = round(interference_mm, decimals + 1)
    return ("+" if rounded > 0 else "−" if rounded < 0 else "") + number


def plus_minus(interference_mm: float, spread_mm: float) -> str:
    """Interference with how far it may be off, such as `+0.05 ± 0.04 mm`."""
    number = lengths.number(abs(interference_mm))
    if not number.strip("0.,"):
        return f"{number} ± {lengths.text(spread_mm)}"
    sign = "+" if interference_mm > 0 else "−"
    return f"{sign}{number} ± {lengths.text(spread_mm)}"


def joint_rows(
    job: Job, joined: Joined | None, forecasts: Mapping[Joint, Forecast]
) -> tuple[JointRow, ...]:
    """A row for every joint of the job, in its order."""
    laid_of = {laid.joint: laid for laid in joined.joints} if joined is not None else {}
    return tuple(
        JointRow(
            i,
            joint,
            laid_of.get(joint),
            joined is None,
            forecasts.get(joint),
        )
        for i, joint in enumerate(job.joints)
    )
