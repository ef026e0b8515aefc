"""Which panel a loose piece is, and how it lies, from its shape alone.

For cut files whose plan is not at hand. A piece may be off by a wrong kerf, so
shapes are compared by the area in which they differ. A pose is guessed from
long straight edges (exact), from where holes lie (for discs and other round
outlines), else from the axes of inertia, and placed by the middles of the
filled outlines; round beams leave those where they were drawn.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

import numpy as np
import shapely
from shapely import affinity

from lasernest.domain.contours import Contour, Pose
from lasernest.domain.cutting import PathKind
from lasernest.domain.panels import Panel
from lasernest.geometry.flatten import Points, polygon
from lasernest.kerf.line_checks import same_line

CHORD_ERROR_MM = 0.005
WIDEST_EDGE_ERROR_MM = 0.5
"""How far edges of a piece may be off the drawing and still be known again."""
EDGES_TRIED = 4
HOLES_TRIED = 24
QUARTER_SNAP_DEG = 1e-4
ALIKE_MM = 0.002
"""Panels whose edges are nearer than this to each other are of one shape."""
MARK_MM = 0.05
"""How far a mark may be off and still be known again."""


class Recogniser:
    """Panels to know again among pieces."""

    def __init__(self, panels: Sequence[Panel]) -> None:
        self._known = [(p, polygon(p, chord_error_mm=CHORD_ERROR_MM)) for p in panels]

    def place_of(
        self,
        piece: shapely.Polygon,
        *,
        marks: Sequence[tuple[PathKind, Contour]] = (),
        needs: Mapping[str, int] | None = None,
    ) -> tuple[Panel, Pose] | None:
        """The panel that a piece is, as drawn, and how it lies; None when it is like none.

        Args:
            piece: what the beam leaves.
            marks: scored and engraved lines of the sheet; they tell panels of one
                shape apart, and the ways a panel may lie.
            needs: copies still looked for; of panels alike in all, the one that
                lacks most is meant.
        """
        likely: list[tuple[float, Panel, Pose]] = []
        for panel, drawn in self._known:
            margin = WIDEST_EDGE_ERROR_MM * drawn.length
            if abs(drawn.area - piece.area) > margin:
                continue
            for pose in _poses(drawn, piece):
                lying = polygon(panel.posed(pose), chord_error_mm=CHORD_ERROR_MM)
                differing = lying.symmetric_difference(piece).area
                if differing < margin:
                    likely.append((differing, panel, pose))
        if not likely:
            return None
        least = min(differing for differing, _, _ in likely) + ALIKE_MM * piece.length
        alike = [found for found in likely if found[0] <= least]
        here = _on(piece, marks) if len(alike) > 1 else []

        def strangeness(found: tuple[float, Panel, Pose]) -> tuple[int, int, bool, float]:
            differing, panel, pose = found
            # As drawn rather than mirrored, where both fit alike.
            return (
                _wrong(panel.posed(pose), here),
                -(needs or {}).get(panel.name, 0),
                pose.mirrored,
                differing,
            )

        _, panel, pose = min(alike, key=strangeness)
        return panel, pose


def _on(
    piece: shapely.Polygon, marks: Sequence[tuple[PathKind, Contour]]
) -> list[tuple[PathKind, Contour]]:
    """The marks that begin on a piece."""
    if not marks:
        return []
    starts = shapely.points([contour.start for _, contour in marks])
    there = shapely.intersects(piece, starts)
    return [mark for mark, is_there in zip(marks, there, strict=True) if is_there]


def _wrong(lying: Panel, marks: Sequence[tuple[PathKind, Contour]]) -> int:
    """Marks of a lying panel that are not there, and those there that it does not have."""
    found = [same_line(mark.path, marks, MARK_MM) for mark in lying.marks]
    missing = found.count(None)
    return missing + len(marks) - len({place for place in found if place is not None})


def _poses(drawn: shapely.Polygon, piece: shapely.Polygon) -> Iterator[Pose]:
    """Poses that lay a drawn shape on a piece, likely ones only."""
    goal = _filled(piece).centroid
    for mirrored in (False, True):
        shape = affinity.scale(drawn, xfact=-1.0, origin=(0, 0)) if mirrored else drawn
        seen: set[float] = set()
        for turn_deg in _turns_deg(shape, piece):
            quarter = 90.0 * round(turn_deg / 90.0)
            exact = quarter if abs(turn_deg - quarter) < QUARTER_SNAP_DEG else turn_deg
            if round(exact % 360.0, 4) in seen:
                continue
            seen.add(round(exact % 360.0, 4))
            turned = affinity.rotate(_filled(shape), exact, origin=(0, 0)).centroid
            yield Pose(goal.x - turned.x, goal.y - turned.y, exact % 360.0, mirrored)


def _turns_deg(shape: shapely.Polygon, piece: shapely.Polygon) -> Iterator[float]:
    drawn_edges, edges = _long_edges(shape), _long_edges(piece)
    for length, angle in drawn_edges[:EDGES_TRIED]:
        for other_length, other_angle in edges[: 3 * EDGES_TRIED]:
            if abs(length - other_length) <= 4.0 * WIDEST_EDGE_ERROR_MM:
                yield math.degrees(other_angle - angle)
    yield from _turns_by_holes_deg(shape, piece)
    a, b = (_axis_rad(_filled(s)) for s in (shape, piece))
    for half_turns in (0.0, 180.0):
        yield math.degrees(b - a) + half_turns
    yield 0.0


class _Hole(NamedTuple):
    """A hole as seen from the middle of the filled outline."""

    area_mm2: float
    length_mm: float
    reach_mm: float
    angle_rad: float

    def like(self, other: _Hole) -> bool:
        """True when both may be the same hole, one of them cut with a wrong kerf."""
        return (
            abs(self.reach_mm - other.reach_mm) <= WIDEST_EDGE_ERROR_MM
            and abs(self.area_mm2 - other.area_mm2) <= WIDEST_EDGE_ERROR_MM * self.length_mm
        )


def _turns_by_holes_deg(shape: shapely.Polygon, piece: shapely.Polygon) -> Iterator[float]:
    """Turns that lay a hole of the shape on one like it; the hole with the fewest likenesses."""
    drawn, found = _holes(shape), _holes(piece)
    likenesses = [[other for other in found if hole.like(other)] for hole in drawn]
    known = [i for i, others in enumerate(likenesses) if others]
    if known:
        best = min(known, key=lambda i: len(likenesses[i]))
        for other in likenesses[best][:HOLES_TRIED]:
            yield math.degrees(other.angle_rad - drawn[best].angle_rad)


def _holes(shape: shapely.Polygon) -> list[_Hole]:
    """The holes that lie beside the middle, the farthest first: they tell the turn best."""
    middle = _filled(shape).centroid
    holes = []
    for ring in shape.interiors:
        area = shapely.Polygon(ring)
        dx, dy = area.centroid.x - middle.x, area.centroid.y - middle.y
        reach = math.hypot(dx, dy)
        if reach > WIDEST_EDGE_ERROR_MM:
            holes.append(_Hole(area.area, ring.length, reach, math.atan2(dy, dx)))
    return sorted(holes, key=lambda hole: -hole.reach_mm)


def _long_edges(shape: shapely.Polygon) -> list[tuple[float, float]]:
    """Length and direction of the outer edges, longest first, the outline walked one way."""
    ring = shapely.get_coordinates(shapely.orient_polygons(_filled(shape)))
    steps = np.diff(ring, axis=0)
    lengths = np.hypot(steps[:, 0], steps[:, 1])
    angles = np.arctan2(steps[:, 1], steps[:, 0])
    order = np.argsort(-lengths, kind="stable")
    return [(float(lengths[i]), float(angles[i])) for i in order]


def _filled(shape: shapely.Polygon) -> shapely.Polygon:
    return shapely.Polygon(shape.exterior)


def _axis_rad(shape: shapely.Polygon) -> float:
    """Direction of the longer axis of inertia of a shape without holes."""
    xy: Points = shapely.get_coordinates(shape) - shapely.get_coordinates(shape.centroid)
    (x0, y0), (x1, y1) = xy[:-1].T, xy[1:].T
    cross = x0 * y1 - x1 * y0
    xx = float((cross * (x0 * x0 + x0 * x1 + x1 * x1)).sum())
    yy = float((cross * (y0 * y0 + y0 * y1 + y1 * y1)).sum())
    mixed = float((cross * (2 * x0 * y0 + x0 * y1 + x1 * y0 + 2 * x1 * y1)).sum()) / 2.0
    sign = math.copysign(1.0, float(cross.sum()))
    return 0.5 * math.atan2(2.0 * sign * mixed, sign * (xx - yy))
