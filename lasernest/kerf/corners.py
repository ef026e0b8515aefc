"""What a round beam can leave of a drawn panel at best: its inner corners rounded.

The path of a disc stays outside the panel, so inner corners of the material
keep the disc's radius: the panel becomes its morphological closing by the
disc. That much is known beforehand and no fault of a cut file. A gap that the
disc cannot enter at all is one.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import shapely

from lasernest.domain.contours import Contour, Point
from lasernest.domain.panels import Panel
from lasernest.domain.stock import Kerf
from lasernest.geometry.flatten import Points, all_points
from lasernest.geometry.sweeping import closed_by_disc
from lasernest.kerf.leftovers import CHORD_ERROR_MM, BeamSpace

DEEPEST_CORNER = 3.0
"""How far, in beam radii, a corner without a sharp angle of its own may be lost.

A corner of angle a keeps 1 / sin(a / 2) - 1 radii; 3 belongs to 28.955 degrees.
"""

_TURN_RAD = 1e-3


@dataclass(frozen=True, slots=True)
class Target:
    """What the beam should leave of a panel."""

    shape: shapely.Polygon
    corner_radius_mm: float
    """Radius of its inner corners; 0 when it has none."""
    lost_at: Point | None
    """A gap that the beam cannot enter."""


class Reachable:
    """Rings as the beam can leave them; copies that were only moved are not done again."""

    def __init__(self, kerf: Kerf) -> None:
        self.space = BeamSpace.of(kerf)
        self._memory: dict[tuple[bytes, bool], Points] = {}

    def ring(self, points: Points, *, outer: bool) -> Points:
        """The ring of material (or of a hole) with its inner corners rounded.

        Several rings may be left of one; the one with the largest area counts.
        """
        moved = points - points[0]
        key = (np.rint(moved * 1e7).astype(np.int64).tobytes(), outer)
        if key not in self._memory:
            parts = closed_by_disc(
                self.space.into(moved), radius_mm=self.space.radius_mm, outer=outer
            )
            largest = max(parts, key=lambda part: part.area, default=None)
            if largest is None:
                self._memory[key] = moved
            else:
                ring = self.space.back(shapely.Polygon(largest.exterior))
                self._memory[key] = shapely.get_coordinates(ring)[:-1]
        placed: Points = self._memory[key] + points[0]
        return placed


def as_beam_leaves(panel: Panel, reachable: Reachable) -> Target:
    """The panel with the inner corners that the beam leaves."""
    rings = []
    lost: Point | None = None
    rounded = False
    flat = all_points(panel.contours, chord_error_mm=CHORD_ERROR_MM)
    for number, (contour, points) in enumerate(zip(panel.contours, flat, strict=True)):
        if _needs_rounding(contour, reachable.space):
            ring = reachable.ring(points, outer=number == 0)
            rounded = True
            lost = lost or _lost_place(contour, points, ring, reachable.space)
        else:
            ring = points
        rings.append(ring)
    return Target(
        shapely.Polygon(rings[0], rings[1:]),
        reachable.space.radius_mm if rounded else 0.0,
        lost,
    )


def _needs_rounding(contour: Contour, space: BeamSpace) -> bool:
    """True when the walk, its material on the left, turns right sharper than the beam."""
    if any(turn < -_TURN_RAD for _, turn in _turns(contour, space)):
        return True
    widest_mm = space.radius_mm * max(1.0, 1.0 / space.stretch) ** 2
    return any(s.bulge < 0.0 and s.radius_mm < widest_mm for s in contour.segments())


def _lost_place(contour: Contour, points: Points, ring: Points, space: BeamSpace) -> Point | None:
    """A drawn place further from what the beam leaves than a corner's own angle explains."""
    edge = shapely.LinearRing(space.into(ring))
    shapely.prepare(edge)
    stretched = space.into(points)
    distances = shapely.distance(shapely.points(stretched), edge)
    far = np.flatnonzero(distances > DEEPEST_CORNER * space.radius_mm * 1.001 + 1e-3)
    if not far.size:
        return None
    needles = [
        (*space.into(np.array(at)), space.radius_mm / max(math.cos(0.5 * turn), 1e-3))
        for at, turn in _turns(contour, space)
        if turn < 0.0
    ]
    for i in far[np.argsort(-distances[far])].tolist():
        x, y = stretched[i]
        if not any(
            math.hypot(x - nx, y - ny) < 2.0 * deep
            for nx, ny, deep in needles
            if distances[i] < 1.01 * deep
        ):
            return (float(points[i, 0]), float(points[i, 1]))
    return None


def _turns(contour: Contour, space: BeamSpace) -> Iterator[tuple[Point, float]]:
    """Each corner and the angle by which the walk turns there, left positive."""
    segments = list(contour.segments())
    for before, after in zip(segments[-1:] + segments, segments, strict=False):
        (ax, ay), (bx, by) = before.tangent_at(1.0), after.tangent_at(0.0)
        ay, by = ay * space.stretch, by * space.stretch
        yield after.start, math.atan2(ax * by - ay * bx, ax * bx + ay * by)
