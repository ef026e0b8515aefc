"""Chaining: loose lines and arcs joined end to end into rings and open runs.

Ends that lie in the same place (within `SAME_PLACE_MM`) are one *node*. A
*loose end* that meets nothing is joined to the nearest other loose end within
the joining gap, and that is said. Through nodes where two lines meet a chain
runs on; where more meet, the lines form a net, and every face of the net is a
ring of its own (`lasernest.geometry.net`), so that an edge drawn once between
two neighbours is given to both.

Cost: n log n; 100 000 lines in a few seconds.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely

from lasernest.domain.contours import Contour, Point, Vertex
from lasernest.geometry.mapping import contour_of
from lasernest.geometry.net import NetEdge, rings_of_net

SAME_PLACE_MM = 1e-4
"""Ends nearer than this are one point: the rounding of a drawing file."""

JOINING_GAP_MM = 0.01
"""The default: loose ends farther apart than this stay open."""


@dataclass(frozen=True, slots=True)
class Chain:
    """A ring or an open run, and which of the given paths it is made of."""

    path: Contour
    members: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Chained:
    """What chaining made of a set of paths."""

    rings: tuple[Chain, ...]
    runs: tuple[Chain, ...]
    joined: tuple[Point, ...] = ()
    """Places where a gap was closed."""
    widest_gap_mm: float = 0.0
    shared: tuple[Point, ...] = ()
    """A point on each line that now belongs to two rings."""


@dataclass(slots=True)
class _Ends:
    """Nodes of the ends of open paths: two per path, start then end."""

    node: list[int]
    at: list[list[int]] = field(default_factory=list)
    """Ends at each node; end 2i is the start of path i, 2i + 1 its end."""


def chain(paths: Sequence[Contour], *, joining_gap_mm: float = JOINING_GAP_MM) -> Chained:
    """Join paths end to end.

    Args:
        paths: closed ones are rings already, open ones are joined.
        joining_gap_mm: widest gap between two loose ends that is closed.
    """
    rings = [Chain(path, (i,)) for i, path in enumerate(paths) if path.closed]
    opened = [i for i, path in enumerate(paths) if not path.closed]
    if not opened:
        return Chained(tuple(rings), ())
    points = np.array(
        [end for i in opened for end in (paths[i].start, paths[i].end)], dtype=np.float64
    )
    ends = _nodes(points)
    joined, widest = _join_loose(ends, points, joining_gap_mm)
    runs, loops = _walk(ends, len(opened))
    found_runs: list[Chain] = []
    edges: list[NetEdge] = []
    for steps in loops:
        rings.extend(_assembled(steps, paths, opened, closed=True))
    for steps in runs:
        node_a, node_b = ends.node[steps[0]], ends.node[steps[-1] ^ 1]
        in_net = len(ends.at[node_a]) > 1 and len(ends.at[node_b]) > 1
        for made in _assembled(steps, paths, opened, closed=False):
            if made.path.closed:
                rings.append(made)
            elif in_net:
                edges.append(NetEdge(node_a, node_b, made.path, made.members))
            else:
                found_runs.append(made)
    net = rings_of_net(edges)
    rings += [Chain(ring.path, ring.members) for ring in net.rings]
    found_runs += [Chain(edge.path, edge.members) for edge in net.bridges]
    return Chained(
        tuple(c for c in rings if c.path.closed),
        tuple(found_runs),
        tuple(joined),
        widest,
        net.shared,
    )


def _nodes(points: np.ndarray) -> _Ends:
    """Give ends in the same place the same node."""
    count = len(points)
    tree = shapely.STRtree(shapely.points(points))
    left, right = tree.query(shapely.points(points), predicate="dwithin", distance=SAME_PLACE_MM)
    pairs = left < right
    parent = list(range(count))
    for a, b in zip(left[pairs].tolist(), right[pairs].tolist(), strict=True):
        _unite(parent, a, b)
    numbers: dict[int, int] = {}
    node = [numbers.setdefault(_root(parent, i), len(numbers)) for i in range(count)]
    ends = _Ends(node, [[] for _ in range(len(numbers))])
    for end, number in enumerate(node):
        ends.at[number].append(end)
    return ends


def _root(parent: list[int], i: int) -> int:
    while parent[i] != i:
        parent[i] = parent[parent[i]]
        i = parent[i]
    return i


def _unite(parent: list[int], a: int, b: int) -> None:
    a, b = _root(parent, a), _root(parent, b)
    if a != b:
        parent[max(a, b)] = min(a, b)


def _join_loose(ends: _Ends, points: np.ndarray, gap_mm: float) -> tuple[list[Point], float]:
    """Join loose ends within the gap, nearest first."""
    loose = [at[0] for at in ends.at if len(at) == 1]
    if len(loose) < 2 or gap_mm <= SAME_PLACE_MM:
        return [], 0.0
    places = points[loose]
    tree = shapely.STRtree(shapely.points(places))
    left, right = tree.query(shapely.points(places), predicate="dwithin", distance=gap_mm)
    pairs = left < right
    left, right = left[pairs], right[pairs]
    apart = np.hypot(*(places[left] - places[right]).T)
    joined: list[Point] = []
    widest = 0.0
    taken: set[int] = set()
    for k in np.argsort(apart, kind="stable").tolist():
        a, b = loose[int(left[k])], loose[int(right[k])]
        if a in taken or b in taken:
            continue
        taken.update((a, b))
        _merge(ends, a, b)
        widest = max(widest, float(apart[k]))
        joined.append((float(points[a][0]), float(points[a][1])))
    return joined, widest


def _merge(ends: _Ends, a: int, b: int) -> None:
    gone, kept = ends.node[b], ends.node[a]
    if gone == kept:
        return
    for end in ends.at[gone]:
        ends.node[end] = kept
        ends.at[kept].append(end)
    ends.at[gone] = []


def _walk(ends: _Ends, count: int) -> tuple[list[list[int]], list[list[int]]]:
    """Chains of steps: a step is the end at which a path is entered.

    Returns:
        Runs between nodes where not exactly two ends meet, and loops.
    """
    used = [False] * count
    runs: list[list[int]] = []
    for at in ends.at:
        if len(at) == 2:
            continue
        for end in at:
            if not used[end >> 1]:
                runs.append(_follow(ends, end, used))
    loops = [_follow(ends, 2 * i, used) for i in range(count) if not used[i]]
    return runs, loops


def _follow(ends: _Ends, entry: int, used: list[bool]) -> list[int]:
    steps = []
    while True:
        used[entry >> 1] = True
        steps.append(entry)
        way_out = entry ^ 1
        at = ends.at[ends.node[way_out]]
        if len(at) != 2:
            return steps
        entry = at[1] if at[0] == way_out else at[0]
        if used[entry >> 1]:
            return steps


def _assembled(
    steps: list[int], paths: Sequence[Contour], opened: list[int], *, closed: bool
) -> list[Chain]:
    """The paths of a chain as one; none where nothing is left of it."""
    pieces = [
        paths[opened[s >> 1]] if s % 2 == 0 else paths[opened[s >> 1]].reversed() for s in steps
    ]
    made = joined_path(pieces, closed=closed)
    return [Chain(made, tuple(opened[s >> 1] for s in steps))] if made is not None else []


def joined_path(pieces: Sequence[Contour], *, closed: bool) -> Contour | None:
    """Open paths that follow on each other as one path.

    Where ends do not quite meet the joint lies between them, except that the
    end of an arc stays where it is when a straight line can go to it.
    """
    vertices: list[Vertex] = list(pieces[0].vertices[:-1])
    before = pieces[0]
    for piece in pieces[1:]:
        vertices.append(_joint(before, piece))
        vertices.extend(piece.vertices[1:-1])
        before = piece
    if closed:
        vertices[0] = _joint(before, pieces[0])
    else:
        vertices.append(before.vertices[-1])
    return contour_of(vertices, closed)


def _joint(before: Contour, after: Contour) -> Vertex:
    a, b = before.vertices[-1], after.vertices[0]
    arrives_round = before.vertices[-2].bulge != 0.0
    if arrives_round == (b.bulge != 0.0):
        return Vertex(0.5 * (a.x_mm + b.x_mm), 0.5 * (a.y_mm + b.y_mm), b.bulge)
    return Vertex(a.x_mm, a.y_mm, b.bulge) if arrives_round else b
