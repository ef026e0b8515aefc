"""A stock that the shop book has otherwise now (name, price, sizes), in a job that is cut from it.

A job keeps a copy of its stocks. The copy is brought up to date by name; size, grain, kerf
and offcuts stay as they were chosen for the job, and so does the plan where it still holds:
its sheets only get the new name, price and count.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from lasernest.domain.control import Control
from lasernest.domain.plan import Plan, Sheet
from lasernest.domain.stock import SheetSize, Stock
from lasernest.job import Job


@dataclass(frozen=True, slots=True)
class TakeChanged:
    """Cut from one of the job's stocks as the shop book has it now."""

    stock: Stock
    instead_of: str
    """Its name in the job until now."""
    plan: Plan | None = None
    """One that is known to hold for the job with this stock."""

    @property
    def label(self) -> str:
        return f"Change stock {self.instead_of}"

    def apply(self, job: Job) -> Job:
        taken = with_changed(job, self.stock, self.instead_of)
        keeps = taken.plan is not None or self.plan is None
        return taken if keeps else replace(taken, plan=self.plan)


def is_cut_from(job: Job, stock_name: str) -> bool:
    """Whether a stock of this name is one of the job's."""
    return any(stock.name == stock_name for stock in job.setup.stocks)


def cuts_alike(one: Stock, other: Stock) -> bool:
    """Whether a plan that holds for both is cut by the same files: all but sizes is the same."""
    return replace(other, sizes=one.sizes, grain=one.grain, supplier=one.supplier) == one


def with_changed(job: Job, stock: Stock, instead_of: str) -> Job:
    """The job with one of its stocks as it is now; as it was where it has no such stock."""
    if not is_cut_from(job, instead_of):
        return job
    setup = job.setup
    name = "" if setup.is_own(instead_of) else instead_of
    before = setup.for_stock(name)
    old_sizes = before.stock.sizes if before.stock is not None else ()
    setup = setup.with_choice(
        name,
        stock=stock,
        sheet_size=_followed(before.sheet_size, old_sizes, stock.sizes),
        offcuts=tuple(replace(o, stock_name=stock.name) for o in before.offcuts),
    )
    panels = job.panels
    if name and stock.name != name:
        panels = tuple(
            replace(p, stock_name=stock.name) if p.stock_name == name else p for p in panels
        )
        # Panels and stocks refer to each other: both change at once.
        return job.changed(panels=panels, setup=setup)
    return job.changed(setup=setup)


def plan_with_changed(job: Job, stock: Stock, instead_of: str, *, control: Control) -> Plan | str:
    """The plan of a job as it holds with a changed stock, or why it does not.

    Args:
        job: with a plan, before.
        stock: as it is now.
        instead_of: its name in the job.
        control: asked between panels.
    """
    from lasernest.services.remeasured import plan_held  # noqa: PLC0415 - heavy

    assert job.plan is not None
    after = with_changed(job, stock, instead_of)
    own = job.setup.is_own(instead_of)

    def is_of(sheet: Sheet) -> bool:
        return sheet.stock_name == instead_of or (own and not sheet.stock_name)

    sheets = tuple(
        replace(one, sheet=_sheet(one.sheet, stock)) if is_of(one.sheet) else one
        for one in job.plan.sheets
    )
    found = plan_held(after, replace(job.plan, sheets=sheets), control=control)
    return found.plan if found.plan is not None else found.why_not


def _sheet(sheet: Sheet, stock: Stock) -> Sheet:
    """A sheet of a plan with what the shop book says of its size now."""
    stock_name = stock.name if sheet.stock_name else ""
    if sheet.is_offcut:
        return replace(sheet, stock_name=stock_name)
    size = _of_size(sheet.width_mm, sheet.height_mm, stock.sizes)
    if size is None:
        return replace(sheet, stock_name=stock_name, label=stock.name)
    return replace(
        sheet,
        stock_name=stock_name,
        label=stock.name,
        price=size.price,
        available=size.count,
    )


def _followed(
    chosen: SheetSize | None, before: Sequence[SheetSize], now: Sequence[SheetSize]
) -> SheetSize | None:
    """The size a job takes now: the same one, or the one that its row was changed to."""
    if chosen is None:
        return None
    same = _of_size(chosen.width_mm, chosen.height_mm, now)
    if same is not None or chosen not in before:
        return same
    at = before.index(chosen)
    if at >= len(now) or len(before) != len(now):
        return None
    changed = now[at]
    return None if _of_size(changed.width_mm, changed.height_mm, before) else changed


def _of_size(width_mm: float, height_mm: float, sizes: Sequence[SheetSize]) -> SheetSize | None:
    return next((s for s in sizes if (s.width_mm, s.height_mm) == (width_mm, height_mm)), None)
