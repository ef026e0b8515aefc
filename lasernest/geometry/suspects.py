"""Rings that may not be what they seem: sheet borders, double lines, circles, crossings.

Each function only finds; whether something is changed is decided by the
maker's answers and said in a finding (`lasernest.geometry.outlines`).
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import shapely

from lasernest.domain.contours import Bounds, Circle, Contour, Point
from lasernest.geometry.flatten import ring_polygons
from lasernest.geometry.nesting_depth import CHORD_MM, Nest

_PAPER_MM = ((105, 148), (148, 210), (210, 297), (297, 420), (420, 594), (594, 841), (841, 1189))
"""Sides of the A series. Source: ISO 216, from memory."""


class Border(NamedTuple):
    """A rectangle around everything else."""

    ring: int
    likely: bool
    """True when what lies inside looks like parts rather than holes."""


def sheet_border(nest: Nest) -> Border | None:
    """The rectangle that may be the sheet or page, or None.

    A plate with holes is also a rectangle around everything. What speaks for a
    sheet: parts inside with holes of their own, much of the area inside parts,
    the size of a page, a page with a frame around the parts. Source of the limits:
    common practice, no source.
    """
    roots = [i for i, depth in enumerate(nest.depths) if depth == 0]
    if len(roots) != 1 or not is_rectangle(nest.rings[roots[0]]):
        return None
    root = roots[0]
    children = nest.children(root)
    x0, y0, x1, y1 = nest.rings[root].bounds_mm()
    page = any(
        abs(min(x1 - x0, y1 - y0) - a) < 0.5 and abs(max(x1 - x0, y1 - y0) - b) < 0.5
        for a, b in _PAPER_MM
    )
    framed = page and any(is_rectangle(nest.rings[c]) and nest.children(c) for c in children)
    if len(children) < 2 and not framed:
        return None
    with_holes = sum(1 for c in children if nest.children(c))
    share = sum(nest.rings[c].area_mm2 for c in children) / nest.rings[root].area_mm2
    sides = [_longest(nest.rings[c].bounds_mm()) for c in children]
    large = sum(1 for side in sides if side >= 30.0)
    likely = (
        framed
        or (with_holes >= 1 and share >= 0.3)
        or share >= 0.5
        or (with_holes >= 1 and large >= 2 and max(x1 - x0, y1 - y0) >= 250.0)
        or (page and large >= 1)
    )
    if not (likely or with_holes >= 1 or share >= 0.3):
        return None
    return Border(root, likely)


def _longest(box: Bounds) -> float:
    return max(box[2] - box[0], box[3] - box[1])


def is_rectangle(ring: Contour) -> bool:
    """True for a rectangle with sides along x and y, extra points on its sides allowed."""
    if ring.has_arcs:
        return False
    x0, y0, x1, y1 = ring.bounds_mm()
    if ring.area_mm2 < (x1 - x0) * (y1 - y0) * (1.0 - 1e-6):
        return False
    return abs(ring.length_mm - 2.0 * (x1 - x0 + y1 - y0)) <= 1e-6 * ring.length_mm


class DoubleLine(NamedTuple):
    """Two rings closer to each other than the kerf is wide."""

    outer: int
    inner: int
    apart_mm: float


def double_lines(nest: Nest, kerf_mm: float) -> list[DoubleLine]:
    """Rings whose only content is a ring that follows them nearer than the kerf."""
    found = []
    for i, ring in enumerate(nest.rings):
        children = nest.children(i)
        if len(children) != 1:
            continue
        inner = nest.rings[children[0]]
        outer_mm, inner_mm = ring.length_mm, inner.length_mm
        apart_mm = 2.0 * (ring.area_mm2 - inner.area_mm2) / (outer_mm + inner_mm)
        if apart_mm >= kerf_mm or abs(outer_mm - inner_mm) > 8.0 * kerf_mm + 0.05 * outer_mm:
            continue
        a, b = ring.bounds_mm(), inner.bounds_mm()
        if max(abs(p - q) for p, q in zip(a, b, strict=True)) < 1.5 * kerf_mm:
            found.append(DoubleLine(i, children[0], apart_mm))
    return found


class NearCircle(NamedTuple):
    """A ring that is almost a circle."""

    circle: Circle
    off_mm: float
    """Largest distance between the ring and the circle, at corners and middles of arcs."""
    polygon: bool
    """Drawn as short straight lines; the circle goes through their ends."""


def near_circle(ring: Contour) -> NearCircle | None:
    """The circle that a ring of arcs, or of at least 16 short lines, comes near to.

    Returns:
        None for exact circles and for what is no circle within 0.5 % of its radius.
    """
    arcs = sum(1 for v in ring.vertices if v[2])
    polygon = arcs == 0
    if arcs < len(ring.vertices) and (arcs or len(ring.vertices) < 16):
        return None
    segments = list(ring.segments())
    bent = [s for s in segments if s.bulge]
    points = [s.start for s in segments] + [s.middle for s in bent]
    x0, y0, x1, y1 = ring.bounds_mm()
    if abs((x1 - x0) - (y1 - y0)) > 0.02 * (x1 - x0):
        return None
    circle = _fitted(points)
    if circle is None:
        return None
    off_mm = max(abs(math.dist(p, circle[:2]) - circle.radius_mm) for p in points)
    if off_mm > 0.005 * circle.radius_mm:
        return None
    if polygon:
        chords = [s.chord_mm for s in segments]
        if max(chords) > 1.6 * min(chords) or max(chords) > 0.45 * circle.radius_mm:
            return None
    elif abs(abs(sum(s.sweep_rad for s in segments)) - 2.0 * math.pi) > 0.05:
        return None
    if abs(ring.length_mm / (2.0 * math.pi * circle.radius_mm) - 1.0) > 0.02:
        return None
    return NearCircle(circle, off_mm, polygon)


def _fitted(points: Sequence[Point]) -> Circle | None:
    """The circle of least squares in x^2 + y^2 (Kasa 1976)."""
    xy = np.array(points, dtype=np.float64)
    middle = xy.mean(axis=0)
    x, y = (xy - middle).T
    table = np.column_stack([2.0 * x, 2.0 * y, np.ones(len(xy))])
    solution, _, rank, _ = np.linalg.lstsq(table, x * x + y * y, rcond=None)
    square = solution[2] + solution[0] ** 2 + solution[1] ** 2
    if rank < 3 or square <= 0.0:
        return None
    return Circle(float(solution[0] + middle[0]), float(solution[1] + middle[1]), math.sqrt(square))


class Crossing(NamedTuple):
    """A place where rings run over themselves or each other."""

    at: Point
    rings: tuple[int, ...]


_PLACE = re.compile(r"\[([-\d.eE+]+) ([-\d.eE+]+)\]")


def self_crossings(rings: Sequence[Contour], polygons: npt.NDArray[np.object_]) -> list[Crossing]:
    """Rings that cross or touch themselves, told by their polygons."""
    found = []
    for i in np.flatnonzero(~shapely.is_valid(polygons)).tolist():
        place = _PLACE.search(shapely.is_valid_reason(polygons[i]))
        at = (float(place[1]), float(place[2])) if place else rings[i].start
        found.append(Crossing(at, (i,)))
    return found


def loops_mm2(ring: Contour) -> float:
    """The area of all loops of a ring that may cross itself."""
    (polygon,) = ring_polygons([ring], chord_error_mm=CHORD_MM)
    return float(shapely.area(shapely.make_valid(polygon)))


def crossing_rings(nest: Nest) -> list[Crossing]:
    """Pairs of rings that run across each other; touching and sharing an edge is no crossing."""
    polygons = nest.polygons
    if len(polygons) < 2:
        return []
    sound = np.flatnonzero(shapely.is_valid(polygons))
    tree = shapely.STRtree(polygons[sound])
    left, right = tree.query(polygons[sound])
    left, right = sound[left[left < right]], sound[right[left < right]]
    area, length = shapely.area(polygons), shapely.length(polygons)
    # Arcs flattened differently overlap by slivers along a common edge.
    sliver = 2.0 * CHORD_MM * np.maximum(length[left], length[right])
    slight = np.minimum(sliver, 0.01 * np.minimum(area[left], area[right]))
    # Neighbours in a net have boxes that only touch: they need no closer look.
    boxes = shapely.bounds(polygons)
    sides = np.minimum(boxes[left, 2:], boxes[right, 2:]) - np.maximum(
        boxes[left, :2], boxes[right, :2]
    )
    doubtful = np.flatnonzero(np.maximum(sides, 0.0).prod(axis=1) > slight)
    doubtful = doubtful[shapely.overlaps(polygons[left[doubtful]], polygons[right[doubtful]])]
    found = []
    for k in doubtful.tolist():
        i, j = int(left[k]), int(right[k])
        common = shapely.intersection(polygons[i], polygons[j])
        if slight[k] < common.area < min(area[i], area[j]) - slight[k]:
            at = shapely.intersection(polygons[i].exterior, polygons[j].exterior)
            point = at.representative_point() if not at.is_empty else common.centroid
            found.append(Crossing((float(point.x), float(point.y)), (i, j)))
    return found
