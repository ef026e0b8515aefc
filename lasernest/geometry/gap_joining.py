"""Gaps: how two loose ends that nearly meet are made to meet.

What was straight stays straight, or a joint would find two edges where one was drawn:

1. Ends on one straight line become one line, ends on one circle are bridged along it.
2. Where the two lines (or circles) meet near the gap, both run on to there or are cut back.
3. A gap wider than rounding leaves is bridged by a short straight line.
4. A narrower one is left: the corner then lies between the ends (`walks`).
"""

from __future__ import annotations

import math
from typing import NamedTuple

from lasernest.domain.contours import Contour, Point, Segment, Vertex
from lasernest.geometry.carriers import meeting_points

STRAIGHT_MM = 1e-3
"""What lies no farther than this from a line or circle is on it."""

_REACH = 2.0
"""Lines meet near a gap if no farther from its ends than this many times its width: corners
of 30 degrees and more."""
_SHORTEST_MM = 1e-3


class Joined(NamedTuple):
    """Two segments that now follow on each other, perhaps by way of a third."""

    before: Segment
    after: Segment
    bridge: Segment | None = None
    straight_at: Point | None = None
    """Where they meet in the middle of a straight line, and no corner need be."""


def joined(before: Segment, after: Segment, *, narrow_mm: float) -> Joined | None:
    """Two segments made to follow on each other; None where they stay as they are.

    Args:
        before: it ends at the gap.
        after: it begins at the gap.
        narrow_mm: gaps up to this are not bridged.
    """
    gap_mm = math.dist(before.end, after.start)
    if before.bulge == after.bulge == 0.0:
        at = _in_line(before, after)
        if at is not None:
            return Joined(_ending_at(before, at), _beginning_at(after, at), straight_at=at)
    elif before.bulge * after.bulge > 0.0 and _on_one_circle(before, after):
        bulge = math.tan(0.5 * math.asin(min(1.0, 0.5 * gap_mm / before.radius_mm)))
        bridge = Segment(*before.end, *after.start, math.copysign(bulge, before.bulge))
        return Joined(before, after, bridge)
    found = _meeting(before, after, gap_mm)
    if found is not None:
        return found
    if gap_mm > narrow_mm:
        return Joined(before, after, Segment(*before.end, *after.start, 0.0))
    return None


def run_on_to(segment: Segment, through: Segment, gap_mm: float) -> Segment | None:
    """A segment whose end lies beside another one, run on or cut back to meet it there.

    None where its line or circle meets that of the other nowhere near.
    """
    if segment.length_mm < gap_mm:
        return None
    points = meeting_points(segment, through, slack_mm=STRAIGHT_MM)
    if not points:
        return None
    far_mm, at = min((math.dist(p, segment.end), p) for p in points)
    made = _ending_at(segment, at)
    return made if far_mm <= _REACH * gap_mm and _is_sound(segment, made) else None


def without_points(path: Contour, points: set[Point], *, apart_mm: float = STRAIGHT_MM) -> Contour:
    """The contour without those of the points at which it only goes straight on."""
    vertices = path.vertices
    count = len(vertices)
    kept = [
        v
        for i, v in enumerate(vertices)
        if (v.x_mm, v.y_mm) not in points
        or (not path.closed and i in (0, count - 1))
        or not _is_straight(vertices[i - 1], v, vertices[(i + 1) % count], apart_mm)
    ]
    enough = len(kept) > 2 or not path.closed
    return Contour(tuple(kept), path.closed) if enough and len(kept) < count else path


def _is_straight(before: Vertex, v: Vertex, after: Vertex, apart_mm: float) -> bool:
    if v.bulge or before.bulge:
        return False
    past = Segment(before.x_mm, before.y_mm, after.x_mm, after.y_mm, 0.0)
    share, off_mm = _along(past, (v.x_mm, v.y_mm))
    return 0.0 < share < 1.0 and off_mm <= apart_mm


def _in_line(before: Segment, after: Segment) -> Point | None:
    """The middle of a gap in one straight line, None where the two are not one."""
    whole = Segment(*before.start, *after.end, 0.0)
    if whole.chord_mm <= _SHORTEST_MM:
        return None
    shares = []
    for point in (before.end, after.start):
        share, off_mm = _along(whole, point)
        if off_mm > STRAIGHT_MM:
            return None
        shares.append(share)
    if not 0.0 < shares[0] <= shares[1] < 1.0:
        return None
    return whole.point_at(0.5 * (shares[0] + shares[1]))


def _along(line: Segment, point: Point) -> tuple[float, float]:
    """The share of a straight line at which a point lies beside it, and how far beside."""
    dx, dy = line.x1_mm - line.x0_mm, line.y1_mm - line.y0_mm
    px, py = point[0] - line.x0_mm, point[1] - line.y0_mm
    square = dx * dx + dy * dy
    if square == 0.0:
        return 0.0, math.inf
    return (px * dx + py * dy) / square, abs(px * dy - py * dx) / math.sqrt(square)


def _on_one_circle(before: Segment, after: Segment) -> bool:
    """Whether two arcs that turn the same way lie on one circle, one ahead of the other."""
    if math.dist(before.centre, after.centre) > STRAIGHT_MM:
        return False
    if abs(before.radius_mm - after.radius_mm) > STRAIGHT_MM:
        return False
    ahead = before.tangent_at(1.0)
    gap = (after.x0_mm - before.x1_mm, after.y0_mm - before.y1_mm)
    return ahead[0] * gap[0] + ahead[1] * gap[1] > 0.0


def _meeting(before: Segment, after: Segment, gap_mm: float) -> Joined | None:
    """Both run on or cut back to where their lines or circles meet near the gap."""
    if min(before.length_mm, after.length_mm) < gap_mm:
        return None  # too short to tell where they would have gone
    points = meeting_points(before, after, slack_mm=STRAIGHT_MM)
    if not points:
        return None
    far_mm, at = min((max(math.dist(p, before.end), math.dist(p, after.start)), p) for p in points)
    if far_mm > _REACH * gap_mm:
        return None
    first, second = _ending_at(before, at), _beginning_at(after, at)
    return Joined(first, second) if _is_sound(before, first) and _is_sound(after, second) else None


def _is_sound(old: Segment, new: Segment) -> bool:
    """False for what would be cut back to nothing or beyond its other end."""
    if new.length_mm <= _SHORTEST_MM:
        return False
    if old.bulge:
        return new.bulge * old.bulge > 0.0 and abs(new.sweep_rad) < 2.0 * math.pi - 1e-3
    (ax, ay), (bx, by) = old.tangent_at(0.0), new.tangent_at(0.0)
    return ax * bx + ay * by > 0.0


def _ending_at(segment: Segment, point: Point) -> Segment:
    """The segment run on or cut back along itself to a point on its line or circle."""
    if not segment.bulge:
        return Segment(*segment.start, *point, 0.0)
    cx, cy = segment.centre
    old = math.atan2(segment.y1_mm - cy, segment.x1_mm - cx)
    turn = math.remainder(math.atan2(point[1] - cy, point[0] - cx) - old, 2.0 * math.pi)
    sweep = segment.sweep_rad + turn
    if abs(sweep) >= 2.0 * math.pi:
        return segment
    return Segment(*segment.start, *point, math.tan(0.25 * sweep))


def _beginning_at(segment: Segment, point: Point) -> Segment:
    return _ending_at(segment.reversed(), point).reversed()
