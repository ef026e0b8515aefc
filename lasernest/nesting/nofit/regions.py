"""No-fit regions of outlines, by convolution.

The no-fit region of A and B is where B's reference point must not lie, seen
from A's, lest they overlap: the Minkowski sum of A and the point reflection of B.
Holes are bridged into the outline first, so a part that fits a hole finds an
inner ring in the region. Cost: 0.1 ms for simple outlines, a few ms for
outlines of 100 corners and more.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import shapely
import shapely.affinity

from lasernest.geometry.windings import positive_region
from lasernest.nesting.nofit._kernels import convolve, is_convex, tidy
from lasernest.nesting.outlines import Floats

STRAIGHT = 1e-10
"""Sine of the largest turn that counts as straight."""

SLIT = 1e-9
"""Sine of the largest angle between the sides of a slit of no width."""


def no_fit_rings(a: Floats, b: Floats) -> list[Floats]:
    """The rings around the no-fit region of two outlines.

    Args:
        a: the outline that stays, as from `bridged`, shape (n, 2).
        b: the outline that moves.

    Returns:
        Outer rings anticlockwise, holes clockwise; the region lies on their left.
    """
    points, starts = convolve(a, -b)
    if len(starts) == 2 and is_convex(a) and is_convex(b):
        return [tidy(points, STRAIGHT)]
    loops = [points[s:e] for s, e in pairwise(starts)]
    rings = [_without_false_slits(tidy(ring, STRAIGHT), a, b) for ring in positive_region(loops)]
    return [ring for ring in rings if len(ring) >= 3]


def _without_false_slits(ring: Floats, a: Floats, b: Floats) -> Floats:
    """The ring without slits of no width in which the outlines overlap nevertheless.

    Where a hollow edge of one outline runs along an edge of the other the
    convolution folds back on itself. A true slit, where the moving outline
    just fits into a notch, looks the same, so the overlap in it decides.
    """
    while len(ring) > 3:
        before, after = ring - np.roll(ring, 1, axis=0), np.roll(ring, -1, axis=0) - ring
        lengths = np.hypot(*before.T) * np.hypot(*after.T)
        turned = np.abs(before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0])
        back = (turned <= SLIT * lengths) & ((before * after).sum(axis=1) < 0.0)
        false = [k for k in np.flatnonzero(back) if _overlap_in_slit(ring, int(k), a, b)]
        if not false:
            break
        ring = tidy(np.delete(ring, false, axis=0), STRAIGHT)
    return ring


def _overlap_in_slit(ring: Floats, tip: int, a: Floats, b: Floats) -> bool:
    """Whether the outlines overlap anywhere in the slit that ends at this corner."""
    stays, moves = (shapely.make_valid(shapely.Polygon(outline)) for outline in (a, b))
    neighbours = ring[tip - 1], ring[(tip + 1) % len(ring)]
    base = min(neighbours, key=lambda point: float(np.hypot(*(point - ring[tip]))))
    for share in (1.0, 0.7, 0.4):
        x, y = share * ring[tip] + (1.0 - share) * base
        common = stays.intersection(shapely.affinity.translate(moves, x, y)).area
        if common > 1e-9 * min(stays.area, moves.area):
            return True
    return False


def bridged(shape: shapely.Polygon) -> Floats:
    """A polygon with holes as one anticlockwise ring that runs to each hole and back."""
    oriented = shapely.orient_polygons(shape)
    ring = tidy(_open(oriented.exterior), STRAIGHT)
    holes = [tidy(_open(hole), STRAIGHT) for hole in oriented.interiors]
    holes = [hole for hole in holes if len(hole) >= 3]
    # From right to left: the bridge to the right of a hole's last point meets no later hole.
    for hole in sorted(holes, key=lambda h: -float(h[:, 0].max())):
        start = int(hole[:, 0].argmax())
        index = _visible_corner(ring, hole[start], holes)
        turned = np.roll(hole, -start, axis=0)
        ring = np.concatenate(
            [ring[: index + 1], turned, turned[:1], ring[index : index + 1], ring[index + 1 :]]
        )
    return np.asarray(ring, dtype=np.float64)


def _visible_corner(ring: Floats, point: Floats, holes: list[Floats]) -> int:
    """Index of a corner of the ring that a straight bridge from the point reaches freely."""
    walls = shapely.union_all(
        [shapely.LinearRing(ring_) for ring_ in (*holes, ring) if len(ring_) >= 3]
    )
    distance = np.hypot(*(ring - point).T)
    for index in np.argsort(distance, kind="stable"):
        bridge = shapely.LineString([point, ring[index]])
        touched = bridge.intersection(walls)
        ends = shapely.MultiPoint([point, ring[index]])
        if touched.difference(ends.buffer(1e-9 * (1.0 + distance[index]))).is_empty:
            return int(index)
    return int(distance.argmin())


def _open(ring: shapely.LinearRing) -> Floats:
    return np.asarray(shapely.get_coordinates(ring)[:-1], dtype=np.float64)
