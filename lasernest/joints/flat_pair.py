"""The two panels of a joint laid flat, tips towards gaps, to be looked at closely.

The line of panel a lies along x with its fingers pointing up; panel b lies
above it, its fingers pointing down, moved apart so that both can be read. A
panel drawn from the other side is mirrored, as it would meet its mate.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from lasernest.domain.contours import Bounds, Point, Pose
from lasernest.domain.joints import JointKind
from lasernest.joints.edges import StraightEdge
from lasernest.joints.laid import Gauge, LaidJoint, LaidLine, MatingPair

_ROW_PITCH = 1.25
"""From row to row, as a share of the height of one."""


@dataclass(frozen=True, slots=True)
class Grip:
    """One finger (or tab) and the gap (or slot) it goes into, in the flat picture."""

    x_mm: float
    """Middle of the gap along the joint."""
    finger_at: Point
    gap_at: Point
    finger_mm: float
    """Width of the finger; for a slot the thickness that fills it."""
    gap_mm: float
    across_mm: float
    """Size of the gap the other way: how deep it is, or how long the slot."""
    gap_on_a: bool
    along_joint: bool
    """True when the grip acts along the joint, as with fingers; across it for slots."""

    @property
    def interference_mm(self) -> float:
        return self.finger_mm - self.gap_mm

    @property
    def along_mm(self) -> float:
        """How much of the joint's length the gap takes."""
        return self.gap_mm if self.along_joint else self.across_mm


@dataclass(frozen=True, slots=True)
class Row:
    """A stretch of the joint, written below the one before it like a line of text."""

    start_mm: float
    end_mm: float
    """Stretch of x in the flat picture."""
    dx_mm: float
    dy_mm: float
    """How far it is moved."""


@dataclass(frozen=True, slots=True)
class FlatPair:
    """How both panels lie, and what grips where."""

    a_pose: Pose
    b_pose: Pose
    grips: tuple[Grip, ...]
    band_mm: Bounds
    """The joint itself with some panel on both sides."""
    apart: tuple[float, float]
    """Lowest and highest y of the free strip between the panels."""
    rows: tuple[Row, ...]
    """The whole length in stretches, so that a long joint can be drawn large."""


def flat_pair(joint: LaidJoint, *, apart_mm: float | None = None, behind_mm: float) -> FlatPair:
    """Lay a joint flat.

    Args:
        joint: as laid.
        apart_mm: free strip between the tips; None: one and a half times the depth.
        behind_mm: how much of each panel belongs to the picture.
    """
    strip_mm = 1.5 * joint.depth_mm if apart_mm is None else apart_mm
    if joint.kind is JointKind.LAP:
        strip_mm = 2.0 * joint.a.thickness_mm
    middle_mm = 0.5 * sum(joint.span_mm)
    a_top_mm = joint.a.levels.tip_mm if joint.a.levels else 0.5 * joint.a.thickness_mm
    b_low_mm = joint.b.levels.tip_mm if joint.b.levels else 0.5 * joint.a.thickness_mm
    b_at_mm = a_top_mm + strip_mm + b_low_mm
    a_pose = _pose(joint.a.edge, middle_mm, 0.0, up=True, mirrored=False)
    on_face = joint.b.levels is None
    b_pose = _pose(
        joint.b.edge,
        joint.b_station_mm(middle_mm),
        b_at_mm,
        # A line on a face has material on both sides, so it need not be mirrored.
        up=on_face and joint.same_way,
        mirrored=joint.same_way and not on_face,
    )
    grips = tuple(_grip(joint, pair, a_pose, b_pose) for pair in joint.pairs)
    half_mm = 0.5 * (joint.span_mm[1] - joint.span_mm[0])
    if joint.kind is JointKind.LAP:
        half_mm = 4.0 * joint.width_mm
    low, high = _reach(joint.a), _reach(joint.b, slot_mm=joint.a.thickness_mm)
    band = (-half_mm, -low - behind_mm, half_mm, b_at_mm + high + behind_mm)
    return FlatPair(
        a_pose, b_pose, grips, band, (a_top_mm, a_top_mm + strip_mm), _rows(grips, band)
    )


