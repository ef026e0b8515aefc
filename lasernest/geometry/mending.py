"""Mending: doubled lines removed, overlaps cut apart, ends that run on or turn back trimmed.

All of it works on single lines and arcs. Two segments *overlap* when they lie
on the same straight line or circle and share a stretch of it. Overlaps are cut
at each other's ends; what then lies in the same place twice is kept once.

Limits: lines that lie on each other only within more than `ON_LINE_MM` are not
seen as one. Cost: n log n, from a spatial tree of boxes.
"""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Iterable, Sequence
from functools import partial
from itertools import pairwise
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import shapely

from lasernest.domain.contours import Contour, Point, Segment, Vertex
from lasernest.geometry.chaining import SAME_PLACE_MM, same_place_labels, table_of
from lasernest.geometry.extents import vertex_table
from lasernest.geometry.mapping import contour_of

ON_LINE_MM = 2e-3
"""How far apart two lines may be to count as one, drawn twice."""


class Piece(NamedTuple):
    """A segment and the stroke it comes from."""

    segment: Segment
    stroke: int


def pieces_of(paths: Iterable[tuple[int, Contour]]) -> list[Piece]:
    """The segments of numbered paths, without specks; arcs that nearly close are halved."""
    given = list(paths)
    if not given:
        return []
    table, counts = vertex_table([path for _, path in given])
    ends = np.cumsum(counts)
    following = np.arange(1, len(table) + 1)
    following[ends - 1] = ends - counts
    goes_on = np.ones(len(table), dtype=bool)
    goes_on[(ends - 1)[[not path.closed for _, path in given]]] = False
    x0, y0, bulge = table.T
    x1, y1, _ = table[following].T
    chord_mm = np.hypot(x1 - x0, y1 - y0)
    halved = (bulge != 0.0) & ((chord_mm <= 10.0 * SAME_PLACE_MM) | (np.abs(bulge) > 5.0))
    kept = np.flatnonzero(goes_on & ((chord_mm > SAME_PLACE_MM) | halved))
    owner = np.repeat([number for number, _ in given], counts)[kept].tolist()
    columns = [values[kept].tolist() for values in (x0, y0, x1, y1, bulge)]
    # What `Segment._make` does, without its check, for hundreds of thousands of them.
    segments = map(partial(tuple.__new__, Segment), zip(*columns, strict=True))
    pieces = list(map(partial(tuple.__new__, Piece), zip(segments, owner, strict=True)))
    for i in np.flatnonzero(halved[kept])[::-1].tolist():
        segment, number = pieces[i]
        pieces[i : i + 1] = [Piece(half, number) for half in split_at(segment, [0.5])]
    return pieces


def split_at(segment: Segment, shares: Sequence[float]) -> list[Segment]:
    """A segment cut at shares of its length, given in rising order."""
    stops = [0.0, *shares, 1.0]
    points = [segment.start, *(segment.point_at(t) for t in shares), segment.end]
    sweep = segment.sweep_rad
    return [
        Segment(*points[i], *points[i + 1], math.tan(0.25 * sweep * (stops[i + 1] - stops[i])))
        for i in range(len(stops) - 1)
    ]


def split_at_points(segment: Segment, cuts: Iterable[tuple[float, Point]]) -> list[Segment]:
    """A segment cut at shares of its length; each cut lies exactly at the given point."""
    ordered = sorted(set(cuts))
    if not ordered:
        return [segment]
    stops = [0.0, *(share for share, _ in ordered), 1.0]
    points = [segment.start, *(point for _, point in ordered), segment.end]
    sweep = segment.sweep_rad
    made = []
    for i in range(len(stops) - 1):
        bulge = math.tan(0.25 * sweep * (stops[i + 1] - stops[i])) if segment.bulge else 0.0
        piece = Segment(*points[i], *points[i + 1], bulge)
        if piece.chord_mm > SAME_PLACE_MM:
            made.append(piece)
    return made


def share_at(segment: Segment, x_mm: float, y_mm: float) -> tuple[float, float]:
    """Where a point comes nearest to the line or circle of a segment.

    Returns:
        The share of the segment's length, outside 0 to 1 beyond its ends, and
        the distance from the point to the line or circle.
    """
    if segment.bulge == 0.0:
        dx, dy = segment.x1_mm - segment.x0_mm, segment.y1_mm - segment.y0_mm
        square = dx * dx + dy * dy
        px, py = x_mm - segment.x0_mm, y_mm - segment.y0_mm
        return ((px * dx + py * dy) / square, abs(px * dy - py * dx) / math.sqrt(square))
    cx, cy = segment.centre
    start = math.atan2(segment.y0_mm - cy, segment.x0_mm - cx)
    turn = math.atan2(y_mm - cy, x_mm - cx) - start
    sweep = segment.sweep_rad
    # Into the half turn either side of the arc's middle.
    turn -= 2.0 * math.pi * round((turn - 0.5 * sweep) / (2.0 * math.pi))
    return (turn / sweep, abs(math.hypot(x_mm - cx, y_mm - cy) - segment.radius_mm))


