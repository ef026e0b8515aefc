"""Limits and fits of bought round parts: pins, shafts and bearings in cut holes.

This is vocabulary, not a claim: laser-cut wood and acrylic repeat to about
IT11 to IT12, so only the bought part's side of a fit can be taken from here.

Sources: ISO 286-1 standard tolerances and shaft deviations as reproduced by
JIS B 0401:1999 extracts and published tables; deviations e and f confirmed by
textbook examples at 20 and 50 mm only. Confirm in the standard before claiming
conformity. A range is over its lower end, up to and including its upper end.
"""

from __future__ import annotations

import math
import re
from bisect import bisect_left
from dataclasses import dataclass
from enum import Enum

from lasernest.errors import BadValueError

_UP_TO_MM = (3.0, 6.0, 10.0, 18.0, 30.0, 50.0, 80.0, 120.0)
_GRADES_UM: dict[int, tuple[float, ...]] = {
    5: (4, 5, 6, 8, 9, 11, 13, 15),
    6: (6, 8, 9, 11, 13, 16, 19, 22),
    7: (10, 12, 15, 18, 21, 25, 30, 35),
    8: (14, 18, 22, 27, 33, 39, 46, 54),
    9: (25, 30, 36, 43, 52, 62, 74, 87),
    10: (40, 48, 58, 70, 84, 100, 120, 140),
    11: (60, 75, 90, 110, 130, 160, 190, 220),
    12: (100, 120, 150, 180, 210, 250, 300, 350),
    13: (140, 180, 220, 270, 330, 390, 460, 540),
    14: (250, 300, 360, 430, 520, 620, 740, 870),
}
_UPPER_UM: dict[str, tuple[float, ...]] = {
    "e": (-14, -20, -25, -32, -40, -50),
    "f": (-6, -10, -13, -16, -20, -25),
    "g": (-2, -4, -5, -6, -7, -9),
    "h": (0, 0, 0, 0, 0, 0),
}
"""Upper deviation of shafts that lie below the nominal size; sizes up to 50 mm."""
_LOWER_UM: dict[str, tuple[float, ...]] = {
    "k": (0, 1, 1, 1, 2, 2),
    "m": (2, 4, 6, 7, 8, 9),
    "n": (4, 8, 10, 12, 15, 17),
    "p": (6, 12, 15, 18, 22, 26),
    "r": (10, 15, 19, 23, 28, 34),
    "s": (14, 19, 23, 28, 35, 43),
}
"""Lower deviation of shafts that lie above it; sizes up to 50 mm (k: grades 4 to 7)."""


class FitClass(Enum):
    """Whether a fit always has play, never, or now and then."""

    CLEARANCE = "clearance"
    TRANSITION = "transition"
    INTERFERENCE = "interference"


@dataclass(frozen=True, slots=True)
class FitLimits:
    """Loosest and tightest clearance of a hole and shaft, in micrometres; negative is tight."""

    max_clearance_um: float
    min_clearance_um: float

    @classmethod
    def of(cls, hole_mm: tuple[float, float], shaft_mm: tuple[float, float]) -> FitLimits:
        """From the least and largest size of hole and shaft."""
        return cls(1000.0 * (hole_mm[1] - shaft_mm[0]), 1000.0 * (hole_mm[0] - shaft_mm[1]))

    @property
    def fit_class(self) -> FitClass:
        if self.min_clearance_um >= 0:
            return FitClass.CLEARANCE
        return FitClass.INTERFERENCE if self.max_clearance_um <= 0 else FitClass.TRANSITION


def tolerance_um(size_mm: float, grade: int) -> float:
    """Standard tolerance IT of a size, in micrometres.

    Raises:
        BadValueError: no such grade or size in the table.
    """
    if grade not in _GRADES_UM:
        raise BadValueError(f"IT{grade} is not listed here", todo="Use IT5 to IT14.")
    return _GRADES_UM[grade][_row(size_mm, len(_UP_TO_MM))]


def tolerance_unit_um(over_mm: float, up_to_mm: float) -> float:
    """The unit i that standard tolerances are multiples of (IT7 is 16 i); D is the
    geometric mean of the range. The standard rounds its table, so the table counts."""
    d = math.sqrt(over_mm * up_to_mm)
    return 0.45 * math.cbrt(d) + 0.001 * d


def shaft_limits_um(size_mm: float, name: str) -> tuple[float, float]:
    """Lower and upper deviation of a shaft such as `h6` or `p6`, in micrometres."""
    letter, grade = _split(name)
    tolerance = tolerance_um(size_mm, grade)
    row = _row(size_mm, 6)
    if letter in _UPPER_UM:
        upper = _UPPER_UM[letter][row]
        return upper - tolerance, upper
    if letter in _LOWER_UM:
        lower = _LOWER_UM[letter][row]
        return lower, lower + tolerance
    raise BadValueError(
        f"the shaft {name} is not listed here",
        todo=f"Use one of {', '.join([*_UPPER_UM, *_LOWER_UM])}.",
    )


def hole_limits_um(size_mm: float, name: str) -> tuple[float, float]:
    """Lower and upper deviation of a basic hole such as `H7`, in micrometres."""
    letter, grade = _split(name)
    if letter != "H":
        raise BadValueError(f"the hole {name} is not listed here", todo="Use H6 to H11.")
    return 0.0, tolerance_um(size_mm, grade)


def fit_limits(size_mm: float, name: str) -> FitLimits:
    """Clearances of a fit such as `H7/p6`."""
    hole, _, shaft = name.partition("/")
    low, high = hole_limits_um(size_mm, hole)
    least, largest = shaft_limits_um(size_mm, shaft)
    return FitLimits(high - least, low - largest)


def _row(size_mm: float, rows: int) -> int:
    if not 0.0 < size_mm <= _UP_TO_MM[rows - 1]:
        raise BadValueError(
            f"a size of {size_mm:g} mm is not listed here",
            todo=f"Sizes up to {_UP_TO_MM[rows - 1]:g} mm are.",
        )
    return bisect_left(_UP_TO_MM, size_mm)


def _split(name: str) -> tuple[str, int]:
    match = re.fullmatch(r"([A-Za-z])(\d+)", name.strip())
    if match is None:
        raise BadValueError(f"'{name}' is not a tolerance class", todo="Write it like H7 or p6.")
    return match[1], int(match[2])
