"""The same job on several stocks, side by side.

Each stock brings its own kerf, measured thickness (so its own joints), fit and
grain. Every figure is worked out from plans made for that stock, never from
another one's. Machine times of the larger numbers of units are those of the
job's own plan, panel for panel, plus the loading of their sheets. Numbers of units that
come to more panels than `MOST_PLANNED` are not planned: their sheets are in proportion to a
plan of fewer, which the figure tells.
"""

from __future__ import annotations

import hashlib
import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from lasernest.domain.comparison import ComparedStock, Comparison, OtherSheets, UnitsMade
from lasernest.domain.control import Control, Stretch
from lasernest.domain.costs import Cost
from lasernest.domain.fits import family_of
from lasernest.domain.panels import Panel
from lasernest.domain.plan import Plan
from lasernest.domain.rates import HandlingTimes, Rates
from lasernest.domain.records import KerfRecord
from lasernest.domain.stock import Machine, SheetSize, Stock
from lasernest.errors import UsageError
from lasernest.job import Job, parts_of, plan_of_part
from lasernest.joints.joined import Joined
from lasernest.kerf.cut_time import travel_moves_mm
from lasernest.nesting import Budget
from lasernest.services.bench_sheets import planned_sheets, sheet_areas, sheet_time, together
from lasernest.services.commands import ChooseStock, SetSheetSize
from lasernest.services.costing import SheetCost, order_cost
from lasernest.services.joining import join_job
from lasernest.services.joint_forecast import forecast_joints
from lasernest.services.machine_choice import speeds_of
from lasernest.services.main_job import findings_of_stocks
from lasernest.services.planning import arrange_job, sheet_figures, weight_g
from lasernest.services.tuning import tune

USUAL_UNITS = (1, 10, 50)
MOST_PLANNED = 3000
"""Panels; a first plan of so many different ones, with its check, takes some 7 s."""


@dataclass(frozen=True, slots=True)
class Candidate:
    """A stock to compare, and which of its sheets."""

    stock: Stock
    size: SheetSize | None = None
    """None: the first one."""

    @property
    def sheet(self) -> SheetSize | None:
        """The size that is meant."""
        return self.size or (self.stock.sizes[0] if self.stock.sizes else None)


def compare_stocks(
    job: Job,
    candidates: Sequence[Candidate],
    *,
    control: Control,
    seconds: float = 5.0,
    unit_counts: Sequence[int] = USUAL_UNITS,
    rates: Rates | None = None,
    machine: Machine | None = None,
    handling: HandlingTimes | None = None,
    records: Mapping[str, Sequence[KerfRecord]] | None = None,
    on: date | None = None,
    workers: int = 1,
    seed: int = 1,
) -> Comparison:
    """Plan a job on each of several stocks.

    Args:
        job: panels, joints and units; its own stock is exchanged. Panels of other stocks
            stay on theirs and are counted in every column.
        candidates: two or more, as they lie in the shop.
        control: progress; each finished column is offered as a comparison so far.
            Stop ends the search of plans early and leaves out the cost of other
            numbers of units that were not worked out yet.
        seconds: search for each stock's own plan; the other numbers of units
            get first plans.
        unit_counts: numbers of units to tell the cost of, besides the job's own.
        rates: of the shop; None counts material only.
        machine: for times.
        handling: times by hand.
        records: by stock name, what was measured and felt; panels that the job cuts from
            other stocks stay on them, so those are looked up too.
        on: today, for the age of records.
        workers, seed: of the search.

    Raises:
        UsageError: fewer than two stocks, or one of them twice.
        LasernestError: the job cannot be done on one of them.
    """
    if len(candidates) < 2:
        raise UsageError("a comparison needs two stocks", todo="Name another one.")
    chosen = [(c.stock.name, c.sheet) for c in candidates]
    twice = next((name for name, size in chosen if chosen.count((name, size)) > 1), None)
    if twice is not None:
        raise UsageError(
            f"{twice} is to be compared with itself",
            todo="Choose another stock, or another of its sheets.",
        )
    today = on or date.today()
    bare = Comparison(job.setup.units, (), rates, basis_of(job, machine), today)
    columns: tuple[ComparedStock, ...] = ()
    for number, candidate in enumerate(candidates):
        control.check()
        stage = _Stage(
            control,
            begin=number / len(candidates),
            share=1.0 / len(candidates),
            note=f"Planning {candidate.stock.name}",
        )
        stage.report(0.0, 1.0)
        column = _column(
            on_candidate(job, candidate),
            control=stage,
            budget=Budget(seconds=seconds),
            unit_counts=unit_counts,
            rates=rates,
            machine=machine or Machine(),
            handling=handling or HandlingTimes(),
            records=records or {},
            on=today,
            workers=workers,
            seed=seed,
        )
        columns = (*columns, column)
        control.offer(replace(bare, columns=columns))
    return replace(bare, columns=columns)


