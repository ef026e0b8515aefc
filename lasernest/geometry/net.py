"""Nets: lines of which three or more meet in a point, taken apart into rings.

A net is split at its *cut points* into pieces that hang together by more than
one point; a piece that is a plain loop is a ring, any other piece gives one
ring for each of its faces, so that an edge between two faces belongs to both.
A line in no loop (a *bridge*) stays an open run. A *half* is an edge walked one
way: 2i is edge i from its start, 2i + 1 from its end.

Source of the split: R. Tarjan, Depth-first search and linear graph
algorithms, 1972; of the faces: the half-edge walk, next edge by angle.
Cost: linear in the edges, plus sorting by angle at each node.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from lasernest.domain.contours import Contour, Point, Vertex
from lasernest.geometry.extents import measured
from lasernest.geometry.mapping import contour_of
from lasernest.geometry.walks import Labels, Run, Walks

_SAME_ANGLE_DIGITS = 9


class NetRing(NamedTuple):
    """A ring and the given segments it is made of."""

    path: Contour
    members: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class NetRings:
    """What a net falls apart into."""

    rings: tuple[NetRing, ...]
    bridges: tuple[int, ...]
    """Numbers of the edges that are in no ring."""
    shared: tuple[Point, ...]
    """A point on each edge that belongs to two rings."""


class _Face(NamedTuple):
    """A ring around an area, or around all of a piece, and its halves."""

    ring: NetRing
    halves: list[int]
    piece: int
    bounded: bool


def rings_of_net(edges: Walks, runs: list[Run], *, split: bool = True) -> NetRings:
    """Take a net apart.

    Args:
        edges: open walks between nodes.
        runs: their vertices.
        split: a ring for each face; else one for the outside of each piece, and
            bridges for the lines within.
    """
    count = len(runs)
    rings: list[NetRing] = []
    loops = edges.first == edges.last
    bridges: list[int] = []
    for i in np.flatnonzero(loops).tolist():
        loop = contour_of(runs[i][:-1], True) if len(runs[i]) > 2 else None
        if loop is not None and loop.closed:
            rings.append(NetRing(loop, edges.members[i]))
        else:
            bridges.append(i)
    piece = np.full(count, -1, dtype=np.int64)
    between = np.flatnonzero(~loops)
    if not len(between):
        return NetRings(tuple(rings), tuple(bridges), ())
    piece[between] = _pieces(edges.first[between], edges.last[between])
    alone = np.bincount(piece[between])[piece[between]] == 1
    bridges += between[alone].tolist()
    piece[between[alone]] = -1
    faces = _faces(edges, runs, piece)
    bounded = [face for face in faces if face.bounded]
    halves = np.array([half for face in bounded for half in face.halves], dtype=np.int64)
    shared = np.bincount(halves >> 1, minlength=count) > 1
    if split:
        rings += [face.ring for face in bounded]
    else:
        outside = {face.piece: face for face in faces if not face.bounded}
        rings += [face.ring for face in bounded if face.piece not in outside]
        rings += [face.ring for face in outside.values()]
        around = {half >> 1 for face in outside.values() for half in face.halves}
        within = np.flatnonzero(np.isin(piece, list(outside))).tolist()
        bridges += [i for i in within if i not in around]
    return NetRings(tuple(rings), tuple(bridges), _first_middles(edges, np.flatnonzero(shared)))


def _first_middles(edges: Walks, which: Labels) -> tuple[Point, ...]:
    """The middle of the first line or arc of each of these edges."""
    start = (np.cumsum(edges.counts) - edges.counts)[which]
    x0, y0, bulge = edges.table[start].T
    x1, y1, _ = edges.table[start + 1].T
    x = 0.5 * (x0 + x1 + bulge * (y1 - y0))
    y = 0.5 * (y0 + y1 - bulge * (x1 - x0))
    return tuple(zip(x.tolist(), y.tolist(), strict=True))


def _pieces(first: Labels, last: Labels) -> Labels:
    """Split at cut points: the number of the biconnected piece of each edge."""
    nodes, ends = np.unique(np.concatenate([first, last]), return_inverse=True)
    order_of_ends = np.argsort(ends, kind="stable")
    count = len(first)
    edge_at: list[int] = (order_of_ends % count).tolist()
    across = np.concatenate([ends[count:], ends[:count]])
    other_at: list[int] = across[order_of_ends].tolist()
    stop: list[int] = np.cumsum(np.bincount(ends, minlength=len(nodes))).tolist()
    here: list[int] = [0, *stop[:-1]]
    order = [-1] * len(nodes)
    low = [0] * len(nodes)
    done = bytearray(count)
    trail: list[int] = []
    piece = [0] * count
    pieces = reached = 0
    for root in range(len(nodes)):
        if order[root] >= 0:
            continue
        order[root] = low[root] = reached
        reached += 1
        stack = [root]
        came_by: list[int] = []
        while stack:
            node = stack[-1]
            place = here[node]
            if place < stop[node]:
                here[node] = place + 1
                i = edge_at[place]
                if done[i]:
                    continue
                done[i] = 1
                trail.append(i)
                other = other_at[place]
                if order[other] >= 0:
                    low[node] = min(low[node], order[other])
                else:
                    order[other] = low[other] = reached
                    reached += 1
                    stack.append(other)
                    came_by.append(i)
                continue
            stack.pop()
            if not stack:
                break
            parent = stack[-1]
            way = came_by.pop()
            low[parent] = min(low[parent], low[node])
            if low[node] >= order[parent]:
                i = -1
                while i != way:
                    i = trail.pop()
                    piece[i] = pieces
                pieces += 1
    return np.array(piece)


def _faces(edges: Walks, runs: list[Run], piece: Labels) -> list[_Face]:
    """The faces of all pieces, the outside of each among them; piece -1 is left out."""
    following = _following(edges, piece)
    open_runs: list[Run] = []
    for run in runs:
        open_runs += [run[:-1], _reversed(run)]
    walks: list[list[int]] = []
    seen = bytearray(len(following))
    for start in np.flatnonzero(np.repeat(piece >= 0, 2)).tolist():
        walk = []
        half = start
        while not seen[half]:
            seen[half] = 1
            walk.append(half)
            half = following[half]
        if walk:
            walks.append(walk)
    found = []
    for walk in walks:
        ring = contour_of([v for half in walk for v in open_runs[half]], True)
        if ring is not None and ring.closed:
            found.append((ring, walk))
    if not found:
        return []
    members, pieces = edges.members, piece.tolist()
    areas_mm2 = measured([ring for ring, _ in found]).areas_mm2.tolist()
    return [
        _Face(
            NetRing(ring, tuple(m for half in walk for m in members[half >> 1])),
            walk,
            pieces[walk[0] >> 1],
            area_mm2 > 0.0,
        )
        for (ring, walk), area_mm2 in zip(found, areas_mm2, strict=True)
    ]


def _reversed(run: Run) -> Run:
    """The vertices of a run walked the other way, without the last."""
    if len(run) == 2:
        x, y, _ = run[1]
        bulge = run[0].bulge
        return (Vertex(x, y, -bulge if bulge else 0.0),)
    return tuple(
        Vertex(run[i].x_mm, run[i].y_mm, -run[i - 1].bulge if run[i - 1].bulge else 0.0)
        for i in range(len(run) - 1, 0, -1)
    )


def _following(edges: Walks, piece: Labels) -> list[int]:
    """For each half the one that goes on along the face on its left."""
    angle, bend = _directions(edges)
    halves = np.arange(2 * len(piece))
    node = np.column_stack([edges.first, edges.last]).reshape(-1)
    group = np.repeat(piece, 2)
    order = np.lexsort((halves, bend, angle, node, group))
    fresh = np.ones(len(order), dtype=bool)
    fresh[1:] = (node[order][1:] != node[order][:-1]) | (group[order][1:] != group[order][:-1])
    starts = np.flatnonzero(fresh)
    lasts = np.append(starts[1:], len(order)) - 1
    # Arriving against a half, the face on the left goes on to its neighbour clockwise.
    before = np.arange(len(order)) - 1
    before[starts] = lasts
    following = np.empty(len(order), dtype=np.int64)
    following[order ^ 1] = order[before]
    found: list[int] = following.tolist()
    return found


def _directions(edges: Walks) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]]:
    """Angle at which each half leaves its node, then how it bends, for sorting by angle."""
    stop = np.cumsum(edges.counts)
    start = stop - edges.counts
    at = np.column_stack([start, stop - 1]).reshape(-1)
    to = np.column_stack([start + 1, stop - 2]).reshape(-1)
    bulge = np.column_stack([edges.table[start, 2], -edges.table[stop - 2, 2]]).reshape(-1)
    chord = edges.table[to, :2] - edges.table[at, :2]
    size = np.hypot(chord[:, 0], chord[:, 1])
    leaving = np.arctan2(chord[:, 1], chord[:, 0]) - 2.0 * np.arctan(bulge)
    leaving -= 2.0 * np.pi * np.rint(leaving / (2.0 * np.pi))
    angle = np.round(leaving, _SAME_ANGLE_DIGITS)
    angle = np.where(angle > -3.141592653, angle, -angle)
    bend = np.divide(4.0 * bulge, size * (1.0 + bulge * bulge), where=size > 0.0, out=0.0 * size)
    return angle, bend
