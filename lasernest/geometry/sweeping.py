"""What a round beam sweeps over, and what it leaves of corners.

Works on finely flattened points with Clipper's integer polygons, not with our
own exact offsets: the proof of a cut file rests on it and must not share their
mistakes. (GEOS would serve too, but its buffer first takes away bends of the
line shallower than 1 % of the distance.)

Accuracy: the arcs of the beam are within `ROUNDING_MM` of a circle,
coordinates are rounded to a nanometre.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import pyclipper
import shapely

from lasernest.geometry.distances import distances_to_ring
from lasernest.geometry.flatten import Points

UNITS_PER_MM = 1e6
ROUNDING_MM = 1e-4
_SHARPEST_RAD = 3.0


def swept_area(points: Points, *, closed: bool, radius_mm: float) -> list[shapely.Polygon]:
    """The area a disc sweeps over when its centre follows a line.

    Args:
        points: float64, shape (n, 2), in mm.
        closed: whether the last point goes on to the first.
        radius_mm: radius of the disc; zero sweeps nothing.

    Returns:
        Polygons apart from each other, with holes.
    """
    ending = pyclipper.ET_CLOSEDLINE if closed else pyclipper.ET_OPENROUND
    return _offset([points], ending, radius_mm)


def closed_by_disc(ring: Points, *, radius_mm: float, outer: bool) -> list[shapely.Polygon]:
    """Where a disc cannot reach round the corners of a ring of material.

    The morphological closing: inner corners of the material keep the radius of
    the disc, and gaps that it cannot enter are filled.

    Args:
        ring: corners in mm, either way round.
        radius_mm: radius of the disc.
        outer: the material lies inside the ring; False for the ring of a hole.

    Returns:
        The area inside the ring as the disc leaves it: of the material when
        `outer`, of the hole else.
    """
    sign = 1.0 if outer else -1.0
    there = _moved_sharp(ring, sign * radius_mm)
    if there is None:
        there = _offset([ring], pyclipper.ET_CLOSEDPOLYGON, sign * radius_mm)
    rings = [r for part in there for r in _rings(part)]
    return _offset(rings, pyclipper.ET_CLOSEDPOLYGON, -sign * radius_mm) if rings else []


def _moved_sharp(ring: Points, distance_mm: float) -> list[shapely.Polygon] | None:
    """The ring grown or shrunk with its corners kept sharp, where a disc closes both alike.

    Sharp corners have few points, and moving them back takes a tenth of the time. They add
    a kite beyond the arc about a corner v, from foot to foot of the two normals. A disc of
    the same radius that reaches into the kite covers more than half a turn of that arc's
    circle less its ends, so it covers one of the feet: while both feet lie on the edge of
    the moved area, no disc inside it reaches into the kite.

    Returns:
        None where a foot does not lie there: other parts of the ring are too near.
    """
    edges = np.roll(ring, -1, axis=0) - ring
    lengths = np.hypot(edges[:, 0], edges[:, 1])
    if lengths.min() < 10.0 / UNITS_PER_MM:
        return None
    x, y = ring.T
    twice_area = (x * np.roll(y, -1) - np.roll(x, -1) * y).sum()
    side = np.copysign(1.0, twice_area * distance_mm)  # the ring moves to its right when positive
    ux, uy = (edges / lengths[:, None]).T
    before_x, before_y = np.roll(ux, 1), np.roll(uy, 1)
    turn = side * np.arctan2(before_x * uy - before_y * ux, before_x * ux + before_y * uy)
    if turn.max() > _SHARPEST_RAD:
        return None
    sharp = turn > 0.0
    far = side * abs(distance_mm)
    feet = [
        np.column_stack([x[sharp] + far * dy[sharp], y[sharp] - far * dx[sharp]])
        for dx, dy in ((before_x, before_y), (ux, uy))
    ]
    moved = _offset([ring], pyclipper.ET_CLOSEDPOLYGON, distance_mm, pyclipper.JT_MITER)
    if len(moved) != 1 or moved[0].interiors:
        return None
    off_mm = distances_to_ring(np.vstack(feet), shapely.get_coordinates(moved[0].exterior)[:-1])
    return moved if off_mm.max(initial=0.0) <= 3.0 / UNITS_PER_MM else None


def _rings(polygon: shapely.Polygon) -> list[Points]:
    return [np.array(r.coords)[:-1] for r in (polygon.exterior, *polygon.interiors)]


def _offset(
    rings: Sequence[Points], ending: int, distance_mm: float, joint: int = pyclipper.JT_ROUND
) -> list[shapely.Polygon]:
    clipper = pyclipper.PyclipperOffset(2.0, ROUNDING_MM * UNITS_PER_MM)
    for ring in rings:
        scaled = np.rint(ring * UNITS_PER_MM).astype(np.int64).tolist()
        clipper.AddPath(scaled, joint, ending)
    polygons: list[shapely.Polygon] = []
    stack: list[Any] = [clipper.Execute2(distance_mm * UNITS_PER_MM)]
    while stack:
        node = stack.pop()
        stack.extend(node.Childs)
        if node.Parent is None or node.IsHole:
            continue
        holes = [child.Contour for child in node.Childs]
        polygons.append(
            shapely.Polygon(
                np.array(node.Contour) / UNITS_PER_MM, [np.array(h) / UNITS_PER_MM for h in holes]
            )
        )
    return polygons