def basis_of(job: Job, machine: Machine | None = None) -> str:
    """A digest of all that a comparison rests on, besides stocks, records and rates.

    Args:
        job: as it is.
        machine: whose times it counts; a plain one when not given.
    """
    rules = replace(job.joint_rules, thickness_mm=None)
    setup = job.setup
    order = (setup.units, setup.spares, setup.scrap_share)
    looked_at = (
        job.panels, job.joints, rules, order, setup.gap_mm, setup.margin_mm, setup.other_stocks,
        speeds_of(machine or Machine()),
    )  # fmt: skip
    return hashlib.sha256(repr(looked_at).encode()).hexdigest()[:16]


def on_candidate(job: Job, candidate: Candidate) -> Job:
    """The job on a stock, with the joints that its own thickness asks for."""
    moved = ChooseStock(candidate.stock).apply(job)
    # The joints follow the stock's own thickness and the fit it is known to need.
    rules = replace(moved.joint_rules, thickness_mm=None)
    # Compared are whole sheets.
    others = tuple(replace(choice, offcuts=()) for choice in moved.setup.other_stocks)
    setup = replace(moved.setup, other_stocks=others)
    moved = moved.changed(joint_rules=rules, setup=setup, plan=None)
    size = candidate.size
    return SetSheetSize(size).apply(moved) if size is not None else moved


def panels_on(job: Job, column: ComparedStock) -> tuple[Job, dict[str, Panel]]:
    """A job on a compared stock, and its panels as they are cut from it."""
    moved = on_candidate(job, Candidate(column.stock, column.size))
    return moved, {panel.name: panel for panel in join_job(moved).panels}


@dataclass(frozen=True, slots=True)
class KeepComparison:
    """Keep a comparison with the job; None puts it away."""

    comparison: Comparison | None

    @property
    def label(self) -> str:
        return "Compare stocks" if self.comparison is not None else "Put the comparison away"

    def apply(self, job: Job) -> Job:
        return job.changed(comparison=self.comparison)


@dataclass(frozen=True, slots=True)
class PlanWith:
    """Cut the job from a compared stock, with the plan that was made for it."""

    column: ComparedStock

    @property
    def label(self) -> str:
        return f"Plan with {self.column.stock.name}"

    def apply(self, job: Job) -> Job:
        moved = on_candidate(job, Candidate(self.column.stock, self.column.size))
        return moved.changed(plan=self.column.plan)


class _Stage(Stretch):
    """The planning of one column."""

    def offer(self, result: Any) -> None:
        """A plan that is still improved is no comparison yet."""


def _column(
    job: Job,
    *,
    control: Control,
    budget: Budget,
    unit_counts: Sequence[int],
    rates: Rates | None,
    machine: Machine,
    handling: HandlingTimes,
    records: Mapping[str, Sequence[KerfRecord]],
    on: date,
    workers: int,
    seed: int,
) -> ComparedStock:
    (stock, _), size = job.setup.cut_from(), job.setup.chosen_size
    if size is None:
        raise UsageError("a stock to compare has no sheet size")
    joined = join_job(job)
    panels = {panel.name: panel for panel in joined.panels}
    plan = arrange_job(
        job, control=control, budget=budget, seed=seed, workers=workers, panels=panels
    )
    column = _planned(job, plan, panels, stock, size, machine, handling)
    plans = {job.setup.units: plan}
    counts = {job.setup.units: job.setup.units}
    """What is told, each with the number of units that it is planned for."""
    for count in sorted(set(unit_counts) - set(plans)):
        if not control.stopped:
            planned = _planned_units(job, count)
            if planned not in plans:
                first = Budget(seconds=0.0)
                fewer = _with_units(job, planned)
                plans[planned] = arrange_job(fewer, control=control, budget=first, panels=panels)
            counts[count] = planned

    def made(count: int, planned: int) -> UnitsMade:
        more = _with_units(job, count)
        laid = _with_units(job, planned)
        sheets, others = _sheets(laid, plans[planned], panels)
        if planned != count:
            times = more.panel_count / laid.panel_count
            sheets *= times
            others = tuple(replace(o, count=_whole(o.count * times)) for o in others)
        loading_s = handling.load_per_sheet_s * _whole(sheets)
        machine_s = column.machine_s / job.panel_count * more.panel_count + loading_s
        hands_s = _hands_s(more, handling, {p.name: more.copies_of(p) for p in more.panels})
        setup_s = handling.setup_per_order_s
        cost = _cost(size, rates, count, sheets, others, machine_s, hands_s, setup_s)
        scaled = planned if planned != count else 0
        return UnitsMade(count, sheets, machine_s, hands_s, setup_s, cost, others, scaled)

    known = [record for one in job.setup.stocks for record in records.get(one.name, ())]
    return replace(
        column,
        share_in_fit=_share_in_fit(job, joined, records, on),
        made=tuple(made(count, planned) for count, planned in sorted(counts.items())),
        findings=(*joined.findings, *findings_of_stocks(job, known, on=on)),
    )


