"""Profiles: the new course of a contour along one edge, and the contour made of them.

A *run* replaces a stretch of an edge by steps, notches and reliefs given in
stations and levels (see `edges`). A run that is open at an end reaches the
corner of the panel; the corner then moves to where the two neighbouring courses
cross. Lines stay lines and reliefs stay arcs: nothing is flattened.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import shapely

from lasernest.domain.contours import Contour, Point, Segment, Vertex
from lasernest.errors import Where
from lasernest.geometry.flatten import ring_polygon
from lasernest.joints.edges import JointError, StraightEdge

_PARALLEL_SINE = math.sin(math.radians(5.0))
"""Neighbouring edges flatter than this have no useful crossing."""
_MOST_SPIKE = 4.0
"""Farthest that a corner may move along its edge, in levels: an angle of 28 degrees."""
_CHECK_CHORD_ERROR_MM = 0.01
_NOTHING_MM = 1e-9


class ProfilePoint(NamedTuple):
    """A corner of a profile; the bulge is that of the drawing, as in `Vertex`."""

    station_mm: float
    level_mm: float
    bulge: float = 0.0


@dataclass(frozen=True, slots=True)
class EdgeRun:
    """A stretch of an edge with a new course."""

    start_mm: float
    end_mm: float
    points: tuple[ProfilePoint, ...]
    start_level_mm: float = 0.0
    end_level_mm: float = 0.0
    open_start: bool = False
    open_end: bool = False
    mouth_chamfer_mm: float = 0.0
    """Of a notch: chamfer of its mouth, which goes along when the notch moves to another level."""


def same_run(one: EdgeRun, other: EdgeRun) -> bool:
    """True when two runs give the same course."""
    if len(one.points) != len(other.points):
        return False
    ends = ((one.start_mm, one.end_mm, 0.0), (other.start_mm, other.end_mm, 0.0))
    pairs = zip((ends[0], *one.points), (ends[1], *other.points), strict=True)
    return all(abs(v - w) <= _NOTHING_MM for p, q in pairs for v, w in zip(p, q, strict=True))


class Step(NamedTuple):
    """At a station the level changes from what it was to this one."""

    station_mm: float
    level_mm: float


def stepped_points(
    first_level_mm: float,
    steps: Sequence[Step],
    *,
    relief_mm: float = 0.0,
    chamfer_mm: float = 0.0,
) -> tuple[ProfilePoint, ...]:
    """The corners of a stepped course.

    Args:
        first_level_mm: level before the first step.
        steps: in order of stations.
        relief_mm: radius of the half circle that takes each inner corner; it
            passes through the corner and leaves the outer part of the wall.
        chamfer_mm: leg of the 45 degree chamfer on each outer corner.
    """
    points: list[ProfilePoint] = []
    level_mm = first_level_mm
    bite_mm = relief_mm * math.sqrt(2.0)
    for station_mm, next_mm in steps:
        if abs(next_mm - level_mm) <= _NOTHING_MM:
            continue
        goes_in = next_mm < level_mm
        side = 1.0 if goes_in else -1.0
        # `side` points along the edge from the wall to the lower course.
        tip_mm, root_mm = max(level_mm, next_mm), min(level_mm, next_mm)
        outer = (
            [
                ProfilePoint(station_mm - side * chamfer_mm, tip_mm),
                ProfilePoint(station_mm, tip_mm - chamfer_mm),
            ]
            if chamfer_mm > 0.0
            else [ProfilePoint(station_mm, tip_mm)]
        )
        inner = (
            [
                ProfilePoint(station_mm, root_mm + bite_mm),
                ProfilePoint(station_mm + side * bite_mm, root_mm),
            ]
            if relief_mm > 0.0
            else [ProfilePoint(station_mm, root_mm)]
        )
        walk = outer + inner if goes_in else inner[::-1] + outer[::-1]
        if relief_mm > 0.0:
            first = len(outer) if goes_in else 0
            walk[first] = walk[first]._replace(bulge=-1.0)
        points += walk
        level_mm = next_mm
    return tuple(points)


class OffsetCorner(NamedTuple):
    """Where the courses of two neighbouring sides cross."""

    point: Point
    crosses: bool
    """False when a side is an arc, or when both run so nearly the same way that
    their crossing would be a spike."""


def crossing(before: Segment, before_mm: float, after: Segment, after_mm: float) -> OffsetCorner:
    """The crossing of two neighbouring sides, each moved outward to a level."""
    corner = before.end
    if before.is_arc or after.is_arc:
        return OffsetCorner(corner, False)
    (ax, ay), (bx, by) = before.tangent_at(0.0), after.tangent_at(0.0)
    sine = ax * by - ay * bx
    if abs(sine) < _PARALLEL_SINE:
        return OffsetCorner(corner, False)
    # corner + p a + before_mm na lies on the line corner + q b + after_mm nb.
    cosine = ax * bx + ay * by
    p_mm = (before_mm * cosine - after_mm) / -sine
    if abs(p_mm) > _MOST_SPIKE * max(abs(before_mm), abs(after_mm)):
        return OffsetCorner(corner, False)
    nax, nay = ay, -ax
    return OffsetCorner(
        (corner[0] + p_mm * ax + before_mm * nax, corner[1] + p_mm * ay + before_mm * nay), True
    )


def corner_station_mm(
    sides: Sequence[Segment],
    index: int,
    *,
    at_start: bool,
    own_levels_mm: Sequence[float],
    neighbour_level_mm: float,
) -> float:
    """Where an edge really ends, once its neighbour is shaped: the innermost of its levels.

    Args:
        sides: of the panel.
        index: the edge among them.
        at_start: look at the start of the edge, else at its end.
        own_levels_mm: levels of the edge itself that must still be there.
        neighbour_level_mm: level of the neighbouring side at this corner.
    """
    side = sides[index]
    edge = StraightEdge("", index, side.start, side.end)
    stations: list[float] = []
    for own_mm in own_levels_mm:
        if at_start:
            corner = crossing(sides[index - 1], neighbour_level_mm, side, own_mm)
        else:
            after = sides[(index + 1) % len(sides)]
            corner = crossing(side, own_mm, after, neighbour_level_mm)
        stations.append(edge.station_mm(corner.point))
    return max(stations) if at_start else min(stations)


def reshape(
    sides: Sequence[Segment], runs: Mapping[int, Sequence[EdgeRun]], *, panel: str
) -> Contour:
    """The contour with its runs put in.

    Args:
        sides: lines and arcs of the outer contour (`edges.sides_of`).
        runs: for the index of a side its runs; they must not overlap.
        panel: name, for errors.

    Raises:
        JointError: two runs claim one stretch, or the new contour crosses itself.
    """
    ordered = {
        i: _in_order(found, StraightEdge(panel, i, sides[i].start, sides[i].end))
        for i, found in runs.items()
    }
    vertices: list[Vertex] = []
    for i, side in enumerate(sides):
        vertices += _corner_vertices(i, sides, ordered, panel)
        here = ordered.get(i, [])
        if not here:
            vertices[-1] = vertices[-1]._replace(bulge=side.bulge)
            continue
        edge = StraightEdge(panel, i, side.start, side.end)
        for run in here:
            for p in run.points:
                x, y = edge.point(p.station_mm, p.level_mm)
                vertices.append(Vertex(x, y, p.bulge))
    contour = Contour(_without_repeats(vertices))
    _check_simple(contour, panel)
    return contour


def _in_order(runs: Sequence[EdgeRun], edge: StraightEdge) -> list[EdgeRun]:
    """Runs by station; a notch inside a flat stretch of another run is put into it."""
    ordered: list[EdgeRun] = []
    for run in sorted(runs, key=lambda r: (r.start_mm, -r.end_mm)):
        if not ordered or run.start_mm >= ordered[-1].end_mm - _NOTHING_MM:
            ordered.append(run)
            continue
        merged = _notched(ordered[-1], run)
        if merged is None:
            raise JointError(
                "two joints claim the same stretch of this edge",
                where=Where(panel=edge.panel, at_mm=edge.point(run.start_mm)),
                todo="Move one of them, or put it on another edge.",
            )
        ordered[-1] = merged
    return ordered


def _notched(run: EdgeRun, notch: EdgeRun) -> EdgeRun | None:
    if notch.open_start or notch.open_end:
        return None
    before = [i for i, p in enumerate(run.points) if p.station_mm <= notch.start_mm]
    cut = before[-1] + 1 if before else 0
    left_mm = run.points[cut - 1].level_mm if cut else run.start_level_mm
    right_mm = run.points[cut].level_mm if cut < len(run.points) else run.end_level_mm
    beyond_mm = run.points[cut].station_mm if cut < len(run.points) else run.end_mm
    is_flat = abs(left_mm - right_mm) <= _NOTHING_MM and not (cut and run.points[cut - 1].bulge)
    if not is_flat or beyond_mm < notch.end_mm:
        return None
    mouth_mm = (0.0, -notch.mouth_chamfer_mm)
    inside = tuple(
        p._replace(level_mm=left_mm + p.level_mm) if p.level_mm in mouth_mm else p
        for p in notch.points
    )
    return EdgeRun(
        run.start_mm,
        run.end_mm,
        run.points[:cut] + inside + run.points[cut:],
        run.start_level_mm,
        run.end_level_mm,
        run.open_start,
        run.open_end,
    )


def _corner_vertices(
    i: int, sides: Sequence[Segment], runs: Mapping[int, Sequence[EdgeRun]], panel: str
) -> list[Vertex]:
    """The vertices of the corner before side i."""
    before, after = sides[i - 1], sides[i]
    last = runs.get((i - 1) % len(sides), [])
    first = runs.get(i, [])
    before_mm = last[-1].end_level_mm if last and last[-1].open_end else 0.0
    after_mm = first[0].start_level_mm if first and first[0].open_start else 0.0
    if before_mm == 0.0 and after_mm == 0.0:
        return [Vertex(*after.start)]
    corner = crossing(before, before_mm, after, after_mm)
    if corner.crosses:
        return [Vertex(*corner.point)]
    steps = [after.start]
    if before_mm != 0.0:
        edge = StraightEdge(panel, i - 1, before.start, before.end)
        steps.insert(0, edge.point(edge.length_mm, before_mm))
    if after_mm != 0.0:
        steps.append(StraightEdge(panel, i, after.start, after.end).point(0.0, after_mm))
    return [Vertex(*p) for p in steps]


def _without_repeats(vertices: Sequence[Vertex]) -> tuple[Vertex, ...]:
    """The walk without standing still and without steps out and straight back.

    Where two joints abut on one edge, each steps to the drawn level there.
    """
    kept: list[Vertex] = []
    for v in vertices:
        if kept and _together(kept[-1], v):
            kept[-1] = v
        else:
            kept.append(v)
        if len(kept) > 2 and _together(kept[-3], v) and not (kept[-3].bulge or kept[-2].bulge):
            kept[-3:] = [v]
    if len(kept) > 1 and _together(kept[-1], kept[0]):
        kept.pop()
    return tuple(kept)


def _together(a: Vertex, b: Vertex) -> bool:
    return math.dist(a[:2], b[:2]) <= _NOTHING_MM


def _check_simple(contour: Contour, panel: str) -> None:
    polygon = ring_polygon(contour, chord_error_mm=_CHECK_CHORD_ERROR_MM)
    if polygon.is_valid and contour.is_anticlockwise:
        return
    reason = shapely.is_valid_reason(polygon)
    at_mm = None
    if "[" in reason:
        x, y = reason[reason.index("[") + 1 : reason.index("]")].split()[:2]
        at_mm = (float(x), float(y))
    raise JointError(
        "the joints of this panel cut into each other",
        where=Where(panel=panel, at_mm=at_mm),
        todo="The panel is too small for them here: use narrower fingers, move a joint, "
        "or leave one out.",
    )
