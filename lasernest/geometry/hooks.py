"""Hooks: specks of a contour in which it turns back and on again.

Drawing programs leave them where a curve was cut or offset: a few micrometres that the
beam cannot follow, but in which the contour crosses itself and could not be shifted by
the kerf. A fillet or chamfer that small turns one way only and stays.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from lasernest.domain.contours import Contour, Point, Segment, Vertex
from lasernest.geometry.extents import vertex_table

LONGEST_MM = 0.02
"""Longer ones are seen, and stay. Source: common practice, no source."""

_IN_VAIN_RAD = math.radians(200.0)
"""What a hook turns in vain: all its turning, less what it comes to. A step that small
turns 180 degrees in vain and stays."""


def with_short_parts(rings: Sequence[Contour]) -> list[int]:
    """Numbers of the rings that have a line or arc short enough for a hook."""
    if not rings:
        return []
    table, counts = vertex_table(rings)
    ends = np.cumsum(counts)
    following = np.arange(1, len(table) + 1)
    following[ends - 1] = ends - counts
    short = np.hypot(*(table[following] - table)[:, :2].T) <= LONGEST_MM
    found: list[int] = np.unique(np.repeat(np.arange(len(rings)), counts)[short]).tolist()
    return found


def without_hooks(ring: Contour) -> tuple[Contour, list[Point], float]:
    """A closed contour with its hooks drawn together to a point.

    Returns:
        The contour, where its hooks were, and the length of the longest.
    """
    segments = list(ring.segments())
    hooks = _hooks(segments)
    count = len(segments)
    if not hooks or count - sum(size for _, size in hooks) < 3:
        return ring, [], 0.0
    vertices: list[Vertex | None] = list(ring.vertices)
    places: list[Point] = []
    longest_mm = 0.0
    for first, size in hooks:
        within = [segments[(first + k) % count] for k in range(size)]
        (x0, y0), (x1, y1) = within[0].start, within[-1].end
        at = (0.5 * (x0 + x1), 0.5 * (y0 + y1))
        for k in range(size):
            vertices[(first + k) % count] = None
        after = (first + size) % count
        vertices[after] = Vertex(*at, ring.vertices[after].bulge)
        places.append(at)
        longest_mm = max(longest_mm, sum(s.length_mm for s in within))
    return Contour(tuple(v for v in vertices if v is not None)), places, longest_mm


def _hooks(segments: Sequence[Segment]) -> list[tuple[int, int]]:
    """First segment and number of segments of each hook, none next to another."""
    count = len(segments)
    lengths = [s.length_mm for s in segments]
    found: list[tuple[int, int]] = []
    taken: set[int] = set()
    for first in range(count):
        total_mm, all_rad, net_rad = 0.0, 0.0, 0.0
        for size in range(1, count):
            i = (first + size - 1) % count
            total_mm += lengths[i]
            if total_mm > LONGEST_MM:
                break
            turn = _turn_rad(segments[i - 1], segments[i])
            sweep = segments[i].sweep_rad
            all_rad += abs(turn) + abs(sweep)
            net_rad += turn + sweep
            out = _turn_rad(segments[i], segments[(i + 1) % count])
            net = math.remainder(net_rad + out, 2.0 * math.pi)
            span = {(first + k) % count for k in range(-1, size + 1)}
            if all_rad + abs(out) - abs(net) >= _IN_VAIN_RAD and not span & taken:
                found.append((first, size))
                taken |= span
                break
    return found


def _turn_rad(before: Segment, after: Segment) -> float:
    """The angle from one segment's end to the next one's start."""
    (ax, ay), (bx, by) = before.tangent_at(1.0), after.tangent_at(0.0)
    return math.atan2(ax * by - ay * bx, ax * bx + ay * by)
