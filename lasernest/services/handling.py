"""Moving panels on a sheet by hand: what they come too near to, and where they snap.

A `Hand` holds the panels that are moved and knows all others of the sheet.
While the pointer moves, it works on polygons whose chords lie within
`CHORD_ERROR_MM` of the arcs; before a move is kept, `verdict` asks the exact
check of nesting. Distances are between finished panels, as everywhere.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
import shapely.affinity

from lasernest.domain.contours import Bounds, Pose
from lasernest.domain.panels import Panel
from lasernest.domain.plan import Placement, Sheet, SheetPlan
from lasernest.geometry.extents import measured
from lasernest.geometry.flatten import ring_polygon
from lasernest.nesting.check import CHORD_ERROR_MM, drawn_polygon, spot_problems

Key = tuple[str, int]
"""Name of a panel and number of its copy."""

_SAFE_MM = 2.5 * CHORD_ERROR_MM
"""Added to a gap that was found on polygons: two chords may stand for two arcs."""
_PUSHES = 6
_RINGS, _SPOKES = 60, 24


@dataclass(frozen=True, slots=True)
class Touch:
    """What the moved panels come too near to at one place."""

    others: frozenset[Key] = frozenset()
    edge: bool = False
    """They leave the sheet's free area."""

    @property
    def free(self) -> bool:
        return not self.others and not self.edge


@dataclass(frozen=True, slots=True)
class _Held:
    """One moved panel where it lay when it was taken."""

    placement: Placement
    shape: shapely.Polygon
    bounds: Bounds


