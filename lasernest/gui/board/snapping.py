"""Points of panels that attract the pointer: corners, middles of lines, centres of arcs, edges."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import TYPE_CHECKING

from lasernest.domain.contours import Point, Pose, Segment

if TYPE_CHECKING:
    from lasernest.geometry.near_segments import NearSegments

_EDGE_WORTH = 2.5
"""An edge attracts only where nothing better is this much nearer."""


def snap_point(
    segments: NearSegments, pose: Pose, x_mm: float, y_mm: float, within_mm: float
) -> tuple[float, Point] | None:
    """The best point of a panel as it lies, with how far it is; None when nothing is near.

    Args:
        segments: of the panel as drawn.
        pose: how it lies.
        x_mm: of the pointer.
        y_mm: of the pointer.
        within_mm: how far the pointer is attracted.

    Returns:
        A rank (its distance, more for plain edges) and the point.
    """
    at = pose.drawn_at(x_mm, y_mm)
    best: tuple[float, Point] | None = None
    for segment in segments.near(*at, within_mm):
        for rank, point in _points(segment, at):
            if rank <= within_mm and (best is None or rank < best[0]):
                best = (rank, point)
    return (best[0], pose.apply(*best[1])) if best is not None else None


def _points(segment: Segment, at: Point) -> Iterable[tuple[float, Point]]:
    yield math.dist(segment.start, at), segment.start
    yield math.dist(segment.end, at), segment.end
    middle = segment.point_at(0.5)
    yield 1.2 * math.dist(middle, at), middle
    if segment.is_arc:
        yield 1.2 * math.dist(segment.centre, at), segment.centre
        foot = _on_arc(segment, at)
    else:
        foot = _on_line(segment, at)
    yield _EDGE_WORTH * math.dist(foot, at), foot


def _on_line(segment: Segment, at: Point) -> Point:
    dx, dy = segment.x1_mm - segment.x0_mm, segment.y1_mm - segment.y0_mm
    square = dx * dx + dy * dy
    if square == 0.0:
        return segment.start
    t = ((at[0] - segment.x0_mm) * dx + (at[1] - segment.y0_mm) * dy) / square
    t = min(1.0, max(0.0, t))
    return (segment.x0_mm + t * dx, segment.y0_mm + t * dy)


def _on_arc(segment: Segment, at: Point) -> Point:
    """The nearest point of an arc: on the ray from its centre, or one of its ends."""
    cx, cy = segment.centre
    far = math.dist((cx, cy), at)
    if far > 0.0:
        turn = math.atan2(at[1] - cy, at[0] - cx) - math.atan2(
            segment.y0_mm - cy, segment.x0_mm - cx
        )
        sweep = segment.sweep_rad
        turn = turn % (2.0 * math.pi) if sweep > 0.0 else (-turn) % (2.0 * math.pi)
        if turn <= abs(sweep):
            radius = segment.radius_mm
            return (cx + (at[0] - cx) * radius / far, cy + (at[1] - cy) * radius / far)
    return min(segment.start, segment.end, key=lambda end: math.dist(end, at))
