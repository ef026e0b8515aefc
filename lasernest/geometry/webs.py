"""Webs of material between two cuts of one panel that are too thin to stay.

A web is what is left between a hole and the outline, or between two holes. Thinner
than the beam it burns away or breaks off; where two contours touch there is none,
and two holes become one.
"""

from __future__ import annotations

from collections.abc import Collection
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import shapely

from lasernest.domain.contours import Point
from lasernest.geometry.flatten import ring_polygons
from lasernest.geometry.nesting_depth import CHORD_MM, Nest

_FINE_CHORD_MM = 0.0005

Pair = tuple[int, int]


class Web(NamedTuple):
    """A place where two contours of a panel come too near to each other."""

    at: Point
    rings: Pair
    width_mm: float


def thin_webs(nest: Nest, thinnest_mm: float, crossing: Collection[Pair]) -> list[Web]:
    """Webs thinner than a width, one per pair of contours at its thinnest place.

    Args:
        nest: the contours.
        thinnest_mm: webs of this width and more are left alone.
        crossing: contours that cross each other, with no web to speak of.
    """
    holes = np.array([i for i, depth in enumerate(nest.depths) if depth % 2], dtype=np.int64)
    if not len(holes):
        return []
    lines = shapely.boundary(nest.polygons)
    reach_mm = thinnest_mm + 2.0 * CHORD_MM
    left, right = shapely.STRtree(lines).query(lines[holes], predicate="dwithin", distance=reach_mm)
    found = []
    for a, j in zip(holes[left].tolist(), right.tolist(), strict=True):
        i = int(a)
        beside = nest.parents[i] == nest.parents[j] and i < j
        if (nest.parents[i] != j and not beside) or (min(i, j), max(i, j)) in crossing:
            continue
        web = _between(nest, i, j)
        if web.width_mm < thinnest_mm:
            found.append(web)
    return found


def _between(nest: Nest, i: int, j: int) -> Web:
    pair = shapely.boundary(
        ring_polygons([nest.rings[i], nest.rings[j]], chord_error_mm=_FINE_CHORD_MM)
    )
    ends: npt.NDArray[np.float64] = shapely.get_coordinates(shapely.shortest_line(*pair))
    x, y = ends.mean(axis=0)
    return Web((float(x), float(y)), (i, j), float(np.hypot(*(ends[1] - ends[0]))))
