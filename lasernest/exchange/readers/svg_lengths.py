"""Lengths, transforms and viewports of SVG.

Source: CSS Values, absolute lengths (1in = 2.54cm = 25.4mm = 96px = 72pt =
6pc, 1Q = 0.25mm); SVG 1.1, chapter 7 (transforms, viewBox, preserveAspectRatio).
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from typing import NamedTuple

from lasernest.geometry.affine import Affine

PX_PER = {
    "": 1.0,
    "px": 1.0,
    "mm": 96.0 / 25.4,
    "cm": 96.0 / 2.54,
    "in": 96.0,
    "pt": 96.0 / 72.0,
    "pc": 16.0,
    "q": 24.0 / 25.4,
    "em": 16.0,
    "rem": 16.0,
    "ex": 8.0,
}
PHYSICAL = frozenset(("mm", "cm", "in", "pt", "pc", "q"))

_LENGTH = re.compile(r"\s*([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)\s*([a-zA-Z]*|%)\s*$")
_NUMBERS = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")
_QUANTITY = re.compile(r"([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)([a-zA-Z%]*)")
_TRANSFORM = re.compile(r"[\s,]*([a-zA-Z]+)\s*\(([^()]*)\)[\s,]*")
_SIDES = {"left": "0%", "top": "0%", "center": "50%", "right": "100%", "bottom": "100%"}
_ANGLE = {"": 1.0, "deg": 1.0, "rad": 180.0 / math.pi, "grad": 0.9, "turn": 360.0}


class LengthError(Exception):
    """A length, number list or transform that is none; the text says why."""


class Length(NamedTuple):
    """A number and its unit in lower case; `%` for percentages."""

    number: float
    unit: str

    def px(self, whole: float) -> float:
        """In user units; percentages of `whole`."""
        if self.unit == "%":
            return self.number * whole / 100.0
        return self.number * PX_PER[self.unit]


def parse_length(text: str) -> Length:
    """Parse a length such as `12`, `3.5mm` or `50%`.

    Raises:
        LengthError: not a length.
    """
    match = _LENGTH.match(text)
    unit = match[2].lower() if match else ""
    if match is None or (unit != "%" and unit not in PX_PER):
        if re.fullmatch(r"\s*[-+]?\d*,\d+\s*[a-z%]*\s*", text, re.IGNORECASE):
            raise LengthError(f"'{text}' has a decimal comma, which SVG does not know")
        raise LengthError(f"'{text[:40]}' is not a length")
    number = float(match[1])
    if not math.isfinite(number):
        raise LengthError(f"'{text[:40]}' is not a finite length")
    return Length(number, unit)


def parse_numbers(text: str) -> list[float]:
    """A list of numbers parted by spaces or commas.

    Raises:
        LengthError: something in it is no number.
    """
    rest = _NUMBERS.sub(" ", text)
    if rest.strip(" ,\t\r\n"):
        raise LengthError(f"'{rest.strip()[:40]}' is not a number")
    numbers = [float(n) for n in _NUMBERS.findall(text)]
    if not all(math.isfinite(n) for n in numbers):
        raise LengthError("a number is not finite")
    return numbers


def parse_transform(text: str) -> Affine:
    """The map of a `transform` attribute or property.

    Raises:
        LengthError: not a list of transforms.
    """
    total = Affine()
    text = text.strip()
    if text in ("", "none"):
        return total
    at = 0
    while at < len(text):
        match = _TRANSFORM.match(text, at)
        if match is None:
            raise LengthError(f"'{text[at : at + 40]}' is not a transform")
        total = total.after(_one_transform(match[1].lower(), match[2]))
        at = match.end()
    if not total.is_finite:
        raise LengthError(f"the transform '{text[:40]}' has no finite result")
    return total


def transform_of(style: Mapping[str, str], width: float, height: float) -> Affine:
    """The map of an element's `translate`, `rotate`, `scale` and `transform` about its
    `transform-origin`.

    Source: CSS Transforms Module Level 1, sections 5 and 8: without a layout box the origin
    is 0 0, and percentages are of the viewport, whose box begins at the origin. Level 2,
    sections 5 and 6: the single properties, and their order.

    Args:
        style: the element's own properties.
        width: of the viewport in user units.
        height: as width.

    Raises:
        LengthError: not a list of transforms or not an origin, or an origin in the element's
            own box.
    """
    affine = parse_transform(style.get("transform", ""))
    for name in ("scale", "rotate", "translate"):
        value = style.get(name, "none").strip()
        if value != "none":
            affine = parse_transform(f"{name}({', '.join(value.split())})").after(affine)
    origin = style.get("transform-origin", "").strip().lower()
    if not origin or affine == Affine():
        return affine
    if style.get("transform-box", "view-box") != "view-box":
        raise LengthError("its transform turns about a place in its own box")
    parts = origin.split()
    if len(parts) == 1:
        parts.append("center")
    if parts[0] in ("top", "bottom") or parts[1] in ("left", "right"):
        parts[:2] = parts[1], parts[0]
    across = parse_length(_SIDES.get(parts[0], parts[0])).px(width)
    down = parse_length(_SIDES.get(parts[1], parts[1])).px(height)
    return Affine.moving(across, down).after(affine).after(Affine.moving(-across, -down))


def _one_transform(name: str, arguments: str) -> Affine:
    values = []
    for number, unit in _QUANTITY.findall(arguments):
        factor = _ANGLE.get(unit.lower(), PX_PER.get(unit.lower()))
        if factor is None:
            raise LengthError(f"'{number}{unit}' in a transform is not known here")
        values.append(float(number) * factor)
    rest = _QUANTITY.sub(" ", arguments).strip(" ,\t\r\n")
    if rest:
        raise LengthError(f"'{rest[:40]}' in a transform is not a number")
    count = len(values)
    if name == "matrix" and count == 6:
        return Affine(*values)
    if name in ("translate", "translatex", "translatey") and 1 <= count <= 2:
        if name == "translatey":
            return Affine.moving(0.0, values[0])
        return Affine.moving(values[0], values[1] if count == 2 else 0.0)
    if name in ("scale", "scalex", "scaley") and 1 <= count <= 2:
        if name != "scale":
            return Affine.scaling(*((values[0], 1.0) if name == "scalex" else (1.0, values[0])))
        return Affine.scaling(values[0], values[-1])
    if name == "rotate" and count in (1, 3):
        cos, sin = _cos_sin(values[0])
        turn = Affine.turning(cos, sin)
        if count == 1:
            return turn
        x, y = values[1], values[2]
        return Affine.moving(x, y).after(turn).after(Affine.moving(-x, -y))
    if name == "skewx" and count == 1:
        return Affine(1.0, 0.0, math.tan(math.radians(values[0])), 1.0)
    if name == "skewy" and count == 1:
        return Affine(1.0, math.tan(math.radians(values[0])), 0.0, 1.0)
    raise LengthError(f"'{name}' with {count} numbers is not a transform known here")


def _cos_sin(turn_deg: float) -> tuple[float, float]:
    quarter = (turn_deg / 90.0) % 4.0
    if quarter == int(quarter):
        return ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[int(quarter)]
    angle = math.radians(turn_deg)
    return math.cos(angle), math.sin(angle)


def parse_view_box(text: str) -> tuple[float, float, float, float] | None:
    """x, y, width and height of a viewBox; None where it is absent or empty.

    Raises:
        LengthError: not four numbers.
    """
    if not text.strip():
        return None
    numbers = parse_numbers(text)
    if len(numbers) != 4:
        raise LengthError(f"the viewBox '{text[:40]}' does not have four numbers")
    x, y, width, height = numbers
    return (x, y, width, height) if width > 0.0 and height > 0.0 else None


def view_map(
    view_box: tuple[float, float, float, float], width: float, height: float, ratio: str
) -> Affine:
    """The map from a viewBox into a viewport of this size, as preserveAspectRatio wants it."""
    x, y, box_width, box_height = view_box
    sx, sy = width / box_width, height / box_height
    words = [w for w in ratio.split() if w != "defer"] or ["xMidYMid"]
    align = words[0]
    if align == "none":
        return Affine(sx, 0.0, 0.0, sy, -x * sx, -y * sy)
    scale = max(sx, sy) if "slice" in words[1:] else min(sx, sy)
    share = {"Min": 0.0, "Mid": 0.5, "Max": 1.0}
    match = re.fullmatch(r"x(Min|Mid|Max)Y(Min|Mid|Max)", align)
    share_x, share_y = (share[match[1]], share[match[2]]) if match else (0.5, 0.5)
    return Affine(
        scale,
        0.0,
        0.0,
        scale,
        -x * scale + (width - box_width * scale) * share_x,
        -y * scale + (height - box_height * scale) * share_y,
    )
