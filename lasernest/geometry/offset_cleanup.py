"""Clean-up of raw offsets: where shifted runs cross, keep what belongs to the offset.

All runs are split where they cross. A piece stays when every point of it is at
least the distance away from the drawn contour, outside its material, and not
swallowed by the mitre of another corner. The pieces that stay are chained to
rings, with the grown material on their left.

Limits: points nearer than `NODE_MM` are one point; the result is exact to
about that much.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from itertools import pairwise
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import shapely

from lasernest.domain.contours import Contour, Point
from lasernest.errors import BadContourError, Where
from lasernest.geometry.flatten import Points
from lasernest.geometry.runs import Run, near_pairs, ring_of

NODE_MM = 4e-6
"""Ends nearer than this meet."""

NEAR_MM = 1e-6
"""A piece may be this much nearer to the contour than the offset distance."""


class Kite(NamedTuple):
    """What a mitred corner adds to a round one: the normals' cone, cut by the sides."""

    at: Point
    before: Point
    """Unit normal before the corner."""
    after: Point
    sides: tuple[Run, ...]
    """Shifted runs or straight lines; the kite lies on their left."""
    reach_mm: float
    """From the corner to the tip: circles as sides need an end."""
    tips: tuple[Point, ...] = ()

    def places(self, d: float) -> list[Point]:
        """Points that are on the offset where the whole mitre is: its ends and its tips."""
        x, y = self.at
        ends = [(x + d * n[0], y + d * n[1]) for n in (self.before, self.after)]
        return [*ends, *self.tips]

    def swallows(self, x: float, y: float) -> bool:
        """True when the point lies inside, not on the rim."""
        wx, wy = x - self.at[0], y - self.at[1]
        if self.before[0] * wy - self.before[1] * wx < NEAR_MM:
            return False
        if wx * self.after[1] - wy * self.after[0] < NEAR_MM:
            return False
        if math.hypot(wx, wy) > self.reach_mm:
            return False
        return all(_left_of(side, x, y) > NEAR_MM for side in self.sides)


def has_crossings(ring: Sequence[Run]) -> bool:
    """True when any two runs of a closed ring meet elsewhere than end to start."""
    count = len(ring)
    for i, j in near_pairs(ring, reach_mm=NODE_MM):
        a, b = ring[i], ring[j]
        shared: list[Point] = []
        if j == i + 1:
            shared.append(a.end)
        if i == 0 and j == count - 1:
            shared.append(b.end)
        for x, y in (*a.meets(b), *_overlap_ends(a, b)):
            if _is_on(a, x, y) and _is_on(b, x, y):
                if any(math.hypot(x - px, y - py) < NODE_MM for px, py in shared):
                    continue
                return True
    return False


def kept_rings(
    drawn: Sequence[Run], raw: Sequence[Run], kites: Sequence[Kite], d: float
) -> list[Contour]:
    """The rings of a raw offset with crossings.

    Args:
        drawn: the closed walk that was shifted, its material on the left.
        raw: shifted runs and mitres, in any order.
        kites: the mitres' areas.
        d: the offset distance in mm.

    Raises:
        BadContourError: what is left does not close, as the contour crosses itself.
    """
    if not raw:
        return []
    pieces = _split(raw)
    pieces = _kept(pieces, drawn, kites, d)
    pieces = _cancelled(pieces)
    rings = _chained(pieces)
    loose = sum(p.length for p in pieces) - sum(r.length for ring in rings for r in ring)
    if loose > 100.0 * NODE_MM * (1 + len(pieces)):
        raise BadContourError(
            "the contour crosses or touches itself, so it cannot be shifted by the kerf",
            where=Where(at_mm=drawn[0].start),
            todo="Mend the crossing in the drawing.",
        )
    return [ring_of(_merged(ring)) for ring in rings if _has_area(ring)]


class _Piece(NamedTuple):
    """A part of raw run number `owner`, with the length behind the names Run has."""

    run: Run
    owner: int

    @property
    def length(self) -> float:
        return self.run.length


def _left_of(side: Run, x: float, y: float) -> float:
    """Distance of a point to the left of a run's endless line or circle."""
    if side.is_arc:
        gap = side.radius - math.hypot(x - side.cx, y - side.cy)
        return gap if side.sweep > 0.0 else -gap
    tx, ty = side.start_tangent
    return tx * (y - side.y0) - ty * (x - side.x0)


def _is_on(run: Run, x: float, y: float) -> bool:
    slack = NODE_MM / max(run.length, NODE_MM)
    return -slack <= run.share_of(x, y) <= 1.0 + slack


