"""What a round beam can leave of a drawn panel at best: its inner corners rounded.

The path of a disc stays outside the panel, so inner corners of the material
keep the disc's radius: the panel becomes its morphological closing by the
disc. That much is known beforehand and no fault of a cut file. A gap that the
disc cannot enter at all is one.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
import shapely

from lasernest.domain.contours import Contour, Point
from lasernest.domain.stock import Kerf
from lasernest.geometry.distances import Distances, distances_to_ring
from lasernest.geometry.flatten import Points, ring_points
from lasernest.geometry.sweeping import closed_by_disc
from lasernest.kerf.leftovers import CHORD_ERROR_MM, BeamSpace

DEEPEST_CORNER = 3.0
"""How far, in beam radii, a corner without a sharp angle of its own may be lost.

A corner of angle a keeps 1 / sin(a / 2) - 1 radii; 3 belongs to 28.955 degrees.
"""

CHORDS_MM = 2.0 * CHORD_ERROR_MM
"""How far chords may bring two walls of a gap together, the cut ones and the drawn ones."""

_TURN_RAD = 1e-3
DOUBLED_BACK_RAD = 1e-2


class BeamLimits:
    """Contours as the beam can leave them; copies that were only moved are not done again."""

    def __init__(self, kerf: Kerf) -> None:
        self.space = BeamSpace.of(kerf)
        self._memory: dict[tuple[bytes, bool, float], Points] = {}

    def rounded(self, contour: Contour, *, outer: bool) -> Points | None:
        """A contour of material (or of a hole) with its inner corners rounded.

        Several rings may be left of one; the one with the largest area counts.

        Returns:
            Corners, shape (n, 2); None for a contour that the beam can follow
            exactly.
        """
        if not _needs_rounding(contour, self.space):
            return None
        return self._closed(contour, outer, self.space.radius_mm)

    def doubt(self, contour: Contour, rounded: Points, places: Points, *, outer: bool) -> Distances:
        """How far chords may have moved the rounded contour along a gap, at places near it.

        Where two walls run together at a narrow angle, a beam that is thicker by
        a micron stops tens of microns earlier. How far it gets there says
        nothing of the walls, which are looked at for themselves.

        Args:
            contour: as it is drawn.
            rounded: as `rounded` gives it.
            places: shape (n, 2); for each, the place of the rounded contour nearest to it counts.
            outer: as for `rounded`.

        Returns:
            float64, shape (n,), in mm; at most the beam's radius.
        """
        ring = shapely.LinearRing(rounded)
        shape = shapely.points(places)
        seen = shapely.get_coordinates(
            shapely.line_interpolate_point(ring, shapely.line_locate_point(ring, shape))
        )
        radius_mm = self.space.radius_mm
        moved = [
            distances_to_ring(seen, self._closed(contour, outer, radius_mm + off_mm))
            for off_mm in (-min(CHORDS_MM, 0.5 * radius_mm), CHORDS_MM)
        ]
        return np.minimum(np.maximum(*moved), radius_mm)

    def _closed(self, contour: Contour, outer: bool, radius_mm: float) -> Points:
        points = ring_points(contour, chord_error_mm=CHORD_ERROR_MM)
        moved = points - points[0]
        key = (np.rint(moved * 1e7).astype(np.int64).tobytes(), outer, radius_mm)
        if key not in self._memory:
            parts = closed_by_disc(self.space.into(moved), radius_mm=radius_mm, outer=outer)
            largest = max(parts, key=lambda part: part.area, default=None)
            ring = largest and self.space.back(shapely.Polygon(largest.exterior))
            self._memory[key] = shapely.get_coordinates(ring)[:-1] if ring else moved
        placed: Points = self._memory[key] + points[0]
        return placed

    def lost_place(self, contour: Contour, rounded: Points) -> Point | None:
        """A drawn place further from what the beam leaves than a corner's angle explains."""
        space = self.space
        points = ring_points(contour, chord_error_mm=10.0 * CHORD_ERROR_MM)
        stretched = space.into(points)
        distances = distances_to_ring(stretched, space.into(rounded))
        far = np.flatnonzero(distances > DEEPEST_CORNER * space.radius_mm * 1.001 + 1e-3)
        # Curved sides take a sharp corner deeper than its angle says, hence the 2.
        needles = [
            (*space.into(np.array(at)), 2.0 * space.radius_mm / max(math.cos(0.5 * turn), 1e-3))
            for at, turn in _turns(contour, space)
            if turn < 0.0 and far.size
        ]
        for i in far[np.argsort(-distances[far])].tolist():
            x, y = stretched[i]
            known = any(
                distances[i] < deep and math.hypot(x - nx, y - ny) < deep
                for nx, ny, deep in needles
            )
            if not known:
                return (float(points[i, 0]), float(points[i, 1]))
        return None


def _needs_rounding(contour: Contour, space: BeamSpace) -> bool:
    """True when the walk, its material on the left, turns right sharper than the beam."""
    if any(turn < -_TURN_RAD for _, turn in _turns(contour, space)):
        return True
    widest_mm = space.radius_mm * max(1.0, 1.0 / space.stretch) ** 2
    return any(s.bulge < 0.0 and s.radius_mm < widest_mm for s in contour.segments())


def _turns(contour: Contour, space: BeamSpace) -> Iterator[tuple[Point, float]]:
    """Each corner and the angle by which the walk turns there, left positive."""
    segments = list(contour.segments())
    for before, after in zip(segments[-1:] + segments, segments, strict=False):
        (ax, ay), (bx, by) = before.tangent_at(1.0), after.tangent_at(0.0)
        ay, by = ay * space.stretch, by * space.stretch
        turn = math.atan2(ax * by - ay * bx, ax * bx + ay * by)
        # A cusp that doubles back is a needle or a slit; the beam rounds slits.
        yield after.start, -math.pi if turn > math.pi - DOUBLED_BACK_RAD else turn
