"""How two plates meet in cross-section: where tips and roots of fingers lie.

Look along the common edge. The outer faces of both panels meet in the point O
under the angle t inside the case. From O a panel reaches inward along its own
face; u is the distance from O along it, v the depth under its outer face (0 to
its thickness). Laser-cut edges are square to the face, so a finger ends at one
u for all v. With Ta and Tb the thicknesses of panel and mate:

* the mate's body covers the panel where  u sin t - v cos t < Tb;  a gap clears
  it for all v when it reaches back to      root = Tb / sin t + max(0, Ta cot t);
* the tip must not poke out of the mate's outer face:  tip = max(0, Ta cot t);
* inner faces meet at                       u = (Tb + Ta cos t) / sin t.

At 90 degrees: root Tb, tip 0, inner faces at Tb. Derived here by plane
trigonometry; no outside source.
"""

from __future__ import annotations

from dataclasses import dataclass

from lasernest.domain.contours import exact_cos_sin
from lasernest.domain.joints import EdgeMeaning
from lasernest.errors import Where
from lasernest.joints.edges import JointError

LEAST_FINGER_ANGLE_DEG = 45.0
MOST_FINGER_ANGLE_DEG = 150.0
LEAST_SLOT_ANGLE_DEG = 45.0
MOST_SLOT_ANGLE_DEG = 135.0


@dataclass(frozen=True, slots=True)
class Levels:
    """Tip of the fingers and root of the gaps, outward from the drawn edge in mm."""

    tip_mm: float
    root_mm: float
    outer_faces_mm: float
    """Where the outer faces of both panels meet (for a slot: outer face of the mate)."""

    @property
    def depth_mm(self) -> float:
        return self.tip_mm - self.root_mm

    @property
    def middle_mm(self) -> float:
        return 0.5 * (self.tip_mm + self.root_mm)


def finger_levels(
    own_mm: float,
    mate_mm: float,
    *,
    angle_deg: float,
    meaning: EdgeMeaning,
    flush_mm: float,
    where: Where,
) -> Levels:
    """Levels of one panel of a finger joint.

    Args:
        own_mm: measured thickness of this panel.
        mate_mm: measured thickness of its mate.
        angle_deg: between the two panels, inside the case.
        meaning: what the drawn edge stands for.
        flush_mm: how far fingers stand proud.
        where: the place, for the error.

    Raises:
        JointError: the panels meet at too sharp or too flat an angle.
    """
    _check_angle(angle_deg, LEAST_FINGER_ANGLE_DEG, MOST_FINGER_ANGLE_DEG, "fingers", where)
    cos, sin = exact_cos_sin(angle_deg)
    lean_mm = max(0.0, own_mm * cos / sin)
    inner_mm = (mate_mm + own_mm * cos) / sin
    drawn_mm = {
        EdgeMeaning.OUTSIDE: 0.0,
        EdgeMeaning.CENTRE: 0.5 * inner_mm,
        EdgeMeaning.INSIDE: inner_mm,
    }[meaning]
    return Levels(
        tip_mm=drawn_mm - lean_mm + flush_mm,
        root_mm=drawn_mm - lean_mm - mate_mm / sin,
        outer_faces_mm=drawn_mm,
    )


def tab_levels(
    own_mm: float,
    mate_mm: float,
    *,
    angle_deg: float,
    meaning: EdgeMeaning,
    flush_mm: float,
    where: Where,
) -> Levels:
    """Levels of the tabs of a panel that stands on the face of its mate.

    The drawn edge is where the panel's middle meets the outer face, the inner
    face or the middle of the mate.

    Raises:
        JointError: the panel leans too much.
    """
    _check_angle(angle_deg, LEAST_SLOT_ANGLE_DEG, MOST_SLOT_ANGLE_DEG, "tabs", where)
    cos, sin = exact_cos_sin(angle_deg)
    through_mm = mate_mm / sin
    lean_mm = 0.5 * own_mm * abs(cos) / sin
    drawn_mm = {
        EdgeMeaning.OUTSIDE: 0.0,
        EdgeMeaning.CENTRE: 0.5 * through_mm,
        EdgeMeaning.INSIDE: through_mm,
    }[meaning]
    return Levels(
        tip_mm=drawn_mm - lean_mm + flush_mm,
        root_mm=drawn_mm - lean_mm - through_mm,
        outer_faces_mm=drawn_mm,
    )


def crossing_width_mm(own_mm: float, mate_mm: float, angle_deg: float) -> float:
    """Width that a mate takes up in a panel which it passes through at an angle.

    Args:
        own_mm: thickness of the panel that has the slot.
        mate_mm: thickness of the panel that passes through.
        angle_deg: between the two.
    """
    cos, sin = exact_cos_sin(angle_deg)
    return (mate_mm + own_mm * abs(cos)) / sin


def _check_angle(
    angle_deg: float, least_deg: float, most_deg: float, what: str, where: Where
) -> None:
    if not least_deg <= angle_deg <= most_deg:
        raise JointError(
            f"panels that meet at {angle_deg:.1f} degrees cannot be held by {what}",
            where=where,
            todo=f"Square-cut {what} hold from {least_deg:g} to {most_deg:g} degrees: change the "
            "angle, or leave this joint out and glue it over a strip.",
        )
