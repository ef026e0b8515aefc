"""Nets: lines of which three or more meet in a point, taken apart into rings.

A net is split at its *cut points* into pieces that hang together by more than
one point; a piece that is a plain loop is a ring, any other piece gives one
ring for each of its faces, so that an edge between two faces belongs to both.
A line in no loop (a *bridge*) stays an open run.

Source of the split: R. Tarjan, Depth-first search and linear graph
algorithms, 1972; of the faces: the half-edge walk, next edge by angle.
Cost: linear in the edges, plus sorting by angle at each node.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from lasernest.domain.contours import Contour, Point, Segment, Vertex
from lasernest.geometry.mapping import contour_of

Run = tuple[Vertex, ...]
"""An open run of lines and arcs; the bulge of its last vertex is zero."""


class NetEdge(NamedTuple):
    """An open run between two nodes, and the given segments it is made of."""

    a: int
    b: int
    run: Run
    members: tuple[int, ...]


class NetRing(NamedTuple):
    """A ring and the given segments it is made of."""

    path: Contour
    members: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class NetRings:
    """What a net falls apart into."""

    rings: tuple[NetRing, ...]
    bridges: tuple[NetEdge, ...]
    shared: tuple[Point, ...]
    """A point on each edge that belongs to two rings."""


def rings_of_net(edges: Sequence[NetEdge], *, split: bool = True) -> NetRings:
    """Take a net apart.

    Args:
        edges: the runs between nodes.
        split: a ring for each face; else one for the outside of each piece, and
            bridges for the lines within.
    """
    rings: list[NetRing] = []
    bridges: list[NetEdge] = []
    shared: list[Point] = []
    for e in edges:
        if e.a != e.b:
            continue
        loop = contour_of(e.run[:-1], True) if len(e.run) > 2 else None
        if loop is not None and loop.closed:
            rings.append(NetRing(loop, e.members))
        else:
            bridges.append(e)
    for piece in _pieces([e for e in edges if e.a != e.b]):
        if len(piece) == 1:
            bridges.append(piece[0])
            continue
        times: dict[int, int] = {}
        faces, outside = _faces(piece)
        for ring, used in faces:
            rings.append(ring)
            for index in used:
                times[index] = times.get(index, 0) + 1
        if not split and outside is not None:
            del rings[len(rings) - len(faces) :]
            rings.append(outside[0])
            bridges += [piece[i] for i in range(len(piece)) if i not in outside[1]]
        shared += [first_segment(piece[i].run).middle for i, n in times.items() if n > 1]
    return NetRings(tuple(rings), tuple(bridges), tuple(shared))


def first_segment(run: Run) -> Segment:
    """The first line or arc of a run."""
    a, b = run[0], run[1]
    return Segment(a.x_mm, a.y_mm, b.x_mm, b.y_mm, a.bulge)


def reversed_run(run: Run) -> Run:
    """The same run walked the other way."""
    if len(run) == 2:
        (x0, y0, bulge), (x1, y1, _) = run
        return (Vertex(x1, y1, -bulge), Vertex(x0, y0))
    back = [
        Vertex(run[i].x_mm, run[i].y_mm, -run[i - 1].bulge if i else 0.0)
        for i in range(len(run) - 1, -1, -1)
    ]
    return tuple(back)


def _pieces(edges: list[NetEdge]) -> list[list[NetEdge]]:
    """Split at cut points: the biconnected pieces, as lists of edges."""
    at: dict[int, list[int]] = {}
    for i, e in enumerate(edges):
        at.setdefault(e.a, []).append(i)
        at.setdefault(e.b, []).append(i)
    order: dict[int, int] = {}
    low: dict[int, int] = {}
    done = [False] * len(edges)
    trail: list[int] = []
    pieces: list[list[NetEdge]] = []
    for root in at:
        if root in order:
            continue
        order[root] = low[root] = len(order)
        stack: list[tuple[int, int, int]] = [(root, -1, 0)]
        while stack:
            node, came_by, place = stack.pop()
            if place < len(at[node]):
                stack.append((node, came_by, place + 1))
                i = at[node][place]
                if done[i]:
                    continue
                done[i] = True
                trail.append(i)
                other = edges[i].b if edges[i].a == node else edges[i].a
                if other in order:
                    low[node] = min(low[node], order[other])
                else:
                    order[other] = low[other] = len(order)
                    stack.append((other, i, 0))
            elif came_by >= 0:
                parent = edges[came_by].a + edges[came_by].b - node
                low[parent] = min(low[parent], low[node])
                if low[node] >= order[parent]:
                    cut = len(trail) - 1
                    while trail[cut] != came_by:
                        cut -= 1
                    pieces.append([edges[i] for i in trail[cut:]])
                    del trail[cut:]
    return pieces


_Face = tuple[NetRing, list[int]]
"""A ring and the indices of its edges."""


def _faces(piece: list[NetEdge]) -> tuple[list[_Face], _Face | None]:
    """The bounded faces of a piece, and its outside."""
    runs: list[Run] = []
    leaving: dict[int, list[tuple[float, float, int]]] = {}
    for i, e in enumerate(piece):
        runs += [e.run, reversed_run(e.run)]
        for half, node in ((2 * i, e.a), (2 * i + 1, e.b)):
            leaving.setdefault(node, []).append((*_direction(runs[half]), half))
    following: dict[int, int] = {}
    for halves in leaving.values():
        halves.sort()
        for k, (_, _, half) in enumerate(halves):
            # Arriving against `half`, the face on the left goes on to its neighbour clockwise.
            following[half ^ 1] = halves[k - 1][2]
    faces: list[_Face] = []
    outside: _Face | None = None
    seen: set[int] = set()
    for start in following:
        walk = []
        half = start
        while half not in seen:
            seen.add(half)
            walk.append(half)
            half = following[half]
        if not walk:
            continue
        ring = contour_of([v for h in walk for v in runs[h][:-1]], True)
        if ring is None or not ring.closed:
            continue
        members = tuple(m for h in walk for m in piece[h >> 1].members)
        face = (NetRing(ring, members), [h >> 1 for h in walk])
        if ring.signed_area_mm2 > 0.0:
            faces.append(face)
        else:
            outside = face
    return faces, outside


def _direction(run: Run) -> tuple[float, float]:
    """Angle at which a run leaves its start, then how it bends, for sorting by angle."""
    (x0, y0, bulge), (x1, y1, _) = run[:2]
    if bulge:
        first = first_segment(run)
        x, y = first.tangent_at(0.0)
        bend = math.copysign(1.0 / first.radius_mm, bulge)
    else:
        x, y, bend = x1 - x0, y1 - y0, 0.0
    angle = round(math.atan2(y, x), 9)
    return (angle if angle > -3.141592653 else -angle, bend)
