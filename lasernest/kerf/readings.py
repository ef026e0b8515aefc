"""The kerf that one reading tells.

Algebra (k: full kerf, one cut's width): source in the trade's own practice,
each row derived by counting the cuts; worked cases in the tests.

    frame   N strips out of a window by N+1 cuts, slid together, gap g: k = g / (N+1)
    block   L0 cut into N pieces by N-1 cuts, pushed together to L1: k = (L0-L1) / (N-1)
    pair    plug p and hole h of one drawn size n: k = (h-p) / 2, scale (h+p) / (2 n)
    part    drawn n, measured d: k = n - d if the machine's scale is right
    comb    tongue t enters slot a, refuses the next narrower b: k between t-a and t-b
    mass    loss m over cut length L in thickness t, density rho: k = m / (rho t L)

A calliper feels the widest place of a part: with a tapered cut that is the
face where the kerf is narrowest.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from lasernest.domain.readings import Method, Reading
from lasernest.kerf.uncertainty import Calliper, combined_u, step_u

MASS_U_SHARE = 0.02
"""Standard uncertainty of a kerf from mass, as a share (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class SingleKerf:
    """The kerf that one reading tells, in mm."""

    reading: Reading
    kerf_mm: float
    repeat_u_mm: float
    """The part of its uncertainty that a repeat would average out."""
    fixed_u_mm: float
    """The part that stays: the calliper's own error, or the step of a comb."""
    lengths: int = 1
    """Number of lengths it was worked out from, each with a fixed error of its own."""
    low_mm: float | None = None
    """Bounds where the method gives bounds (comb)."""
    high_mm: float | None = None

    @property
    def u_mm(self) -> float:
        return combined_u(self.repeat_u_mm, self.fixed_u_mm)


def kerf_of(reading: Reading, calliper: Calliper | None = None) -> SingleKerf:
    """The kerf that one reading tells, with its uncertainty.

    The comb's uncertainty is that of its step alone: the tongue is the sheet
    that later goes into the slots, so an error in measuring it cancels there.

    Args:
        reading: any method; its kerf may come out negative or absurd, which
            `lasernest.kerf.slips` explains.
        calliper: None for a common 150 mm digital one.
    """
    c = calliper if calliper is not None else Calliper()
    n = reading.numbers

    def lengths(kerf_mm: float, count: int, cuts: float) -> SingleKerf:
        share = math.sqrt(count) / cuts
        return SingleKerf(reading, kerf_mm, share * c.repeat_u_mm, share * c.fixed_u_mm, count)

    match reading.method:
        case Method.FRAME:
            return lengths(n[1] / (n[0] + 1.0), 1, n[0] + 1.0)
        case Method.BLOCK:
            return lengths((n[0] - n[1]) / (n[2] - 1.0), 2, n[2] - 1.0)
        case Method.PAIR:
            return lengths(0.5 * (n[1] - n[0]), 2, 2.0)
        case Method.PART:
            return lengths(n[0] - n[1], 1, 1.0)
        case Method.COMB:
            low_mm, high_mm = n[0] - n[1], n[0] - n[2]
            middle_mm, u_mm = 0.5 * (low_mm + high_mm), step_u(high_mm - low_mm)
            return SingleKerf(reading, middle_mm, 0.0, u_mm, low_mm=low_mm, high_mm=high_mm)
        case Method.MASS:
            # grams over g/cm3 is cm3, and a cm3 is 1000 mm3
            kerf_mm = 1000.0 * n[0] / (n[3] * n[2] * n[1])
            return SingleKerf(reading, kerf_mm, MASS_U_SHARE * kerf_mm, 0.0)


def scale_of(reading: Reading) -> float | None:
    """The machine's scale from a pair with its drawn size; None from other readings."""
    if reading.method is not Method.PAIR or len(reading.numbers) < 3:
        return None
    plug_mm, hole_mm, drawn_mm = reading.numbers
    return (hole_mm + plug_mm) / (2.0 * drawn_mm)