def drawn_lines(segments: Sequence[Segment]) -> npt.NDArray[np.object_]:
    """The segments as shapely lines, arcs as chords within half the reach of `ON_LINE_MM`."""
    table = table_of(segments)
    lines: npt.NDArray[np.object_] = shapely.linestrings(table[:, :4].reshape(-1, 2, 2))
    for i in np.flatnonzero(table[:, 4]).tolist():
        s = segments[i]
        step = 2.0 * math.sqrt(ON_LINE_MM / max(s.radius_mm, 1e-3))
        count = max(1, math.ceil(abs(s.sweep_rad) / step))
        lines[i] = shapely.LineString([s.point_at(k / count) for k in range(count + 1)])
    return lines


def without_doubles(pieces: Sequence[Piece]) -> tuple[list[Piece], list[Point]]:
    """Each line and arc once; and the middles of the copies that were dropped."""
    if not pieces:
        return [], []
    segments = [p.segment for p in pieces]
    table = table_of(segments)
    step = 0.5 * table[:, 4:5] * (table[:, 2:4] - table[:, 0:2])
    middles = 0.5 * (table[:, 0:2] + table[:, 2:4])
    middles += np.column_stack([step[:, 1], -step[:, 0]])
    points = np.vstack([table[:, 0:2], table[:, 2:4], middles])
    labels = same_place_labels(points).reshape(3, -1)
    ends = np.sort(labels[:2], axis=0)
    keys = np.vstack([ends, labels[2:]]).T
    _, first = np.unique(keys, axis=0, return_index=True)
    if len(first) == len(pieces):
        return list(pieces), []
    kept = np.zeros(len(pieces), dtype=bool)
    kept[first] = True
    flags: list[bool] = kept.tolist()
    dropped = [segments[i].middle for i, keep in enumerate(flags) if not keep]
    return [p for p, keep in zip(pieces, flags, strict=True) if keep], dropped


def overlaps_cut(
    pieces: Sequence[Piece], fixed: Sequence[Piece] = ()
) -> tuple[list[Piece], list[Point]]:
    """Pieces cut where they overlap each other, what lies twice kept once.

    Args:
        pieces: lines and arcs, none exactly twice.
        fixed: lines and arcs that stay whole, such as those of closed
            contours; what lies on them is dropped.

    Returns:
        The pieces, and a point on each stretch that was dropped.
    """
    everything = [*pieces, *fixed]
    count = len(pieces)
    cuts: dict[int, set[tuple[float, Point]]] = {}
    on_fixed: dict[int, list[int]] = {}
    for i, j in _overlapping_pairs([p.segment for p in everything], count):
        for a, b in ((i, j), (j, i)):
            if a >= count:
                continue
            other = everything[b].segment
            for point in (other.start, other.end):
                share, _ = share_at(everything[a].segment, *point)
                length_mm = everything[a].segment.length_mm
                if SAME_PLACE_MM < share * length_mm < length_mm - SAME_PLACE_MM:
                    cuts.setdefault(a, set()).add((share, point))
            if b >= count:
                on_fixed.setdefault(a, []).append(b)
    if not cuts and not on_fixed:
        return list(pieces), []
    made: list[Piece] = []
    dropped: list[Point] = []
    for i, piece in enumerate(pieces):
        for part in split_at_points(piece.segment, cuts.get(i, ())):
            x, y = part.middle
            if any(_lies_on(everything[b].segment, x, y) for b in on_fixed.get(i, ())):
                dropped.append((x, y))
            else:
                made.append(Piece(part, piece.stroke))
    kept, twice = without_doubles(made)
    return kept, dropped + twice


def _lies_on(segment: Segment, x_mm: float, y_mm: float) -> bool:
    share, apart_mm = share_at(segment, x_mm, y_mm)
    return -1e-9 <= share <= 1.0 + 1e-9 and apart_mm <= ON_LINE_MM


def _overlapping_pairs(segments: Sequence[Segment], first: int) -> list[tuple[int, int]]:
    """Pairs that share a stretch; at least one of each pair is among the first so many."""
    if first == 0:
        return []
    left, right = _near_pairs(segments)
    keep = np.minimum(left, right) < first
    left, right = left[keep], right[keep]
    table = table_of(segments)
    bent = table[:, 4] != 0.0
    straight = ~bent[left] & ~bent[right]
    found: list[tuple[int, int]] = []
    a, b = left[straight], right[straight]
    along = _lines_overlap(table, a, b)
    found += zip(a[along].tolist(), b[along].tolist(), strict=True)
    both = bent[left] & bent[right]
    for i, j in zip(left[both].tolist(), right[both].tolist(), strict=True):
        if _arcs_overlap(segments[i], segments[j]):
            found.append((i, j))
    return found


