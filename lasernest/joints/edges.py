"""Straight edges of panels: finding them, telling them apart, pairing them.

Owns the *sides* of a panel: its outer contour as lines and arcs, with collinear
lines made one, so that an edge drawn in three pieces is still one edge. An edge
runs with the panel on its left (the outer contour is anticlockwise). A
*station* is a distance along the edge from its start; a *level* a distance
outward from the drawn edge (negative: into the panel).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from lasernest.domain.contours import Bounds, Contour, Point, Segment
from lasernest.domain.findings import Finding, Severity
from lasernest.domain.joints import PanelLine
from lasernest.domain.panels import Panel
from lasernest.errors import LasernestError, Where
from lasernest.units import format_mm

STRAIGHT_WITHIN_MM = 0.002
"""Corners this near to the chord are no corners."""
SAME_PLACE_MM = 0.05
_SAME_DIRECTION_RAD = math.radians(2.0)
_MOVED_SHARE = 0.2
"""How far, in shares of the panel's box, an edge may have moved and still be the same."""
_NEVER_MERGED_RAD = math.radians(1.0)


class JointError(LasernestError):
    """A joint that cannot be made: what, where, and what to do."""


@dataclass(frozen=True, slots=True)
class StraightEdge:
    """One straight side of a panel's outer contour."""

    panel: str
    index: int
    """Place among the sides of the panel."""
    start: Point
    end: Point

    @property
    def length_mm(self) -> float:
        return math.dist(self.start, self.end)

    @property
    def direction(self) -> Point:
        """Unit vector of travel; the panel lies to its left."""
        length_mm = self.length_mm
        return (
            (self.end[0] - self.start[0]) / length_mm,
            (self.end[1] - self.start[1]) / length_mm,
        )

    @property
    def outward(self) -> Point:
        """Unit normal pointing away from the panel."""
        ux, uy = self.direction
        return (uy, -ux)

    @property
    def middle(self) -> Point:
        return (0.5 * (self.start[0] + self.end[0]), 0.5 * (self.start[1] + self.end[1]))

    def point(self, station_mm: float, level_mm: float = 0.0) -> Point:
        """The point at a station along the edge and a level outward of it."""
        (ux, uy), (nx, ny) = self.direction, self.outward
        return (
            self.start[0] + station_mm * ux + level_mm * nx,
            self.start[1] + station_mm * uy + level_mm * ny,
        )

    def station_mm(self, point: Point) -> float:
        """How far along the edge's line the foot of a point lies."""
        ux, uy = self.direction
        return (point[0] - self.start[0]) * ux + (point[1] - self.start[1]) * uy

    def level_mm(self, point: Point) -> float:
        """How far outward of the edge's line a point lies."""
        nx, ny = self.outward
        return (point[0] - self.start[0]) * nx + (point[1] - self.start[1]) * ny

    def distance_mm(self, point: Point) -> float:
        """Distance from a point to the edge."""
        foot_mm = min(max(self.station_mm(point), 0.0), self.length_mm)
        return math.dist(point, self.point(foot_mm))


def sides_of(contour: Contour) -> tuple[Segment, ...]:
    """The lines and arcs of a closed contour, collinear lines made one.

    Zero-length pieces are left out.
    """
    pieces = [s for s in contour.segments() if s.chord_mm > 1e-9]
    turn = next((i for i, s in enumerate(pieces) if not _goes_on(pieces[i - 1], s)), 0)
    merged: list[Segment] = []
    inner_corners: list[Point] = []
    for s in pieces[turn:] + pieces[:turn]:
        if merged and _goes_on(merged[-1], s):
            long = Segment(*merged[-1].start, *s.end, 0.0)
            corners = [*inner_corners, s.start]
            if all(_off_chord_mm(long, p) <= STRAIGHT_WITHIN_MM for p in corners):
                merged[-1], inner_corners = long, corners
                continue
        merged.append(s)
        inner_corners = []
    return tuple(merged)


def _goes_on(a: Segment, b: Segment) -> bool:
    if a.is_arc or b.is_arc:
        return False
    (ax, ay), (bx, by) = a.tangent_at(1.0), b.tangent_at(0.0)
    if ax * bx + ay * by < math.cos(_NEVER_MERGED_RAD):
        return False
    return _off_chord_mm(Segment(*a.start, *b.end, 0.0), b.start) <= STRAIGHT_WITHIN_MM


