"""From a job to sheet plans: what nesting is asked, and the figures of its answer."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from lasernest.domain.contours import Contour, Pose
from lasernest.domain.control import Control
from lasernest.domain.panels import Panel
from lasernest.domain.plan import NestRequest, PanelOrder, Plan, Sheet, SheetPlan, Turns
from lasernest.domain.stock import Stock
from lasernest.errors import BadValueError
from lasernest.job import Job
from lasernest.nesting import Budget, arrange
from lasernest.nesting.objectives import rank


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
        job: with a stock chosen.
        panels: the panels as they will be cut, joints applied; the drawn ones
            where none are given.

    Raises:
        BadValueError: no stock, no panels, or a gap below the kerf.
    """
    size = job.setup.chosen_size
    kerf = job.setup.used_kerf
    if size is None or kerf is None:
        raise BadValueError("no stock is chosen", todo="Choose the sheet to cut from.")
    if not job.has_work:
        raise BadValueError("there are no panels to arrange", todo="Add a drawing first.")
    widest_mm = max(kerf.x_mm, kerf.y_mm)
    if job.setup.gap_mm < widest_mm:
        raise BadValueError(
            f"the gap of {job.setup.gap_mm:g} mm is narrower than the kerf of {widest_mm:g} mm, "
            "so panels would cut into each other",
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
        label=job.setup.stock.name if job.setup.stock else "",
    )
    kept = tuple(offcut.sheet(margin_mm=job.setup.margin_mm) for offcut in job.setup.offcuts)
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
    """Arrange a job's panels, from nothing or going on from a plan; see `nesting.arrange`."""
    request = request_of(job, panels)
    return arrange(request, control=control, budget=budget, seed=seed, workers=workers, start=start)


def plan_rank(plan: Plan, request: NestRequest) -> tuple[float, ...]:
    """How good a plan is by what nesting looks for; lower wins."""
    panels = {order.panel.name: order.panel for order in request.orders}
    index = {order.panel.name: i for i, order in enumerate(request.orders)}
    laid = [Counter(index[p.panel_name] for p in one.placements) for one in plan.sheets]
    used_mm = sheet_figures(plan.sheets[-1], panels).used_length_mm if plan.sheets else 0.0
    return rank(request, [one.sheet for one in plan.sheets], laid, used_mm)


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
