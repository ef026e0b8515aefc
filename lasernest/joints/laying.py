"""Laying one joint: its numbers, the new courses of the edges, and the holes of the mate."""

from __future__ import annotations

import math
from dataclasses import dataclass

from lasernest.domain.contours import Contour
from lasernest.domain.fits import family_of
from lasernest.domain.joints import JointKind
from lasernest.joints.bench import Bench, PlannedFinger
from lasernest.joints.corners import SQUARE_DEG, FoundJoint
from lasernest.joints.edges import StraightEdge
from lasernest.joints.finger import shape_edges
from lasernest.joints.hardware import hardware
from lasernest.joints.laid import LaidJoint, LaidLine
from lasernest.joints.lap import LapEdge, LapJoint, height_at_mm, shape_lap
from lasernest.joints.meeting import Levels
from lasernest.joints.nut import NutJoint, shape_nut
from lasernest.joints.profile import EdgeRun
from lasernest.joints.sizing import relief_radius_mm, web_mm
from lasernest.joints.slot import SlotJoint, shape_slot

WEB_BESIDE_NUT_IN_WOOD = 1.5
WEB_BESIDE_NUT_IN_ACRYLIC = 2.0


@dataclass(frozen=True, slots=True)
class Laid:
    """A joint and what it does to its panels."""

    joint: LaidJoint
    runs: tuple[tuple[StraightEdge, EdgeRun], ...]
    holes: tuple[Contour, ...] = ()
    """New inner contours of panel b."""


def lay_finger(bench: Bench, one: FoundJoint, plan: PlannedFinger, interference_mm: float) -> Laid:
    """A finger joint.

    Raises:
        JointError: the edge is too short, or the edges do not lie beside each other.
    """
    spec = bench.finger_spec(plan, interference_mm, one.joint)
    shaped = shape_edges(spec)
    a_is_first = plan.first is one.a
    a_levels, b_levels = plan.first_levels, plan.second_levels
    span = shaped.span_mm
    if not a_is_first:
        a_levels, b_levels = b_levels, a_levels
        ends = sorted(spec.second_station_mm(s) for s in span)
        span = (ends[0], ends[1])
    joint = LaidJoint(
        one.joint,
        _line(bench, one.a, a_levels),
        _line(bench, one.b, b_levels),
        shaped.division.count,
        shaped.division.width_mm,
        a_levels.depth_mm,
        interference_mm,
        plan.angle_deg,
        plan.same_way,
        span,
        shaped.pairs,
        plan.first.panel,
        math.sqrt(2.0) * max(spec.first.relief_mm, spec.second.relief_mm),
    )
    return Laid(joint, ((plan.first, shaped.first), (plan.second, shaped.second)))


def lay_slot(bench: Bench, one: FoundJoint, levels: Levels, interference_mm: float) -> Laid:
    """A tab and slot joint, with screws if it is a bolted one.

    Raises:
        JointError: the edge is too short, or a screw cannot be had.
    """
    joint = one.joint
    mate = bench.sheets[one.b.panel]
    angle_deg = SQUARE_DEG if joint.angle_deg is None else joint.angle_deg
    same_way = joint.flipped is not True
    spec = SlotJoint(
        bench.edge(one.a, levels, joint),
        one.b,
        mate.thickness_mm,
        interference_mm,
        web_mm(mate),
        angle_deg,
        joint.target_width_mm,
        same_way,
        joint.shift_mm,
        relief_radius_mm(joint, mate),
    )
    if joint.kind is JointKind.NUT:
        acrylic = family_of(bench.sheets[one.a.panel].material).is_acrylic
        web = WEB_BESIDE_NUT_IN_ACRYLIC if acrylic else WEB_BESIDE_NUT_IN_WOOD
        bolted = shape_nut(NutJoint(spec, hardware(joint.screw), joint.bolts, web))
        run, holes, pairs = bolted.run, bolted.holes, bolted.pairs
        tabs, tab_mm, span = bolted.tabs, bolted.tab_mm, bolted.span_mm
    else:
        plain = shape_slot(spec)
        run, holes, pairs = plain.run, plain.slots, plain.pairs
        tabs, tab_mm, span = plain.tabs, plain.tab_mm, plain.span_mm
    laid = LaidJoint(
        joint,
        _line(bench, one.a, levels),
        _line(bench, one.b, None),
        tabs,
        tab_mm,
        levels.depth_mm,
        interference_mm,
        angle_deg,
        same_way,
        span,
        pairs,
        one.a.panel,
    )
    return Laid(laid, ((one.a, run),), holes)


def lay_lap(bench: Bench, one: FoundJoint, interference_mm: float) -> Laid:
    """A half-lap.

    Raises:
        JointError: too sharp an angle, too near the end, or no material there.
    """
    joint = one.joint
    angle_deg = SQUARE_DEG if joint.angle_deg is None else joint.angle_deg
    a, b = (
        LapEdge(
            edge,
            station_mm := line.at_share * edge.length_mm,
            height_at_mm(bench.panels[edge.panel], edge, station_mm),
            bench.thickness_mm(edge.panel),
            relief_radius_mm(joint, bench.sheets[edge.panel]),
            joint.chamfer_mm,
        )
        for edge, line in ((one.a, joint.a), (one.b, joint.b))
    )
    shaped = shape_lap(LapJoint(a, b, interference_mm, angle_deg))
    half_mm = 0.5 * shaped.width_a_mm
    laid = LaidJoint(
        joint,
        _line(bench, one.a, Levels(0.0, -shaped.depth_a_mm, 0.0)),
        _line(bench, one.b, Levels(0.0, -shaped.depth_b_mm, 0.0)),
        1,
        shaped.width_a_mm,
        shaped.depth_a_mm,
        interference_mm,
        angle_deg,
        joint.flipped is not True,
        (a.station_mm - half_mm, a.station_mm + half_mm),
        shaped.pairs,
        one.a.panel,
    )
    return Laid(laid, ((one.a, shaped.a), (one.b, shaped.b)))


def _line(bench: Bench, edge: StraightEdge, levels: Levels | None) -> LaidLine:
    return LaidLine(edge, bench.thickness_mm(edge.panel), levels)
