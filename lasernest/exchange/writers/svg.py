"""Cut files as SVG: one user unit is one millimetre, true arcs, kinds told by colour.

SVG has its y axis down, so the sheet is turned over at its own height. Full
circles become `circle`, everything else `path` with `L` and `A`. Elements
stand in the order of work. The same cut gives the same bytes.

Source: W3C, Scalable Vector Graphics 1.1, chapters 7.10 (units), 8.3.8 (arcs).
"""

from __future__ import annotations

import math
from pathlib import Path
from xml.sax.saxutils import quoteattr

from lasernest.domain.contours import Contour, Segment
from lasernest.domain.cutting import LayerStyle, MachineProfile, PathKind, SheetCut
from lasernest.errors import BadValueError
from lasernest.files import write_atomically

LINE_WIDTH_MM = 0.1
"""Lines are drawn thin; their width means nothing to a laser."""

_DIGITS = 8


def write_cut_svg(cut: SheetCut, path: Path, *, profile: MachineProfile | None = None) -> None:
    """Write the paths of one sheet.

    Args:
        cut: paths in the order of work.
        path: the file to make or replace; it is never left half written.
        profile: colours; the usual ones when not given.

    Raises:
        BadValueError: two kinds of work have the same colour.
        UnwritableFileError: the file cannot be written there.
    """
    write_atomically(path, cut_svg(cut, profile=profile))


def cut_svg(cut: SheetCut, *, profile: MachineProfile | None = None) -> bytes:
    """The cut file's bytes; see `write_cut_svg`.

    Raises:
        BadValueError: two kinds of work have the same colour.
    """
    styles = profile if profile is not None else MachineProfile()
    _refuse_twins(styles)
    outline = cut.outline or Contour.rectangle(0.0, 0.0, cut.width_mm, cut.height_mm)
    x0, y0, x1, y1 = outline.bounds_mm()
    width, height = _number(x1 - x0), _number(y1 - y0)
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" version="1.1" width="{width}mm" '
        f'height="{height}mm" viewBox="{_number(x0)} {_number(-y1)} {width} {height}">',
        f'<g fill="none" stroke-width="{_number(LINE_WIDTH_MM)}">',
        _element(outline, styles.sheet),
        *(_element(path.path, styles.style(path.kind)) for path in cut.paths),
        "</g>",
        "</svg>",
        "",
    ]
    return "\n".join(lines).encode()


def _refuse_twins(styles: MachineProfile) -> None:
    seen = {styles.sheet.hex: "the sheet"}
    for kind in PathKind:
        colour = styles.style(kind).hex
        if colour in seen:
            raise BadValueError(
                f"{seen[colour]} and {kind.value} have the same colour {colour}",
                todo="SVG tells them apart by colour only: give each its own, or write DXF.",
            )
        seen[colour] = kind.value


def _element(contour: Contour, style: LayerStyle) -> str:
    attributes = f'class={quoteattr(style.layer)} stroke="{style.hex}"'
    circle = contour.as_circle()
    if circle is not None:
        return (
            f'<circle {attributes} cx="{_number(circle.x_mm)}" cy="{_number(-circle.y_mm)}" '
            f'r="{_number(circle.radius_mm)}"/>'
        )
    return f'<path {attributes} d="{path_data(contour)}"/>'


def path_data(contour: Contour) -> str:
    """A contour as the data of an SVG path, turned over: y down."""
    segments = list(contour.segments())
    # The last line of a closed path is drawn by Z.
    drawn = segments[:-1] if contour.closed and not segments[-1].is_arc else segments
    steps = [f"M{_point(*contour.start)}", *map(_step, drawn)]
    return " ".join(steps) + (" Z" if contour.closed else "")


def _step(segment: Segment) -> str:
    if not segment.is_arc:
        return f"L{_point(*segment.end)}"
    radius = _number(segment.radius_mm)
    large = int(abs(segment.sweep_rad) > math.pi)
    # Turned over, anticlockwise becomes what SVG calls a negative angle: flag 0.
    positive = int(segment.bulge < 0.0)
    return f"A{radius} {radius} 0 {large} {positive} {_point(*segment.end)}"


def _point(x_mm: float, y_mm: float) -> str:
    return f"{_number(x_mm)} {_number(-y_mm)}"


def _number(value: float) -> str:
    """Rounded, plain decimals, without a negative zero or needless digits."""
    return f"{round(value, _DIGITS) + 0.0:.{_DIGITS}f}".rstrip("0").rstrip(".")
