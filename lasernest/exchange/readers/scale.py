"""How many millimetres a drawing's unit is, and when to ask.

The unit comes from the file itself. Where the file is silent, millimetres are
taken and said. Where the size that follows cannot well be a panel's, the
maker is asked, with the sizes side by side; the preset is the stated unit
unless only another one makes sense.

Source of the unit codes: the published DXF reference, $INSUNITS. What is a
plausible size: common practice, no source (a sheet is hardly over 3.2 m).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from lasernest.domain.contours import Bounds
from lasernest.domain.findings import Choice, Finding, Severity
from lasernest.domain.import_choices import UNIT_OPTION
from lasernest.units import LengthUnit, plain_mm, plain_number

SMALLEST_MM, BIGGEST_MM = 8.0, 3200.0
DOUBTFUL_MM = 1300.0
"""Above this a unit other than mm is asked about: few laser beds are wider."""

_DXF_UNITS = {
    1: LengthUnit.INCH,
    2: LengthUnit.FOOT,
    4: LengthUnit.MM,
    5: LengthUnit.CM,
    6: LengthUnit.METRE,
    9: LengthUnit.MIL,
    10: LengthUnit.YARD,
    13: LengthUnit.MICROMETRE,
    14: LengthUnit.DM,
    21: LengthUnit.FOOT,
    22: LengthUnit.INCH,
    23: LengthUnit.YARD,
}
_OFFERED = (LengthUnit.MM, LengthUnit.CM, LengthUnit.INCH, LengthUnit.METRE)
_NAMES = {
    LengthUnit.MM: "millimetres",
    LengthUnit.CM: "centimetres",
    LengthUnit.DM: "decimetres",
    LengthUnit.METRE: "metres",
    LengthUnit.INCH: "inches",
    LengthUnit.FOOT: "feet",
    LengthUnit.YARD: "yards",
    LengthUnit.MIL: "thousandths of an inch",
    LengthUnit.MICROMETRE: "micrometres",
}
_FINE = (LengthUnit.MIL, LengthUnit.MICROMETRE)
"""Offered only where none of the usual units makes sense."""


@dataclass(frozen=True, slots=True)
class Scale:
    """A unit and where it came from."""

    unit: LengthUnit
    stated: bool
    decided: bool = False
    """True when the maker said so: nothing is asked."""
    says_metric: bool = False
    """The file calls itself metric elsewhere."""
    oddity: str = ""
    """What the file states instead, where no length unit follows from it."""

    @property
    def mm_per_unit(self) -> float:
        return self.unit.mm

    @property
    def symbol(self) -> str:
        return self.unit.symbol


def dxf_scale(insunits: str | None, measurement: str | None, unit: LengthUnit | None) -> Scale:
    """The scale of a DXF drawing from the values of its header, None where they are missing."""
    if unit is not None:
        return Scale(unit, stated=True, decided=True)
    code = _whole(insunits)
    metric = _whole(measurement) == 1
    stated = _DXF_UNITS.get(code)
    if stated is not None:
        return Scale(stated, stated=True, says_metric=metric)
    oddity = f"unit code {insunits}" if code else ""
    return Scale(LengthUnit.MM, stated=False, says_metric=metric, oddity=oddity)


def _whole(text: str | None) -> int:
    try:
        return int(float(text or 0))
    except (ValueError, OverflowError):
        return 0


def scale_findings(scale: Scale, bounds_mm: Bounds | None) -> tuple[Scale, tuple[Finding, ...]]:
    """Judge the size that follows from the scale.

    Args:
        scale: as the file states it.
        bounds_mm: the box around what the file shows, at that scale; None when
            there is nothing.

    Returns:
        The scale to take, and what there is to say or ask about it.
    """
    if scale.decided:
        return scale, ()
    if bounds_mm is None:
        return scale, () if scale.stated else (_assumed(scale, ()),)
    width, height = bounds_mm[2] - bounds_mm[0], bounds_mm[3] - bounds_mm[1]
    size = (width / scale.mm_per_unit, height / scale.mm_per_unit)
    longest = max(size)
    taken = scale.unit
    stated_mm = longest * scale.unit.mm
    in_mm = longest * LengthUnit.MM.mm
    if scale.stated and stated_mm > BIGGEST_MM and _plausible(in_mm):
        taken = LengthUnit.MM
    elif scale.stated and scale.unit is LengthUnit.INCH and scale.says_metric:
        # An inch header in a metric file: believe the numbers once inches get big.
        taken = LengthUnit.MM if stated_mm > DOUBTFUL_MM and _plausible(in_mm) else taken
    doubtful = scale.unit is not LengthUnit.MM and stated_mm > DOUBTFUL_MM
    sensible = any(_plausible(longest * unit.mm) for unit in _OFFERED)
    choices = tuple(
        Choice(
            _NAMES[unit],
            UNIT_OPTION,
            unit.symbol,
            (size[0] * unit.mm, size[1] * unit.mm),
            preset=unit is taken,
        )
        for unit in (*_OFFERED, *_FINE)
        if unit in (scale.unit, taken)
        or (_plausible(longest * unit.mm) and not (sensible and unit in _FINE))
    )
    if _plausible(stated_mm) and not doubtful:
        return scale, () if scale.stated else (_assumed(scale, choices),)
    if len(choices) < 2:
        return scale, () if scale.stated else (_assumed(scale, choices),)
    question = Finding(
        Severity.WARNING,
        "unit-implausible",
        _doubt(scale, size, taken),
        where_mm=(bounds_mm[0], bounds_mm[1]),
        todo="Measure one known length, then choose the unit.",
        choices=choices,
    )
    return replace(scale, unit=taken), (question,)


def _doubt(scale: Scale, size: tuple[float, float], taken: LengthUnit) -> str:
    """What is told of a size that is hardly right."""
    if not scale.stated:
        return f"The file states no unit; in {_NAMES[taken]} the drawing is {_size(size, taken)}."
    name = _NAMES.get(scale.unit, scale.unit.symbol)
    said = f"The file says {name}, which makes the drawing {_size(size, scale.unit)}"
    if taken is scale.unit:
        return f"{said}."
    return f"{said}; it was taken to be in {_NAMES[taken]}, {_size(size, taken)}."


def _assumed(scale: Scale, choices: tuple[Choice, ...]) -> Finding:
    asked = len(choices) > 1
    remedy = "choose the unit" if asked else "let the drawing state its unit"
    why = f"states an odd {scale.oddity}" if scale.oddity else "states no unit"
    return Finding(
        Severity.NOTE,
        "unit-assumed",
        f"The file {why}; its numbers were taken as mm.",
        todo=f"If a known length is wrong, {remedy}.",
        on_command_line="" if asked else f"{UNIT_OPTION} in",
        choices=choices if asked else (),
    )


def _plausible(longest_mm: float) -> bool:
    return SMALLEST_MM <= longest_mm <= BIGGEST_MM


def _size(size: tuple[float, float], unit: LengthUnit) -> str:
    return f"{plain_number(size[0] * unit.mm, 4)} x {plain_mm(size[1] * unit.mm, 4)}"
