"""Lengths as makers write them, turned into millimetres once, at the border.

Everything inside the program is millimetres. Exact factors: 1 in = 25.4 mm
(international inch, 1959). Decimal commas are accepted where a single number
is expected.
"""

from __future__ import annotations

import math
import re
from enum import Enum

from lasernest.errors import BadValueError

MM_PER_INCH = 25.4


class LengthUnit(Enum):
    """A unit a drawing or a number may be in; the value is millimetres per unit."""

    MICROMETRE = 0.001
    MIL = 0.0254
    PX = 25.4 / 96.0
    """The CSS pixel, 96 to the inch."""
    PX90 = 25.4 / 90.0
    """The pixel of older drawing programs, 90 to the inch."""
    POINT = 25.4 / 72.0
    MM = 1.0
    CM = 10.0
    INCH = 25.4
    DM = 100.0
    FOOT = 304.8
    YARD = 914.4
    METRE = 1000.0

    @property
    def mm(self) -> float:
        """Millimetres per unit."""
        return float(self.value)

    @property
    def symbol(self) -> str:
        """The short name that is also understood by `parse_length_mm`."""
        return _SYMBOLS[self]


_SYMBOLS = {
    LengthUnit.MICROMETRE: "um",
    LengthUnit.MIL: "mil",
    LengthUnit.PX: "px",
    LengthUnit.PX90: "px90",
    LengthUnit.POINT: "pt",
    LengthUnit.MM: "mm",
    LengthUnit.CM: "cm",
    LengthUnit.INCH: "in",
    LengthUnit.DM: "dm",
    LengthUnit.FOOT: "ft",
    LengthUnit.YARD: "yd",
    LengthUnit.METRE: "m",
}

_BY_NAME = {symbol: unit for unit, symbol in _SYMBOLS.items()} | {
    '"': LengthUnit.INCH,
    "inch": LengthUnit.INCH,
    "inches": LengthUnit.INCH,
    "µm": LengthUnit.MICROMETRE,
    "": LengthUnit.MM,
}

_LENGTH = re.compile(
    r"""^\s*(?P<sign>[+-]?)\s*
        (?:(?P<whole>\d+)[ -](?P<num2>\d+)/(?P<den2>\d+)
          |(?P<num>\d+)/(?P<den>\d+)
          |(?P<number>\d+(?:[.,]\d*)?(?:[eE][+-]?\d+)?|[.,]\d+))
        \s*(?P<unit>[a-zA-Zµ"]*(?:90)?)\s*$""",
    re.VERBOSE,
)


def unit_named(name: str) -> LengthUnit:
    """The unit with this short name, such as `mm`, `in` or `cm`.

    Raises:
        BadValueError: no such unit.
    """
    try:
        return _BY_NAME[name.strip().lower()]
    except KeyError:
        raise BadValueError(
            f"'{name}' is not a unit of length known here",
            todo="Use mm, cm, m, in or ft.",
        ) from None


def parse_length_mm(text: str) -> float:
    """Read a length such as `3`, `3mm`, `3.2in`, `1/8in`, `1 1/2in` or `3,05`.

    Returns:
        Millimetres; a bare number is millimetres.

    Raises:
        BadValueError: not a length, or not finite.
    """
    match = _LENGTH.match(text)
    if match is None:
        raise BadValueError(
            f"'{text}' is not a length", todo="Write it like 3, 3mm, 3.2in or 1/8in."
        )
    unit = unit_named(match["unit"])
    if match["whole"] is not None:
        value = int(match["whole"]) + _ratio(match["num2"], match["den2"], text)
    elif match["num"] is not None:
        value = _ratio(match["num"], match["den"], text)
    else:
        value = float(match["number"].replace(",", "."))
    value = -value if match["sign"] == "-" else value
    if not math.isfinite(value):
        raise BadValueError(f"'{text}' is not a finite length", todo="Check the number.")
    return value * unit.mm


def _ratio(numerator: str, denominator: str, text: str) -> float:
    if int(denominator) == 0:
        raise BadValueError(f"'{text}' divides by zero", todo="Check the fraction.")
    return int(numerator) / int(denominator)


def parse_size_mm(text: str) -> tuple[float, float]:
    """Read a sheet size such as `600x400` or `24inx12in`: width (x) then height (y).

    Raises:
        BadValueError: not two positive lengths.
    """
    parts = re.split(r"\s*[x×X*]\s*", text.strip())
    if len(parts) != 2:
        raise BadValueError(
            f"'{text}' is not a sheet size", todo="Write width x height, like 600x400."
        )
    width_mm, height_mm = parse_length_mm(parts[0]), parse_length_mm(parts[1])
    if not (width_mm > 0 and height_mm > 0):
        raise BadValueError(f"'{text}' has no area", todo="Both sides must be above zero.")
    return width_mm, height_mm


def format_mm(value_mm: float, decimals: int = 2) -> str:
    """A length for a person, with its unit; never `-0.00`."""
    rounded = round(value_mm, decimals)
    return f"{rounded + 0.0:.{decimals}f} mm"


def plain_mm(value_mm: float, digits: int = 3) -> str:
    """A length of any size with so many digits and its unit, never as a power of ten."""
    if 0.0 < abs(value_mm) < 0.001:
        return "less than 0.001 mm"
    return f"{plain_number(value_mm, digits)} mm"


def plain_number(value: float, digits: int) -> str:
    """A number with so many digits, fewer where the rest are noughts, never as a power of ten."""
    if value == 0.0:
        return "0"
    decimals = max(0, digits - 1 - math.floor(math.log10(abs(value))))
    text = f"{value:.{decimals}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def format_time(seconds: float) -> str:
    """A duration for a person: `48 s`, `11 min 40 s`, `4 h 12 min`."""
    whole = round(seconds)
    if whole < 60:
        return f"{whole} s"
    if whole < 3600:
        return f"{whole // 60} min {whole % 60:02d} s"
    return f"{whole // 3600} h {whole % 3600 // 60:02d} min"


def format_rough_time(seconds: float) -> str:
    """A duration that is not known to the second: `48 s`, `26 min`, `4 h 12 min`."""
    if seconds < 99.5:
        return f"{round(seconds)} s"
    minutes = round(seconds / 60.0)
    return f"{minutes} min" if minutes < 60 else f"{minutes // 60} h {minutes % 60:02d} min"
