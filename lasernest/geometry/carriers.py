"""Carriers: the straight lines and circles that segments lie on, and where two of them meet."""

from __future__ import annotations

import math

from lasernest.domain.contours import Point, Segment


def meeting_points(a: Segment, b: Segment, *, slack_mm: float = 0.0) -> list[Point]:
    """Points that the endless line or whole circle of two segments share.

    Args:
        a: one segment.
        b: the other.
        slack_mm: a line that passes a circle by no more than this touches it.
    """
    if a.bulge and b.bulge:
        return _circles(a, b)
    if a.bulge or b.bulge:
        line, arc = (b, a) if a.bulge else (a, b)
        return _line_and_circle(line, arc, slack_mm)
    return _lines(a, b)


def _lines(a: Segment, b: Segment) -> list[Point]:
    ax, ay = a.x1_mm - a.x0_mm, a.y1_mm - a.y0_mm
    bx, by = b.x1_mm - b.x0_mm, b.y1_mm - b.y0_mm
    cross = ax * by - ay * bx
    if abs(cross) <= 1e-12 * math.hypot(ax, ay) * math.hypot(bx, by):
        return []
    t = ((b.x0_mm - a.x0_mm) * by - (b.y0_mm - a.y0_mm) * bx) / cross
    return [(a.x0_mm + t * ax, a.y0_mm + t * ay)]


def _line_and_circle(line: Segment, arc: Segment, slack_mm: float) -> list[Point]:
    cx, cy = arc.centre
    dx, dy = line.x1_mm - line.x0_mm, line.y1_mm - line.y0_mm
    length = math.hypot(dx, dy)
    dx, dy = dx / length, dy / length
    along = (cx - line.x0_mm) * dx + (cy - line.y0_mm) * dy
    away = (cx - line.x0_mm) * dy - (cy - line.y0_mm) * dx
    square = arc.radius_mm**2 - away * away
    if square < 0.0:
        if abs(away) - arc.radius_mm > slack_mm or not slack_mm:
            return []
        square = 0.0
    half = math.sqrt(square)
    return [(line.x0_mm + t * dx, line.y0_mm + t * dy) for t in (along - half, along + half)]


def _circles(a: Segment, b: Segment) -> list[Point]:
    (ax, ay), (bx, by) = a.centre, b.centre
    apart = math.hypot(bx - ax, by - ay)
    if apart <= 1e-12:
        return []
    along = (apart * apart + a.radius_mm**2 - b.radius_mm**2) / (2.0 * apart)
    square = a.radius_mm**2 - along * along
    if square < 0.0:
        return []
    half = math.sqrt(square)
    ux, uy = (bx - ax) / apart, (by - ay) / apart
    foot = (ax + along * ux, ay + along * uy)
    return [(foot[0] - s * uy, foot[1] + s * ux) for s in (half, -half)]
