"""Chaining: loose lines and arcs joined end to end into rings and open runs.

Ends that lie in the same place (within `SAME_PLACE_MM`) are one *node*. A
*loose end* that meets nothing is joined to the nearest other loose end within
the joining gap, and that is said. Through nodes where two segments meet a
chain runs on; where more meet, they form a net, and every face of the net is
a ring of its own (`lasernest.geometry.net`), so that an edge drawn once
between two neighbours is given to both.

Cost: n log n; 100 000 lines in a second or two.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import chain as chain_up
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import shapely

from lasernest.domain.contours import Contour, Point, Segment, Vertex
from lasernest.geometry.mapping import contour_of
from lasernest.geometry.net import NetEdge, Run, rings_of_net

SAME_PLACE_MM = 1e-4
"""Ends nearer than this are one point: the rounding of a drawing file."""

JOINING_GAP_MM = 0.01
"""The default: loose ends farther apart than this stay open."""

Points = npt.NDArray[np.float64]


class Chain(NamedTuple):
    """A ring or an open run, and which of the given segments it is made of."""

    path: Contour
    members: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Chained:
    """What chaining made of a set of segments."""

    rings: tuple[Chain, ...]
    runs: tuple[Chain, ...]
    joined: tuple[Point, ...] = ()
    """Places where a gap was closed."""
    widest_gap_mm: float = 0.0
    shared: tuple[Point, ...] = ()
    """A point on each line that now belongs to two rings."""


def chain(
    segments: Sequence[Segment],
    *,
    joining_gap_mm: float = JOINING_GAP_MM,
    split_shared: bool = True,
) -> Chained:
    """Join segments end to end.

    Args:
        segments: lines and arcs in any order and direction, none of zero length.
        joining_gap_mm: widest gap between two loose ends that is closed.
        split_shared: a ring for each area of a net; else one for its outside,
            and runs for the lines within.
    """
    if not segments:
        return Chained((), ())
    table = table_of(segments)
    points = table[:, :4].reshape(-1, 2)
    node, at = _nodes(points)
    joined, widest = _join_loose(node, at, points, joining_gap_mm)
    rings: list[Chain] = []
    runs: list[Chain] = []
    edges: list[NetEdge] = []
    walks, loops = _walk(node, at, len(segments))
    for steps in loops:
        made = _assembled(segments, steps, closed=True)
        if made is not None:
            rings.append(Chain(made, tuple(s >> 1 for s in steps)))
    for steps in walks:
        a, b = node[steps[0]], node[steps[-1] ^ 1]
        members = tuple(s >> 1 for s in steps)
        if len(at[a]) > 1 and len(at[b]) > 1:
            edges.append(NetEdge(a, b, _run_of(segments, steps), members))
        elif len(steps) == 1:
            x0, y0, x1, y1, bulge = segments[members[0]]
            runs.append(Chain(Contour((Vertex(x0, y0, bulge), Vertex(x1, y1)), False), members))
        else:
            made = _assembled(segments, steps, closed=False)
            if made is not None:
                runs.append(Chain(made, members))
    net = rings_of_net(edges, split=split_shared)
    rings += [Chain(ring.path, ring.members) for ring in net.rings]
    for edge in net.bridges:
        made = contour_of(edge.run, False)
        if made is not None:
            runs.append(Chain(made, edge.members))
    return Chained(
        tuple(c for c in rings if c.path.closed),
        (*runs, *(c for c in rings if not c.path.closed)),
        tuple(joined),
        widest,
        net.shared,
    )


def table_of(segments: Sequence[Segment]) -> Points:
    """Segments as rows x0, y0, x1, y1, bulge; several times faster than `np.array`."""
    numbers = np.fromiter(chain_up.from_iterable(segments), np.float64, 5 * len(segments))
    return numbers.reshape(-1, 5)


def same_place_labels(points: Points) -> npt.NDArray[np.int64]:
    """A label for each point, the same for points in the same place.

    Points within `SAME_PLACE_MM` share a cell of at least one of four grids,
    each moved by half a cell; cells that share points are one place.
    """
    labels = np.arange(len(points), dtype=np.int64)
    cell = 2.0 * SAME_PLACE_MM
    groups = []
    for dx, dy in ((0.0, 0.0), (0.5, 0.0), (0.0, 0.5), (0.5, 0.5)):
        cells = np.floor(points / cell + (dx, dy)).astype(np.int64)
        order = _cells_together(cells)
        fresh = np.ones(len(points), dtype=bool)
        fresh[1:] = (cells[order][1:] != cells[order][:-1]).any(axis=1)
        groups.append((order, np.flatnonzero(fresh), np.cumsum(fresh) - 1))
    changed = True
    while changed:
        before = labels.copy()
        for order, starts, number in groups:
            smallest = np.minimum.reduceat(labels[order], starts)
            labels[order] = smallest[number]
        changed = bool((labels != before).any())
    return labels


def _cells_together(cells: npt.NDArray[np.int64]) -> npt.NDArray[np.int64]:
    """An order in which equal cells stand next to each other.

    Sorted by one mixed number each, a third of the time of sorting by two; where two
    different cells should come to the same number, by both after all.
    """
    with np.errstate(over="ignore"):
        mixed = cells[:, 0] * np.int64(0x9E3779B97F4A7C1) + cells[:, 1]
    order = np.argsort(mixed, kind="stable")
    same = mixed[order][1:] == mixed[order][:-1]
    if (same & (cells[order][1:] != cells[order][:-1]).any(axis=1)).any():
        return np.lexsort((cells[:, 1], cells[:, 0]))
    return order


def _nodes(points: Points) -> tuple[list[int], list[list[int]]]:
    """The node of each end, and the ends at each node; ends are 2i and 2i + 1 of segment i."""
    _, numbers = np.unique(same_place_labels(points), return_inverse=True)
    node: list[int] = numbers.tolist()
    at: list[list[int]] = [[] for _ in range(max(node) + 1)]
    for end, number in enumerate(node):
        at[number].append(end)
    return node, at


def _join_loose(
    node: list[int], at: list[list[int]], points: Points, gap_mm: float
) -> tuple[list[Point], float]:
    """Join loose ends within the gap, nearest first."""
    loose = [ends[0] for ends in at if len(ends) == 1]
    if len(loose) < 2 or gap_mm <= SAME_PLACE_MM:
        return [], 0.0
    left, right, apart = _close_pairs(points[loose], gap_mm)
    joined: list[Point] = []
    widest = 0.0
    taken: set[int] = set()
    for k in np.argsort(apart, kind="stable").tolist():
        a, b = loose[int(left[k])], loose[int(right[k])]
        if a in taken or b in taken:
            continue
        taken.update((a, b))
        gone, kept = node[b], node[a]
        node[b] = kept
        at[kept].append(b)
        at[gone] = []
        widest = max(widest, float(apart[k]))
        joined.append((float(points[a][0]), float(points[a][1])))
    return joined, widest


def _close_pairs(
    places: Points, gap_mm: float
) -> tuple[npt.NDArray[np.int64], npt.NDArray[np.int64], Points]:
    """Pairs of points within the gap, and how far apart they are."""
    geometries = shapely.points(places)
    left, right = shapely.STRtree(geometries).query(
        geometries, predicate="dwithin", distance=gap_mm
    )
    keep = left < right
    left, right = left[keep], right[keep]
    return left, right, np.hypot(*(places[left] - places[right]).T)


def _walk(
    node: list[int], at: list[list[int]], count: int
) -> tuple[list[list[int]], list[list[int]]]:
    """Chains of steps: a step is the end at which a segment is entered.

    Returns:
        Walks between nodes where not exactly two ends meet, and loops.
    """
    used = [False] * count
    walks: list[list[int]] = []
    for ends in at:
        if len(ends) == 2:
            continue
        walks += [_follow(node, at, end, used) for end in ends if not used[end >> 1]]
    loops = [_follow(node, at, 2 * i, used) for i in range(count) if not used[i]]
    return walks, loops


def _follow(node: list[int], at: list[list[int]], entry: int, used: list[bool]) -> list[int]:
    steps = []
    while True:
        used[entry >> 1] = True
        steps.append(entry)
        way_out = entry ^ 1
        ends = at[node[way_out]]
        if len(ends) != 2:
            return steps
        entry = ends[1] if ends[0] == way_out else ends[0]
        if used[entry >> 1]:
            return steps


def _run_of(segments: Sequence[Segment], steps: list[int]) -> Run:
    """The segments of a walk as one run.

    Where ends do not quite meet the joint lies between them, except that the
    end of an arc stays where it is when a straight line can go to it.
    """
    before = _entered(segments, steps[0])
    vertices = [Vertex(before.x0_mm, before.y0_mm, before.bulge)]
    for step in steps[1:]:
        piece = _entered(segments, step)
        vertices.append(_joint(before, piece))
        before = piece
    vertices.append(Vertex(before.x1_mm, before.y1_mm))
    return tuple(vertices)


def _assembled(segments: Sequence[Segment], steps: list[int], *, closed: bool) -> Contour | None:
    """The segments of a walk as a contour; None where nothing is left of it."""
    run = _run_of(segments, steps)
    if not closed:
        return contour_of(run, False)
    joint = _joint(_entered(segments, steps[-1]), _entered(segments, steps[0]))
    return contour_of((joint, *run[1:-1]), True)


def _entered(segments: Sequence[Segment], step: int) -> Segment:
    segment = segments[step >> 1]
    return segment.reversed() if step & 1 else segment


def _joint(before: Segment, after: Segment) -> Vertex:
    if (before.bulge == 0.0) == (after.bulge == 0.0):
        x = 0.5 * (before.x1_mm + after.x0_mm)
        y = 0.5 * (before.y1_mm + after.y0_mm)
        return Vertex(x, y, after.bulge)
    if before.bulge:
        return Vertex(before.x1_mm, before.y1_mm, after.bulge)
    return Vertex(after.x0_mm, after.y0_mm, after.bulge)
