"""Half-lap: two crossing panels, each slotted from one edge over half the height.

Each slot is as wide as the other panel's measured thickness less the
interference (wider when they cross at an angle, since cuts are square to the
face). The depths add up to the full height, so that both edges end flush.
"""

from __future__ import annotations

from dataclasses import dataclass

import shapely

from lasernest.domain.panels import Panel
from lasernest.errors import Where
from lasernest.geometry.flatten import polygon
from lasernest.joints.edges import JointError, StraightEdge
from lasernest.joints.laid import Gauge, MatingPair
from lasernest.joints.meeting import crossing_width_mm
from lasernest.joints.profile import EdgeRun, Step, stepped_points
from lasernest.units import format_mm

LEAST_LAP_ANGLE_DEG = 30.0
_CHORD_ERROR_MM = 0.001


@dataclass(frozen=True, slots=True)
class LapEdge:
    """One of the two panels of a half-lap."""

    edge: StraightEdge
    station_mm: float
    """Where the middle of the other panel crosses."""
    height_mm: float
    """Of the panel there, square to the edge."""
    thickness_mm: float
    relief_mm: float = 0.0
    chamfer_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class LapJoint:
    """All that shaping a half-lap needs; finished sizes only."""

    a: LapEdge
    b: LapEdge
    interference_mm: float
    angle_deg: float = 90.0


@dataclass(frozen=True, slots=True)
class ShapedLap:
    """The notches of both panels, and where to measure them."""

    a: EdgeRun
    b: EdgeRun
    depth_a_mm: float
    depth_b_mm: float
    width_a_mm: float
    pairs: tuple[MatingPair, ...]


def height_at_mm(panel: Panel, edge: StraightEdge, station_mm: float) -> float:
    """How far the panel reaches inward from a point of its edge.

    Raises:
        JointError: the panel is not there, beside the edge.
    """
    x0, y0, x1, y1 = panel.bounds_mm()
    beyond_mm = (x1 - x0) + (y1 - y0)
    ray = shapely.LineString([edge.point(station_mm), edge.point(station_mm, -beyond_mm)])
    inside = shapely.intersection(polygon(panel, chord_error_mm=_CHORD_ERROR_MM), ray)
    pieces = [g for g in shapely.get_parts(inside) if g.length > 0.0]
    start = shapely.Point(edge.point(station_mm))
    for piece in pieces:
        if piece.distance(start) < 1e-6:
            return float(piece.length)
    raise JointError(
        "there is no panel below this point of the edge",
        where=Where(panel=panel.name, at_mm=edge.point(station_mm)),
        todo="Choose a point of the edge with material behind it.",
    )


def shape_lap(spec: LapJoint) -> ShapedLap:
    """Cut both notches.

    The panel with the lower height is slotted over half of it; the other over
    the rest, so that the edge picked on b and the far edge of a end flush.

    Raises:
        JointError: the panels cross at too sharp an angle.
    """
    a, b = spec.a, spec.b
    sharpest_deg = min(spec.angle_deg, 180.0 - spec.angle_deg)
    if sharpest_deg < LEAST_LAP_ANGLE_DEG:
        raise JointError(
            f"panels that cross at {spec.angle_deg:.1f} degrees cannot be lapped",
            where=Where(panel=a.edge.panel, at_mm=a.edge.point(a.station_mm)),
            todo=f"Square-cut laps need {LEAST_LAP_ANGLE_DEG:g} degrees or more.",
        )
    depth_b_mm = 0.5 * min(a.height_mm, b.height_mm)
    depth_a_mm = a.height_mm - depth_b_mm
    run_a, pair_a = _notch(a, b, depth_a_mm, spec)
    run_b, pair_b = _notch(b, a, depth_b_mm, spec)
    return ShapedLap(run_a, run_b, depth_a_mm, depth_b_mm, pair_a.gap.width_mm, (pair_a, pair_b))


def _notch(
    own: LapEdge, mate: LapEdge, depth_mm: float, spec: LapJoint
) -> tuple[EdgeRun, MatingPair]:
    tongue_mm = crossing_width_mm(own.thickness_mm, mate.thickness_mm, spec.angle_deg)
    width_mm = tongue_mm - spec.interference_mm
    start_mm, end_mm = own.station_mm - 0.5 * width_mm, own.station_mm + 0.5 * width_mm
    margin_mm = own.thickness_mm
    if start_mm < margin_mm or end_mm > own.edge.length_mm - margin_mm:
        raise JointError(
            f"this lap leaves less than {format_mm(margin_mm)} beside it",
            where=Where(panel=own.edge.panel, at_mm=own.edge.point(own.station_mm)),
            todo="Move the crossing further from the end of the edge.",
        )
    points = stepped_points(
        0.0,
        [Step(start_mm, -depth_mm), Step(end_mm, 0.0)],
        relief_mm=own.relief_mm,
        chamfer_mm=own.chamfer_mm,
    )
    start_mm, end_mm = start_mm - own.chamfer_mm, end_mm + own.chamfer_mm
    run = EdgeRun(start_mm, end_mm, points, mouth_chamfer_mm=own.chamfer_mm)
    middle = own.edge.point(own.station_mm, -0.5 * depth_mm)
    gauge = Gauge(own.edge.panel, middle, own.edge.direction, width_mm)
    return run, MatingPair(gauge, None, tongue_mm)
