"""Tab and slot: tabs on the edge of one panel go through slots in the face of another.

The press is on the thickness only: a slot is as wide as the tongue's measured
thickness less the interference, and a little longer than its tab. Tabs and the
shoulders between them share the edge in equal lengths, a shoulder at each end.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from lasernest.domain.contours import Contour, Point, Vertex
from lasernest.errors import Where
from lasernest.joints.edges import StraightEdge
from lasernest.joints.finger import FingerEdge
from lasernest.joints.laid import Gauge, MatingPair
from lasernest.joints.meeting import crossing_width_mm
from lasernest.joints.profile import EdgeRun, ProfilePoint, Step, corner_station_mm, stepped_points
from lasernest.joints.sizing import SLOT_LENGTH_SLACK_MM, Division, divide_length


@dataclass(frozen=True, slots=True)
class SlotJoint:
    """All that shaping a tab and slot joint needs; finished sizes only."""

    tabs: FingerEdge
    line: StraightEdge
    """On the face of the mate: the middle of the tongue's thickness."""
    mate_thickness_mm: float
    interference_mm: float
    least_web_mm: float
    """Least material between two slots."""
    angle_deg: float = 90.0
    target_width_mm: float | None = None
    same_way: bool = True
    shift_mm: float = 0.0
    mate_relief_mm: float = 0.0

    def line_station_mm(self, station_mm: float) -> float:
        """The station on the line that meets one on the edge."""
        from_middle_mm = station_mm - 0.5 * self.tabs.edge.length_mm - self.shift_mm
        sign = 1.0 if self.same_way else -1.0
        return 0.5 * self.line.length_mm + sign * from_middle_mm

    @property
    def slot_width_mm(self) -> float:
        """Finished width of the slots."""
        width_mm = crossing_width_mm(self.mate_thickness_mm, self.tabs.thickness_mm, self.angle_deg)
        return width_mm - self.interference_mm


@dataclass(frozen=True, slots=True)
class ShapedSlot:
    """The new course of the edge with tabs, the slots, and where to measure them."""

    run: EdgeRun
    slots: tuple[Contour, ...]
    tabs: int
    tab_mm: float
    span_mm: tuple[float, float]
    pairs: tuple[MatingPair, ...]


def shape_slot(spec: SlotJoint) -> ShapedSlot:
    """Cut tabs into the edge and slots for them into the mate's face.

    Raises:
        JointError: the edge is too short for one tab and two shoulders.
    """
    span = usable_span_mm(spec.tabs)
    division = divide_length(
        span[1] - span[0],
        thickness_mm=max(spec.tabs.thickness_mm, spec.least_web_mm),
        target_mm=spec.target_width_mm,
        where=Where(panel=spec.tabs.edge.panel, at_mm=spec.tabs.edge.middle),
    )
    places = list(_tab_places(division, span[0]))
    return ShapedSlot(
        tab_run(spec.tabs, places),
        tuple(slot_at(spec, 0.5 * (start + end), end - start) for start, end in places),
        len(places),
        division.width_mm,
        span,
        tuple(slot_pair(spec, 0.5 * (start + end)) for start, end in places),
    )


def usable_span_mm(side: FingerEdge) -> tuple[float, float]:
    """Stations between the corners of an edge once its neighbours are shaped."""
    levels_mm = (side.levels.tip_mm, side.levels.root_mm)
    start_mm, end_mm = (
        corner_station_mm(
            side.sides,
            side.edge.index,
            at_start=at_start,
            own_levels_mm=levels_mm,
            neighbour_level_mm=neighbour_mm,
        )
        for at_start, neighbour_mm in (
            (True, side.start_neighbour_mm),
            (False, side.end_neighbour_mm),
        )
    )
    return (start_mm, end_mm)


def _tab_places(division: Division, start_mm: float) -> Iterator[tuple[float, float]]:
    for k in range(1, division.count, 2):
        yield (start_mm + k * division.width_mm, start_mm + (k + 1) * division.width_mm)


def tab_run(
    side: FingerEdge,
    places: Sequence[tuple[float, float]],
    notches: Sequence[tuple[ProfilePoint, ...]] = (),
) -> EdgeRun:
    """The course of an edge with tabs at these stations, and notches between them."""
    tip_mm, root_mm = side.levels.tip_mm, side.levels.root_mm
    pieces = [
        stepped_points(
            root_mm,
            [Step(start_mm, tip_mm), Step(end_mm, root_mm)],
            relief_mm=side.relief_mm,
            chamfer_mm=side.chamfer_mm,
        )
        for start_mm, end_mm in places
    ]
    pieces += notches
    pieces.sort(key=lambda piece: piece[0].station_mm)
    return EdgeRun(
        0.0,
        side.edge.length_mm,
        tuple(p for piece in pieces for p in piece),
        root_mm,
        root_mm,
        open_start=True,
        open_end=True,
    )


def slot_at(spec: SlotJoint, edge_station_mm: float, tab_mm: float) -> Contour:
    """The slot for a tab whose middle is at a station of the edge."""
    return rectangle_on(
        spec.line,
        spec.line_station_mm(edge_station_mm),
        tab_mm + SLOT_LENGTH_SLACK_MM,
        spec.slot_width_mm,
        relief_mm=spec.mate_relief_mm,
    )


def slot_pair(spec: SlotJoint, edge_station_mm: float) -> MatingPair:
    """Where to measure the width of the slot against the sheet that fills it."""
    middle = spec.line.point(spec.line_station_mm(edge_station_mm))
    gauge = Gauge(spec.line.panel, middle, spec.line.outward, spec.slot_width_mm)
    return MatingPair(gauge, None, spec.slot_width_mm + spec.interference_mm)


def rectangle_on(
    line: StraightEdge,
    middle_mm: float,
    length_mm: float,
    width_mm: float,
    *,
    relief_mm: float = 0.0,
) -> Contour:
    """A rectangular hole lying along a line, clockwise, with reliefs at its corners.

    Args:
        line: the line through the middle of the hole.
        middle_mm: station of the middle.
        length_mm: along the line.
        width_mm: across it.
        relief_mm: radius of the half circle through each corner.
    """
    half_mm, side_mm = 0.5 * length_mm, 0.5 * width_mm
    bite_mm = relief_mm * 2.0**0.5
    # Stations run along the line and levels to its right: this walk is clockwise in
    # (station, level) and anticlockwise in the drawing.
    corners: list[Point] = [
        (middle_mm - half_mm, side_mm),
        (middle_mm + half_mm, side_mm),
        (middle_mm + half_mm, -side_mm),
        (middle_mm - half_mm, -side_mm),
    ]
    if bite_mm <= 0.0:
        return Contour.polygon([line.point(*c) for c in corners]).oriented(anticlockwise=False)
    vertices: list[Vertex] = []
    for i, (station_mm, level_mm) in enumerate(corners):
        for other, bulge in ((corners[i - 1], 1.0), (corners[(i + 1) % 4], 0.0)):
            dx, dy = other[0] - station_mm, other[1] - level_mm
            reach = bite_mm / max(abs(dx), abs(dy))
            vertices.append(
                Vertex(*line.point(station_mm + dx * reach, level_mm + dy * reach), bulge)
            )
    return Contour(tuple(vertices)).oriented(anticlockwise=False)
