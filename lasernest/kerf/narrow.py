"""Narrow places: holes, slots and gaps of a panel that the beam does not fit into.

Whether it fits is told by kerf compensation itself, so that what is said when a drawing
comes in and what cutting refuses cannot differ. How wide the place is, is measured here.
Cost: that of the panel's cut paths.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import shapely

from lasernest.domain.contours import Point
from lasernest.domain.panels import Panel
from lasernest.domain.stock import Kerf
from lasernest.geometry.flatten import ring_polygon
from lasernest.kerf.compensate import misfits

_CHORD_MM = 0.002
_KNOWN_PANELS = 2048


@dataclass(frozen=True, slots=True)
class NarrowPlace:
    """A place of a panel, as drawn, that is narrower than the beam."""

    at_mm: Point
    width_mm: float
    in_hole: bool
    """True in a hole or slot, False in a gap of the outline."""


@lru_cache(maxsize=_KNOWN_PANELS)
def narrow_places(panel: Panel, kerf: Kerf) -> tuple[NarrowPlace, ...]:
    """The narrowest place of each contour that the beam does not fit into.

    Args:
        panel: as drawn; with different kerfs along x and y its turn matters.
        kerf: the full width that the beam takes away.
    """
    places = []
    for ring, error in misfits(panel, kerf):
        solid = ring_polygon(ring, chord_error_mm=_CHORD_MM)
        if not solid.is_valid:
            continue  # it crosses itself, which import tells
        at = error.where.at_mm or ring.start
        outward = ring is panel.outer
        width_mm = min(_width_mm(solid, at, kerf.mean_mm, outward=outward), kerf.mean_mm)
        places.append(NarrowPlace(at, width_mm, not outward))
    return tuple(places)


def _width_mm(solid: shapely.Polygon, at: Point, beam_mm: float, *, outward: bool) -> float:
    """How wide the part is, next to a place, that a disc as wide as the beam does not reach."""
    half_mm = 0.5 * beam_mm
    if outward:
        reached = solid.buffer(half_mm).buffer(-half_mm)
        left = reached.difference(solid)
    else:
        reached = solid.buffer(-half_mm).buffer(half_mm)
        left = solid.difference(reached)
    parts = [part for part in shapely.get_parts(left) if part.area > 0.0]
    if not parts:
        return beam_mm
    nearest = min(parts, key=lambda part: part.distance(shapely.Point(at)))
    circle = shapely.maximum_inscribed_circle(nearest, tolerance=0.1 * _CHORD_MM)
    return 2.0 * float(circle.length)
