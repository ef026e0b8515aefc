"""Lines on the face of a panel, where the tabs of another go through."""

from __future__ import annotations

import math
from collections.abc import Iterator

import shapely

from lasernest.domain.contours import Point
from lasernest.domain.joints import PanelLine
from lasernest.domain.panels import Panel
from lasernest.errors import Where
from lasernest.geometry.flatten import polygon
from lasernest.joints.edges import JointError, straight_edges

MARK_WITHIN_MM = 1.0
"""A straight mark this near to the point is the line that is meant."""
FITS_WITHIN_SHARE = 0.1
"""A width of the panel that differs from the edge by less is what the edge spans."""
_CHORD_ERROR_MM = 0.01


def line_near(panel: Panel, point: Point, length_mm: float) -> PanelLine:
    """The line on a face that a point means, for an edge of a given length.

    A straight mark under the point is the line. Else the line runs parallel to
    one of the panel's straight edges: along the direction in which the panel is
    about as wide as the edge is long (the edge spans it, and the line is
    centred on the panel), failing that along the nearest edge, centred on the
    point.

    Args:
        panel: whose face it is.
        point: of the panel's drawing.
        length_mm: of the edge that stands on the line.

    Raises:
        JointError: the point lies beside the panel, or it has no straight edge.
    """
    body = polygon(panel, chord_error_mm=_CHORD_ERROR_MM)
    where = Where(panel=panel.name, at_mm=point)
    if not body.covers(shapely.Point(point)):
        raise JointError(
            "this point does not lie on the panel",
            where=where,
            todo="Give a point on its face, away from holes, where the tabs shall go through.",
        )
    for start, end in _straight_marks(panel):
        if shapely.LineString([start, end]).distance(shapely.Point(point)) <= MARK_WITHIN_MM:
            middle = (0.5 * (start[0] + end[0]), 0.5 * (start[1] + end[1]))
            way = ((end[0] - start[0]), (end[1] - start[1]))
            return _line(panel, middle, way, length_mm)
    edges = sorted(straight_edges(panel), key=lambda e: e.distance_mm(point))
    if not edges:
        raise JointError(
            "this panel has no straight edge to set the line by",
            where=where,
            todo="Draw a score line where the tabs shall go through.",
        )
    spans: list[tuple[float, Point, Point]] = []
    for edge in edges:
        middle, width_mm = _chord(body, point, edge.direction)
        spans.append((abs(width_mm - length_mm), middle, edge.direction))
    best = min(spans, key=lambda span: span[0])
    if best[0] <= FITS_WITHIN_SHARE * length_mm:
        return _line(panel, best[1], best[2], length_mm)
    return _line(panel, point, edges[0].direction, length_mm)


def line_between(panel: Panel, start: Point, end: Point) -> PanelLine:
    """The line on a face between two points of the panel's drawing.

    Raises:
        BadValueError: the points coincide.
    """
    return PanelLine(panel.name, start, end, panel.bounds_mm())


def _straight_marks(panel: Panel) -> Iterator[tuple[Point, Point]]:
    for mark in panel.marks:
        for segment in mark.path.segments():
            if not segment.is_arc and segment.chord_mm > MARK_WITHIN_MM:
                yield segment.start, segment.end


def _chord(body: shapely.Polygon, point: Point, way: Point) -> tuple[Point, float]:
    """Middle and length of the panel's width through a point."""
    x0, y0, x1, y1 = body.bounds
    reach_mm = (x1 - x0) + (y1 - y0)
    ray = shapely.LineString(
        [
            (point[0] - reach_mm * way[0], point[1] - reach_mm * way[1]),
            (point[0] + reach_mm * way[0], point[1] + reach_mm * way[1]),
        ]
    )
    pieces = shapely.get_parts(body.intersection(ray))
    piece = min(pieces, key=lambda p: (round(p.distance(shapely.Point(point)), 6), -p.length))
    middle = piece.interpolate(0.5, normalized=True)
    return (middle.x, middle.y), piece.length


def _line(panel: Panel, middle: Point, way: Point, length_mm: float) -> PanelLine:
    half = 0.5 * length_mm / math.hypot(*way)
    # One direction for both ways of drawing an edge: left to right, else upward.
    if (round(way[0], 9), way[1]) < (0.0, 0.0):
        way = (-way[0], -way[1])
    dx, dy = half * way[0], half * way[1]
    return line_between(panel, (middle[0] - dx, middle[1] - dy), (middle[0] + dx, middle[1] + dy))
