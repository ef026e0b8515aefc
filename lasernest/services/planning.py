"""From a job to sheet plans: what nesting is asked, and the figures of its answer."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from lasernest.domain.contours import Contour, Pose
from lasernest.domain.control import Control
from lasernest.domain.panels import Panel
from lasernest.domain.plan import NestRequest, PanelOrder, Plan, Sheet, SheetPlan, Turns
from lasernest.domain.stock import Stock
from lasernest.errors import BadValueError
from lasernest.job import Job, working_parts
from lasernest.nesting import Budget, arrange
from lasernest.nesting.objectives import rank
from lasernest.services.part_planning import PartSearch, arrange_parts


@dataclass(frozen=True, slots=True)
class SheetFigures:
    """What one sheet plan uses of its sheet.

    `yield_share` is the net area of its panels over the area of the sheet;
    `used_length_mm` reaches from the left edge to the right end of the last
    panel plus the margin, and `used_yield_share` is the yield of that part.
    """

    panels: int
    net_area_mm2: float
    sheet_area_mm2: float
    yield_share: float
    used_length_mm: float
    used_yield_share: float


def request_of(job: Job, panels: Mapping[str, Panel] | None = None) -> NestRequest:
    """What nesting is asked for a job.

    Args:
        job: of one stock, or one of the parts by stock (`lasernest.job.parts_of`).
        panels: the panels as they will be cut, joints applied; the drawn ones
            where none are given.

    Raises:
        UsageError: no stock is chosen.
        BadValueError: no panels, or a gap below the kerf.
    """
    size = job.setup.chosen_size
    stock, kerf = job.setup.cut_from()
    if size is None:
        raise BadValueError(f"{stock.name} has no sheet size", todo="Choose one.")
    if not job.has_work:
        raise BadValueError("there are no panels to arrange", todo="Add a drawing first.")
    widest_mm = max(kerf.x_mm, kerf.y_mm)
    if job.setup.gap_mm < widest_mm:
        raise BadValueError(
            f"the gap of {job.setup.gap_mm:g} mm is narrower than the kerf of {stock.name}, "
            f"{widest_mm:g} mm, so panels would cut into each other",
            todo="Raise the gap to 2 mm or more.",
        )
    usual = Turns.HALF if job.setup.grain_kept else Turns.QUARTER
    orders = tuple(
        PanelOrder(
            (panels or {}).get(entry.name, entry.panel),
            job.copies_of(entry),
            entry.turns or usual,
            entry.may_mirror,
            priority=entry.priority,
            as_many_as_fit=entry.as_many_as_fit,
            product=job.name or "unit",
            per_product=entry.quantity,
        )
        for entry in job.panels
        if entry.quantity or entry.as_many_as_fit
    )
    sheet = Sheet(
        size.width_mm,
        size.height_mm,
        job.setup.margin_mm,
        available=size.count,
        price=size.price,
        label=stock.name,
        stock_name=stock.name,
    )
    kept = tuple(
        replace(offcut.sheet(margin_mm=job.setup.margin_mm), stock_name=stock.name)
        for offcut in job.setup.offcuts
    )
    return NestRequest(
        orders,
        (*kept, sheet),
        job.setup.gap_mm,
        together=job.setup.units_together,
        long_sides_along=job.setup.long_sides_along,
    )


def arrange_job(
    job: Job,
    *,
    control: Control,
    budget: Budget,
    seed: int = 1,
    workers: int = 1,
    panels: Mapping[str, Panel] | None = None,
    start: Plan | None = None,
) -> Plan:
    """Arrange a job's panels, from nothing or going on from a plan; see `nesting.arrange`.

    Panels of several stocks are arranged part by part, see `part_planning`.
    """

    def arrange_part(part: Job, how: PartSearch) -> Plan:
        return arrange(
            request_of(part, panels),
            control=how.control,
            budget=how.budget,
            seed=how.seed,
            workers=workers,
            start=how.start,
        )

    return arrange_parts(job, arrange_part, PartSearch(control, budget, seed, start))


def requests_of(job: Job, panels: Mapping[str, Panel] | None = None) -> tuple[NestRequest, ...]:
    """What nesting is asked for each stock of a job; see `request_of`."""
    return tuple(request_of(part, panels) for part in working_parts(job))


def plan_rank(plan: Plan, requests: Sequence[NestRequest]) -> tuple[float, ...]:
    """How good a plan is by what nesting looks for; lower wins.

    Args:
        plan: of a whole job.
        requests: of all its stocks, see `requests_of`. A plan that is better for one
            stock and no worse for the others is better as a whole.
    """
    missing: Counter[int] = Counter()
    rest = [0.0] * 5
    for request in requests:
        orders = {order.panel.name: order for order in request.orders}
        index = {name: i for i, name in enumerate(orders)}
        sheets = [s for s in plan.sheets if all(p.panel_name in orders for p in s.placements)]
        laid = [Counter(index[p.panel_name] for p in one.placements) for one in sheets]
        panels = {name: order.panel for name, order in orders.items()}
        used_mm = sheet_figures(sheets[-1], panels).used_length_mm if sheets else 0.0
        own = rank(request, [one.sheet for one in sheets], laid, used_mm)
        levels = sorted({order.priority for order in request.orders}, reverse=True)
        for level, count in zip(levels, own, strict=False):
            missing[level] += int(count)
        rest = [a + b for a, b in zip(rest, own[len(levels) :], strict=True)]
    return (*(float(missing[level]) for level in sorted(missing, reverse=True)), *rest)


def sheet_figures(plan: SheetPlan, panels: Mapping[str, Panel]) -> SheetFigures:
    """The figures of one sheet plan."""
    area_mm2 = {name: panels[name].net_area_mm2 for name in {p.panel_name for p in plan.placements}}
    net_mm2 = math.fsum(area_mm2[p.panel_name] for p in plan.placements)
    right_mm = max(
        (_right_mm(panels[p.panel_name].outer, p.pose) for p in plan.placements),
        default=0.0,
    )
    sheet = plan.sheet
    used_mm = min(sheet.width_mm, right_mm + sheet.margin_mm) if plan.placements else 0.0
    used_mm2 = used_mm * sheet.height_mm
    return SheetFigures(
        len(plan.placements),
        net_mm2,
        sheet.area_mm2,
        net_mm2 / sheet.area_mm2,
        used_mm,
        net_mm2 / used_mm2 if used_mm2 else 0.0,
    )


def _right_mm(outer: Contour, pose: Pose) -> float:
    """How far to the right a contour reaches under a pose."""
    if outer.has_arcs:
        return outer.posed(pose).bounds_mm()[2]
    a, b, _, _ = pose.matrix()
    return max(a * v[0] + b * v[1] for v in outer.vertices) + pose.x_mm


def plan_yield_share(plan: Plan, panels: Mapping[str, Panel]) -> float:
    """Net area of all placed panels over the area of all sheets used."""
    return yield_of_all([sheet_figures(sheet, panels) for sheet in plan.sheets])


def yield_of_all(figures: Sequence[SheetFigures]) -> float:
    """The yield of several sheets together."""
    sheets_mm2 = math.fsum(f.sheet_area_mm2 for f in figures)
    return math.fsum(f.net_area_mm2 for f in figures) / sheets_mm2 if sheets_mm2 else 0.0


def weight_g(area_mm2: float, stock: Stock) -> float | None:
    """Weight of an area of this stock, None when its density is not known."""
    if stock.density_g_per_cm3 is None:
        return None
    return area_mm2 * stock.working_thickness_mm * stock.density_g_per_cm3 / 1000.0
