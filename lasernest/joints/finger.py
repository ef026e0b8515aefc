"""Finger joints: two edges cut into fingers and gaps that fill each other.

The *first* panel has a finger at both ends and so keeps its corners; the
*second* gives way. Each boundary between a finger and a gap moves by a quarter
of the interference into the gap, in both panels: fingers become w + i/2, gaps
w - i/2, and a finger exceeds its gap by i. An end that is a corner of the
panel stays where the drawing has it, so that outer sizes are exact; where the
second panel goes on beyond the joint, the wall of its gap takes i/2 instead.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from lasernest.domain.contours import Segment
from lasernest.domain.joints import Joint
from lasernest.errors import Where
from lasernest.joints.edges import JointError, StraightEdge
from lasernest.joints.laid import Gauge, MatingPair
from lasernest.joints.meeting import Levels
from lasernest.joints.profile import EdgeRun, Step, corner_station_mm, stepped_points
from lasernest.joints.sizing import Division, divide_length


@dataclass(frozen=True, slots=True)
class FingerEdge:
    """One of the two edges of a finger joint."""

    edge: StraightEdge
    sides: tuple[Segment, ...]
    levels: Levels
    thickness_mm: float
    start_neighbour_mm: float
    """Level of the neighbouring side at the corner where the edge starts."""
    end_neighbour_mm: float
    relief_mm: float = 0.0
    chamfer_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class FingerJoint:
    """All that shaping a finger joint needs; finished sizes only."""

    first: FingerEdge
    second: FingerEdge
    interference_mm: float
    target_width_mm: float | None = None
    same_way: bool = False
    shift_mm: float = 0.0
    """Station of the middle of the second edge on the first, from the first's middle."""

    def second_station_mm(self, station_mm: float) -> float:
        """The station on the second edge that meets one on the first."""
        from_middle_mm = station_mm - 0.5 * self.first.edge.length_mm - self.shift_mm
        sign = 1.0 if self.same_way else -1.0
        return 0.5 * self.second.edge.length_mm + sign * from_middle_mm


@dataclass(frozen=True, slots=True)
class ShapedEdges:
    """The new courses of both edges, and where to measure them."""

    first: EdgeRun
    second: EdgeRun
    division: Division
    span_mm: tuple[float, float]
    """On the first edge."""
    pairs: tuple[MatingPair, ...]


def shift_seen_from_first_mm(joint: Joint, *, a_is_first: bool, same_way: bool) -> float:
    """Where the middle of the second edge lies on the first, from the first's middle."""
    return joint.shift_mm if a_is_first or not same_way else -joint.shift_mm


def open_ends(spec: FingerJoint) -> tuple[tuple[bool, bool], tuple[bool, bool]]:
    """For the first and the second edge, in stations of the first: is the start, is the end
    a corner of the panel, not a stop part-way along its edge?

    What reaches beyond by less than the thickness would be a sliver, so it goes with the joint.
    """
    first_mm = spec.first.edge.length_mm
    half_mm = 0.5 * spec.second.edge.length_mm
    middle_mm = 0.5 * first_mm + spec.shift_mm
    low_mm, high_mm = middle_mm - half_mm, middle_mm + half_mm
    tolerance_mm = max(spec.first.thickness_mm, spec.second.thickness_mm)
    return (
        (low_mm <= tolerance_mm, high_mm >= first_mm - tolerance_mm),
        (low_mm >= -tolerance_mm, high_mm <= first_mm + tolerance_mm),
    )


def shape_edges(spec: FingerJoint) -> ShapedEdges:
    """Cut both edges into fingers and gaps.

    Raises:
        JointError: the edges do not overlap, or are too short for fingers.
    """
    first, second = spec.first, spec.second
    span = _span_mm(spec)
    thickness_mm = max(first.thickness_mm, second.thickness_mm)
    division = divide_length(
        span[1] - span[0],
        thickness_mm=thickness_mm,
        target_mm=spec.target_width_mm,
        where=Where(panel=first.edge.panel, at_mm=first.edge.middle),
    )
    inner = [span[0] + k * division.width_mm for k in range(1, division.count)]
    first_open, second_open = open_ends(spec)
    move_mm = 0.25 * spec.interference_mm
    first_run = _first_run(first, inner, span, first_open, move_mm)
    second_run = _second_run(spec, inner, span, second_open, move_mm)
    return ShapedEdges(
        first_run, second_run, division, span, _pairs(spec, division, span, second_open)
    )


def _span_mm(spec: FingerJoint) -> tuple[float, float]:
    """Stations on the first edge that the joint fills: from its corner as shaped, and no
    further than the second panel reaches.
    """
    first = spec.first
    levels_mm = (first.levels.tip_mm, first.levels.root_mm)
    start_mm = corner_station_mm(
        first.sides,
        first.edge.index,
        at_start=True,
        own_levels_mm=levels_mm,
        neighbour_level_mm=first.start_neighbour_mm,
    )
    end_mm = corner_station_mm(
        first.sides,
        first.edge.index,
        at_start=False,
        own_levels_mm=levels_mm,
        neighbour_level_mm=first.end_neighbour_mm,
    )
    (start_open, end_open), _ = open_ends(spec)
    middle_mm = 0.5 * first.edge.length_mm + spec.shift_mm
    half_mm = 0.5 * spec.second.edge.length_mm
    if not start_open:
        start_mm = max(start_mm, middle_mm - half_mm)
    if not end_open:
        end_mm = min(end_mm, middle_mm + half_mm)
    if end_mm <= start_mm:
        raise JointError(
            f"the edges of {first.edge.panel} and {spec.second.edge.panel} do not lie "
            "beside each other",
            where=Where(panel=first.edge.panel, at_mm=first.edge.middle),
            todo="Shift the joint so that the two edges overlap.",
        )
    return (start_mm, end_mm)


