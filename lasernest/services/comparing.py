"""The same job on several stocks, side by side.

Each stock brings its own kerf, measured thickness (so its own joints), fit and
grain. Every figure is worked out from plans made for that stock, never from
another one's. Cut times of the larger numbers of units are those of the job's
own plan, unit for unit, plus the loading of their sheets.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from lasernest.domain.control import Control
from lasernest.domain.findings import Finding
from lasernest.domain.fits import Family, family_of
from lasernest.domain.panels import Panel
from lasernest.domain.plan import Plan, Unplaced
from lasernest.domain.rates import HandlingTimes, Rates
from lasernest.domain.records import KerfRecord
from lasernest.domain.stock import Machine, SheetSize, Stock
from lasernest.errors import UsageError
from lasernest.job import Job
from lasernest.joints.joined import Joined
from lasernest.kerf.cut_time import cut_time
from lasernest.nesting import Budget
from lasernest.services.commands import ChooseStock, SetSheetSize
from lasernest.services.costing import Cost, SheetCost, order_cost
from lasernest.services.cutting import sheet_cut
from lasernest.services.joining import join_job
from lasernest.services.main_job import stock_findings
from lasernest.services.planning import (
    SheetFigures,
    arrange_job,
    plan_yield_share,
    sheet_figures,
    weight_g,
)
from lasernest.services.tuning import forecast, tune

USUAL_UNITS = (1, 10, 50)
_WOODEN = frozenset({Family.PLYWOOD, Family.MDF})


@dataclass(frozen=True, slots=True)
class StockColumn:
    """What one stock would take for the job."""

    stock: Stock
    size: SheetSize
    units: int
    job: Job
    """The job on this stock, its plan kept."""
    joined: Joined
    plan: Plan
    figures: tuple[SheetFigures, ...]
    """Of each sheet of the plan."""
    yield_share: float
    cut_length_mm: float
    pierces: int
    cut_time_s: float
    hands_s: float
    """Peeling, wiping, deburring and looking, for all units."""
    weight_per_unit_g: float | None
    """None where the density is not known."""
    share_in_fit: float | None
    """Share of joints expected in the wanted fit; None without joints."""
    costs: Mapping[int, Cost]
    """By number of units; empty without rates."""
    sheets_for: Mapping[int, float]
    """By number of units: whole sheets, and the used share of the last one."""
    findings: tuple[Finding, ...]

    @property
    def last_used_share(self) -> float:
        """Used length of the last sheet over its width."""
        if not self.figures:
            return 0.0
        return self.figures[-1].used_length_mm / self.plan.sheets[-1].sheet.width_mm

    @property
    def kept_offcut_mm2(self) -> float:
        """The unused end of the last sheet."""
        if not self.plan.sheets:
            return 0.0
        sheet = self.plan.sheets[-1].sheet
        return (sheet.width_mm - self.figures[-1].used_length_mm) * sheet.height_mm

    @property
    def unplaced(self) -> tuple[Unplaced, ...]:
        return self.plan.unplaced


def compare_stocks(
    job: Job,
    stocks: Sequence[Stock],
    *,
    control: Control,
    seconds: float = 5.0,
    sizes: Mapping[str, SheetSize] | None = None,
    unit_counts: Sequence[int] = USUAL_UNITS,
    rates: Rates | None = None,
    machine: Machine | None = None,
    records: Mapping[str, Sequence[KerfRecord]] | None = None,
    on: date | None = None,
    workers: int = 1,
    seed: int = 1,
) -> tuple[StockColumn, ...]:
    """Plan a job on each of several stocks.

    Args:
        job: panels, joints and units; its own stock is not looked at.
        stocks: two or more, as they lie in the shop.
        control: progress; Stop ends the search of plans early.
        seconds: search for each stock's own plan; the other numbers of units
            get first plans.
        sizes: by stock name, another sheet size than the stock's first.
        unit_counts: numbers of units to tell the cost of.
        rates: of the shop; None leaves costs out.
        machine: for times.
        records: by stock name, what was measured and felt.
        on: today, for the age of records.
        workers, seed: of the search.

    Raises:
        UsageError: fewer than two stocks.
        LasernestError: the job cannot be done on one of them.
    """
    if len(stocks) < 2:
        raise UsageError("a comparison needs two stocks", todo="Name another one.")
    columns = []
    for number, stock in enumerate(stocks):
        control.check()
        control.report(number, len(stocks), f"Planning {stock.name}")
        columns.append(
            _column(
                _on_stock(job, stock, (sizes or {}).get(stock.name)),
                control=control,
                budget=Budget(seconds=seconds),
                unit_counts=unit_counts,
                rates=rates,
                machine=machine or Machine(),
                records=(records or {}).get(stock.name, ()),
                on=on or date.today(),
                workers=workers,
                seed=seed,
            )
        )
    return tuple(columns)


def _on_stock(job: Job, stock: Stock, size: SheetSize | None) -> Job:
    moved = ChooseStock(stock).apply(job)
    # The joints follow the stock's own thickness and the fit it is known to need.
    rules = replace(moved.joint_rules, thickness_mm=None)
    moved = moved.changed(joint_rules=rules, plan=None)
    return SetSheetSize(size).apply(moved) if size is not None else moved


def _column(
    job: Job,
    *,
    control: Control,
    budget: Budget,
    unit_counts: Sequence[int],
    rates: Rates | None,
    machine: Machine,
    records: Sequence[KerfRecord],
    on: date,
    workers: int,
    seed: int,
) -> StockColumn:
    stock, size, kerf = job.setup.stock, job.setup.chosen_size, job.setup.used_kerf
    if stock is None or size is None or kerf is None:
        raise UsageError("a stock to compare has no sheet size")
    joined = join_job(job)
    panels = {panel.name: panel for panel in joined.panels}
    plan = arrange_job(
        job, control=control, budget=budget, seed=seed, workers=workers, panels=panels
    )
    cuts = [sheet_cut(sheet, panels, kerf) for sheet in plan.sheets]
    times = [cut_time(c, machine, cut_speed_mm_per_s=stock.cut_speed_mm_per_s) for c in cuts]
    cut_s = sum(time.total_s for time in times)
    figures = tuple(sheet_figures(sheet, panels) for sheet in plan.sheets)
    units = job.setup.units
    sheets_for = {units: _sheets(plan, figures)}
    for count in unit_counts:
        if count not in sheets_for:
            sheets_for[count] = _sheets_of(job, panels, count, control)
    handling = HandlingTimes()
    per_unit = sum(panel.quantity for panel in job.panels)
    hands_s = _hands_s(stock, handling, per_unit * units)
    return StockColumn(
        stock,
        size,
        units,
        job.changed(plan=plan),
        joined,
        plan,
        figures,
        plan_yield_share(plan, panels),
        sum(cut.cut_length_mm for cut in cuts),
        sum(cut.pierces for cut in cuts),
        cut_s,
        hands_s,
        _weight_per_unit_g(job, panels, stock),
        _share_in_fit(job, joined, stock, records, on),
        {
            count: order_cost(
                [SheetCost.of(size, -int(-sheets // 1))],
                rates=rates,
                machine_s=cut_s / units * count + handling.load_per_sheet_s * -int(-sheets // 1),
                hands_s=_hands_s(stock, handling, per_unit * count),
                setup_s=0.0,
                good_units=count,
            )
            for count, sheets in sorted(sheets_for.items())
        }
        if rates is not None
        else {},
        sheets_for,
        (*joined.findings, *stock_findings(stock, kerf, records, on=on)),
    )


def _sheets(plan: Plan, figures: Sequence[SheetFigures]) -> float:
    """Sheets of a plan, the last one by its used length: 2.41 is two and 41 %."""
    if not plan.sheets:
        return 0.0
    last = figures[-1].used_length_mm / plan.sheets[-1].sheet.width_mm
    return len(plan.sheets) - 1 + last


def _sheets_of(job: Job, panels: Mapping[str, Panel], units: int, control: Control) -> float:
    other = job.changed(setup=replace(job.setup, units=units))
    plan = arrange_job(other, control=control, budget=Budget(seconds=0.0), panels=panels)
    return _sheets(plan, [sheet_figures(sheet, panels) for sheet in plan.sheets])


def _hands_s(stock: Stock, handling: HandlingTimes, panels: int) -> float:
    wooden = family_of(stock.material) in _WOODEN
    return handling.by_hand_s(panels=panels, masked=stock.masked, wood=wooden)


def _weight_per_unit_g(job: Job, panels: Mapping[str, Panel], stock: Stock) -> float | None:
    net_mm2 = sum(panels[p.name].net_area_mm2 * p.quantity for p in job.panels)
    return weight_g(net_mm2, stock)


def _share_in_fit(
    job: Job, joined: Joined, stock: Stock, records: Sequence[KerfRecord], on: date
) -> float | None:
    if not joined.joints:
        return None
    tuning = tune(stock, records, on=on)
    shares = [
        forecast(tuning, laid.interference_mm, job.joint_rules.fit).share_in_fit
        for laid in joined.joints
    ]
    return sum(shares) / len(shares)
