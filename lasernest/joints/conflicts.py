"""Where joints and the other features of a panel get into each other's way.

Looks at the shaped panels: holes that a gap opens or that lie under a finger,
slots through a mark, too near an edge or into another hole, fingers that end
at a rounded corner. Everything becomes a finding with its place; nothing is
moved or left out silently.

Polygons are exact but for arcs, which have a chord error of 0.01 mm.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import shapely

from lasernest.domain.contours import Contour, Point
from lasernest.domain.findings import Finding, Severity
from lasernest.domain.joints import JointKind, PanelSheet
from lasernest.domain.panels import Panel
from lasernest.geometry.flatten import line_string, ring_polygon
from lasernest.joints.edges import sides_of
from lasernest.joints.laid import LaidJoint, LaidLine
from lasernest.joints.sizing import web_mm
from lasernest.units import format_mm

_CHORD_ERROR_MM = 0.01
_TOUCH_MM = 1e-6


def conflicts(
    drawn: Mapping[str, Panel],
    shaped: Sequence[Panel],
    joints: Sequence[LaidJoint],
    sheets: Mapping[str, PanelSheet],
) -> tuple[Finding, ...]:
    """All findings about joints against holes, marks, edges and corners.

    Args:
        drawn: panels before their joints, by name.
        shaped: the same panels with joints.
        joints: as laid.
        sheets: by panel name.
    """
    findings: list[Finding] = []
    for panel in shaped:
        before = drawn[panel.name]
        if panel is before:
            continue
        findings += _panel_conflicts(before, panel, joints, sheets[panel.name])
    for joint in joints:
        if joint.kind is JointKind.FINGER:
            for line in (joint.a, joint.b):
                findings += _rounded_ends(drawn[line.edge.panel], line)
    return tuple(findings)


def _panel_conflicts(
    before: Panel, panel: Panel, joints: Sequence[LaidJoint], sheet: PanelSheet
) -> Iterator[Finding]:
    outer = ring_polygon(panel.outer, chord_error_mm=_CHORD_ERROR_MM)
    was = ring_polygon(before.outer, chord_error_mm=_CHORD_ERROR_MM)
    holes = [_filled(ring) for ring in before.inner]
    slots = [_filled(ring) for ring in panel.inner[len(before.inner) :]]
    least_mm = web_mm(sheet)
    bands = [
        band
        for joint in joints
        for line, span in ((joint.a, joint.span_mm), (joint.b, _span_on_b(joint)))
        if line.edge.panel == panel.name and line.levels is not None
        for band in [_band(line, span)]
    ]
    for hole in holes:
        yield from _hole_against_edges(panel.name, hole, outer, was, bands, least_mm)
    for k, slot in enumerate(slots):
        yield from _slot_against_edge(panel.name, slot, outer, least_mm)
        for other in (*holes, *slots[:k]):
            yield from _slot_against_hole(panel.name, slot, other, least_mm)
    cut_away = shapely.union_all([*slots, was.difference(outer)])
    for mark in panel.marks:
        hit = cut_away.intersection(line_string(mark.path, chord_error_mm=_CHORD_ERROR_MM))
        if hit.length > _TOUCH_MM:
            yield _finding(
                Severity.WARNING, "joint-through-mark", panel.name, _middle(hit),
                "a joint cuts through a mark",
                "Move the mark or the joint, if the mark matters there.",
            )  # fmt: skip


def _hole_against_edges(
    name: str,
    hole: shapely.Polygon,
    outer: shapely.Polygon,
    was: shapely.Polygon,
    bands: Sequence[shapely.Polygon],
    least_mm: float,
) -> Iterator[Finding]:
    if not outer.contains(hole):
        place = hole.difference(outer)
        at = _middle(place) if not place.is_empty else _middle(hole)
        yield _finding(
            Severity.ERROR, "gap-opens-hole", name, at,
            "a gap of a joint opens into a hole",
            "Move the hole away from the edge, or shift the joint.",
        )  # fmt: skip
        return
    for band in bands:
        covered = hole.intersection(band)
        if covered.area > _TOUCH_MM:
            yield _finding(
                Severity.WARNING, "hole-under-finger", name, _middle(covered),
                "a hole lies under a finger or tab, where the mate covers it",
                "Move the hole away from the edge, or shift the joint.",
            )  # fmt: skip
            return
    web = hole.distance(outer.exterior)
    if web < least_mm - _TOUCH_MM and web < hole.distance(was.exterior) - _TOUCH_MM:
        yield _finding(
            Severity.WARNING, "hole-near-joint", name, _nearest(hole, outer.exterior),
            f"a joint leaves {format_mm(web)} beside a hole; {format_mm(least_mm)} is the least "
            "that holds",
            "Move the hole away from the edge, or shift the joint.",
        )  # fmt: skip


def _slot_against_edge(
    name: str, slot: shapely.Polygon, outer: shapely.Polygon, least_mm: float
) -> Iterator[Finding]:
    if not outer.contains(slot):
        place = slot.difference(outer)
        yield _finding(
            Severity.ERROR, "slot-off-panel", name, _middle(place if place.area else slot),
            "a slot or bolt hole reaches over the edge of the panel",
            "Move the line of the joint further into the panel, or shift it along.",
        )  # fmt: skip
        return
    web = slot.distance(outer.exterior)
    if web < least_mm - _TOUCH_MM:
        yield _finding(
            Severity.WARNING, "slot-near-edge", name, _nearest(slot, outer.exterior),
            f"a slot leaves {format_mm(web)} to the edge; {format_mm(least_mm)} is the least "
            "that holds",
            "Move the line of the joint further into the panel.",
        )  # fmt: skip


def _slot_against_hole(
    name: str, slot: shapely.Polygon, other: shapely.Polygon, least_mm: float
) -> Iterator[Finding]:
    shared = slot.intersection(other)
    if shared.area > _TOUCH_MM:
        yield _finding(
            Severity.ERROR, "slot-into-hole", name, _middle(shared),
            "a slot or bolt hole runs into another hole",
            "Move the hole, or shift the joint along its line.",
        )  # fmt: skip
        return
    web = slot.distance(other)
    if web < least_mm - _TOUCH_MM:
        yield _finding(
            Severity.WARNING, "slot-near-hole", name, _nearest(slot, other),
            f"a slot leaves {format_mm(web)} to another hole; {format_mm(least_mm)} is the "
            "least that holds",
            "Move the hole, or shift the joint along its line.",
        )  # fmt: skip


def _rounded_ends(panel: Panel, line: LaidLine) -> Iterator[Finding]:
    sides = sides_of(panel.outer)
    edge = line.edge
    before, after = sides[edge.index - 1], sides[(edge.index + 1) % len(sides)]
    for neighbour, at in ((before, edge.start), (after, edge.end)):
        if neighbour.is_arc:
            yield _finding(
                Severity.WARNING, "finger-at-rounded-corner", panel.name, at,
                f"the joint ends at a rounded corner of {format_mm(neighbour.radius_mm)} radius: "
                "the corner of the case will not be filled there",
                "Draw the corner square where panels meet, or end the joint before it.",
            )  # fmt: skip


def _span_on_b(joint: LaidJoint) -> tuple[float, float]:
    ends = sorted(joint.b_station_mm(s) for s in joint.span_mm)
    return (ends[0], ends[1])


def _band(line: LaidLine, span: tuple[float, float]) -> shapely.Polygon:
    """The strip of an edge from the roots to the tips."""
    assert line.levels is not None
    edge, (start_mm, end_mm) = line.edge, span
    tip_mm, root_mm = line.levels.tip_mm, line.levels.root_mm
    return shapely.Polygon(
        [
            edge.point(start_mm, root_mm),
            edge.point(end_mm, root_mm),
            edge.point(end_mm, tip_mm),
            edge.point(start_mm, tip_mm),
        ]
    )


def _filled(ring: Contour) -> shapely.Polygon:
    return ring_polygon(ring, chord_error_mm=_CHORD_ERROR_MM)


def _middle(shape: shapely.Geometry) -> Point:
    point = shape.representative_point()
    return (float(point.x), float(point.y))


def _nearest(one: shapely.Geometry, other: shapely.Geometry) -> Point:
    x, y = shapely.shortest_line(one, other).coords[0]
    return (x, y)


def _finding(
    severity: Severity, code: str, panel: str, at: Point, message: str, todo: str
) -> Finding:
    return Finding(severity, code, message, where_mm=at, panel=panel, todo=todo)