def _overlap_ends(a: Run, b: Run) -> list[Point]:
    """Ends of one run that lie on the other, for runs that lie on one line or circle."""
    if a.is_arc != b.is_arc:
        return []
    if a.is_arc:
        apart = math.hypot(a.cx - b.cx, a.cy - b.cy)
        if apart > NODE_MM or abs(a.radius - b.radius) > NODE_MM:
            return []
    else:
        (ax, ay), (bx, by) = a.start_tangent, b.start_tangent
        if abs(ax * by - ay * bx) > 1e-6:
            return []
    ends = [p for p in (b.start, b.end) if a.distance_to(*p) < NODE_MM]
    return ends + [p for p in (a.start, a.end) if b.distance_to(*p) < NODE_MM]


def _split(raw: Sequence[Run]) -> list[_Piece]:
    """All runs cut where they cross, touch or begin to overlap."""
    cuts: list[list[float]] = [[0.0, 1.0] for _ in raw]
    for i, j in near_pairs(raw, reach_mm=NODE_MM):
        a, b = raw[i], raw[j]
        for x, y in (*a.meets(b), *_overlap_ends(a, b)):
            if _is_on(a, x, y) and _is_on(b, x, y):
                cuts[i].append(a.share_of(x, y))
                cuts[j].append(b.share_of(x, y))
    pieces: list[_Piece] = []
    for owner, (run, shares) in enumerate(zip(raw, cuts, strict=True)):
        shortest = NODE_MM / max(run.length, NODE_MM)
        inside = sorted(t for t in shares if shortest < t < 1.0 - shortest)
        stops = [0.0]
        for t in inside:
            if t - stops[-1] > shortest:
                stops.append(t)
        stops.append(1.0)
        if len(stops) == 2:
            pieces.append(_Piece(run, owner))
            continue
        pieces += [_Piece(run.between(t0, t1), owner) for t0, t1 in pairwise(stops)]
    return pieces


def _kept(
    pieces: Sequence[_Piece], drawn: Sequence[Run], kites: Sequence[Kite], d: float
) -> list[_Piece]:
    """Pieces far enough from the drawn walk, outside its material and other mitres."""
    middles = np.array([piece.run.at(0.5) for piece in pieces])
    boxes = np.array([run.bounds() for run in drawn])
    tree = shapely.STRtree(shapely.box(boxes[:, 0], boxes[:, 1], boxes[:, 2], boxes[:, 3]))
    around = shapely.box(middles[:, 0] - d, middles[:, 1] - d, middles[:, 0] + d, middles[:, 1] + d)
    good = np.ones(len(pieces), dtype=bool)
    for i, j in zip(*(index.tolist() for index in tree.query(around)), strict=True):
        if good[i] and drawn[j].distance_to(*middles[i]) < d - NEAR_MM:
            good[i] = False
    good[good] = ~_in_material(drawn, middles[good])
    for i in np.flatnonzero(good).tolist():
        x, y = float(middles[i, 0]), float(middles[i, 1])
        good[i] = not any(kite.swallows(x, y) for kite in kites)
    return [piece for piece, keep in zip(pieces, good, strict=True) if keep]


def _in_material(drawn: Sequence[Run], points: Points) -> npt.NDArray[np.bool_]:
    """True for points on the left of a closed walk, by their winding numbers."""
    # A clockwise walk has its material outside.
    least = 1 if sum(_twice_area(run) for run in drawn) > 0.0 else 0
    x0, y0, x1, y1, cx, cy, radius, sweep = np.array(drawn).T
    inside = np.empty(len(points), dtype=bool)
    for i, (x, y) in enumerate(points.tolist()):
        ax, ay, bx, by = x0 - x, y0 - y, x1 - x, y1 - y
        cross = ax * by - ay * bx
        turns = np.arctan2(cross, ax * bx + ay * by).sum()
        # Between an arc and its chord the sight line goes the other way about the point.
        beyond = (sweep != 0.0) & (np.hypot(cx - x, cy - y) < radius) & (cross * sweep < 0.0)
        turns += 2.0 * math.pi * np.sign(sweep[beyond]).sum()
        inside[i] = round(turns / (2.0 * math.pi)) >= least
    return inside


def _twice_area(run: Run) -> float:
    area = run.x0 * run.y1 - run.x1 * run.y0
    if run.is_arc:
        area += run.radius * run.radius * (run.sweep - math.sin(run.sweep))
    return area


