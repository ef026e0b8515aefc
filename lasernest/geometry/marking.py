"""Marks: which panel an open line lies on, and which open lines were meant to cut."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import shapely

from lasernest.domain.answers import WIDEST_GAP_MM
from lasernest.domain.contours import Contour, Point
from lasernest.domain.panels import Mark
from lasernest.geometry.chaining import Chain
from lasernest.geometry.nesting_depth import CHORD_MM, Nest

_WIDEST_GAP_SHARE = 0.08
"""Of the run's length: an outline with a wider gap is taken for an open line."""


_WIDEST_GAP_WIDTH = 0.1
"""Of twice the area over the length, which is the width of a long ring: two lines side by
side are no outline. Source of this and the share above: common practice, no source."""

_MOST_SIDES = 2000
"""With more open runs than this nobody has drawn outlines in pieces."""


class OpenOutline(NamedTuple):
    """An outline that does not close: its runs, where its widest gap is, and how wide."""

    runs: tuple[int, ...]
    at: Point
    gap_mm: float
    gaps: int = 1


def marks_by_panel(nest: Nest, marks: Sequence[Mark]) -> tuple[dict[int, list[Mark]], list[Mark]]:
    """Give each mark to the deepest outer contour around its middle.

    Returns:
        Marks by ring, and those that lie on no panel.
    """
    given: dict[int, list[Mark]] = {}
    outers = nest.outers
    if not marks or not outers:
        return given, list(marks)
    polygons = nest.polygons[outers]
    tree = shapely.STRtree(shapely.points([middle_of(mark.path) for mark in marks]))
    owner: dict[int, int] = {}
    holders, held = tree.query(polygons, predicate="intersects")
    for holder, mark in zip(holders.tolist(), held.tolist(), strict=True):
        ring = outers[holder]
        if mark not in owner or nest.depths[ring] > nest.depths[owner[mark]]:
            owner[mark] = ring
    for k, ring in sorted(owner.items()):
        given.setdefault(ring, []).append(marks[k])
    return given, [mark for k, mark in enumerate(marks) if k not in owner]


def middle_of(path: Contour) -> Point:
    """A point on the path half way along."""
    half = 0.5 * path.length_mm
    for segment in path.segments():
        length_mm = segment.length_mm
        if length_mm >= half and length_mm > 0.0:
            return segment.point_at(half / length_mm)
        half -= length_mm
    return path.end


def open_outlines(runs: Sequence[Chain]) -> list[OpenOutline]:
    """Runs that look like outlines with gaps, each alone or several after one another."""
    alone = _open_alone(runs)
    taken = {outline.runs[0] for outline in alone}
    if len(runs) - len(taken) > _MOST_SIDES:
        return alone
    return [*alone, *_open_in_pieces(runs, [k for k in range(len(runs)) if k not in taken])]


def _open_alone(runs: Sequence[Chain]) -> list[OpenOutline]:
    """Runs whose ends are near each other for their length, and that bend round an area."""
    found: list[OpenOutline] = []
    for k, run in enumerate(runs):
        path = run.path
        if len(path.vertices) < 3:
            continue
        gap_mm = math.dist(path.start, path.end)
        length_mm = path.length_mm
        if gap_mm > min(WIDEST_GAP_MM, _WIDEST_GAP_SHARE * length_mm) or gap_mm == 0.0:
            continue
        area_mm2 = Contour(path.vertices, closed=True).area_mm2
        if area_mm2 > 0.02 * length_mm * length_mm / (4.0 * math.pi):
            found.append(OpenOutline((k,), _between(path.start, path.end), gap_mm))
    return found


def _open_in_pieces(runs: Sequence[Chain], which: Sequence[int]) -> list[OpenOutline]:
    """Rings that several runs make when nearest ends are joined, if the gaps are narrow
    beside the ring."""
    ends = [point for k in which for point in (runs[k].path.start, runs[k].path.end)]
    partner = _nearest_pairs(ends)
    found: list[OpenOutline] = []
    seen: set[int] = set()
    for first in range(0, len(ends), 2):
        entries: list[int] = []
        entry = first
        while entry not in seen:
            seen |= {entry, entry ^ 1}
            entries.append(entry)
            if (entry ^ 1) not in partner:
                break
            entry = partner[entry ^ 1]
        if entry != first or len(entries) < 2 or (entries[-1] ^ 1) not in partner:
            continue
        paths = [runs[which[e >> 1]].path for e in entries]
        walked = [p.reversed() if e & 1 else p for p, e in zip(paths, entries, strict=True)]
        ring = Contour(tuple(v for path in walked for v in path.vertices), closed=True)
        gaps = [(ends[e ^ 1], ends[partner[e ^ 1]]) for e in entries]
        widest = max(gaps, key=lambda gap: math.dist(*gap))
        gap_mm = math.dist(*widest)
        if gap_mm <= _WIDEST_GAP_WIDTH * 2.0 * abs(ring.area_mm2) / ring.length_mm:
            numbers = tuple(which[e >> 1] for e in entries)
            found.append(OpenOutline(numbers, _between(*widest), gap_mm, len(gaps)))
    return found


def _nearest_pairs(ends: Sequence[Point]) -> dict[int, int]:
    """Ends of different runs within the widest gap, nearest first, each with its partner."""
    if not ends:
        return {}
    points = shapely.points(ends)
    left, right = shapely.STRtree(points).query(points, predicate="dwithin", distance=WIDEST_GAP_MM)
    pairs = [
        (math.dist(ends[a], ends[b]), a, b)
        for a, b in zip(left.tolist(), right.tolist(), strict=True)
        if a < b and a >> 1 != b >> 1
    ]
    partner: dict[int, int] = {}
    for _, a, b in sorted(pairs):
        if a not in partner and b not in partner:
            partner[a], partner[b] = b, a
    return partner


def _between(a: Point, b: Point) -> Point:
    return (0.5 * (a[0] + b[0]), 0.5 * (a[1] + b[1]))


def dividing_runs(runs: Sequence[Chain], nest: Nest, gap_mm: float) -> list[int]:
    """Runs inside a panel whose two ends lie on its contours."""
    if not runs or not nest.rings:
        return []
    tree = shapely.STRtree(shapely.boundary(nest.polygons))
    slack = gap_mm + CHORD_MM
    starts = shapely.points([run.path.start for run in runs])
    ends = shapely.points([run.path.end for run in runs])
    touching = [
        set(tree.query(points, predicate="dwithin", distance=slack)[0].tolist())
        for points in (starts, ends)
    ]
    solid = shapely.STRtree(nest.polygons)
    return [
        k
        for k in sorted(touching[0] & touching[1])
        if len(solid.query(shapely.Point(middle_of(runs[k].path)), "within"))
    ]
