"""Booking a planned order: which sheets and offcuts it takes, what it leaves, what it gives."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date

from lasernest.domain.bookings import Booking, CutPanel, SheetUse
from lasernest.domain.offcuts import Offcut
from lasernest.domain.orders import CutLine, Order
from lasernest.domain.panels import Panel
from lasernest.job import Job
from lasernest.services.bench_sheets import SheetAtHand, kept_of
from lasernest.services.order_planning import OrderPlan, revision_of


def booking_of(plan: OrderPlan, *, offcuts: Sequence[Offcut], on: date) -> Booking:
    """What booking an order takes from the shop and puts into it.

    Args:
        plan: of the order.
        offcuts: those that were offered to it.
        on: the day.
    """
    uses: list[SheetUse] = []
    used: list[Offcut] = []
    kept: list[Offcut] = []
    panels: list[CutPanel] = []
    for part in plan.parts:
        for size, count in zip(part.sizes, part.choice.counts, strict=True):
            if count:
                uses.append(SheetUse(part.stock.name, size.width_mm, size.height_mm, count))
        used += _offcuts_used(part.sheets, offcuts)
        kept += _offcuts_kept(part.sheets, part.panels, plan.order.name)
        for number, sheet in enumerate(part.sheets, start=1):
            for panel, count in Counter(p.panel_name for p in sheet.plan.placements).items():
                line = part.origins[panel]
                panels.append(
                    CutPanel(
                        line.product, line.panel, count, part.stock.name,
                        _revision(plan.order, line), _name(sheet, number),
                    )
                )  # fmt: skip
    failed = tuple(
        CutPanel(
            line.product, line.panel, line.failed, line.stock_name, _revision(plan.order, line)
        )
        for line in plan.lines
        if line.failed
    )
    return Booking(
        on, plan.order.name, tuple(uses), tuple(used), tuple(kept), tuple(panels), failed
    )


def booking_of_job(
    job: Job,
    sheets: Sequence[SheetAtHand],
    panels: Mapping[str, Panel],
    *,
    name: str,
    on: date,
) -> Booking:
    """What booking the plan of one job takes from the shop and puts into it.

    Args:
        job: on its stocks, its plan cut from them and the offcuts it took.
        sheets: of the plan, with their files where there are some.
        panels: as they are cut.
        name: of the product; an order of this name counts the panels as cut.
        on: the day.

    """
    whole = Counter(
        (s.stock.name, s.plan.sheet.width_mm, s.plan.sheet.height_mm)
        for s in sheets
        if not s.plan.sheet.is_offcut
    )
    choices = job.setup.other_stocks
    taken = (*job.setup.offcuts, *(offcut for one in choices for offcut in one.offcuts))
    revisions = {entry.name: revision_of(entry.panel) for entry in job.panels}
    return Booking(
        on,
        name,
        tuple(SheetUse(stock_name, w, h, n) for (stock_name, w, h), n in whole.items()),
        _offcuts_used(sheets, taken),
        _offcuts_kept(sheets, panels, name),
        tuple(
            CutPanel(name, panel, count, sheet.stock.name, revisions[panel], _name(sheet, number))
            for number, sheet in enumerate(sheets, start=1)
            for panel, count in Counter(p.panel_name for p in sheet.plan.placements).items()
        ),
    )


def _offcuts_used(sheets: Sequence[SheetAtHand], offcuts: Sequence[Offcut]) -> tuple[Offcut, ...]:
    by_label = {offcut.label: offcut for offcut in offcuts}
    return tuple(by_label[s.plan.sheet.label] for s in sheets if s.plan.sheet.is_offcut)


def _offcuts_kept(
    sheets: Sequence[SheetAtHand], panels: Mapping[str, Panel], order: str
) -> tuple[Offcut, ...]:
    kept = []
    for number, sheet in enumerate(sheets, start=1):
        rest = kept_of(sheet, panels)
        if rest is not None:
            piece = Offcut.of("", sheet.stock.name, rest)
            kept.append(replace(piece, cut_from=f"{order}, {_name(sheet, number)}"))
    return tuple(kept)


def _revision(order: Order, line: CutLine) -> str:
    return next(
        need.revision
        for product in order.lines
        if product.product == line.product
        for need in product.panels
        if need.panel == line.panel
    )


def _name(sheet: SheetAtHand, number: int) -> str:
    """How history calls a sheet: by its cut file or the offcut's label."""
    if sheet.plan.sheet.is_offcut:
        return f"offcut {sheet.plan.sheet.label}"
    return sheet.file.name if sheet.file is not None else f"sheet {number}"
