"""How far what the beam leaves of a panel is from its drawing.

Each edge of a piece is held against the drawn contour whose box is most alike,
and each drawn contour against the edge most like it, so that a missing or an
extra hole shows as a large deviation. Where the beam must round inner corners,
the rounded contour takes the drawn one's place.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from lasernest.domain.contours import Contour, Point
from lasernest.domain.panels import Panel
from lasernest.geometry.distances import Distances, distances_to_contours, distances_to_ring
from lasernest.geometry.flatten import Points, all_points
from lasernest.kerf.corners import BeamLimits

SAMPLE_CHORD_MM = 0.05
"""Drawn arcs are looked at in places this far off their chords."""

NEAR_MM = 0.001
"""Piece corners nearer to the drawing than this need no second look."""

DOUBTFUL_MM = 0.0025
"""Deviations in rounded corners beyond this are looked at for what chords do in narrow gaps."""


@dataclass(frozen=True, slots=True)
class Deviation:
    """What was found of one panel."""

    worst_mm: float
    at: Point | None
    corner_radius_mm: float
    """Radius that the beam leaves in inner corners; 0 where there are none."""
    lost_at: Point | None
    """A gap of the drawing that the beam cannot enter."""
    holes_too_many: int
    larger: bool


def deviations(
    pairs: Sequence[tuple[Panel, shapely.Polygon]], limits: BeamLimits
) -> list[Deviation]:
    """Hold finished pieces against the panels they should be.

    Args:
        pairs: each panel where it should lie, and the piece found there.
        limits: what the beam can do at best.
    """
    # Most sheets hold many copies: of each kind that lies and was cut alike, one is measured.
    kinds: dict[bytes, int] = {}
    kind_of = [
        kinds.setdefault(_fingerprint(panel, piece), number)
        for number, (panel, piece) in enumerate(pairs)
    ]
    first = sorted(set(kind_of))
    measured = dict(zip(first, _measured([pairs[i] for i in first], limits), strict=True))
    return [
        _moved(measured[kind], pairs[kind][0].outer.start, panel.outer.start)
        for kind, (panel, _) in zip(kind_of, pairs, strict=True)
    ]


def _fingerprint(panel: Panel, piece: shapely.Polygon) -> bytes:
    """Equal for panels and pieces that are alike to a nanometre, wherever they lie."""
    drawn = np.array([vertex for ring in panel.contours for vertex in ring.vertices])
    corners = shapely.get_coordinates(piece)
    here = drawn[0, :2].copy()
    drawn[:, :2] -= here
    parts = (drawn, corners - here)
    return b"|".join(np.rint(part * 1e6).astype(np.int64).tobytes() for part in parts)


def _moved(found: Deviation, origin: Point, here: Point) -> Deviation:
    def moved(at: Point | None) -> Point | None:
        return at and (at[0] - origin[0] + here[0], at[1] - origin[1] + here[1])

    return replace(found, at=moved(found.at), lost_at=moved(found.lost_at))


def _measured(
    pairs: Sequence[tuple[Panel, shapely.Polygon]], limits: BeamLimits
) -> list[Deviation]:
    edges = [_edges(piece) for _, piece in pairs]
    matches = [
        _alike(rings, panel.contours) for rings, (panel, _) in zip(edges, pairs, strict=True)
    ]
    flat = [ring for rings in edges for ring in rings]
    nearest = distances_to_contours(
        flat,
        [
            panel.contours[i]
            for (panel, _), (of_edges, _) in zip(pairs, matches, strict=True)
            for i in of_edges
        ],
    )
    found = iter(nearest)
    return [
        _deviation(panel, piece, rings, match, [next(found) for _ in rings], limits)
        for (panel, piece), rings, match in zip(pairs, edges, matches, strict=True)
    ]


_Match = tuple[list[int], list[int]]
"""For each edge the contour most like it, for each contour the edge."""


def _edges(piece: shapely.Polygon) -> list[Points]:
    return [shapely.get_coordinates(r)[:-1] for r in (piece.exterior, *piece.interiors)]


def _alike(rings: Sequence[Points], contours: Sequence[Contour]) -> _Match:
    """Matches by the largest difference between the sides of two boxes."""
    edge_boxes = np.array([[*ring.min(axis=0), *ring.max(axis=0)] for ring in rings])
    drawn_boxes = np.array([contour.bounds_mm() for contour in contours])
    apart = np.abs(edge_boxes[:, None, :] - drawn_boxes[None, :, :]).max(axis=2)
    return apart.argmin(axis=1).tolist(), apart.argmin(axis=0).tolist()


def _deviation(
    panel: Panel,
    piece: shapely.Polygon,
    rings: Sequence[Points],
    match: _Match,
    to_drawn: Sequence[Distances],
    limits: BeamLimits,
) -> Deviation:
    of_edges, of_contours = match
    rounded = [limits.rounded(c, outer=i == 0) for i, c in enumerate(panel.contours)]
    worst, place = 0.0, None
    for ring, contour, distances in zip(rings, of_edges, to_drawn, strict=True):
        target = rounded[contour]
        if target is not None:
            # In rounded corners the piece is off the drawing but on the rounded contour.
            far = np.flatnonzero(distances > NEAR_MM)
            distances[far] = np.minimum(distances[far], distances_to_ring(ring[far], target))
            _less_doubt(distances, ring, panel, contour, target, limits)
        worst, place = _worse(worst, place, ring, distances)
    samples = all_points(panel.contours, chord_error_mm=SAMPLE_CHORD_MM)
    for i, (target, drawn, edge) in enumerate(zip(rounded, samples, of_contours, strict=True)):
        seen = drawn if target is None else target
        distances = distances_to_ring(seen, rings[edge])
        if target is not None:
            _less_doubt(distances, seen, panel, i, target, limits)
        worst, place = _worse(worst, place, seen, distances)
    return Deviation(
        worst_mm=worst,
        at=place,
        corner_radius_mm=0.0 if all(r is None for r in rounded) else limits.space.radius_mm,
        lost_at=next(_lost_places(panel, rounded, limits), None),
        holes_too_many=len(rings) - len(panel.contours),
        larger=piece.area > panel.net_area_mm2,
    )


def _less_doubt(
    distances: Distances,
    places: Points,
    panel: Panel,
    contour: int,
    target: Points,
    limits: BeamLimits,
) -> None:
    """Take from distances, in place, what chords may make of them in narrow gaps."""
    far = np.flatnonzero(distances > DOUBTFUL_MM)
    if far.size:
        doubt = limits.doubt(panel.contours[contour], target, places[far], outer=contour == 0)
        distances[far] = np.maximum(distances[far] - doubt, NEAR_MM)


def _worse(
    worst: float, place: Point | None, points: Points, distances: Distances
) -> tuple[float, Point | None]:
    i = int(np.argmax(distances))
    if distances[i] <= worst:
        return worst, place
    return float(distances[i]), (float(points[i, 0]), float(points[i, 1]))


def _lost_places(
    panel: Panel, rounded: Sequence[Points | None], limits: BeamLimits
) -> Iterator[Point]:
    for contour, target in zip(panel.contours, rounded, strict=True):
        place = None if target is None else limits.lost_place(contour, target)
        if place is not None:
            yield place
