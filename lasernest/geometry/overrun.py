"""Outlines whose two ends run past each other: the tails are trimmed at the crossing."""

from __future__ import annotations

import math

from lasernest.domain.contours import Contour, Point, Segment, Vertex
from lasernest.geometry.mapping import contour_of
from lasernest.geometry.mending import share_at

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


def crossings(a: Segment, b: Segment) -> list[Point]:
    """Points that the lines or arcs of two segments share, ends included."""
    if a.bulge and b.bulge:
        points = _circles(a, b)
    elif a.bulge or b.bulge:
        points = _line_and_circle(b, a) if a.bulge else _line_and_circle(a, b)
    else:
        points = _lines(a, b)
    found = []
    for x, y in points:
        if all(-1e-9 <= share_at(s, x, y)[0] <= 1.0 + 1e-9 for s in (a, b)):
            found.append((x, y))
    return found


def _lines(a: Segment, b: Segment) -> list[Point]:
    ax, ay = a.x1_mm - a.x0_mm, a.y1_mm - a.y0_mm
    bx, by = b.x1_mm - b.x0_mm, b.y1_mm - b.y0_mm
    cross = ax * by - ay * bx
    if abs(cross) <= 1e-12 * math.hypot(ax, ay) * math.hypot(bx, by):
        return []
    t = ((b.x0_mm - a.x0_mm) * by - (b.y0_mm - a.y0_mm) * bx) / cross
    return [(a.x0_mm + t * ax, a.y0_mm + t * ay)]


def _line_and_circle(line: Segment, arc: Segment) -> list[Point]:
    cx, cy = arc.centre
    dx, dy = line.x1_mm - line.x0_mm, line.y1_mm - line.y0_mm
    length = math.hypot(dx, dy)
    dx, dy = dx / length, dy / length
    along = (cx - line.x0_mm) * dx + (cy - line.y0_mm) * dy
    away = (cx - line.x0_mm) * dy - (cy - line.y0_mm) * dx
    square = arc.radius_mm**2 - away * away
    if square < 0.0:
        return []
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
