"""Tees: ends of runs that lie in the middle of other lines, and runs that hang together.

An end that stops short of a line, or runs a little past it, is moved onto the line, so
that the line stays as straight as it was drawn.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import shapely

from lasernest.domain.contours import Contour, Segment, Vertex
from lasernest.geometry.chaining import (
    JOINING_GAP_MM,
    SAME_PLACE_MM,
    Chain,
    same_place_labels,
    table_of,
)
from lasernest.geometry.gap_joining import STRAIGHT_MM, run_on_to
from lasernest.geometry.mending import Piece, drawn_lines, share_at
from lasernest.geometry.tangles import Cuts

_CHORD_MM = 0.005


class _Tee(NamedTuple):
    """An end on the middle of a piece: their numbers, where along it, and how far beside."""

    end: int
    piece: int
    share: float
    apart_mm: float


def ends_of(runs: Sequence[Chain]) -> npt.NDArray[np.float64]:
    """Start and end of each run, one after the other."""
    numbers = (x for run in runs for p in (run.path.start, run.path.end) for x in p)
    return np.fromiter(numbers, np.float64, 4 * len(runs)).reshape(-1, 2)


def linked_with(runs: Sequence[Chain], seeds: set[int]) -> set[int]:
    """The seeds and all runs that hang together with them by their ends."""
    ends = ends_of(runs)
    labels = same_place_labels(ends).reshape(-1, 2).tolist()
    at: dict[int, list[int]] = {}
    for k, (a, b) in enumerate(labels):
        at.setdefault(a, []).append(k)
        at.setdefault(b, []).append(k)
    linked = set(seeds)
    todo = list(seeds)
    while todo:
        k = todo.pop()
        for label in labels[k]:
            for other in at.pop(label, ()):
                if other not in linked:
                    linked.add(other)
                    todo.append(other)
    return linked


def cuts_at(points: npt.NDArray[np.float64], pieces: Sequence[Piece], gap_mm: float) -> Cuts:
    """Where points lie in the middle of pieces: by piece, shares of length with the point."""
    cuts: Cuts = {}
    for tee in _tees(points, pieces, gap_mm):
        point = (float(points[tee.end, 0]), float(points[tee.end, 1]))
        cuts.setdefault(tee.piece, set()).add((tee.share, point))
    return cuts


def run_on(runs: list[Chain], pieces: Sequence[Piece], gap_mm: float) -> list[Chain]:
    """The runs with loose ends that lie beside the middle of a piece moved onto it.

    An end runs on, or is cut back, along its own line; where that meets the piece
    nowhere near, a wide gap is bridged and a narrow one crossed by moving the end.
    """
    points = ends_of(runs)
    _, place = np.unique(same_place_labels(points), return_inverse=True)
    loose = (np.bincount(place)[place] == 1).tolist()
    nearest: dict[int, _Tee] = {}
    for tee in _tees(points, pieces, gap_mm):
        if loose[tee.end] and tee.apart_mm < nearest.get(tee.end, tee).apart_mm + SAME_PLACE_MM:
            nearest[tee.end] = tee
    moved = list(runs)
    for tee in nearest.values():
        if tee.apart_mm > STRAIGHT_MM:
            run = moved[tee.end >> 1]
            path = _onto(run.path, tee, pieces[tee.piece].segment)
            moved[tee.end >> 1] = Chain(path, run.members)
    return moved if moved != runs else runs


def _onto(path: Contour, tee: _Tee, segment: Segment) -> Contour:
    """The run with one of its ends on a segment."""
    vertices = list(path.vertices if tee.end & 1 else path.reversed().vertices)
    (ax, ay, bulge), (bx, by, _) = vertices[-2:]
    last = Segment(ax, ay, bx, by, bulge)
    foot = segment.point_at(tee.share)
    met = run_on_to(last, segment, tee.apart_mm)
    if met is not None:
        vertices[-2:] = [Vertex(*met.start, met.bulge), Vertex(*met.end)]
    elif tee.apart_mm > JOINING_GAP_MM:
        vertices.append(Vertex(*foot))
    else:
        vertices[-1] = Vertex(*foot)
    made = Contour(tuple(vertices), closed=False)
    return made if tee.end & 1 else made.reversed()


def _tees(
    points: npt.NDArray[np.float64], pieces: Sequence[Piece], gap_mm: float
) -> Iterator[_Tee]:
    """Points that lie within the gap of pieces, and no nearer to their ends than it."""
    segments = [p.segment for p in pieces]
    near, which = shapely.STRtree(drawn_lines(segments)).query(
        shapely.points(points), predicate="dwithin", distance=gap_mm + _CHORD_MM
    )
    # Most points lie on a line only because it ends there.
    table = table_of(segments)
    inside = np.ones(len(near), dtype=bool)
    for end in (0, 2):
        inside &= np.hypot(*(points[near] - table[which, end : end + 2]).T) > gap_mm
    for k, i in zip(near[inside].tolist(), which[inside].tolist(), strict=True):
        segment = pieces[i].segment
        share, apart_mm = share_at(segment, float(points[k, 0]), float(points[k, 1]))
        slack = max(SAME_PLACE_MM, gap_mm) / segment.length_mm
        if slack < share < 1.0 - slack and apart_mm <= gap_mm:
            yield _Tee(k, i, share, apart_mm)
