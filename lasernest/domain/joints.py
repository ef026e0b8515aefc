"""Joints as the job keeps them: which two lines meet, how, and with what choices.

A `Joint` holds only choices; the shaped contours are worked out from it again
whenever thickness, fit or outline change, so the drawn outline is never lost.

Terms: the *mate* of a panel is the other panel of the joint. *Interference*
is finger (or tab) minus gap (or slot) after cutting; positive is tight.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import Enum

from lasernest.domain.contours import Bounds, Point
from lasernest.domain.stock import Fit, FitTargets
from lasernest.errors import BadValueError, Where


class EdgeMeaning(Enum):
    """What the drawn edge of a panel stands for where it meets its mate."""

    OUTSIDE = "outside"
    """The outer face of the mate: the outer size of the case is as drawn."""
    INSIDE = "inside"
    """The inner face of the mate: the inner size of the case is as drawn."""
    CENTRE = "centre"
    """The middle of the mate's thickness."""


class JointKind(Enum):
    """How two panels hold each other."""

    FINGER = "finger"
    """Fingers and gaps along two edges."""
    SLOT = "slot"
    """Tabs on an edge of the first panel through slots in the face of the second."""
    NUT = "nut"
    """As a slot joint, with bolts through the face into captive nuts in the first panel."""
    LAP = "lap"
    """Two crossing panels, each slotted over half the height."""


@dataclass(frozen=True, slots=True)
class PanelLine:
    """A straight edge of a panel, or a line on its face, in the panel's drawing.

    An edge runs as the anticlockwise outer contour does. The box of the panel
    at the time of choosing lets the edge be found again after a re-import.
    """

    panel: str
    start: Point
    end: Point
    panel_bounds_mm: Bounds
    at_share: float = 0.5
    """Where along the line a LAP joint crosses, from 0 (start) to 1 (end)."""

    def __post_init__(self) -> None:
        if not self.length_mm > 0.0:
            raise BadValueError(
                "a line without length cannot be joined",
                where=Where(panel=self.panel, at_mm=self.start),
                todo="Choose a longer edge, or two points apart from each other.",
            )
        if not 0.0 <= self.at_share <= 1.0:
            raise BadValueError(
                f"a crossing at {self.at_share:g} of the edge lies beside it",
                where=Where(panel=self.panel, at_mm=self.middle),
                todo="Choose a point beside the edge itself.",
            )

    @property
    def length_mm(self) -> float:
        return math.dist(self.start, self.end)

    @property
    def middle(self) -> Point:
        return (0.5 * (self.start[0] + self.end[0]), 0.5 * (self.start[1] + self.end[1]))


@dataclass(frozen=True, slots=True)
class Joint:
    """One joint between a line of panel `a` and a line of panel `b`.

    A value of None lets the program choose by the rules of `lasernest.joints`.
    For SLOT and NUT the line of `b` lies on its face and marks the middle of
    the thickness of `a`. For LAP both lines are edges, and `at_share` says where
    along them the other panel crosses.
    """

    a: PanelLine
    b: PanelLine
    kind: JointKind = JointKind.FINGER
    target_width_mm: float | None = None
    """Wished width of a finger or length of a tab; None: three thicknesses."""
    interference_mm: float | None = None
    """None: that of the job."""
    angle_deg: float | None = None
    """Angle inside the case between the two panels; None: worked out from the
    corners where three panels meet, else 90."""
    flush_mm: float = 0.0
    """How far fingers stand proud of the mate, to be sanded flush."""
    relief_mm: float | None = None
    """Radius of the round relief in inner corners; None: by material, 0: none."""
    chamfer_mm: float = 0.0
    """Lead-in chamfer at the finger tips."""
    shift_mm: float = 0.0
    """How far the middle of the edge of `b` is moved along the edge of `a`."""
    flipped: bool | None = None
    """True when the two panels are drawn from opposite sides; None: worked out."""
    screw: str = "M3"
    bolts: int | None = None
    """Number of bolts of a NUT joint; None: by length."""

    def __post_init__(self) -> None:
        where = Where(panel=self.a.panel, at_mm=self.a.middle)
        if self.a.panel == self.b.panel:
            raise BadValueError(
                f"the panel {self.a.panel} cannot be joined to itself",
                where=where,
                todo="Name two panels; a second copy needs a name of its own.",
            )
        for value in (self.flush_mm, self.chamfer_mm, self.relief_mm or 0.0):
            if not (math.isfinite(value) and 0.0 <= value <= 5.0):
                raise BadValueError(
                    f"an allowance of {value:g} mm cannot be right",
                    where=where,
                    todo="Flush allowance, relief and chamfer are from 0 to 5 mm.",
                )
        if self.interference_mm is not None:
            check_interference(self.interference_mm, where=where)
        if self.target_width_mm is not None and not (
            math.isfinite(self.target_width_mm) and self.target_width_mm > 0
        ):
            raise BadValueError(
                f"a finger width of {self.target_width_mm:g} mm cannot be", where=where
            )
        if self.angle_deg is not None and not 0.0 < self.angle_deg < 180.0:
            raise BadValueError(
                f"two panels cannot meet at {self.angle_deg:g} degrees",
                where=where,
                todo="Give the angle inside the case, between 0 and 180.",
            )
        if self.bolts is not None and self.bolts < 1:
            raise BadValueError(f"{self.bolts} bolts cannot hold a joint", where=where)


@dataclass(frozen=True, slots=True)
class PanelSheet:
    """What a joint needs to know of the sheet a panel is cut from."""

    thickness_mm: float
    """Measured; the nominal one may be off by half a millimetre."""
    material: str = ""
    thickness_u_mm: float | None = None
    """Standard uncertainty; None while nothing was measured."""
    kerf_u_mm: float | None = None
    fits: FitTargets | None = None
    """What combs of this stock told; None: common practice for the material."""

    def __post_init__(self) -> None:
        if not (math.isfinite(self.thickness_mm) and 0.0 < self.thickness_mm <= 50.0):
            raise BadValueError(
                f"a thickness of {self.thickness_mm:g} mm cannot be right",
                todo="Give the measured thickness in mm, between 0 and 50.",
            )


@dataclass(frozen=True, slots=True)
class JointRules:
    """What the job asks of all its joints; asked once per job."""

    meaning: EdgeMeaning = EdgeMeaning.OUTSIDE
    meaning_told: bool = False
    """True once the maker said so; until then it is a starting value and a question."""
    fit: Fit = Fit.PRESS
    interference_mm: float | None = None
    """None: the starting value of the stock's material for the fit."""
    thickness_mm: float | None = None
    """Measured, of all panels cut from the job's own stock; None: that of the stock."""

    def __post_init__(self) -> None:
        if self.interference_mm is not None:
            check_interference(self.interference_mm)


def check_interference(value_mm: float, *, where: Where | None = None) -> None:
    """Refuse an interference that no sheet could take.

    Raises:
        BadValueError: not finite, or beyond 2 mm either way.
    """
    if not (math.isfinite(value_mm) and abs(value_mm) <= 2.0):
        raise BadValueError(
            f"an interference of {value_mm:g} mm cannot be right",
            where=where,
            todo="Interference is finger minus gap, mostly from -0.15 to 0.15 mm.",
        )