def recosted(comparison: Comparison, rates: Rates | None) -> Comparison:
    """The same plans at other rates."""

    def again(column: ComparedStock, made: UnitsMade) -> UnitsMade:
        times = (made.machine_s, made.hands_s, made.setup_s)
        cost = _cost(column.size, rates, made.units, made.sheets, made.others, *times)
        return replace(made, cost=cost)

    columns = tuple(
        replace(column, made=tuple(again(column, made) for made in column.made))
        for column in comparison.columns
    )
    return replace(comparison, columns=columns, rates=rates)


def _cost(
    size: SheetSize,
    rates: Rates | None,
    units: int,
    sheets: float,
    others: Sequence[OtherSheets],
    machine_s: float,
    hands_s: float,
    setup_s: float,
) -> Cost:
    own = _whole(sheets) - sum(other.count for other in others)
    return order_cost(
        [SheetCost.of(size, own), *(SheetCost.of(other.size, other.count) for other in others)],
        rates=rates or Rates(0.0, 0.0),
        machine_s=machine_s,
        hands_s=hands_s,
        setup_s=setup_s,
        good_units=units,
    )


def _whole(sheets: float) -> int:
    return math.ceil(sheets - 1e-9)


def _planned(
    job: Job,
    plan: Plan,
    panels: Mapping[str, Panel],
    stock: Stock,
    size: SheetSize,
    machine: Machine,
    handling: HandlingTimes,
) -> ComparedStock:
    """The figures of the job's own plan."""
    laid = planned_sheets(plan, panels, job.setup)
    areas = together([sheet_areas(one, panels) for one in laid])
    times = [sheet_time(one, machine) for one in laid]
    placed = Counter(p.panel_name for sheet in plan.sheets for p in sheet.placements)
    return ComparedStock(
        stock,
        size,
        plan,
        panels=plan.placed_count,
        sheets=_sheets(job, plan, panels)[0],
        yield_share=areas.yield_share if laid else 0.0,
        used_yield_share=areas.used_yield_share if laid else 0.0,
        kerf_mm2=areas.kerf_mm2,
        kept_offcut_mm2=areas.offcut_mm2,
        cut_length_mm=math.fsum(one.cut.cut_length_mm for one in laid),
        pierces=sum(one.cut.pierces for one in laid),
        travel_mm=math.fsum(math.fsum(travel_moves_mm(one.cut.paths)) for one in laid),
        machine_s=math.fsum(time.total_s for time in times),
        loading_s=handling.load_per_sheet_s * len(laid),
        hands_s=_hands_s(job, handling, placed),
        weight_per_unit_g=_weight_per_unit_g(job, panels),
        share_in_fit=None,
        made=(),
    )


def _sheets(
    job: Job, plan: Plan, panels: Mapping[str, Panel]
) -> tuple[float, tuple[OtherSheets, ...]]:
    """Sheets of a plan, the last one of the job's own stock by its used length; the others."""
    sheets = 0.0
    others = []
    for part in parts_of(job):
        (stock, _), size = part.setup.cut_from(), part.setup.chosen_size
        used = plan_of_part(plan, part).sheets
        if job.setup.is_own(stock.name):
            if used:
                reached_mm = sheet_figures(used[-1], panels).used_length_mm
                sheets += len(used) - 1 + reached_mm / used[-1].sheet.width_mm
        elif used and size is not None:
            sheets += len(used)
            others.append(OtherSheets(stock.name, size, len(used)))
    return sheets, tuple(others)


def _planned_units(job: Job, count: int) -> int:
    """How many units are planned to tell of `count`: all, or as many as are not too many."""
    units = job.setup.units
    if _with_units(job, count).panel_count <= max(MOST_PLANNED, job.panel_count):
        return count
    within = int(units * MOST_PLANNED / job.panel_count)
    return within if within > units else units


def _with_units(job: Job, units: int) -> Job:
    return job.changed(setup=replace(job.setup, units=units))


def _hands_s(job: Job, handling: HandlingTimes, copies: Mapping[str, int]) -> float:
    """Work by hand on so many copies of each panel."""
    total_s = 0.0
    for part in parts_of(job):
        stock, _ = part.setup.cut_from()
        total_s += handling.by_hand_s(
            panels=sum(copies.get(panel.name, 0) for panel in part.panels),
            masked=stock.masked,
            wood=family_of(stock.material).is_wooden,
        )
    return total_s


def _weight_per_unit_g(job: Job, panels: Mapping[str, Panel]) -> float | None:
    """None where the density of a stock is not known."""
    total_g = 0.0
    for part in parts_of(job):
        net_mm2 = sum(panels[p.name].net_area_mm2 * p.quantity for p in part.panels)
        grams = weight_g(net_mm2, part.setup.cut_from()[0])
        if grams is None:
            return None
        total_g += grams
    return total_g


def _share_in_fit(
    job: Job, joined: Joined, records: Mapping[str, Sequence[KerfRecord]], on: date
) -> float | None:
    tunings = {one.name: tune(one, records.get(one.name, ()), on=on) for one in job.setup.stocks}
    expected = forecast_joints(job, joined, tunings).values()
    if not expected:
        return None
    return math.fsum(one.share_in_fit for one in expected) / len(expected)