def _first_run(
    side: FingerEdge,
    inner_mm: Sequence[float],
    span: tuple[float, float],
    is_open: tuple[bool, bool],
    move_mm: float,
) -> EdgeRun:
    tip_mm, root_mm = side.levels.tip_mm, side.levels.root_mm
    steps: list[Step] = []
    if not is_open[0]:
        steps.append(Step(span[0], tip_mm))
    for k, station_mm in enumerate(inner_mm):
        # Fingers lie before even boundaries: those walls move forward, the others back.
        if k % 2 == 0:
            steps.append(Step(station_mm + move_mm, root_mm))
        else:
            steps.append(Step(station_mm - move_mm, tip_mm))
    if not is_open[1]:
        steps.append(Step(span[1], 0.0))
    return _run(side, steps, span, is_open, outer_level_mm=tip_mm)


def _second_run(
    spec: FingerJoint,
    inner_mm: Sequence[float],
    span: tuple[float, float],
    is_open: tuple[bool, bool],
    move_mm: float,
) -> EdgeRun:
    side = spec.second
    tip_mm, root_mm = side.levels.tip_mm, side.levels.root_mm
    steps: list[Step] = []
    start_mm, end_mm = span
    if not is_open[0]:
        start_mm += 2.0 * move_mm
        steps.append(Step(start_mm, root_mm))
    for k, station_mm in enumerate(inner_mm):
        if k % 2 == 0:
            steps.append(Step(station_mm - move_mm, tip_mm))
        else:
            steps.append(Step(station_mm + move_mm, root_mm))
    if not is_open[1]:
        end_mm -= 2.0 * move_mm
        steps.append(Step(end_mm, 0.0))
    stations = [spec.second_station_mm(s.station_mm) for s in steps]
    if spec.same_way:
        turned = [Step(s, step.level_mm) for s, step in zip(stations, steps, strict=True)]
        ends, opened = (start_mm, end_mm), is_open
    else:
        before = [0.0 if not is_open[0] else root_mm, *(s.level_mm for s in steps[:-1])]
        turned = [Step(s, lvl) for s, lvl in zip(stations[::-1], before[::-1], strict=True)]
        ends, opened = (end_mm, start_mm), (is_open[1], is_open[0])
    mapped = (spec.second_station_mm(ends[0]), spec.second_station_mm(ends[1]))
    return _run(side, turned, mapped, opened, outer_level_mm=root_mm)


def _run(
    side: FingerEdge,
    steps: Sequence[Step],
    span: tuple[float, float],
    is_open: tuple[bool, bool],
    *,
    outer_level_mm: float,
) -> EdgeRun:
    start_mm = outer_level_mm if is_open[0] else 0.0
    end_mm = outer_level_mm if is_open[1] else 0.0
    points = stepped_points(start_mm, steps, relief_mm=side.relief_mm, chamfer_mm=side.chamfer_mm)
    return EdgeRun(
        min(span[0], 0.0) if is_open[0] else span[0],
        max(span[1], side.edge.length_mm) if is_open[1] else span[1],
        points,
        start_mm,
        end_mm,
        is_open[0],
        is_open[1],
    )


def _pairs(
    spec: FingerJoint,
    division: Division,
    span: tuple[float, float],
    second_open: tuple[bool, bool],
) -> tuple[MatingPair, ...]:
    """Every finger that has a wall on both sides, with its gap.

    A finger at a corner is held from one side only, so it has no width of gap.
    """
    half_mm = 0.5 * spec.interference_mm
    wide_mm, narrow_mm = division.width_mm + half_mm, division.width_mm - half_mm
    pairs: list[MatingPair] = []
    for k in range(division.count):
        station_mm = span[0] + (k + 0.5) * division.width_mm
        at_first = spec.first.edge.point(station_mm, spec.first.levels.middle_mm)
        at_second = spec.second.edge.point(
            spec.second_station_mm(station_mm), spec.second.levels.middle_mm
        )
        first_has_finger = k % 2 == 0
        is_end = k in (0, division.count - 1)
        if is_end and second_open[0 if k == 0 else 1]:
            continue
        # An end finger grows at its one inner wall; the outer wall of its gap makes up for it.
        width_mm = division.width_mm + 0.5 * half_mm if is_end else wide_mm
        gap_mm = width_mm - spec.interference_mm if is_end else narrow_mm
        first_gauge = Gauge(
            spec.first.edge.panel,
            at_first,
            spec.first.edge.direction,
            width_mm if first_has_finger else gap_mm,
        )
        second_gauge = Gauge(
            spec.second.edge.panel,
            at_second,
            spec.second.edge.direction,
            gap_mm if first_has_finger else width_mm,
        )
        pairs.append(
            MatingPair(gap=second_gauge, finger=first_gauge)
            if first_has_finger
            else MatingPair(gap=first_gauge, finger=second_gauge)
        )
    return tuple(pairs)
