"""Lines that run past each other where they should meet: tails are trimmed at the crossing."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import shapely

from lasernest.domain.contours import Contour, Point, Segment, Vertex
from lasernest.geometry.carriers import meeting_points
from lasernest.geometry.chaining import SAME_PLACE_MM
from lasernest.geometry.mapping import contour_of
from lasernest.geometry.mending import drawn_lines, share_at
from lasernest.geometry.slicing import part_between

LONGEST_TAIL_MM = 2.0
"""Tails longer than this are not trimmed: they may be meant.

Source: common practice, no source.
"""


def overruns_trimmed(run: Contour) -> tuple[Contour, Point, float] | None:
    """Close an open run whose first and last segment cross near its ends.

    Returns:
        The closed contour, the crossing, and the longer of the two tails; None
        where the two do not cross, or a tail is too long.
    """
    if len(run.vertices) < 4:
        return None
    segments = list(run.segments())
    first, last = segments[0], segments[-1]
    for point in crossings(first, last):
        start, _ = share_at(first, *point)
        end, _ = share_at(last, *point)
        tails = (start * first.length_mm, (1.0 - end) * last.length_mm)
        if max(tails) > LONGEST_TAIL_MM or not (0.0 <= start < 1.0 and 0.0 < end <= 1.0):
            continue
        opening = math.tan(0.25 * first.sweep_rad * (1.0 - start)) if first.bulge else 0.0
        closing = math.tan(0.25 * last.sweep_rad * end) if last.bulge else 0.0
        inner = run.vertices[1:-2]
        before = run.vertices[-2]
        ring = contour_of(
            (Vertex(*point, opening), *inner, Vertex(before.x_mm, before.y_mm, closing)), True
        )
        if ring is not None and ring.closed:
            return ring, point, max(tails)
    return None


class Tail(NamedTuple):
    """What was cut off a run: its number, where, and how long it was."""

    run: int
    at: Point
    length_mm: float


def cut_back(runs: Sequence[Contour]) -> tuple[list[Contour], list[Tail]]:
    """Open runs without the tails by which their first and last lines run past each other.

    Returns:
        The runs in order, and the tails.
    """
    outer = [(k, end) for k in range(len(runs)) for end in (0, -1)]
    segments = [list(run.segments()) for run in runs]
    ends = [segments[k][end] for k, end in outer]
    left, right = shapely.STRtree(lines := drawn_lines(ends)).query(lines, predicate="intersects")
    tails: dict[tuple[int, int], tuple[float, Point]] = {}
    for i, j in zip(left.tolist(), right.tolist(), strict=True):
        if i >= j or ends[i] == ends[j]:
            continue
        for point in crossings(ends[i], ends[j]):
            found = [(_tail_mm(ends[n], outer[n][1], point), outer[n]) for n in (i, j)]
            if all(SAME_PLACE_MM < tail_mm <= LONGEST_TAIL_MM for tail_mm, _ in found):
                for tail_mm, key in found:
                    tails[key] = min(tails.get(key, (math.inf, point)), (tail_mm, point))
    kept = list(runs)
    for k in sorted({k for k, _ in tails}):
        start, end = tails.get((k, 0)), tails.get((k, -1))
        length_mm = runs[k].length_mm
        first_mm = start[0] if start else 0.0
        last_mm = length_mm - (end[0] if end else 0.0)
        if last_mm - first_mm <= SAME_PLACE_MM:
            # A line cut from both sides would be gone.
            tails.pop((k, 0), None)
            tails.pop((k, -1), None)
        else:
            part = part_between(runs[k], first_mm, last_mm).vertices
            at = start[1] if start else (part[0].x_mm, part[0].y_mm)
            to = end[1] if end else (part[-1].x_mm, part[-1].y_mm)
            kept[k] = Contour((Vertex(*at, part[0].bulge), *part[1:-1], Vertex(*to)), False)
    return kept, [Tail(k, at, tail_mm) for (k, _), (tail_mm, at) in sorted(tails.items())]


def _tail_mm(segment: Segment, end: int, point: Point) -> float:
    """How much of a first (0) or last (-1) segment lies beyond a point on it."""
    share, _ = share_at(segment, *point)
    return (share if end == 0 else 1.0 - share) * segment.length_mm


def crossings(a: Segment, b: Segment) -> list[Point]:
    """Points that the lines or arcs of two segments share, ends included."""
    found = []
    for x, y in meeting_points(a, b):
        if all(-1e-9 <= share_at(s, x, y)[0] <= 1.0 + 1e-9 for s in (a, b)):
            found.append((x, y))
    return found
