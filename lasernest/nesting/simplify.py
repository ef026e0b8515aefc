"""Fewer corners for the search: outlines only ever gain area.

Two steps. *Closing*: notches so narrow that nothing in the job could reach
into them are filled (after growth by half the gap, fingers of one panel no
longer fit the notches of another, so toothed edges become straight).
*Thinning*: corners are taken out while the outline grows by less than a small
distance. Simple outlines have simple no-fit regions: the cost of those grows
with the product of the corner counts.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np
import shapely

from lasernest.nesting.outlines import Floats, largest_part

MOST_CORNERS = 60
"""Outlines with fewer corners are left alone by thinning beyond its first distance."""

KEPT_SHARE = 0.995
"""A protrusion counts when cutting all that is narrower takes more than the rest of this."""


def simpler(
    shapes: Sequence[shapely.Polygon],
    *,
    gap_mm: float,
    poll: Callable[[], object] = lambda: None,
) -> list[shapely.Polygon]:
    """Outlines with few corners that cover the given ones.

    Args:
        shapes: grown outlines of one job.
        gap_mm: sets how much may be given away: a few hundredths of it.
        poll: called between outlines; may raise.
    """

    smallest_mm = min((min(_spans(shape)) for shape in shapes), default=0.0)
    closed = list(shapes)
    if smallest_mm > 0.0 and any(len(shape.exterior.coords) > 12 for shape in shapes):
        width_mm = _narrowest_protrusion(shapes, 0.5 * smallest_mm, poll)
        closed = []
        for shape in shapes:
            poll()
            closed.append(_closed(shape, 0.5 * width_mm))
    simple = []
    for shape in closed:
        poll()
        whole = _without_small_holes(shape, smallest_mm)
        simple.append(_thinned(whole, max(0.01 * gap_mm, 1e-3)))
    return simple


def thinned(shape: shapely.Polygon, distance: float) -> shapely.Polygon:
    """A shape with many corners with fewer ones, covering it; one with few is left alone.

    Args:
        shape: without holes to speak of.
        distance: how far it may grow, and more while it has too many corners.
    """
    if len(shape.exterior.coords) <= MOST_CORNERS:
        return shape
    return _thinned(shape, distance)


def _spans(shape: shapely.Polygon) -> tuple[float, float]:
    box = shapely.minimum_rotated_rectangle(shape)
    corners = shapely.get_coordinates(box)
    if len(corners) < 4:
        return (0.0, 0.0)
    sides = np.hypot(*(corners[1:3] - corners[0:2]).T)
    return (float(sides[0]), float(sides[1]))


def _narrowest_protrusion(
    shapes: Sequence[shapely.Polygon], most_mm: float, poll: Callable[[], object]
) -> float:
    """A width so small that cutting off all narrower protrusions leaves every shape whole."""
    width_mm = most_mm
    for shape in shapes:
        poll()
        if _stays_whole(shape, width_mm):
            continue
        low, high = 0.0, width_mm
        while high - low > most_mm / 1024.0:
            middle = 0.5 * (low + high)
            low, high = (middle, high) if _stays_whole(shape, middle) else (low, middle)
        width_mm = low
    return width_mm


def _stays_whole(shape: shapely.Polygon, width_mm: float) -> bool:
    """True when what is left without protrusions narrower than this is nearly all of it."""
    opened = _buffer(_buffer(shape, -0.5 * width_mm), 0.5 * width_mm)
    least = KEPT_SHARE * shape.area
    return bool(opened.area >= least and opened.intersection(shape).area >= least)


def _closed(shape: shapely.Polygon, radius_mm: float) -> shapely.Polygon:
    """The shape with notches and holes narrower than twice the radius filled."""
    if radius_mm <= 0.0:
        return shape
    closed = _buffer(_buffer(shape, radius_mm), -radius_mm)
    # The union keeps the result a cover whatever the buffer's rounding did.
    return largest_part(shapely.union_all([closed, shape]))


def _buffer(shape: shapely.Geometry, distance_mm: float) -> shapely.Geometry:
    return shapely.buffer(shape, distance_mm, join_style="mitre", mitre_limit=2.0)


def _without_small_holes(shape: shapely.Polygon, smallest_mm: float) -> shapely.Polygon:
    """Holes that no outline of the job fits into are filled."""
    holes = [hole for hole in shape.interiors if min(_spans(shapely.Polygon(hole))) >= smallest_mm]
    return shapely.Polygon(shape.exterior, holes)


def _thinned(shape: shapely.Polygon, distance_mm: float) -> shapely.Polygon:
    """The shape with fewer corners, grown by no more than the distance, or more if it has many."""
    shape = shapely.orient_polygons(shape)
    outer = _thin_ring(shapely.get_coordinates(shape.exterior)[:-1], distance_mm)
    while len(outer) > MOST_CORNERS and distance_mm < 0.02 * max(_spans(shape)):
        distance_mm *= 2.0
        outer = _thin_ring(shapely.get_coordinates(shape.exterior)[:-1], distance_mm)
    holes = [
        ring
        for hole in shape.interiors
        if len(ring := _thin_ring(shapely.get_coordinates(hole)[:-1], distance_mm)) >= 3
    ]
    thin = shapely.Polygon(outer, holes)
    return thin if thin.is_valid and thin.buffer(1e-9).covers(shape) else shape


def _thin_ring(points: Floats, distance_mm: float) -> Floats:
    """A ring with corners taken out so that its left side (the material) only gains.

    The material lies on the left of the walk. A hollow corner may simply go;
    two convex corners at a short edge become one where the neighbouring edges meet.
    """
    ring = [(float(x), float(y)) for x, y in points]
    changed = True
    while changed and len(ring) > 4:
        changed = False
        i = 0
        while i < len(ring) and len(ring) > 4:
            n = len(ring)
            a, b, c, d = ring[i - 1], ring[i], ring[(i + 1) % n], ring[(i + 2) % n]
            if _side(a, b, c) <= 0.0:
                if _off(b, a, c) <= distance_mm:
                    del ring[i]
                    changed = True
                    continue
            elif _side(b, c, d) > 0.0:
                tip = _meeting(a, b, c, d)
                if tip is not None and _off(tip, b, c) <= distance_mm:
                    ring[i] = tip
                    del ring[(i + 1) % n]
                    changed = True
                    continue
            i += 1
    return np.array(ring)


def _side(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float]) -> float:
    return (b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0])


def _off(p: tuple[float, float], a: tuple[float, float], b: tuple[float, float]) -> float:
    """Distance of a point to the segment a, b."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    square = dx * dx + dy * dy
    if square == 0.0:
        return math.hypot(p[0] - a[0], p[1] - a[1])
    t = min(1.0, max(0.0, ((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / square))
    return math.hypot(p[0] - a[0] - t * dx, p[1] - a[1] - t * dy)


def _meeting(
    a: tuple[float, float], b: tuple[float, float], c: tuple[float, float], d: tuple[float, float]
) -> tuple[float, float] | None:
    """Where edge a-b prolonged meets edge c-d prolonged backwards, ahead of both."""
    ux, uy = b[0] - a[0], b[1] - a[1]
    vx, vy = c[0] - d[0], c[1] - d[1]
    cross = ux * vy - uy * vx
    if cross == 0.0:
        return None
    t = ((d[0] - b[0]) * vy - (d[1] - b[1]) * vx) / cross
    s = ((d[0] - b[0]) * uy - (d[1] - b[1]) * ux) / cross
    if t < 0.0 or s < 1.0:
        return None
    return (b[0] + t * ux, b[1] + t * uy)
