"""Booking a planned order: which sheets and offcuts it takes, what it leaves, what it gives."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from lasernest.domain.bookings import Booking, CutPanel, SheetUse
from lasernest.domain.offcuts import Offcut
from lasernest.domain.orders import CutLine, Order
from lasernest.services.bench_sheets import SheetAtHand, kept_rectangle
from lasernest.services.order_planning import OrderPlan


def booking_of(plan: OrderPlan, *, offcuts: Sequence[Offcut], on: date) -> Booking:
    """What booking an order takes from the shop and puts into it.

    Args:
        plan: of the order.
        offcuts: those that were offered to it.
        on: the day.
    """
    by_label = {offcut.label: offcut for offcut in offcuts}
    uses, kept, panels = [], [], []
    used: list[Offcut] = []
    for part in plan.parts:
        for size, count in zip(part.sizes, part.choice.counts, strict=True):
            if count:
                uses.append(SheetUse(part.stock.name, size.width_mm, size.height_mm, count))
        for number, sheet in enumerate(part.sheets, start=1):
            whole = sheet.plan.sheet
            name = _name(sheet, number)
            if whole.is_offcut:
                used.append(by_label[whole.label])
            rest = kept_rectangle(
                sheet.plan, part.panels, kerf_mm=max(part.kerf.x_mm, part.kerf.y_mm)
            )
            if rest is not None:
                piece = Offcut.of("", part.stock.name, rest)
                kept.append(replace(piece, cut_from=f"{plan.order.name}, {name}"))
            for panel, count in Counter(p.panel_name for p in sheet.plan.placements).items():
                line = part.origins[panel]
                panels.append(
                    CutPanel(
                        line.product, line.panel, count, part.stock.name,
                        _revision(plan.order, line), name,
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
