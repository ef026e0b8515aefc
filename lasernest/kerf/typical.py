"""Kerf that lasers usually take, and how speed falls with thickness, by family of material.

All kerf ranges are common practice without a source (40 to 100 W CO2 laser,
sharp focus, lens of about 50 mm): a first guess that a reading replaces.
"""

from __future__ import annotations

import math
from bisect import bisect_left

from lasernest.domain.fits import Family

Range = tuple[float, float]

PLAUSIBLE: Range = (0.05, 0.60)
"""Kerfs outside are warned about, whatever the material."""
MOST_MM = 1.0
"""Kerfs beyond are refused."""

_ACRYLIC = ((2.0, (0.15, 0.25)), (3.0, (0.15, 0.25)), (5.0, (0.20, 0.35)), (6.0, (0.20, 0.35)),
            (10.0, (0.30, 0.60)), (12.0, (0.30, 0.60)))  # fmt: skip
_RANGES: dict[Family, tuple[tuple[float, Range], ...]] = {
    Family.CAST_ACRYLIC: _ACRYLIC,
    Family.EXTRUDED_ACRYLIC: _ACRYLIC,
    Family.PLYWOOD: ((3.0, (0.10, 0.25)), (6.0, (0.20, 0.35))),
    Family.MDF: ((3.0, (0.15, 0.30)), (6.0, (0.15, 0.30))),
    Family.CARD: ((1.0, (0.10, 0.30)), (3.0, (0.10, 0.30))),
    Family.OTHER: ((3.0, (0.10, 0.35)),),
}


def typical_kerf_mm(family: Family, thickness_mm: float) -> Range:
    """The usual range for a material; between the stated thicknesses in proportion."""
    rows = _RANGES[family]
    i = bisect_left([t for t, _ in rows], thickness_mm)
    if i == 0 or i == len(rows):
        return rows[min(i, len(rows) - 1)][1]
    (t0, a), (t1, b) = rows[i - 1], rows[i]
    share = (thickness_mm - t0) / (t1 - t0)
    return (a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1]))


def scaled_speed(speed: float, *, family: Family, from_mm: float, to_mm: float) -> float:
    """A starting speed for another thickness of a material that one thickness is known of.

    Sources: acrylic: Portland State University, Electronics Prototyping Lab, material
    database, whose clean speeds follow exp(-0.3607 t); wood and the rest: C. McMillin and
    J. Harry, Laser machining of southern pine, Forest Prod. J. 21(10), 1971: 99.1 in/min at
    0.25 in and 14.6 in/min at 1 in, so t to the power -1.3815.
    """
    if family.is_acrylic:
        return speed * math.exp(ACRYLIC_RATE_PER_MM * (to_mm - from_mm))
    return speed * math.pow(to_mm / from_mm, WOOD_EXPONENT)


ACRYLIC_RATE_PER_MM = -0.3607
WOOD_EXPONENT = -math.log(99.1 / 14.6) / math.log(4.0)
