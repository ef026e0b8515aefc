"""What can be wrong with the lines of a cut file themselves, whatever they leave.

Open cut lines, lines cut twice, lines that cross themselves, lines off the
sheet, marks that are missing, strange, or became cuts.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from lasernest.domain.contours import Contour, Point
from lasernest.domain.cutting import PathKind
from lasernest.domain.panels import MarkKind, Panel
from lasernest.domain.stock import Kerf
from lasernest.geometry.flatten import all_points, line_string

CHORD_ERROR_MM = 0.002
SAME_LINE_MM = 0.005
"""Lines nearer than this lie on each other."""
SHORTEST_DOUBLE_MM = 2.0
"""Crossing lines share less than this; lines that lie on each other more."""
CLOSED_MM = 1e-3
"""A cut that ends this near to a cut line is closed there."""

_KINDS = {MarkKind.SCORE: PathKind.SCORE, MarkKind.ENGRAVE: PathKind.ENGRAVE}
_NAMES = {PathKind.SCORE: "score", PathKind.ENGRAVE: "engraved"}


def line_problems(
    cuts: Sequence[Contour],
    touching: Sequence[tuple[int, int]],
    sheet: shapely.Polygon,
    kerf: Kerf,
) -> list[str]:
    """Sentences on cut lines that are open, doubled, crossing or off the sheet.

    Args:
        cuts: the cut lines.
        touching: numbers of lines within a kerf of each other.
        sheet: the sheet's outline.
        kerf: full width of the beam.
    """
    problems = []
    lines = [
        shapely.LineString(np.vstack([points, points[:1]]) if cut.closed else points)
        for cut, points in zip(cuts, all_points(cuts, chord_error_mm=CHORD_ERROR_MM), strict=True)
    ]
    simple = shapely.is_simple(lines)
    inside = shapely.contains_properly(sheet.buffer(1e-9 - 0.5 * max(kerf.x_mm, kerf.y_mm)), lines)
    for i, (cut, line, is_simple, is_inside) in enumerate(
        zip(cuts, lines, simple, inside, strict=True)
    ):
        if not cut.closed and not _ends_on_itself(line) and not _ends_on_others(i, lines):
            problems.append(f"A cut line is open{_place(cut.end)}.")
        elif not is_simple and cut.closed:
            problems.append(f"A cut line crosses or doubles itself; it begins{_place(cut.start)}.")
        if not is_inside:
            problems.append(f"A cut line runs off the sheet{_place(_worst_outside(line, sheet))}.")
    for i, j in touching:
        a, b = lines[i], lines[j]
        shared_mm = a.intersection(b.buffer(SAME_LINE_MM)).length
        if shared_mm >= min(SHORTEST_DOUBLE_MM, 0.5 * a.length, 0.5 * b.length):
            problems.append(f"{shared_mm:.1f} mm of line is cut twice{_place(cuts[j].start)}.")
    return problems


def mark_problems(
    paths: Sequence[tuple[PathKind, Contour]], panels: Sequence[Panel], tolerance_mm: float
) -> list[str]:
    """Sentences on marks that are missing, became cuts, or that nobody drew."""
    problems = []
    left = [(kind, contour) for kind, contour in paths if not kind.is_cut]
    cuts = [(kind, contour) for kind, contour in paths if kind.is_cut]
    for panel in panels:
        for mark in panel.marks:
            wanted = _KINDS[mark.kind]
            found = same_line(mark.path, left, tolerance_mm)
            if found is None:
                became = same_line(mark.path, cuts, tolerance_mm)
                what = "is missing" if became is None else "is cut through"
                problems.append(
                    f"{panel.name}: the {_NAMES[wanted]} line{_place(mark.path.start)} {what}."
                )
                continue
            kind, _ = left.pop(found)
            if kind is not wanted:
                problems.append(
                    f"{panel.name}: the {_NAMES[wanted]} line{_place(mark.path.start)} became "
                    f"{'an' if kind is PathKind.ENGRAVE else 'a'} {_NAMES[kind]} line."
                )
    problems += [
        f"{'An' if kind is PathKind.ENGRAVE else 'A'} {_NAMES[kind]} line that no panel has lies"
        f"{_place(contour.start)}."
        for kind, contour in left
    ]
    return problems


def same_line(
    wanted: Contour, lines: Sequence[tuple[PathKind, Contour]], tolerance_mm: float
) -> int | None:
    """The number of the line that lies where the wanted one should, either way round."""
    box = wanted.bounds_mm()
    line: shapely.LineString | None = None
    for i, (_, contour) in enumerate(lines):
        if max(abs(a - b) for a, b in zip(box, contour.bounds_mm(), strict=True)) > tolerance_mm:
            continue
        line = line or line_string(wanted, chord_error_mm=CHORD_ERROR_MM)
        other = line_string(contour, chord_error_mm=CHORD_ERROR_MM)
        if shapely.hausdorff_distance(line, other) <= tolerance_mm + CHORD_ERROR_MM:
            return i
    return None


def _ends_on_itself(line: shapely.LineString) -> bool:
    """True for an open run whose end meets its own line: it parts what it goes round."""
    corners = shapely.get_coordinates(line)
    if len(corners) < 4:
        return False
    end = shapely.Point(corners[-1])
    # The last stretch always lies near the end; the closing point lies earlier on.
    from_end = np.hypot(*(corners - corners[-1]).T)
    leaving = np.flatnonzero(from_end > 10.0 * CLOSED_MM)
    if not leaving.size:
        return False
    earlier = corners[: int(leaving[-1]) + 1]
    return len(earlier) > 1 and bool(shapely.LineString(earlier).distance(end) <= CLOSED_MM)


def _ends_on_others(number: int, lines: Sequence[shapely.LineString]) -> bool:
    """True for an open run that goes from cut to cut: a cut that two parts share."""
    others = [line for i, line in enumerate(lines) if i != number]
    ends = shapely.points(shapely.get_coordinates(lines[number])[[0, -1]])
    return bool(others) and all(shapely.distance(end, others).min() <= CLOSED_MM for end in ends)


def _worst_outside(line: shapely.LineString, sheet: shapely.Polygon) -> Point:
    outside = [c for c in line.coords if not sheet.contains(shapely.Point(c))]
    x, y = outside[0][:2] if outside else line.coords[0][:2]
    return (float(x), float(y))


def _place(at: Point) -> str:
    return f" at {at[0]:.2f}, {at[1]:.2f} mm"
