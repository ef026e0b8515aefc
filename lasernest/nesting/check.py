"""The exact check of a plan: is every panel there, apart, inside, and turned as allowed?

Independent of the search and its outlines: works on the drawn lines and arcs.
Distances between contours are closed forms (`distance_mm`); whether two
panels that come nearer than that overlap is decided on polygons whose chords
lie within `CHORD_ERROR_MM` of the arcs, so with a gap of zero an overlap of
arcs shallower than that may pass.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from functools import cached_property

import numpy as np
import numpy.typing as npt
import shapely
import shapely.affinity

from lasernest.domain.contours import Bounds, Contour, Point, Pose, Segment
from lasernest.domain.findings import counted
from lasernest.domain.panels import Panel
from lasernest.domain.plan import Axis, NestRequest, PanelOrder, Plan, Sheet, SheetPlan, Turns
from lasernest.geometry.extents import segment_room_mm, segment_table
from lasernest.geometry.flatten import ring_points

Floats = npt.NDArray[np.float64]

CHORD_ERROR_MM = 1e-4

ROUGH_CHORD_ERROR_MM = 0.05
"""Of the polygons that tell which panels are too far apart to be measured."""


Drawn = tuple[shapely.Polygon, shapely.Polygon]
"""A panel as polygons: arcs in small chords, and in larger ones."""


def plan_problems(
    request: NestRequest,
    plan: Plan,
    *,
    tolerance_mm: float = 1e-6,
    drawn: dict[str, Drawn] | None = None,
    poll: Callable[[], object] = lambda: None,
) -> tuple[str, ...]:
    """What is wrong with a plan, one sentence each; empty when it is good.

    Args:
        request: what was asked.
        plan: what nesting answered.
        tolerance_mm: how far gap and margin may fall short.
        drawn: for further checks of the same request: its panels as polygons, by name.
        poll: called between panels; what it raises ends the check without an answer.
    """
    drawn = {} if drawn is None else drawn
    found = list(_count_problems(request, plan))
    good: set[object] = set()
    """Layouts without a problem: a long order has the same on hundreds of sheets."""
    for number, sheet_plan in enumerate(plan.sheets, start=1):
        lie = tuple((p.panel_name, p.pose) for p in sheet_plan.placements)
        layout = (sheet_plan.sheet, lie)
        if layout not in good:
            wrong = list(_sheet_problems(request, sheet_plan, number, tolerance_mm, drawn, poll))
            if not wrong:
                good.add(layout)
            found += wrong
    return tuple(found)


def _count_problems(request: NestRequest, plan: Plan) -> Iterator[str]:
    placed = Counter(p.panel_name for sheet in plan.sheets for p in sheet.placements)
    left = Counter({u.panel_name: u.count for u in plan.unplaced})
    known = {order.panel.name for order in request.orders}
    for name in (placed | left).keys() - known:
        yield f"{name} was not ordered."
    for order in request.orders:
        name = order.panel.name
        found = placed[name] + left[name]
        more = order.as_many_as_fit and found > order.quantity
        if found != order.quantity and not more:
            yield (
                f"{name}: {order.quantity} ordered, {placed[name]} placed, {left[name]} left over."
            )
    for (name, copy), n in Counter(
        (p.panel_name, p.copy) for sheet in plan.sheets for p in sheet.placements
    ).items():
        if n > 1:
            yield f"{name}: copy {copy} is placed {n} times."
    for sheet in request.sheets:
        used = sum(1 for s in plan.sheets if s.sheet == sheet)
        if sheet.available is not None and used > sheet.available * request.sheets.count(sheet):
            sheets = counted(used, "sheet", "sheets")
            yield f"{sheets} of {sheet.label or 'a kind'} used, {sheet.available} available."
    for s in plan.sheets:
        if s.sheet not in request.sheets:
            yield f"a sheet of {s.sheet.width_mm:g} x {s.sheet.height_mm:g} mm was not offered."


def _sheet_problems(
    request: NestRequest,
    sheet_plan: SheetPlan,
    number: int,
    tolerance_mm: float,
    drawn: dict[str, Drawn],
    poll: Callable[[], object],
) -> Iterator[str]:
    orders = {order.panel.name: order for order in request.orders}
    lying: list[tuple[str, _Lying]] = []
    for p in sheet_plan.placements:
        order = orders.get(p.panel_name)
        if order is None:
            continue
        name = f"{p.panel_name} (copy {p.copy}) on sheet {number}"
        if not _turn_allowed(order, p.pose):
            yield f"{name} is turned by {p.pose.turn_deg:g} degrees; its order does not allow that."
        if p.pose.mirrored and not order.may_mirror:
            yield f"{name} is mirrored, which its order does not allow."
        along = request.long_sides_along
        if along is not None and _lies_across(order, p.pose, along):
            yield f"{name} does not lie with its longer side along {along.value}."
        if p.panel_name not in drawn:
            poll()
            fine, rough = (
                drawn_polygon(order.panel, chord_error_mm=error_mm)
                for error_mm in (CHORD_ERROR_MM, ROUGH_CHORD_ERROR_MM)
            )
            drawn[p.panel_name] = (fine, rough)
        lying.append((name, _Lying(order.panel, p.pose, *drawn[p.panel_name])))
    for name, one in lying:
        if one.is_well_inside(sheet_plan.sheet):
            continue
        poll()
        short_mm = _margin_shortfall_mm(one.panel, one.shape, sheet_plan.sheet)
        if short_mm > tolerance_mm:
            yield f"{name} comes {short_mm:.6g} mm too near to the edge of the sheet."
    shapes = [one.shape for _, one in lying]
    tree = shapely.STRtree(shapes)
    reach_mm = request.gap_mm + 2.0 * CHORD_ERROR_MM + tolerance_mm
    boxes = [
        shapely.box(x0 - reach_mm, y0 - reach_mm, x1 + reach_mm, y1 + reach_mm)
        for x0, y0, x1, y1 in (shape.bounds for shape in shapes)
    ]
    for a, box in enumerate(boxes):
        for b in sorted(int(k) for k in tree.query(box)):
            if b <= a:
                continue
            poll()
            overlap_mm = _overlap_mm(shapes[a], shapes[b])
            if overlap_mm > tolerance_mm:
                yield f"{lying[a][0]} and {lying[b][0]} overlap by about {overlap_mm:.6g} mm."
            elif request.gap_mm > 0.0:
                found_mm = _lying_distance_mm(lying[a][1], lying[b][1], reach_mm)
                if found_mm < request.gap_mm - tolerance_mm:
                    yield (
                        f"{lying[a][0]} and {lying[b][0]} are {found_mm:.6g} mm apart, "
                        f"the gap is {request.gap_mm:g} mm."
                    )


class _Lying:
    """A panel as it lies on a sheet; its contours are turned only when they are needed.

    Args:
        drawn: the panel.
        pose: where it lies.
        fine, rough: `drawn_polygon` of the panel, arcs in small chords and in larger ones.
    """

    def __init__(
        self, drawn: Panel, pose: Pose, fine: shapely.Polygon, rough: shapely.Polygon
    ) -> None:
        self._drawn, self._pose = drawn, pose
        a, b, c, d = pose.matrix()
        matrix = (a, b, c, d, pose.x_mm, pose.y_mm)
        self.shape = shapely.affinity.affine_transform(fine, matrix)
        self.rough = shapely.affinity.affine_transform(rough, matrix)
        self.straight = not any(ring.has_arcs for ring in drawn.contours)
        self.straight_outside = self.straight or not drawn.outer.has_arcs

    @cached_property
    def panel(self) -> Panel:
        return self._drawn.posed(self._pose)

    @cached_property
    def segments(self) -> _Segments:
        return _segments(tuple(ring.posed(self._pose) for ring in self._drawn.contours))

    def may_hold(self, other: _Lying) -> bool:
        """Whether the other one may lie in a hole of this one."""
        x0, y0, x1, y1 = self.shape.bounds
        ox0, oy0, ox1, oy1 = other.shape.bounds
        inside = x0 <= ox0 and y0 <= oy0 and ox1 <= x1 and oy1 <= y1
        return bool(self._drawn.inner) and inside

    def is_well_inside(self, sheet: Sheet) -> bool:
        """Whether it surely keeps the margin of a full rectangle, whatever its arcs do."""
        if sheet.outline is not None or sheet.holes:
            return False
        x0, y0, x1, y1 = self.shape.bounds
        nearest_mm = min(x0, y0, sheet.width_mm - x1, sheet.height_mm - y1)
        return bool(nearest_mm > sheet.margin_mm + 2.0 * CHORD_ERROR_MM)


def _lying_distance_mm(a: _Lying, b: _Lying, reach_mm: float) -> float:
    """Exact distance of two panels; infinite or at least the reach when they are that far apart.

    Args:
        a, b: that do not overlap.
        reach_mm: farther need not be told apart.
    """
    # Where neither lies in a hole of the other, holes are farther away than outlines are.
    apart = a.straight_outside and b.straight_outside and not (a.may_hold(b) or b.may_hold(a))
    if (a.straight and b.straight) or apart:
        return float(a.shape.distance(b.shape))
    # Fine polygons of arcs have a thousand corners: rough ones tell who is far enough apart.
    if a.rough.distance(b.rough) >= reach_mm + 2.0 * ROUGH_CHORD_ERROR_MM:
        return reach_mm
    return _segment_distance_mm(a.segments, b.segments, reach_mm)


def spot_problems(
    name: str,
    panel: Panel,
    others: Mapping[str, Panel],
    sheet: Sheet,
    *,
    gap_mm: float,
    tolerance_mm: float = 1e-6,
) -> tuple[str, ...]:
    """What is wrong with where one panel lies, one sentence each; empty when it lies well.

    Args:
        name: of the panel, for people.
        panel: as it lies on the sheet.
        others: the other panels of the sheet, as they lie, by name for people.
        sheet: that all lie on.
        gap_mm: least distance between finished panels.
        tolerance_mm: how far gap and margin may fall short.
    """
    found = []
    shape = drawn_polygon(panel)
    short_mm = _margin_shortfall_mm(panel, shape, sheet)
    if short_mm > tolerance_mm:
        found.append(
            f"{name} leaves the sheet."
            if math.isinf(short_mm)
            else f"{name} comes {short_mm:.2f} mm too near to the edge of the sheet."
        )
    reach_mm = gap_mm + 2.0 * CHORD_ERROR_MM + tolerance_mm
    x0, y0, x1, y1 = shape.bounds
    for other_name, other in others.items():
        ox0, oy0, ox1, oy1 = other.bounds_mm()
        if ox0 > x1 + reach_mm or ox1 < x0 - reach_mm or oy0 > y1 + reach_mm or oy1 < y0 - reach_mm:
            continue
        if _overlap_mm(shape, drawn_polygon(other)) > tolerance_mm:
            found.append(f"{name} would overlap {other_name}.")
        elif gap_mm > 0.0:
            apart_mm = _panel_distance_mm(panel, other, reach_mm)
            if apart_mm < gap_mm - tolerance_mm:
                found.append(
                    f"{name} would lie {apart_mm:.2f} mm from {other_name}; "
                    f"the gap is {gap_mm:g} mm."
                )
    return tuple(found)


def _turn_allowed(order: PanelOrder, pose: Pose) -> bool:
    if order.turns is Turns.FREE:
        step_deg = order.turn_step_deg
        off_deg = 0.0 if step_deg is None else math.remainder(pose.turn_deg % 360.0, step_deg)
        return math.isfinite(pose.turn_deg) and abs(off_deg) < 1e-9
    return any(
        abs((pose.turn_deg - a + 180.0) % 360.0 - 180.0) < 1e-9 for a in order.turns.angles_deg
    )


def _lies_across(order: PanelOrder, pose: Pose, along: Axis) -> bool:
    """Whether a panel lies with its longer side across although a quarter turn would help."""

    def is_across(turn_deg: float) -> bool:
        turned = replace(pose, turn_deg=turn_deg)
        x0, y0, x1, y1 = order.panel.outer.posed(turned).bounds_mm()
        long, short = (x1 - x0, y1 - y0) if along is Axis.X else (y1 - y0, x1 - x0)
        return long < short * (1.0 - 1e-5)

    turned = replace(pose, turn_deg=pose.turn_deg + 90.0)
    return (
        is_across(pose.turn_deg)
        and _turn_allowed(order, turned)
        and not is_across(pose.turn_deg + 90.0)
    )


def _overlap_mm(a: shapely.Polygon, b: shapely.Polygon) -> float:
    """How deep two shapes overlap: the radius of the largest disc in their common part, doubled."""
    if not a.intersects(b):
        return 0.0
    depth_mm = 0.0
    common = a.intersection(b)
    for part in getattr(common, "geoms", [common]):
        if isinstance(part, shapely.Polygon) and part.area > 0.0:
            # A long sliver of touching edges has an area but no depth.
            depth_mm = max(depth_mm, 2.0 * part.area / part.exterior.length)
    return depth_mm


def _margin_shortfall_mm(panel: Panel, shape: shapely.Polygon, sheet: Sheet) -> float:
    """By how much a posed panel comes nearer to the sheet's edges than its margin.

    `shape` is its `drawn_polygon`.
    """
    margin_mm = sheet.margin_mm
    x0, y0, x1, y1 = panel.bounds_mm()
    short_mm = margin_mm - min(x0, y0, sheet.width_mm - x1, sheet.height_mm - y1)
    reach_mm = margin_mm + 1.0
    if sheet.outline is not None:
        edge = sheet.outline
        if not drawn_polygon(Panel.of("sheet", edge)).covers(shape.buffer(-2.0 * CHORD_ERROR_MM)):
            return math.inf
        found_mm = _panel_distance_mm(panel, Panel.of("sheet", edge), reach_mm)
        short_mm = max(short_mm, margin_mm - found_mm)
    for hole in sheet.holes:
        zone = Panel.of("hole", hole)
        if _overlap_mm(drawn_polygon(zone), shape) > 0.0 and margin_mm > 0.0:
            return math.inf
        short_mm = max(short_mm, _overlap_mm(drawn_polygon(zone), shape))
        if margin_mm > 0.0:
            found_mm = _panel_distance_mm(panel, zone, reach_mm)
            short_mm = max(short_mm, margin_mm - found_mm)
    return short_mm


def drawn_polygon(panel: Panel, *, chord_error_mm: float = CHORD_ERROR_MM) -> shapely.Polygon:
    """The panel as a polygon with its corners on the drawn contours."""
    rings = [ring_points(ring, chord_error_mm=chord_error_mm) for ring in panel.contours]
    shape = shapely.Polygon(rings[0], [ring for ring in rings[1:] if len(ring) >= 3])
    return shape if shape.is_valid else shapely.make_valid(shape)


_Segments = tuple[list[Segment], Floats]
"""Lines and arcs, and their boxes."""


def _panel_distance_mm(a: Panel, b: Panel, reach_mm: float) -> float:
    """Exact distance between the contours of two panels; infinite beyond the reach."""
    near_a = _segments_near(a.contours, b.bounds_mm(), reach_mm)
    near_b = _segments_near(b.contours, a.bounds_mm(), reach_mm)
    return _segment_distance_mm(near_a, near_b, reach_mm) if near_a[0] and near_b[0] else math.inf


def _segments_near(rings: tuple[Contour, ...], box: Bounds, reach_mm: float) -> _Segments:
    """Lines and arcs that may come within reach of a box: mostly few of a great many."""
    rows = segment_table(rings)
    x0, y0, x1, y1 = segment_room_mm(rows).T
    bx0, by0, bx1, by1 = box
    near = (
        (x0 <= bx1 + reach_mm)
        & (bx0 - reach_mm <= x1)
        & (y0 <= by1 + reach_mm)
        & (by0 - reach_mm <= y1)
    )
    found = [s for s in map(Segment._make, rows[near].tolist()) if s.chord_mm > 0.0]
    return found, np.array([s.bounds_mm() for s in found])


def _segments(rings: tuple[Contour, ...]) -> _Segments:
    found = [s for ring in rings for s in ring.segments() if s.chord_mm > 0.0]
    return found, np.array([s.bounds_mm() for s in found])


def _segment_distance_mm(a: _Segments, b: _Segments, reach_mm: float) -> float:
    (ours, boxes_a), (theirs, boxes_b) = a, b
    near = (
        (boxes_a[:, None, 0] <= boxes_b[None, :, 2] + reach_mm)
        & (boxes_b[None, :, 0] <= boxes_a[:, None, 2] + reach_mm)
        & (boxes_a[:, None, 1] <= boxes_b[None, :, 3] + reach_mm)
        & (boxes_b[None, :, 1] <= boxes_a[:, None, 3] + reach_mm)
    )
    return min(
        (distance_mm(ours[int(i)], theirs[int(j)]) for i, j in np.argwhere(near)),
        default=math.inf,
    )


def distance_mm(a: Segment, b: Segment) -> float:
    """Exact distance between two lines or arcs; 0 where they cross.

    The nearest points of two curves are ends, or lie where the joining line
    stands square on both: the foot of an arc's centre on a line, or the line
    of centres of two arcs.
    """
    found = [_point_distance_mm(b, p) for p in (a.start, a.end)]
    found += [_point_distance_mm(a, p) for p in (b.start, b.end)]
    if a.is_arc and b.is_arc:
        (ax, ay), (bx, by) = a.centre, b.centre
        apart = math.hypot(bx - ax, by - ay)
        if apart > 0.0:
            ux, uy = (bx - ax) / apart, (by - ay) / apart
            for side in (-1.0, 1.0):
                p = (ax + side * a.radius_mm * ux, ay + side * a.radius_mm * uy)
                if _on_sweep(a, p):
                    found.append(_point_distance_mm(b, p))
            if abs(a.radius_mm - b.radius_mm) <= apart <= a.radius_mm + b.radius_mm:
                along = 0.5 * (apart + (a.radius_mm**2 - b.radius_mm**2) / apart)
                across = math.sqrt(max(0.0, a.radius_mm**2 - along**2))
                for side in (-across, across):
                    p = (ax + along * ux - side * uy, ay + along * uy + side * ux)
                    if _on_sweep(a, p) and _on_sweep(b, p):
                        return 0.0
    elif a.is_arc or b.is_arc:
        arc, line = (a, b) if a.is_arc else (b, a)
        cx, cy = arc.centre
        dx, dy = (line.x1_mm - line.x0_mm), (line.y1_mm - line.y0_mm)
        square = dx * dx + dy * dy
        t = ((cx - line.x0_mm) * dx + (cy - line.y0_mm) * dy) / square
        foot = (line.x0_mm + t * dx, line.y0_mm + t * dy)
        if 0.0 <= t <= 1.0:
            found.append(_point_distance_mm(arc, foot))
        off = math.hypot(foot[0] - cx, foot[1] - cy)
        if off <= arc.radius_mm:
            half = math.sqrt((arc.radius_mm**2 - off**2) / square)
            for u in (t - half, t + half):
                p = (line.x0_mm + u * dx, line.y0_mm + u * dy)
                if 0.0 <= u <= 1.0 and _on_sweep(arc, p):
                    return 0.0
    elif _lines_cross(a, b):
        return 0.0
    return min(found)


def _lines_cross(a: Segment, b: Segment) -> bool:
    def side(s: Segment, p: Point) -> float:
        return (s.x1_mm - s.x0_mm) * (p[1] - s.y0_mm) - (s.y1_mm - s.y0_mm) * (p[0] - s.x0_mm)

    return side(a, b.start) * side(a, b.end) < 0.0 and side(b, a.start) * side(b, a.end) < 0.0


def _on_sweep(arc: Segment, p: Point) -> bool:
    """Whether a point of the arc's circle lies on the arc itself."""
    cx, cy = arc.centre
    turn = math.atan2(p[1] - cy, p[0] - cx) - math.atan2(arc.y0_mm - cy, arc.x0_mm - cx)
    sweep = arc.sweep_rad
    turn = turn % (2.0 * math.pi) if sweep > 0.0 else (-turn) % (2.0 * math.pi)
    return turn <= abs(sweep)


def _point_distance_mm(s: Segment, p: Point) -> float:
    """Exact distance of a point to a line or arc."""
    if s.is_arc:
        cx, cy = s.centre
        if (p[0] != cx or p[1] != cy) and _on_sweep(s, p):
            return abs(math.hypot(p[0] - cx, p[1] - cy) - s.radius_mm)
        return min(math.dist(p, s.start), math.dist(p, s.end))
    dx, dy = s.x1_mm - s.x0_mm, s.y1_mm - s.y0_mm
    t = ((p[0] - s.x0_mm) * dx + (p[1] - s.y0_mm) * dy) / (dx * dx + dy * dy)
    t = min(1.0, max(0.0, t))
    return math.dist(p, (s.x0_mm + t * dx, s.y0_mm + t * dy))
