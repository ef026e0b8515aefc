"""Marks: which panel an open line lies on, and which open lines were meant to cut."""

from __future__ import annotations

import math
from collections.abc import Sequence

import shapely

from lasernest.domain.answers import WIDEST_GAP_MM
from lasernest.domain.contours import Contour, Point
from lasernest.domain.panels import Mark
from lasernest.geometry.chaining import Chain
from lasernest.geometry.nesting_depth import CHORD_MM, Nest

_WIDEST_GAP_SHARE = 0.08
"""Of the run's length: an outline with a wider gap is taken for an open line."""


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


def gaps_of_outlines(runs: Sequence[Chain]) -> dict[int, tuple[Point, float]]:
    """Runs that look like outlines with a gap: the middle of the gap and its width.

    That is a run whose ends are near each other for its length, that bends
    round an area, and that is not small beside its gap.
    """
    found: dict[int, tuple[Point, float]] = {}
    for k, run in enumerate(runs):
        path = run.path
        if len(path.vertices) < 3:
            continue
        (ax, ay), (bx, by) = path.start, path.end
        gap_mm = math.hypot(bx - ax, by - ay)
        length_mm = path.length_mm
        if gap_mm > min(WIDEST_GAP_MM, _WIDEST_GAP_SHARE * length_mm) or gap_mm == 0.0:
            continue
        area_mm2 = Contour(path.vertices, closed=True).area_mm2
        if area_mm2 > 0.02 * length_mm * length_mm / (4.0 * math.pi):
            found[k] = ((0.5 * (ax + bx), 0.5 * (ay + by)), gap_mm)
    return found


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