def _off_chord_mm(chord: Segment, point: Point) -> float:
    ux, uy = chord.tangent_at(0.0)
    return abs((point[0] - chord.x0_mm) * -uy + (point[1] - chord.y0_mm) * ux)


def straight_edges(panel: Panel) -> tuple[StraightEdge, ...]:
    """All straight sides of the outer contour, in its order."""
    return tuple(
        StraightEdge(panel.name, i, s.start, s.end)
        for i, s in enumerate(sides_of(panel.outer))
        if not s.is_arc
    )


def edge_near(panel: Panel, point: Point) -> StraightEdge:
    """The straight edge nearest to a point of the panel's drawing.

    Raises:
        JointError: the panel has no straight edge, or the point is a corner
            and so as near to one edge as to another.
    """
    ranked = sorted(
        ((edge.distance_mm(point), edge) for edge in straight_edges(panel)),
        key=lambda pair: pair[0],
    )
    where = Where(panel=panel.name, at_mm=point)
    if not ranked:
        raise JointError(
            "this panel has no straight edge to join",
            where=where,
            todo="Joints need straight edges; choose another panel.",
        )
    if len(ranked) > 1 and ranked[1][0] - ranked[0][0] < 1e-6:
        raise JointError(
            "this point is as near to one edge as to another",
            where=where,
            todo="Give a point near the middle of the edge.",
        )
    return ranked[0][1]


def line_of(edge: StraightEdge, panel: Panel) -> PanelLine:
    """The lasting description of an edge, as the job keeps it."""
    return PanelLine(edge.panel, edge.start, edge.end, panel.bounds_mm())


def find_edge(panel: Panel, line: PanelLine) -> StraightEdge | Finding:
    """The edge that a description means, in a panel that may have been drawn anew.

    An edge in the same place is the same. Failing that, the edge that faces the
    same way, is between half and twice as long, and lies at nearly the same
    place in the panel's box is the same, so that a panel may be moved or resized.

    Returns:
        The edge, or a finding that says why it cannot be told.
    """
    edges = straight_edges(panel)
    for edge in edges:
        if (
            math.dist(edge.start, line.start) <= SAME_PLACE_MM
            and math.dist(edge.end, line.end) <= SAME_PLACE_MM
        ):
            return edge
    wanted_rad = _heading_rad(line.start, line.end)
    place = _share_of_box(line.middle, line.panel_bounds_mm)
    bounds = panel.bounds_mm()
    ranked = sorted(
        (math.dist(_share_of_box(edge.middle, bounds), place), edge.index, edge)
        for edge in edges
        if _turn_rad(wanted_rad, _heading_rad(edge.start, edge.end)) <= _SAME_DIRECTION_RAD
        and 0.5 <= edge.length_mm / line.length_mm <= 2.0
    )
    near = [edge for share, _, edge in ranked if share <= _MOVED_SHARE]
    if len(near) == 1 or (len(near) > 1 and ranked[1][0] > 2.0 * ranked[0][0] + 0.01):
        return near[0]
    reason = (
        "more than one edge could be meant" if near else "no edge faces the same way near there"
    )
    return Finding(
        Severity.ERROR,
        "joint-edge-gone",
        f"the joint's edge of {format_mm(line.length_mm)} on {panel.name} was not found again: "
        f"{reason}",
        where_mm=line.middle,
        panel=panel.name,
        todo="Choose the edge again for this joint.",
    )


def _heading_rad(start: Point, end: Point) -> float:
    return math.atan2(end[1] - start[1], end[0] - start[0])


def _turn_rad(a_rad: float, b_rad: float) -> float:
    return abs(math.remainder(a_rad - b_rad, 2.0 * math.pi))


def _share_of_box(point: Point, bounds: Bounds) -> Point:
    x0, y0, x1, y1 = bounds
    return (
        (point[0] - x0) / max(x1 - x0, 1e-9),
        (point[1] - y0) / max(y1 - y0, 1e-9),
    )


def face_each_other(a: StraightEdge, b: StraightEdge) -> bool:
    """Opposite normals, each before the other, and side by side over most of the length."""
    (ax, ay), (bx, by) = a.outward, b.outward
    if ax * bx + ay * by > -math.cos(_SAME_DIRECTION_RAD):
        return False
    gap_mm = a.level_mm(b.middle)
    beside_mm = abs(a.station_mm(b.middle) - 0.5 * a.length_mm)
    return 0.0 <= gap_mm <= a.length_mm and beside_mm <= 0.25 * a.length_mm