def _rows(grips: Sequence[Grip], band: Bounds) -> tuple[Row, ...]:
    """As many rows as make the whole about square, cut between fingers and never through one."""
    x0, y0, x1, y1 = band
    high_mm = (y1 - y0) * _ROW_PITCH
    count = max(1, round(math.sqrt((x1 - x0) / high_mm)))
    places = sorted(grips, key=lambda g: g.x_mm)
    between = [
        0.5 * (g.x_mm + 0.5 * g.along_mm + after.x_mm - 0.5 * after.along_mm)
        for g, after in pairwise(places)
    ]
    wished = (x0 + k * (x1 - x0) / count for k in range(1, count))
    cuts = {min(between, key=lambda x: abs(x - wish)) for wish in wished if between}
    stops = [x0, *sorted(cuts), x1]
    return tuple(
        Row(start, end, x0 - start, -k * high_mm) for k, (start, end) in enumerate(pairwise(stops))
    )


def _reach(line: LaidLine, *, slot_mm: float = 0.0) -> float:
    """How far gaps, or the halves of slots, reach into a panel from its line."""
    return max(-line.levels.root_mm, 0.0) if line.levels else 0.5 * slot_mm


def _pose(edge: StraightEdge, station_mm: float, y_mm: float, *, up: bool, mirrored: bool) -> Pose:
    """Turn an edge along x, its outward side up or down, with a station at x = 0."""
    ux, uy = edge.direction
    # The outward side lies to the right of travel; mirrored, to the left.
    heading_deg = 180.0 if up != mirrored else 0.0
    if mirrored:
        ux = -ux
    turn_deg = heading_deg - math.degrees(math.atan2(uy, ux))
    quarter = round(turn_deg / 90.0) * 90.0
    if abs(turn_deg - quarter) < 1e-9:
        turn_deg = quarter
    turn = Pose(0.0, 0.0, turn_deg % 360.0, mirrored)
    x, y = turn.apply(*edge.point(station_mm))
    return Pose(-x, y_mm - y, turn.turn_deg, mirrored)


def _grip(joint: LaidJoint, pair: MatingPair, a_pose: Pose, b_pose: Pose) -> Grip:
    gap_on_a = pair.gap.panel == joint.joint.a.panel
    gap_pose, finger_pose = (a_pose, b_pose) if gap_on_a else (b_pose, a_pose)
    gap_at = gap_pose.apply(*pair.gap.middle)
    way = _turned(pair.gap, gap_pose)
    along = abs(way[0]) >= abs(way[1])
    if pair.finger is not None:
        finger_at, finger_mm = finger_pose.apply(*pair.finger.middle), pair.finger.width_mm
    else:
        # The tongue is the sheet of the other panel: a tab, or what a lap leaves of it.
        tongue = joint.b if gap_on_a else joint.a
        assert tongue.levels is not None
        lap = joint.kind is JointKind.LAP
        level_mm = 1.5 * tongue.levels.root_mm if lap else tongue.levels.middle_mm
        _, y_mm = finger_pose.apply(*tongue.edge.point(0.0, level_mm))
        finger_at, finger_mm = (gap_at[0], y_mm), pair.tongue_mm
    line = joint.a if gap_on_a else joint.b
    across_mm = line.levels.depth_mm if line.levels else joint.width_mm
    return Grip(
        gap_at[0], finger_at, gap_at, finger_mm, pair.gap.width_mm, across_mm, gap_on_a, along
    )


def _turned(gauge: Gauge, pose: Pose) -> Point:
    a, b, c, d = pose.matrix()
    return (a * gauge.along[0] + b * gauge.along[1], c * gauge.along[0] + d * gauge.along[1])
