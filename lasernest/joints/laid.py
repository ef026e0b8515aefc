"""Joints as worked out: the numbers of one joint in the drawings of both panels.

These are what the table of joints, the assembly and the proof read; they are
made anew from the job's `Joint` whenever anything changes, and never stored.
"""

from __future__ import annotations

from dataclasses import dataclass

from lasernest.domain.contours import Point
from lasernest.domain.joints import Joint, JointKind
from lasernest.joints.edges import StraightEdge
from lasernest.joints.meeting import Levels


@dataclass(frozen=True, slots=True)
class Gauge:
    """Where to measure one finger, gap or slot in the drawing of its panel."""

    panel: str
    middle: Point
    along: Point
    """Unit direction in which the width is measured."""
    width_mm: float
    """Finished width that is wanted."""


@dataclass(frozen=True, slots=True)
class MatingPair:
    """A finger and the gap it goes into; for slots the tongue is the sheet itself."""

    gap: Gauge
    finger: Gauge | None
    tongue_mm: float = 0.0
    """Measured thickness that fills the slot, where there is no finger."""


@dataclass(frozen=True, slots=True)
class LaidLine:
    """The line of one panel along which a joint lies, and where the joint sits on it."""

    edge: StraightEdge
    """The edge, or for a line on a face the line as if it were an edge."""
    thickness_mm: float
    levels: Levels | None
    """None for a line on a face."""


@dataclass(frozen=True, slots=True)
class LaidJoint:
    """One joint with all its sizes."""

    joint: Joint
    a: LaidLine
    b: LaidLine
    fingers: int
    """Fingers and gaps along a finger joint, tabs of a slot joint, 1 for a lap."""
    width_mm: float
    """Nominal width of a finger, length of a tab, width of the slot of a lap."""
    depth_mm: float
    interference_mm: float
    angle_deg: float
    same_way: bool
    """True when the lines of a and b run the same way once joined."""
    span_mm: tuple[float, float]
    """Stations on the line of a between which the joint lies."""
    pairs: tuple[MatingPair, ...] = ()
    first: str = ""
    """Panel that keeps the corners: it has a finger at both ends."""
    bite_mm: float = 0.0
    """How much of a wall or root the largest relief takes."""

    @property
    def kind(self) -> JointKind:
        return self.joint.kind

    @property
    def name(self) -> str:
        return f"{self.joint.a.panel} = {self.joint.b.panel}"

    def b_station_mm(self, a_station_mm: float) -> float:
        """The station on the line of b that meets a station on the line of a."""
        from_middle_mm = a_station_mm - 0.5 * self.a.edge.length_mm - self.joint.shift_mm
        sign = 1.0 if self.same_way else -1.0
        return 0.5 * self.b.edge.length_mm + sign * from_middle_mm
