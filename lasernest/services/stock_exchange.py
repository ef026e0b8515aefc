"""Which stock panels are cut from: one for the job, and others for panels that name them.

A stock that no panel names any more goes out of the job, with what was chosen for it. Where
all panels have left the job's own stock, the first of the others becomes its own.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from lasernest.domain.stock import SheetSize, Stock
from lasernest.job import Job, JobPanel, Setup, StockChoice


@dataclass(frozen=True, slots=True)
class CutPanelsFrom:
    """Cut panels from this stock; None for the job's own."""

    panel_names: tuple[str, ...]
    stock: Stock | None
    size: SheetSize | None = None
    """None: as the job has it for that stock, else the stock's first size."""

    @property
    def label(self) -> str:
        names = self.panel_names
        of = names[0] if len(names) == 1 else f"{len(names)} panels"
        return f"Set stock of {of}"

    def apply(self, job: Job) -> Job:
        setup, names = job.setup, set(self.panel_names)
        for name in names - {panel.name for panel in job.panels}:
            job.panel(name)
        stock_name = ""
        if self.stock is not None and not setup.is_own(self.stock.name):
            stock_name = self.stock.name
            if stock_name not in {choice.stock.name for choice in setup.other_stocks}:
                new = StockChoice(self.stock)
                setup = replace(setup, other_stocks=(*setup.other_stocks, new))
        if self.size is not None:
            setup = setup.with_choice(stock_name, sheet_size=self.size)
        moved = (replace(p, stock_name=stock_name) if p.name in names else p for p in job.panels)
        return _settled(job, setup, moved)


def exchange_stock(job: Job, stock: Stock, instead_of: str = "") -> Job:
    """The job with one of its stocks exchanged; size, kerf, grain and offcuts follow the new one.

    Args:
        job: whose panels are moved.
        stock: to cut from.
        instead_of: name of one of the job's stocks; empty for its own. Where the
            new one is another stock of the job, the panels of both come together.

    Raises:
        NotFoundError: the job has no such stock.
    """
    setup = job.setup
    old_size = setup.for_stock(instead_of).sheet_size
    size = old_size if old_size in stock.sizes else None
    others = setup.other_stocks
    if setup.is_own(instead_of):
        others = tuple(c for c in others if c.stock.name != stock.name)
        setup = replace(
            setup,
            stock=stock,
            sheet_size=size,
            kerf=None,
            keep_grain=None,
            offcuts=(),
            other_stocks=others,
        )
        return _settled(job, setup, _renamed(job.panels, stock.name, ""))
    if setup.is_own(stock.name):
        return _settled(job, setup, _renamed(job.panels, instead_of, ""))
    exchanged = tuple(
        StockChoice(stock, size) if c.stock.name == instead_of else c
        for c in others
        if c.stock.name == instead_of or c.stock.name != stock.name
    )
    setup = replace(setup, other_stocks=exchanged)
    return _settled(job, setup, _renamed(job.panels, instead_of, stock.name))


def _renamed(panels: Iterable[JobPanel], old: str, new: str) -> Iterable[JobPanel]:
    return (replace(p, stock_name=new) if p.stock_name == old else p for p in panels)


def _settled(job: Job, setup: Setup, panels: Iterable[JobPanel]) -> Job:
    """The job with these, less the stocks that no panel names."""
    settled = tuple(panels)
    named = {panel.stock_name for panel in settled}
    kept = tuple(c for c in setup.other_stocks if c.stock.name in named)
    if kept and "" not in named:
        own = kept[0].stock.name
        setup, kept = setup.for_stock(own), kept[1:]
        settled = tuple(_renamed(settled, own, ""))
    return job.changed(panels=settled, setup=replace(setup, other_stocks=kept))