def _near_pairs(
    segments: Sequence[Segment],
) -> tuple[npt.NDArray[np.int64], npt.NDArray[np.int64]]:
    """Pairs i < j whose boxes touch."""
    table = table_of(segments)
    low = np.minimum(table[:, 0:2], table[:, 2:4])
    high = np.maximum(table[:, 0:2], table[:, 2:4])
    for i in np.flatnonzero(table[:, 4]).tolist():
        x0, y0, x1, y1 = segments[i].bounds_mm()
        low[i], high[i] = (x0, y0), (x1, y1)
    boxes = shapely.box(
        low[:, 0] - ON_LINE_MM,
        low[:, 1] - ON_LINE_MM,
        high[:, 0] + ON_LINE_MM,
        high[:, 1] + ON_LINE_MM,
    )
    left, right = shapely.STRtree(boxes).query(boxes)
    keep = left < right
    return left[keep], right[keep]


def _lines_overlap(
    table: npt.NDArray[np.float64], a: npt.NDArray[np.int64], b: npt.NDArray[np.int64]
) -> npt.NDArray[np.bool_]:
    """For each pair of straight lines whether they share a stretch."""
    length = np.hypot(*(table[:, 2:4] - table[:, 0:2]).T)
    swap = length[a] < length[b]
    long, short = np.where(swap, b, a), np.where(swap, a, b)
    origin = table[long, 0:2]
    unit = (table[long, 2:4] - origin) / length[long][:, None]
    shares = []
    off = np.zeros(len(a))
    for ends in (table[short, 0:2], table[short, 2:4]):
        away = ends - origin
        off = np.maximum(off, np.abs(away[:, 0] * unit[:, 1] - away[:, 1] * unit[:, 0]))
        shares.append((away * unit).sum(axis=1))
    low = np.maximum(np.minimum(*shares), 0.0)
    high = np.minimum(np.maximum(*shares), length[long])
    return np.asarray((off <= ON_LINE_MM) & (high - low > 10.0 * SAME_PLACE_MM))


def _arcs_overlap(a: Segment, b: Segment) -> bool:
    (ax, ay), (bx, by) = a.centre, b.centre
    if math.hypot(ax - bx, ay - by) > ON_LINE_MM or abs(a.radius_mm - b.radius_mm) > ON_LINE_MM:
        return False
    shares = [t for t, _ in (share_at(a, *b.start), share_at(a, *b.end), share_at(a, *b.middle))]
    inside = sum(1 for t in shares if 1e-6 < t < 1.0 - 1e-6)
    ends_inside = sum(1 for p in (a.start, a.end) if 1e-6 < share_at(b, *p)[0] < 1.0 - 1e-6)
    return inside + ends_inside > 0


def without_spikes(contour: Contour) -> tuple[Contour | None, list[Point]]:
    """A closed contour without stretches that go out and come back on themselves.

    Returns:
        The contour, or None where nothing else was left of it, and the tips.
    """
    segments = list(contour.segments())
    turns = (_turns_back(a, b) for a, b in pairwise([*segments, segments[0]]))
    if not any(turns):
        return contour, []
    vertices = deque(contour.vertices)
    tips: list[Point] = []
    calm = 0
    while len(vertices) > 2 and calm < len(vertices):
        a, b, c = vertices[0], vertices[1], vertices[2]
        out = Segment(a.x_mm, a.y_mm, b.x_mm, b.y_mm, a.bulge)
        back = Segment(b.x_mm, b.y_mm, c.x_mm, c.y_mm, b.bulge)
        if out.chord_mm > SAME_PLACE_MM and not _turns_back(out, back):
            vertices.rotate(-1)
            calm += 1
            continue
        calm = 0
        del vertices[1]
        if out.chord_mm <= SAME_PLACE_MM:
            vertices[0] = Vertex(a.x_mm, a.y_mm, b.bulge)
            continue
        tips.append((b.x_mm, b.y_mm))
        # What is left of the longer one leads on from where the shorter one ends.
        if out.length_mm >= back.length_mm:
            part, rest = share_at(out, c.x_mm, c.y_mm)[0], out
        else:
            part, rest = 1.0 - share_at(back, a.x_mm, a.y_mm)[0], back
        bulge = math.tan(0.25 * rest.sweep_rad * part) if rest.bulge else 0.0
        vertices[0] = Vertex(a.x_mm, a.y_mm, bulge)
        vertices.rotate(1)
    return contour_of(tuple(vertices), True), tips


def _turns_back(out: Segment, back: Segment) -> bool:
    """True when the second segment goes back over the first."""
    if (out.bulge == 0.0) != (back.bulge == 0.0) or out.chord_mm == 0.0 or back.chord_mm == 0.0:
        return False
    ox, oy = out.tangent_at(1.0)
    bx, by = back.tangent_at(0.0)
    if ox * bx + oy * by > -1.0 + 1e-6:
        return False
    if out.bulge:
        return out.bulge * back.bulge < 0.0 and _arcs_overlap(out, back)
    x, y = back.end if back.length_mm <= out.length_mm else out.start
    longer = out if back.length_mm <= out.length_mm else back
    return share_at(longer, x, y)[1] <= ON_LINE_MM