def _cancelled(pieces: Sequence[_Piece]) -> list[_Piece]:
    """Without second copies, and without pairs that run over each other both ways.

    Opposite pairs appear where a slot is exactly as wide as the offset needs;
    second copies where two corners prolong the same line.
    """
    if not pieces:
        return []
    points = np.array([(*p.run.start, *p.run.at(0.5), *p.run.end) for p in pieces])
    middles = shapely.points(points[:, 2], points[:, 3])
    first, second = shapely.STRtree(middles).query(
        shapely.buffer(middles, NODE_MM), predicate="intersects"
    )
    gone: set[int] = set()
    for i, j in sorted(zip(first.tolist(), second.tolist(), strict=True)):
        if i >= j or i in gone or j in gone:
            continue
        same = np.abs(points[i] - points[j]).max() < NODE_MM
        opposite = np.abs(points[i] - points[j][[4, 5, 2, 3, 0, 1]]).max() < NODE_MM
        if same:
            gone.add(j)
        elif opposite:
            gone.update((i, j))
    return [piece for i, piece in enumerate(pieces) if i not in gone]


def _nodes(points: Sequence[Point]) -> list[int]:
    """A number for each point; points closer than NODE_MM to the first of a node share it."""
    cells: dict[tuple[int, int], list[tuple[Point, int]]] = {}
    numbers: list[int] = []
    count = 0
    for x, y in points:
        column, row = math.floor(x / NODE_MM), math.floor(y / NODE_MM)
        found = None
        for i in (column - 1, column, column + 1):
            for j in (row - 1, row, row + 1):
                for (px, py), number in cells.get((i, j), ()):
                    if math.hypot(x - px, y - py) <= NODE_MM:
                        found = number
        if found is None:
            found = count
            count += 1
            cells.setdefault((column, row), []).append(((x, y), found))
        numbers.append(found)
    return numbers


def _chained(pieces: Sequence[_Piece]) -> list[list[_Piece]]:
    """Closed rings of the pieces; pieces that lead nowhere are left out."""
    starts = _nodes([p.run.start for p in pieces] + [p.run.end for p in pieces])
    ends = starts[len(pieces) :]
    leaving: dict[int, set[int]] = {}
    arriving: dict[int, set[int]] = {}
    alive = {i for i in range(len(pieces)) if starts[i] != ends[i] or pieces[i].length > NODE_MM}
    for i in alive:
        leaving.setdefault(starts[i], set()).add(i)
        arriving.setdefault(ends[i], set()).add(i)

    def drop(i: int) -> None:
        alive.discard(i)
        leaving[starts[i]].discard(i)
        arriving[ends[i]].discard(i)

    def drop_loose() -> None:
        doubtful = sorted(alive)
        while doubtful:
            i = doubtful.pop()
            if i in alive and not (leaving.get(ends[i]) and arriving.get(starts[i])):
                drop(i)
                doubtful += sorted(leaving.get(ends[i], set()) | arriving.get(starts[i], set()))

    drop_loose()
    rings: list[list[_Piece]] = []
    while alive:
        first = min(alive)
        walk, at_node = [first], {starts[first]: 0}
        while True:
            node = ends[walk[-1]]
            if node in at_node:
                break
            at_node[node] = len(walk)
            walk.append(_leftmost(pieces, walk[-1], sorted(leaving[node])))
        loop = walk[at_node[node] :]
        rings.append([pieces[i] for i in loop])
        for i in loop:
            drop(i)
        drop_loose()
    return rings


def _leftmost(pieces: Sequence[_Piece], arrived: int, choices: Sequence[int]) -> int:
    """The piece that turns most to the left: rings that touch stay apart."""
    if len(choices) == 1:
        return choices[0]
    ux, uy = pieces[arrived].run.end_tangent

    def turn(i: int) -> float:
        vx, vy = pieces[i].run.start_tangent
        return math.atan2(ux * vy - uy * vx, ux * vx + uy * vy)

    return max(choices, key=turn)


def _merged(ring: Sequence[_Piece]) -> list[Run]:
    """The ring's runs, with pieces of one run that follow each other put together again."""
    count = len(ring)
    first = next((i for i in range(count) if ring[i].owner != ring[i - 1].owner or count == 1), 0)
    runs: list[Run] = []
    owner = -1
    for piece in (*ring[first:], *ring[:first]):
        run = piece.run
        if piece.owner == owner and runs:
            last = runs[-1]
            runs[-1] = last._replace(x1=run.x1, y1=run.y1, sweep=last.sweep + run.sweep)
        else:
            runs.append(run)
            owner = piece.owner
    return runs


def _has_area(ring: Iterable[_Piece]) -> bool:
    """False for the slivers that rounding leaves."""
    runs = [piece.run for piece in ring]
    length = sum(run.length for run in runs)
    return length > 0.0 and abs(sum(_twice_area(run) for run in runs)) > 4.0 * NODE_MM * length
