"""Where each contour is begun.

A closed contour is begun on a straight run away from its corners: piercing and
stopping leave a mark there. That costs a vertex, so contours of four vertices
or fewer are begun at a corner unless asked otherwise.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from typing import NamedTuple

from lasernest.domain.contours import Contour, Point, Vertex
from lasernest.domain.cutting import CutPath

FEWEST_VERTICES_TO_SPLIT = 5
MOST_STARTS = 8


class Start(NamedTuple):
    """One way to walk a path: where it begins and ends, and how to make it do so."""

    begin: Point
    end: Point
    vertex: int
    share: float


def begun_nearby(
    sequence: Sequence[CutPath], home: Point, *, split_all: bool = False
) -> list[CutPath]:
    """Choose all starts at once so that the travel between them is shortest."""
    if not sequence:
        return []
    choices = [starts_of(path.path, split_all=split_all) for path in sequence]
    cost = [math.dist(home, start.begin) for start in choices[0]]
    came_from: list[list[int]] = []
    for before, after in pairwise(choices):
        best: list[int] = []
        totals: list[float] = []
        for start in after:
            through = [c + math.dist(b.end, start.begin) for c, b in zip(cost, before, strict=True)]
            i = min(range(len(through)), key=through.__getitem__)
            best.append(i)
            totals.append(through[i])
        came_from.append(best)
        cost = totals
    chosen = [min(range(len(cost)), key=cost.__getitem__)]
    for best in reversed(came_from):
        chosen.append(best[chosen[-1]])
    return [
        replace(path, path=started(path.path, starts[i]))
        for path, starts, i in zip(sequence, choices, reversed(chosen), strict=True)
    ]


def starts_of(contour: Contour, *, split_all: bool = False) -> list[Start]:
    """The places where a path may well begin."""
    if not contour.closed:
        return [
            Start(contour.start, contour.end, 0, 0.0),
            Start(contour.end, contour.start, 0, 1.0),
        ]
    if contour.as_circle() is not None:
        return [Start(contour.start, contour.start, 0, 0.0)]
    segments = list(contour.segments())
    lines = [(i, s) for i, s in enumerate(segments) if not s.is_arc]
    if lines and (split_all or len(segments) >= FEWEST_VERTICES_TO_SPLIT):
        longest = max(s.chord_mm for _, s in lines)
        runs = [(i, s) for i, s in lines if s.chord_mm >= 0.5 * longest]
        runs.sort(key=lambda run: (-round(run[1].chord_mm, 6), run[0]))
        return [Start(s.middle, s.middle, i, 0.5) for i, s in runs[:MOST_STARTS]]
    return [Start(s.start, s.start, i, 0.0) for i, s in enumerate(segments[:MOST_STARTS])]


def started(contour: Contour, start: Start) -> Contour:
    """The same line, begun there."""
    if not contour.closed:
        return contour.reversed() if start.share else contour
    if not start.share:
        return contour.started_at(start.vertex) if start.vertex else contour
    after, before = contour.vertices[start.vertex + 1 :], contour.vertices[: start.vertex + 1]
    return Contour((Vertex(*start.begin), *after, *before))
