"""A small SVG parser of the tests' own: M, L, A, Z and circles, one viewBox in mm.

Arcs by the W3C's implementation notes, SVG 1.1, F.6.5 (from end points to
centre), independent of the libraries and of the product's reader.
"""

from __future__ import annotations

import cmath
import math
import re
from dataclasses import dataclass, field
from xml.etree import ElementTree as ET

NAMESPACE = "{http://www.w3.org/2000/svg}"


@dataclass
class Shape:
    """Four points of each line and arc (start, quarters), y up, in mm."""

    tag: str
    stroke: str
    closed: bool = False
    length: float = 0.0
    points: list[tuple[float, float]] = field(default_factory=list)

    def line(self, a: complex, b: complex) -> None:
        self.length += abs(b - a)
        self._add([a + share * (b - a) for share in (0.0, 0.25, 0.5, 0.75)])

    def arc(self, a: complex, b: complex, radius: float, large: bool, positive: bool) -> None:
        half = (a - b) / 2
        off = math.sqrt(max(radius**2 - abs(half) ** 2, 0.0)) / (abs(half) or 1.0)
        sign = 1.0 if large != positive else -1.0
        centre = sign * off * complex(half.imag, -half.real) + (a + b) / 2
        start, end = cmath.phase(a - centre), cmath.phase(b - centre)
        sweep = (end - start) % (2 * math.pi)
        sweep = sweep if positive else sweep - 2 * math.pi
        self.length += radius * abs(sweep)
        self._add(
            [centre + cmath.rect(radius, start + share * sweep) for share in (0.0, 0.25, 0.5, 0.75)]
        )

    def _add(self, points: list[complex]) -> None:
        self.points += [(p.real, p.imag) for p in points]


def shapes_of(data: bytes) -> list[Shape]:
    """All shapes of a document, in order, in millimetres from the page's lower left corner."""
    root = ET.fromstring(data)
    x0, y0, width, height = map(float, root.get("viewBox", "").split())
    assert root.get("width") == f"{width:g}mm"
    assert root.get("height") == f"{height:g}mm"
    shapes = []
    for element in root.iter():
        tag = element.tag.removeprefix(NAMESPACE)
        shape = Shape(tag, element.get("stroke", ""))
        if tag == "circle":
            c = complex(float(element.get("cx", 0)), float(element.get("cy", 0)))
            r = float(element.get("r", 0))
            shape.closed = True
            for a, b in ((c + r, c - r), (c - r, c + r)):
                shape.arc(a, b, r, False, True)
        elif tag == "path":
            _path(shape, element.get("d", ""))
        else:
            continue
        shape.points = [(x - x0, y0 + height - y) for x, y in shape.points]
        shapes.append(shape)
    return shapes


def _path(shape: Shape, data: str) -> None:
    start = here = 0j
    for command, text in re.findall(r"([MLAZ])([^MLAZ]*)", data):
        numbers = [float(n) for n in text.split()]
        if command == "M":
            start = here = complex(*numbers)
        elif command == "L":
            there = complex(*numbers)
            shape.line(here, there)
            here = there
        elif command == "A":
            there = complex(*numbers[5:])
            assert numbers[0] == numbers[1]
            shape.arc(here, there, numbers[0], bool(numbers[3]), bool(numbers[4]))
            here = there
        else:
            shape.closed = True
            if abs(here - start) > 1e-9:
                shape.line(here, start)