class Hand:
    """Panels of one sheet, taken to be moved.

    Args:
        plan: the sheet with all its panels.
        panels: by name, as they will be cut.
        keys: the copies to move.
        gap_mm: least distance between finished panels.
    """

    def __init__(
        self, plan: SheetPlan, panels: Mapping[str, Panel], keys: frozenset[Key], gap_mm: float
    ) -> None:
        self._sheet, self._gap_mm = plan.sheet, gap_mm
        self._held: list[_Held] = []
        self._others: list[Placement] = []
        self._panels = {p.panel_name: panels[p.panel_name] for p in plan.placements}
        self._least_mm2 = 0.0
        drawn: dict[str, Bounds] = {}
        if self._panels:
            # Measured all at once: a sheet may hold a thousand different panels.
            outlines = measured([panel.outer for panel in self._panels.values()])
            self._least_mm2 = float(np.abs(outlines.areas_mm2).min())
            for name, (x0, y0, x1, y1) in zip(
                self._panels, outlines.boxes_mm.tolist(), strict=True
            ):
                drawn[name] = (x0, y0, x1, y1)
        self._solid: dict[str, Panel] = {}
        for placement in plan.placements:
            if (placement.panel_name, placement.copy) in keys:
                panel, pose = self._solid_of(placement.panel_name), placement.pose
                matrix = (*pose.matrix(), pose.x_mm, pose.y_mm)
                shape = shapely.affinity.affine_transform(drawn_polygon(panel), matrix)
                self._held.append(_Held(placement, shape, panel.posed_bounds_mm(pose)))
            else:
                self._others.append(placement)
        # Most others are never near: only their boxes are worked out for all.
        self._posed: dict[int, tuple[Panel, shapely.Polygon]] = {}
        self._boxes = [self._box(p, drawn) for p in self._others]
        sides = np.array(self._boxes).reshape(-1, 4).T
        self._tree = shapely.STRtree(shapely.box(*sides))
        self._free = _free_area(plan.sheet)

    def _solid_of(self, name: str) -> Panel:
        """A panel as far as it can be in another's way.

        Marks take no room, and a hole with less area than the smallest panel takes none in.
        """
        if name not in self._solid:
            panel = self._panels[name]
            least_mm2 = self._least_mm2 * (1.0 - 1e-9)
            inner = tuple(hole for hole in panel.inner if hole.area_mm2 >= least_mm2)
            self._solid[name] = replace(panel, inner=inner, marks=())
        return self._solid[name]

    def _box(self, placement: Placement, drawn: Mapping[str, Bounds]) -> Bounds:
        """The box of another panel as it lies, from its drawn box where that is exact."""
        name, pose = placement.panel_name, placement.pose
        if pose.turn_deg % 90.0 != 0.0:
            return self._panels[name].posed_bounds_mm(pose)
        return pose.box(drawn[name])

    def _other(self, index: int) -> tuple[Panel, shapely.Polygon]:
        """Another panel as it lies, and its polygon."""
        known = self._posed.get(index)
        if known is None:
            placement = self._others[index]
            panel = self._solid_of(placement.panel_name).posed(placement.pose)
            known = self._posed[index] = (panel, drawn_polygon(panel))
        return known

    # --- while the pointer moves ---------------------------------------------------------

    def touch(self, dx_mm: float, dy_mm: float) -> Touch:
        """What the panels come too near to when they are moved by so much."""
        hit: set[Key] = set()
        edge = False
        for held in self._held:
            shape = shapely.affinity.translate(held.shape, dx_mm, dy_mm)
            edge = edge or not self._inside(held, shape, dx_mm, dy_mm)
            for index in self._near(shape):
                if self._distance(shape, self._other(index)[1]) < self._gap_mm - _SAFE_MM:
                    hit.add(_key(self._others[index]))
        return Touch(frozenset(hit), edge)

    def _inside(self, held: _Held, shape: shapely.Polygon, dx_mm: float, dy_mm: float) -> bool:
        if self._free is None:
            x0, y0, x1, y1 = held.bounds
            margin_mm = self._sheet.margin_mm - 1e-9
            return (
                x0 + dx_mm >= margin_mm
                and y0 + dy_mm >= margin_mm
                and x1 + dx_mm <= self._sheet.width_mm - margin_mm
                and y1 + dy_mm <= self._sheet.height_mm - margin_mm
            )
        return bool(self._free.covers(shape))

    def _near(self, shape: shapely.Polygon, reach_mm: float = 0.0) -> list[int]:
        reach_mm += self._gap_mm
        x0, y0, x1, y1 = shape.bounds
        box = shapely.box(x0 - reach_mm, y0 - reach_mm, x1 + reach_mm, y1 + reach_mm)
        return sorted(int(i) for i in self._tree.query(box))

    def _distance(self, a: shapely.Polygon, b: shapely.Polygon) -> float:
        """Zero or less where they overlap; with no gap asked for, touching is not overlapping."""
        if self._gap_mm > 0.0:
            return float(shapely.distance(a, b))
        return -1.0 if shapely.area(shapely.intersection(a, b)) > 1e-6 else 0.0

    # --- snapping ------------------------------------------------------------------------

    def snapped(self, dx_mm: float, dy_mm: float, within_mm: float) -> tuple[float, float]:
        """A nearby move that keeps exactly the gap to a neighbour or the margin to an edge.

        Sides of boxes snap first, in x and y apart; then shapes that are still
        a little too near are pushed apart, and shapes a little too far (where
        no side snapped) are not drawn in: the maker sees the gap anyway.
        """
        held = max(self._held, key=lambda h: h.shape.area)
        dx_mm += _nearest(self._steps(held, dx_mm, dy_mm, axis=0), within_mm)
        dy_mm += _nearest(self._steps(held, dx_mm, dy_mm, axis=1), within_mm)
        return self._pushed(dx_mm, dy_mm, within_mm)

    def _steps(self, held: _Held, dx_mm: float, dy_mm: float, *, axis: int) -> Iterator[float]:
        """How far a box could be moved along one axis to stand well to a neighbour or an edge."""
        x0, y0, x1, y1 = held.bounds
        moved = (x0 + dx_mm, y0 + dy_mm, x1 + dx_mm, y1 + dy_mm)
        low, high = moved[axis], moved[axis + 2]
        if self._free is None:
            margin_mm = self._sheet.margin_mm
            size_mm = (self._sheet.width_mm, self._sheet.height_mm)[axis]
            yield margin_mm - low
            yield size_mm - margin_mm - high
        other = 1 - axis
        for box in self._boxes:
            beside = (
                box[other] < moved[other + 2] + self._gap_mm
                and box[other + 2] > moved[other] - self._gap_mm
            )
            if beside:
                yield box[axis + 2] + self._gap_mm - low
                yield box[axis] - self._gap_mm - high
            yield box[axis] - low
            yield box[axis + 2] - high

    def _pushed(self, dx_mm: float, dy_mm: float, within_mm: float) -> tuple[float, float]:
        """The move with panels pushed off their neighbours, as long as that takes little."""
        start = (dx_mm, dy_mm)
        wanted_mm = self._gap_mm + _SAFE_MM
        for _ in range(_PUSHES):
            push = self._push(dx_mm, dy_mm, wanted_mm)
            if push is None:
                return (dx_mm, dy_mm)
            dx_mm, dy_mm = dx_mm + push[0], dy_mm + push[1]
            if math.dist((dx_mm, dy_mm), start) > within_mm:
                return start
        return (dx_mm, dy_mm) if self.touch(dx_mm, dy_mm).free else start

    def _push(self, dx_mm: float, dy_mm: float, wanted_mm: float) -> tuple[float, float] | None:
        """One step away from the nearest neighbour; None when all are far enough."""
        worst: tuple[float, tuple[float, float]] | None = None
        for held in self._held:
            shape = shapely.affinity.translate(held.shape, dx_mm, dy_mm)
            for index in self._near(shape):
                other = self._other(index)[1]
                distance_mm = float(shapely.distance(shape, other))
                if not 0.0 < distance_mm < self._gap_mm - _SAFE_MM:
                    continue
                (ax, ay), (bx, by) = shapely.get_coordinates(shapely.shortest_line(shape, other))
                share = (wanted_mm - distance_mm) / distance_mm
                step = (float(ax - bx) * share, float(ay - by) * share)
                if worst is None or distance_mm < worst[0]:
                    worst = (distance_mm, step)
        return worst[1] if worst else None

    # --- keeping a move ------------------------------------------------------------------

    def moved(self, dx_mm: float, dy_mm: float) -> tuple[Placement, ...]:
        """The placements after a move."""
        return tuple(
            replace(held.placement, pose=_shifted(held.placement.pose, dx_mm, dy_mm))
            for held in self._held
        )

    def verdict(self, dx_mm: float, dy_mm: float) -> str:
        """Why a move cannot be kept, by the exact check; empty when it can."""
        for held in self._held:
            panel = self._solid_of(held.placement.panel_name)
            lying = panel.posed(_shifted(held.placement.pose, dx_mm, dy_mm))
            name = f"{held.placement.panel_name} {held.placement.copy}"
            shape = shapely.affinity.translate(held.shape, dx_mm, dy_mm)
            others = {
                f"{self._others[i].panel_name} {self._others[i].copy}": self._other(i)[0]
                for i in self._near(shape, reach_mm=1.0)
            }
            problems = spot_problems(name, lying, others, self._sheet, gap_mm=self._gap_mm)
            if problems:
                return problems[0]
        return ""

    def nearest_free(
        self, dx_mm: float = 0.0, dy_mm: float = 0.0, *, within_mm: float = 60.0
    ) -> tuple[float, float] | None:
        """The free move nearest to a wanted one, looked for on rings; None within so much."""
        wanted = self.snapped(dx_mm, dy_mm, self._gap_mm)
        if self.touch(*wanted).free and not self.verdict(*wanted):
            return wanted
        for ring in range(1, _RINGS + 1):
            radius_mm = within_mm * ring / _RINGS
            for spoke in range(_SPOKES):
                angle = 2.0 * math.pi * spoke / _SPOKES
                at = (dx_mm + radius_mm * math.cos(angle), dy_mm + radius_mm * math.sin(angle))
                at = self.snapped(*at, 0.5 * within_mm / _RINGS)
                if self.touch(*at).free and not self.verdict(*at):
                    return at
        return None


