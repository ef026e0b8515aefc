"""Metric hardware for bolted joints: nuts, clearance holes, screws. Sizes in mm.

Sources: nuts ISO 4032 style 1; clearance holes ISO 273; cap heads ISO 4762
(plain head); pan heads ISO 7045; lengths ISO 888. Figures as reproduced on
trade pages and checked against each other; confirm in the standard itself
before claiming conformity.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from lasernest.joints.edges import JointError

SCREW_LENGTHS_MM = (5, 6, 8, 10, 12, 16, 20, 25, 30, 35, 40, 45, 50)


class HoleFit(Enum):
    """Series of clearance holes in ISO 273."""

    FINE = "fine"
    MEDIUM = "medium"
    COARSE = "coarse"


@dataclass(frozen=True, slots=True)
class Hardware:
    """One thread size: its nut, its holes, its screw heads."""

    name: str
    pitch_mm: float
    nut_across_flats_max_mm: float
    nut_across_flats_min_mm: float
    nut_across_corners_min_mm: float
    nut_height_max_mm: float
    nut_height_min_mm: float
    hole_fine_mm: float
    hole_medium_mm: float
    hole_coarse_mm: float
    cap_head_mm: float
    cap_head_height_mm: float
    key_mm: float
    pan_head_mm: float
    pan_head_height_mm: float

    def hole_mm(self, fit: HoleFit) -> float:
        """Diameter of the clearance hole."""
        return {
            HoleFit.FINE: self.hole_fine_mm,
            HoleFit.MEDIUM: self.hole_medium_mm,
            HoleFit.COARSE: self.hole_coarse_mm,
        }[fit]


# fmt: off
_ROWS = (
    # name   P     s max  s min  e min  m max m min  fine med. coarse  dk    k    key  pan dk  pan k
    ("M2",   0.4,  4.00,  3.82,  4.32,  1.60, 1.35,  2.2, 2.4, 2.6,   3.8,  2.0, 1.5,  4.0,   1.6),
    ("M2.5", 0.45, 5.00,  4.82,  5.45,  2.00, 1.75,  2.7, 2.9, 3.1,   4.5,  2.5, 2.0,  5.0,   2.1),
    ("M3",   0.5,  5.50,  5.32,  6.01,  2.40, 2.15,  3.2, 3.4, 3.6,   5.5,  3.0, 2.5,  5.6,   2.4),
    ("M4",   0.7,  7.00,  6.78,  7.66,  3.20, 2.90,  4.3, 4.5, 4.8,   7.0,  4.0, 3.0,  8.0,   3.1),
    ("M5",   0.8,  8.00,  7.78,  8.79,  4.70, 4.40,  5.3, 5.5, 5.8,   8.5,  5.0, 4.0,  9.5,   3.7),
    ("M6",   1.0,  10.00, 9.78,  11.05, 5.20, 4.90,  6.4, 6.6, 7.0,   10.0, 6.0, 5.0,  12.0,  4.6),
)
# fmt: on
HARDWARE: dict[str, Hardware] = {row[0]: Hardware(*row) for row in _ROWS}


def hardware(name: str) -> Hardware:
    """The sizes of a thread such as `M3`.

    Raises:
        JointError: not one of the sizes known here.
    """
    found = HARDWARE.get(name.strip().upper())
    if found is None:
        raise JointError(
            f"no nut and bolt {name} is known here",
            todo=f"Use one of {', '.join(HARDWARE)}.",
        )
    return found


def next_screw_length_mm(least_mm: float) -> int:
    """The shortest screw of the length series that is long enough.

    Raises:
        JointError: longer than the series goes.
    """
    for length_mm in SCREW_LENGTHS_MM:
        if length_mm >= least_mm - 1e-9:
            return length_mm
    raise JointError(
        f"a bolt of {least_mm:.1f} mm is longer than the usual lengths",
        todo=f"Lengths go up to {SCREW_LENGTHS_MM[-1]} mm: set the nut nearer to the joint.",
    )
