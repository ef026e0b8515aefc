"""Which ring holds which: the tree that decides between panels and holes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt
import shapely

from lasernest.domain.contours import Contour, Point
from lasernest.geometry.extents import measured
from lasernest.geometry.flatten import ring_polygons

CHORD_MM = 0.01


@dataclass(frozen=True, slots=True)
class Nest:
    """Rings, the smallest ring around each, and how many are around each."""

    rings: tuple[Contour, ...]
    parents: tuple[int | None, ...]
    depths: tuple[int, ...]
    inside: tuple[tuple[int, ...], ...]
    """For each ring the rings right inside it."""
    polygons: npt.NDArray[np.object_] = field(compare=False, repr=False)
    """The rings as polygons within `CHORD_MM`."""

    def children(self, i: int) -> tuple[int, ...]:
        """The rings right inside a ring."""
        return self.inside[i]

    @property
    def outers(self) -> list[int]:
        """Rings at even depth: outer contours."""
        return [i for i, depth in enumerate(self.depths) if depth % 2 == 0]


def nested(rings: Sequence[Contour]) -> Nest:
    """Find the tree of rings that hold each other.

    A ring holds another when it is larger, its box holds the other's box, and
    a point of the other's inside lies inside it. Rings should not cross.
    """
    if not rings:
        return Nest((), (), (), (), np.empty(0, dtype=np.object_))
    polygons = ring_polygons(rings, chord_error_mm=CHORD_MM)
    areas = np.abs(measured(rings).areas_mm2).tolist()
    boxes = shapely.bounds(polygons)
    tree = shapely.STRtree(_inside_points(polygons))
    holders, held = tree.query(polygons, predicate="contains")
    parents: list[int | None] = [None] * len(rings)
    for holder, ring in zip(holders.tolist(), held.tolist(), strict=True):
        if holder == ring or areas[holder] <= areas[ring]:
            continue
        parent = parents[ring]
        if parent is not None and areas[parent] <= areas[holder]:
            continue
        a, b = boxes[holder], boxes[ring]
        if (a[:2] <= b[:2] + 2 * CHORD_MM).all() and (a[2:] >= b[2:] - 2 * CHORD_MM).all():
            parents[ring] = holder
    depths = []
    for i in range(len(rings)):
        depth = 0
        parent = parents[i]
        while parent is not None:
            depth += 1
            parent = parents[parent]
        depths.append(depth)
    inside: list[list[int]] = [[] for _ in rings]
    for i, parent in enumerate(parents):
        if parent is not None:
            inside[parent].append(i)
    return Nest(tuple(rings), tuple(parents), tuple(depths), tuple(map(tuple, inside)), polygons)


def _inside_points(polygons: npt.NDArray[np.object_]) -> npt.NDArray[np.object_]:
    """A point well inside each polygon; for one that crosses itself, of its mended shape."""
    sound = shapely.is_valid(polygons)
    mended = np.where(sound, polygons, shapely.make_valid(polygons))
    points = shapely.point_on_surface(mended)
    lost = shapely.is_empty(points)
    placed: npt.NDArray[np.object_] = np.where(lost, shapely.centroid(polygons), points)
    return placed


def inner_point(ring: Contour) -> Point:
    """A point inside a ring."""
    point = _inside_points(ring_polygons([ring], chord_error_mm=CHORD_MM))[0]
    return (float(point.x), float(point.y))
