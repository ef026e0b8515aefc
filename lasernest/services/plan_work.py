"""What a plan takes before its cut paths are worked out: the beam's time, and the cost of a unit.

The beam's work is that of the drawn contours. Its moves are those from each
path of a panel to the nearest one left, and from panel to nearest panel.
Quick enough for every plan that a search offers, and within a few per cent of
what the cut files take.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from lasernest.domain.contours import Point
from lasernest.domain.costs import Cost
from lasernest.domain.fits import family_of
from lasernest.domain.panels import Panel
from lasernest.domain.plan import SheetPlan
from lasernest.domain.rates import HandlingTimes, Rates
from lasernest.domain.stock import Machine, Stock
from lasernest.errors import BadValueError
from lasernest.kerf.cut_time import move_time_s
from lasernest.services.costing import SheetCost, order_cost


@dataclass(frozen=True, slots=True)
class BeamWork:
    """What the beam does for a panel or a sheet, as drawn."""

    cut_length_mm: float = 0.0
    mark_length_mm: float = 0.0
    pierces: int = 0
    moves: int = 0
    """With the beam off, one before each path."""
    travel_mm: float = 0.0
    """Length of all these moves."""

    def time_s(self, machine: Machine, *, cut_speed_mm_per_s: float) -> float:
        """The time it takes, loading not counted; moves are taken as equally long.

        Raises:
            BadValueError: a speed that is not above zero.
        """
        if not (cut_speed_mm_per_s > 0.0 and machine.mark_speed_mm_per_s > 0.0):
            raise BadValueError("a speed of zero cannot cut", todo="Give speeds above zero.")
        moving_s = 0.0
        if self.travel_mm > 0.0:
            moving_s = self.moves * move_time_s(
                self.travel_mm / self.moves, machine.travel_mm_per_s, machine.acceleration_mm_per_s2
            )
        return (
            self.cut_length_mm / cut_speed_mm_per_s
            + self.mark_length_mm / machine.mark_speed_mm_per_s
            + self.pierces * machine.pierce_s
            + moving_s
        )


class PanelWorks:
    """The beam's work for each of some panels, worked out when it is first asked for."""

    def __init__(self, panels: Mapping[str, Panel]) -> None:
        self._panels = panels
        self._known: dict[str, tuple[BeamWork, Point]] = {}

    def sheet(self, plan: SheetPlan) -> BeamWork:
        """The work on one sheet."""
        parts = [self._of(placement.panel_name) for placement in plan.placements]
        middles = [p.pose.apply(*at) for p, (_, at) in zip(plan.placements, parts, strict=True)]
        works = [work for work, _ in parts]
        return BeamWork(
            math.fsum(work.cut_length_mm for work in works),
            math.fsum(work.mark_length_mm for work in works),
            sum(work.pierces for work in works),
            sum(work.moves for work in works),
            math.fsum(work.travel_mm for work in works) + _way_mm([(0.0, 0.0), *middles]),
        )

    def _of(self, name: str) -> tuple[BeamWork, Point]:
        """The work on a panel from its first path on, and the middle of its box, as drawn."""
        known = self._known.get(name)
        if known is None:
            panel = self._panels[name]
            paths = [*(mark.path for mark in panel.marks), *panel.inner, panel.outer]
            x0, y0, x1, y1 = panel.bounds_mm()
            work = BeamWork(
                panel.cut_length_mm,
                math.fsum(mark.path.length_mm for mark in panel.marks),
                1 + len(panel.inner),
                len(paths),
                _way_mm([path.start for path in paths]),
            )
            known = self._known[name] = (work, (0.5 * (x0 + x1), 0.5 * (y0 + y1)))
        return known


def _way_mm(points: Sequence[Point]) -> float:
    """Length of a way from the first point through all others, always to the nearest one left."""
    left = np.array(points, dtype=float)
    here, far_mm = left[0], 0.0
    left = left[1:]
    while len(left):
        squares = ((left - here) ** 2).sum(axis=1)
        nearest = int(squares.argmin())
        far_mm += math.sqrt(squares[nearest])
        here = left[nearest].copy()
        left[nearest] = left[-1]
        left = left[:-1]
    return far_mm


@dataclass(frozen=True, slots=True)
class SheetToPay:
    """What a sheet of a plan costs: itself, and the time of machine and hands."""

    plan: SheetPlan
    stock: Stock
    beam_s: float


def plan_cost(
    sheets: Sequence[SheetToPay], *, units: int, rates: Rates | None, handling: HandlingTimes
) -> Cost:
    """What the units of a plan cost; without rates only material is counted.

    Args:
        sheets: all sheets of the plan. A sheet without a price is named in the
            answer; an offcut without one costs nothing.
        units: good ones that the plan is for.
        rates: of the shop.
        handling: times by hand.
    """
    hands_s = math.fsum(
        handling.by_hand_s(
            panels=len(sheet.plan.placements),
            masked=sheet.stock.masked,
            wood=family_of(sheet.stock.material).is_wooden,
        )
        for sheet in sheets
    )
    return order_cost(
        [
            SheetCost(1, one.plan.sheet.price, one.stock.name)
            for one in sheets
            if one.plan.sheet.price is not None or not one.plan.sheet.is_offcut
        ],
        rates=rates or Rates(0.0, 0.0),
        machine_s=math.fsum(one.beam_s + handling.load_per_sheet_s for one in sheets),
        hands_s=hands_s,
        setup_s=handling.setup_per_order_s,
        good_units=units,
    )
