"""Numbers, strings and paths as a PDF's content wants them.

Source: ISO 32000-1, 7.3 (objects), 8.3 (user space: 1/72 inch), 8.5 (paths).
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from lasernest.domain.contours import Contour, Segment

POINTS_PER_MM = 72.0 / 25.4
WIDEST_CURVE_RAD = 0.25 * math.pi
"""One cubic for at most an eighth of a circle: off by 4e-6 of the radius."""


def number(value: float, digits: int = 6) -> str:
    """Rounded, plain decimals, without a negative zero or needless digits."""
    return f"{round(value, digits) + 0.0:.{digits}f}".rstrip("0").rstrip(".")


def string(words: str) -> str:
    """A string in WinAnsi letters; those it lacks become question marks."""
    data = words.encode("cp1252", "replace").decode("latin-1")
    return "(" + data.replace("\\", r"\\").replace("(", r"\(").replace(")", r"\)") + ")"


def text_string(words: str) -> str:
    """A string of any letters, for titles and other texts that are no drawing."""
    return "<" + (b"\xfe\xff" + words.encode("utf-16-be")).hex().upper() + ">"


def path_of(contour: Contour) -> Iterator[str]:
    """The operators that build a contour, true arcs as cubics."""
    x, y = contour.start
    yield f"{number(x)} {number(y)} m"
    for segment in contour.segments():
        if segment.is_arc:
            yield from curves(segment)
        else:
            yield f"{number(segment.x1_mm)} {number(segment.y1_mm)} l"
    if contour.closed:
        yield "h"


def curves(arc: Segment) -> Iterator[str]:
    """An arc as cubics: handles of 4/3 tan(a/4) radii along the tangents at both ends."""
    cx, cy = arc.centre
    pieces = max(1, math.ceil(abs(arc.sweep_rad) / WIDEST_CURVE_RAD - 1e-9))
    step = arc.sweep_rad / pieces
    handle = 4.0 / 3.0 * math.tan(0.25 * step)
    start = math.atan2(arc.y0_mm - cy, arc.x0_mm - cx)
    for i in range(pieces):
        a, b = start + i * step, start + (i + 1) * step
        ax, ay = arc.radius_mm * math.cos(a), arc.radius_mm * math.sin(a)
        bx, by = arc.radius_mm * math.cos(b), arc.radius_mm * math.sin(b)
        points = (
            (cx + ax - handle * ay, cy + ay + handle * ax),
            (cx + bx + handle * by, cy + by - handle * bx),
            arc.end if i + 1 == pieces else (cx + bx, cy + by),
        )
        yield " ".join(f"{number(x)} {number(y)}" for x, y in points) + " c"
