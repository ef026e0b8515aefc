"""Measured thickness: eight places, their mean and spread, and what the trade allows.

The places follow the idea of EN 324-1: the corners and the middles of the
sides, about 50 mm in from the edge. For press fits the mean is kept to
0.01 mm; EN 324-1 reports it to 0.1 mm.

A sheet's thickness enters a joint twice: its mean sets depth and slot width,
its spread makes single joints tighter or looser than the mean one.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from lasernest.domain.contours import Point
from lasernest.domain.findings import Finding, Severity
from lasernest.domain.fits import Family, family_of
from lasernest.errors import BadValueError
from lasernest.kerf.uncertainty import Calliper, Sample, combined_u
from lasernest.units import format_mm

PLACES = 8
INSET_MM = 50.0
MOST_MM = 50.0


@dataclass(frozen=True, slots=True)
class Thickness:
    """What eight (or fewer) readings tell of one sheet."""

    mean_mm: float
    spread_mm: float
    """Standard deviation from place to place; 0 for a single reading."""
    u_mm: float
    """Standard uncertainty of the mean."""
    low_mm: float
    high_mm: float
    count: int

    @property
    def reported_mm(self) -> float:
        """The mean as EN 324-1 reports it, to 0.1 mm."""
        return round(self.mean_mm, 1)

    @property
    def local_u_mm(self) -> float:
        """Standard uncertainty of the thickness at one joint: mean and spread together."""
        return combined_u(self.u_mm, self.spread_mm)


def thickness_of(readings_mm: Sequence[float], calliper: Calliper | None = None) -> Thickness:
    """Mean, spread and uncertainty of a sheet's thickness.

    Raises:
        BadValueError: no reading, or one that no sheet has.
    """
    if not readings_mm:
        raise BadValueError("no thickness was measured", todo="Measure at eight places.")
    for value in readings_mm:
        if not (math.isfinite(value) and 0.0 < value <= MOST_MM):
            raise BadValueError(
                f"a thickness of {value:g} mm cannot be right", todo="Measure that place again."
            )
    c = calliper if calliper is not None else Calliper()
    count = len(readings_mm)
    mean = math.fsum(readings_mm) / count
    spread = Sample.of(readings_mm).s if count > 1 else 0.0
    # One or few readings say little of the spread, so the calliper's share is the least.
    u = combined_u(c.fixed_u_mm, max(spread, c.repeat_u_mm) / math.sqrt(count))
    return Thickness(mean, spread, u, min(readings_mm), max(readings_mm), count)


def places_mm(width_mm: float, height_mm: float) -> tuple[Point, ...]:
    """Where to measure a sheet: corners and middles of the sides, 50 mm in, anticlockwise.

    On a piece too small for that, a sixth of the side in.
    """
    x0 = min(INSET_MM, width_mm / 6.0)
    y0 = min(INSET_MM, height_mm / 6.0)
    x1, y1 = width_mm - x0, height_mm - y0
    xm, ym = 0.5 * width_mm, 0.5 * height_mm
    return ((x0, y0), (xm, y0), (x1, y0), (x1, ym), (x1, y1), (xm, y1), (x0, y1), (x0, ym))


def allowed_thickness_mm(material: str, nominal_mm: float) -> tuple[float, float] | None:
    """The least and most a sheet sold as `nominal_mm` may be; None where no rule is known.

    Sources: cast acrylic ISO 7823-1 and extruded acrylic ISO 7823-2 as reproduced on a
    sheet maker's tolerances page; sanded plywood EN 315 (from memory, unverified; makers
    print it shortened); MDF EN 622-1 (from memory, unverified) and makers' data sheets.
    """
    match family_of(material):
        case Family.CAST_ACRYLIC:
            down = up = 0.4 + 0.1 * nominal_mm
        case Family.EXTRUDED_ACRYLIC:
            down = up = (0.10 if nominal_mm < 3.0 else 0.05) * nominal_mm
        case Family.PLYWOOD:
            down, up = 0.4 + 0.03 * nominal_mm, 0.2 + 0.03 * nominal_mm
        case Family.MDF:
            down = up = 0.20 if nominal_mm <= 19.0 else 0.30
        case _:
            return None
    return (nominal_mm - down, nominal_mm + up)


def thickness_findings(
    thickness: Thickness, *, material: str, nominal_mm: float
) -> tuple[Finding, ...]:
    """What is odd about a measured thickness."""
    found: list[Finding] = []
    band = allowed_thickness_mm(material, nominal_mm)
    if band is not None and not band[0] - 1e-9 <= thickness.mean_mm <= band[1] + 1e-9:
        found.append(
            Finding(
                Severity.WARNING,
                "thickness-outside-band",
                f"{format_mm(thickness.mean_mm)} is outside what {material} sold as "
                f"{nominal_mm:g} mm may be ({band[0]:.2f} to {band[1]:.2f} mm)",
                todo="Is this the sheet you think it is, and was the masking off?",
            )
        )
    if thickness.count < PLACES:
        found.append(
            Finding(
                Severity.NOTE,
                "few-places",
                f"thickness was measured at {thickness.count} of {PLACES} places",
                todo="Measure corners and middles of the sides, 50 mm in.",
            )
        )
    if thickness.spread_mm > 0.05:
        found.append(
            Finding(
                Severity.WARNING,
                "thickness-varies",
                f"the sheet is {format_mm(thickness.low_mm)} thin and "
                f"{format_mm(thickness.high_mm)} thick",
                todo="Cut panels that are joined from neighbouring places of the sheet.",
            )
        )
    return tuple(found)