def _shifted(pose: Pose, dx_mm: float, dy_mm: float) -> Pose:
    return replace(pose, x_mm=pose.x_mm + dx_mm, y_mm=pose.y_mm + dy_mm)


def _key(placement: Placement) -> Key:
    return (placement.panel_name, placement.copy)


def turned(placement: Placement, panel: Panel, by_deg: float) -> Placement:
    """The placement turned about the middle of its box."""
    pose = placement.pose
    before = panel.posed_bounds_mm(pose)
    spun = replace(pose, turn_deg=(pose.turn_deg + by_deg) % 360.0)
    after = panel.posed_bounds_mm(spun)
    return replace(
        placement,
        pose=replace(
            spun,
            x_mm=spun.x_mm + 0.5 * (before[0] + before[2] - after[0] - after[2]),
            y_mm=spun.y_mm + 0.5 * (before[1] + before[3] - after[1] - after[3]),
        ),
    )


def free_place(
    plan: SheetPlan, panels: Mapping[str, Panel], placement: Placement, gap_mm: float
) -> Placement | None:
    """Where a panel of another sheet would find room on this one, low and left first.

    Corners of boxes are tried, grown by the gap, then a raster of 5 mm.
    """
    x0, y0, x1, y1 = panels[placement.panel_name].posed_bounds_mm(placement.pose)
    visitor = replace(placement, copy=0)
    hand = Hand(
        SheetPlan(plan.sheet, (*plan.placements, visitor)),
        panels,
        frozenset({(placement.panel_name, 0)}),
        gap_mm,
    )
    margin_mm = plan.sheet.margin_mm
    boxes = [panels[p.panel_name].posed_bounds_mm(p.pose) for p in plan.placements]
    lefts = [margin_mm, *(box[2] + gap_mm for box in boxes)]
    lows = [margin_mm, *(box[3] + gap_mm for box in boxes)]
    most_x = plan.sheet.width_mm - margin_mm - (x1 - x0)
    most_y = plan.sheet.height_mm - margin_mm - (y1 - y0)
    spots = [(x, y) for x in _up_to(lefts, most_x) for y in _up_to(lows, most_y)]
    raster = [(x, y) for x in _raster(margin_mm, most_x) for y in _raster(margin_mm, most_y)]
    for x, y in [*spots, *raster]:
        move = (x - x0, y - y0)
        if hand.touch(*move).free and not hand.verdict(*move):
            (found,) = hand.moved(*move)
            return replace(found, copy=placement.copy)
    return None


def _up_to(values: Sequence[float], most: float) -> list[float]:
    return sorted({v for v in values if v <= most + 1e-9})


def _raster(least: float, most: float) -> list[float]:
    return (
        [least + 5.0 * i for i in range(int(max(0.0, most - least) / 5.0) + 1)]
        if (most >= least)
        else []
    )


def _free_area(sheet: Sheet) -> shapely.Polygon | None:
    """Where panels may lie on a shaped sheet; None for a plain rectangle."""
    if sheet.outline is None and not sheet.holes:
        return None
    shape = (
        ring_polygon(sheet.outline, chord_error_mm=CHORD_ERROR_MM)
        if sheet.outline is not None
        else shapely.box(0.0, 0.0, sheet.width_mm, sheet.height_mm)
    )
    for hole in sheet.holes:
        shape = shape.difference(ring_polygon(hole, chord_error_mm=CHORD_ERROR_MM))
    free = shape.buffer(-sheet.margin_mm)
    shapely.prepare(free)
    return free


def _nearest(steps: Iterator[float], within_mm: float) -> float:
    """The smallest of some steps, 0 when none is within reach."""
    step = min(steps, key=abs, default=0.0)
    return step if abs(step) <= within_mm else 0.0
