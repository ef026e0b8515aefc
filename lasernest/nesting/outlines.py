"""Outlines for nesting: polygons that never lie inside the true panel.

Owns the step from exact contours to straight-edged rings that cover them
(*conservative*: an arc that bulges out of the material becomes a polygon
around it, an arc that bulges in becomes its chords), and the growth by half
the gap. Two grown outlines that do not overlap keep the gap between their
panels. Square corners stay square when grown, sharper ones are cut off just
outside the true rounding, so that rings keep few corners.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely
import shapely.affinity

from lasernest.domain.contours import Contour, Pose
from lasernest.domain.panels import Panel
from lasernest.geometry.flatten import ring_points

Floats = npt.NDArray[np.float64]

MITRE_LIMIT = 1.4143
"""Corners up to a right angle keep their mitre; its tip lies 0.414 r beyond the rounding."""


@dataclass(frozen=True, slots=True)
class Stance:
    """One way a panel may be laid: mirrored or not, and turned."""

    turn_deg: float
    mirrored: bool = False

    @property
    def pose(self) -> Pose:
        return Pose(0.0, 0.0, self.turn_deg, self.mirrored)


def covering_ring(contour: Contour, *, chord_error_mm: float) -> Floats:
    """A closed contour as straight edges, never inside the material on its left."""
    return ring_points(contour, chord_error_mm=chord_error_mm, circumscribed=True)


def covering_polygon(panel: Panel, *, chord_error_mm: float = 0.02) -> shapely.Polygon:
    """The panel as a polygon that covers it; holes never larger than drawn."""
    holes = [covering_ring(ring, chord_error_mm=chord_error_mm) for ring in panel.inner]
    shape = shapely.Polygon(
        covering_ring(panel.outer, chord_error_mm=chord_error_mm),
        [ring for ring in holes if len(ring) >= 3],
    )
    if not shape.is_valid:
        shape = largest_part(shapely.make_valid(shape))
    return shape


def grown(shape: shapely.Polygon, distance_mm: float) -> shapely.Polygon:
    """The polygon grown outwards on all sides, holes shrunk; never less than the true growth."""
    if distance_mm <= 0.0:
        return shape
    return largest_part(
        shapely.buffer(shape, distance_mm, join_style="mitre", mitre_limit=MITRE_LIMIT)
    )


def largest_part(shape: shapely.Geometry) -> shapely.Polygon:
    """The polygon itself, or the largest polygon of a collection."""
    if isinstance(shape, shapely.Polygon):
        return shape
    parts = [largest_part(part) for part in getattr(shape, "geoms", ())]
    return max(parts, key=lambda part: part.area, default=shapely.Polygon())


def posed_polygon(shape: shapely.Geometry, pose: Pose) -> shapely.Geometry:
    """The polygon mirrored, turned and moved; quarter turns are exact."""
    a, b, c, d = pose.matrix()
    matrix = np.array([[a, c], [b, d]])
    return shapely.transform(shape, lambda xy: xy @ matrix + np.array([pose.x_mm, pose.y_mm]))


def distinct_stances(
    shape: shapely.Geometry, turns_deg: Sequence[float], *, may_mirror: bool = False
) -> tuple[Stance, ...]:
    """The stances of a shape that look different, whatever their place."""
    found: list[Stance] = []
    seen: list[tuple[shapely.Geometry, Floats]] = []
    tolerance_mm2 = 1e-9 * max(shape.area, 1e-12)
    # Outlines that differ by so little have their middles as good as at the same place.
    tolerance_mm = 1e-6 * sum(_extent(shape))
    for mirrored in (False, True) if may_mirror else (False,):
        for angle in dict.fromkeys(turns_deg):
            stance = Stance(angle, mirrored)
            turned = posed_polygon(shape, stance.pose)
            x0, y0, _, _ = turned.bounds
            turned = shapely.affinity.translate(turned, -x0, -y0)
            middle = shapely.get_coordinates(turned.centroid)[0]
            if any(
                np.abs(middle - other).max() <= tolerance_mm
                and turned.symmetric_difference(one).area <= tolerance_mm2
                for one, other in seen
            ):
                continue
            seen.append((turned, middle))
            found.append(stance)
    return tuple(found)


def _extent(shape: shapely.Geometry) -> tuple[float, float]:
    x0, y0, x1, y1 = shape.bounds
    return (x1 - x0, y1 - y0)
