"""The shapes of SVG, from an element's attributes to runs of lines, arcs and curves.

Source: SVG 1.1, chapter 9.
"""

from __future__ import annotations

from lasernest.exchange.readers.svg_lengths import parse_length, parse_numbers
from lasernest.exchange.readers.svg_paths import (
    Bezier,
    PathDataError,
    Run,
    ellipse_run,
    parse_path,
    rectangle_run,
)
from lasernest.exchange.readers.svg_xml import Node

SHAPES = frozenset(("path", "rect", "circle", "ellipse", "line", "polyline", "polygon"))


def runs_of_shape(node: Node, w: float, h: float) -> list[Run]:
    """The subpaths of a shape in its own units; none for one without size.

    Args:
        node: an element of `SHAPES`.
        w, h: the size of its viewport, of which percentages are a part.

    Raises:
        LengthError, PathDataError: its attributes make no sense.
    """
    diagonal = ((w * w + h * h) / 2.0) ** 0.5
    tag = node.tag
    if tag == "path":
        return [run for run in parse_path(node.get("d")) if run.pieces]
    if tag == "rect":
        width, height = length_px(node, "width", w), length_px(node, "height", h)
        if width <= 0.0 or height <= 0.0:
            return []
        x, y = length_px(node, "x", w), length_px(node, "y", h)
        rx, ry = _radii(node, w, h)
        return [rectangle_run(x, y, width, height, rx=rx, ry=ry)]
    if tag in ("circle", "ellipse"):
        cx, cy = length_px(node, "cx", w), length_px(node, "cy", h)
        if tag == "circle":
            rx = ry = length_px(node, "r", diagonal)
        else:
            rx, ry = _radii(node, w, h)
        return [ellipse_run(cx, cy, rx, ry)] if rx > 0.0 and ry > 0.0 else []
    if tag == "line":
        x1, y1 = length_px(node, "x1", w), length_px(node, "y1", h)
        x2, y2 = length_px(node, "x2", w), length_px(node, "y2", h)
        return [Run(complex(x1, y1), [Bezier((complex(x2, y2),))])]
    numbers = parse_numbers(node.get("points"))
    if len(numbers) % 2:
        raise PathDataError("the points have a number left over")
    points = [complex(x, y) for x, y in zip(numbers[0::2], numbers[1::2], strict=True)]
    if len(points) < 2:
        return []
    return [Run(points[0], [Bezier((p,)) for p in points[1:]], tag == "polygon")]


def _radii(node: Node, width: float, height: float) -> tuple[float, float]:
    """rx and ry, each the other's where it is not given."""
    given = [node.get(name, "auto").strip() or "auto" for name in ("rx", "ry")]
    sides = (width, height)
    values = [
        None if text == "auto" else parse_length(text).px(side)
        for text, side in zip(given, sides, strict=True)
    ]
    rx = values[0] if values[0] is not None else values[1]
    ry = values[1] if values[1] is not None else values[0]
    return (rx or 0.0, ry or 0.0)


def length_px(node: Node, name: str, whole: float) -> float:
    """A length of an element in pixels; 0 where it is not given."""
    text = node.get(name)
    return parse_length(text).px(whole) if text.strip() else 0.0
