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

from lasernest.domain.contours import Contour, Point, Vertex
from lasernest.geometry.mapping import contour_of


class NetEdge(NamedTuple):
    """An open path between two nodes, and the given paths it is made of."""

    a: int
    b: int
    path: Contour
    members: tuple[int, ...]


class NetRing(NamedTuple):
    """A ring and the given paths it is made of."""

    path: Contour
    members: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class NetRings:
    """What a net falls apart into."""

    rings: tuple[NetRing, ...]
    bridges: tuple[NetEdge, ...]
    shared: tuple[Point, ...]
    """A point on each edge that belongs to two rings."""


def rings_of_net(edges: Sequence[NetEdge]) -> NetRings:
    """Take a net apart."""
    rings: list[NetRing] = []
    bridges: list[NetEdge] = []
    shared: list[Point] = []
    loops = [e for e in edges if e.a == e.b]
    for e in loops:
        loop = contour_of(e.path.vertices[:-1], True) if len(e.path.vertices) > 2 else None
        if loop is not None and loop.closed:
            rings.append(NetRing(loop, e.members))
        else:
            bridges.append(e)
    others = [e for e in edges if e.a != e.b]
    for piece in _pieces(others):
        if len(piece) == 1:
            bridges.append(piece[0])
            continue
        times: dict[int, int] = {}
        for ring, used in _faces(piece):
            rings.append(ring)
            for index in used:
                times[index] = times.get(index, 0) + 1
        shared += [next(iter(piece[i].path.segments())).middle for i, n in times.items() if n > 1]
    return NetRings(tuple(rings), tuple(bridges), tuple(shared))


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
                    cut = len(trail) - 1 - trail[::-1].index(came_by)
                    pieces.append([edges[i] for i in trail[cut:]])
                    del trail[cut:]
    return pieces


def _faces(piece: list[NetEdge]) -> list[tuple[NetRing, list[int]]]:
    """The bounded faces of a piece, each with the indices of its edges."""
    leaving: dict[int, list[tuple[float, float, int]]] = {}
    for i, e in enumerate(piece):
        for half, node, path in ((2 * i, e.a, e.path), (2 * i + 1, e.b, e.path.reversed())):
            leaving.setdefault(node, []).append((*_direction(path), half))
    following: dict[int, int] = {}
    for halves in leaving.values():
        halves.sort()
        for k, (_, _, half) in enumerate(halves):
            # Arriving against `half`, the face on the left goes on to its neighbour clockwise.
            following[half ^ 1] = halves[k - 1][2]
    faces = []
    seen: set[int] = set()
    for start in following:
        if start in seen:
            continue
        walk = []
        half = start
        while half not in seen:
            seen.add(half)
            walk.append(half)
            half = following[half]
        vertices: list[Vertex] = []
        for h in walk:
            path = piece[h >> 1].path
            vertices.extend((path if h % 2 == 0 else path.reversed()).vertices[:-1])
        ring = contour_of(vertices, True)
        if ring is not None and ring.closed and ring.signed_area_mm2 > 0.0:
            members = tuple(m for h in walk for m in piece[h >> 1].members)
            faces.append((NetRing(ring, members), [h >> 1 for h in walk]))
    return faces


def _direction(path: Contour) -> tuple[float, float]:
    """Angle at which a path leaves its start, then how it bends, for sorting by angle."""
    first = next(iter(path.segments()))
    x, y = first.tangent_at(0.0)
    bend = 0.0 if not first.bulge else math.copysign(1.0 / first.radius_mm, first.bulge)
    angle = round(math.atan2(y, x), 9)
    return (angle if angle > -3.141592653 else -angle, bend)
