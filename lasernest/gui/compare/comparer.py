"""Comparing for one desk: what is to be compared, the work in the background, what it found."""

from __future__ import annotations

import os
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from lasernest.domain.control import Control
from lasernest.domain.rates import Rates
from lasernest.domain.stock import Machine, SheetSize, Stock
from lasernest.gui.tiles import Step
from lasernest.gui.words import tr
from lasernest.job import Job
from lasernest.services.apart import helpers

if TYPE_CHECKING:
    from lasernest.gui.compare.pictured import Pictured
    from lasernest.gui.desk import Desk

MOST_COLUMNS = 4


@dataclass(frozen=True, slots=True)
class Chosen:
    """What one column compares."""

    stock: Stock
    size: SheetSize | None = None

    @property
    def sheet(self) -> SheetSize | None:
        return self.size or (self.stock.sizes[0] if self.stock.sizes else None)


class Comparer(QObject):
    """What one window compares."""

    changed = Signal()

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self._desk = desk
        self.chosen: tuple[Chosen, ...] = ()
        self._found: Pictured | None = None
        self._basis = ""
        """What the job as it is would be compared by; empty while that is worked out."""
        self._basis_of: tuple[object, ...] = ()
        desk.job_changed.connect(self._on_job)
        desk.stocks_changed.connect(self._on_job)
        desk.till.changed.connect(self.changed)
        desk.till.changed.connect(self._on_job)

    # --- what there is -----------------------------------------------------------------

    @property
    def running(self) -> bool:
        return self._desk.tasks.task("compare") is not None

    @property
    def shown(self) -> Pictured | None:
        """The columns finished so far, or the comparison kept with the job."""
        return self._found

    @property
    def is_fresh(self) -> bool:
        """True when the comparison answers for the job as it is, and for what is chosen."""
        if self._found is None or self.running:
            return False
        comparison = self._found.comparison
        compared = [(column.stock, column.size) for column in comparison.columns]
        chosen = [(one.stock, one.sheet) for one in self.chosen]
        return compared == chosen and comparison.made_from == self._basis

    @property
    def is_stale(self) -> bool:
        """True when the job has changed since; False while that is looked at."""
        if self._found is None or self.running or not self._basis:
            return False
        return self._found.comparison.made_from != self._basis

    def enter(self) -> None:
        """The page is opened."""
        self._preset()
        self._on_job()

    def _preset(self) -> None:
        """The stocks of the comparison there is, else the job's and one of another kind."""
        desk = self._desk
        kept = desk.job.comparison
        if self.chosen:
            return
        if kept is not None:
            self.chosen = tuple(Chosen(column.stock, column.size) for column in kept.columns)
            return
        first = desk.job.setup.stock or next(iter(desk.stocks), None)
        if first is None:
            return
        others = [s for s in desk.stocks if s.name != first.name]
        if others:
            second = min(others, key=lambda s: _strangeness(first, s))
            self.chosen = (Chosen(first, desk.job.setup.sheet_size), Chosen(second))

    # --- what the maker does -----------------------------------------------------------

    def choose(self, index: int, chosen: Chosen) -> None:
        """Compare this in a column."""
        self.chosen = tuple(chosen if i == index else c for i, c in enumerate(self.chosen))
        self.changed.emit()

    def add(self) -> None:
        """One more column, with a stock that is not there yet where there is one."""
        names = {one.stock.name for one in self.chosen}
        stocks = self._desk.stocks
        more = next((s for s in stocks if s.name not in names), next(iter(stocks), None))
        if more is not None and len(self.chosen) < MOST_COLUMNS:
            self.chosen = (*self.chosen, Chosen(more))
            self.changed.emit()

    def remove(self, index: int) -> None:
        """Take a column away; two stay."""
        if len(self.chosen) > 2:
            self.chosen = tuple(c for i, c in enumerate(self.chosen) if i != index)
            self.changed.emit()

    def compare(self) -> None:
        """Plan the job on all chosen stocks, in the background."""
        desk, job, rates = self._desk, self._desk.job, self._desk.till.rates
        desk.settle_all(Step.SHEETS)
        chosen, machine = self.chosen, desk.machines.chosen
        seconds = desk.settings.search_seconds / 2.0

        def work(control: Control) -> Pictured:
            # Loaded in this thread, so that the window need not when it shows the table.
            import lasernest.services.comparison_table  # noqa: F401, PLC0415 - heavy
            from lasernest.gui.compare.pictured import compared  # noqa: PLC0415 - heavy
            from lasernest.services.comparing import Candidate  # noqa: PLC0415 - heavy

            shop = desk.workbench.shop
            stocks = (*job.setup.stocks, *(one.stock for one in chosen))
            comparing = partial(
                compared,
                job,
                [Candidate(one.stock, one.size) for one in chosen],
                seconds=seconds,
                rates=rates,
                machine=machine or desk.workbench.machine_of(job),
                records={one.name: shop.records(one.name) for one in stocks},
                workers=max(1, (os.cpu_count() or 2) - 1),
            )
            return helpers.do(comparing, control=control)

        desk.tasks.run(
            "compare",
            tr("Comparing stocks"),
            work,
            on_done=lambda found: self._keep(found.with_drawn(job), job, machine),
            on_failed=self._failed,
            on_offer=lambda found: self._take(found.with_drawn(job)),
            on_cancelled=self._on_job,
            keeps_best=True,
        )
        self.changed.emit()

    def set_rates(self, rates: Rates | None) -> None:
        """Keep what an hour costs, and tell the costs of the same plans anew."""
        desk = self._desk
        desk.till.set_rates(rates)
        if self._found is not None and not self.running:
            from lasernest.services.comparing import KeepComparison, recosted  # noqa: PLC0415

            again = recosted(self._found.comparison, rates)
            self._found = replace(self._found, comparison=again)
            desk.do(KeepComparison(again), Step.SHEETS)
        self.changed.emit()

    def plan_with(self, index: int) -> bool:
        """Cut the job from the stock of a column, with its plan."""
        if self._found is None:
            return False
        from lasernest.services.comparing import PlanWith  # noqa: PLC0415 - heavy

        return self._desk.do(PlanWith(self._found.comparison.columns[index]), Step.SHEETS)

    def write(self, path: Path) -> None:
        """Write the comparison as PDF or as a table, in the background."""
        desk, found = self._desk, self._found
        if found is None:
            return
        job = desk.job
        title = job.name or (desk.workbench.path.stem if desk.workbench.path else "")

        def work(_control: Control) -> Path:
            from lasernest.services.comparison_table import write_comparison  # noqa: PLC0415

            write_comparison(job, found.comparison, [path], title=title)
            return path

        desk.tasks.run(
            "write comparison",
            tr("Writing {name}", name=path.name),
            work,
            on_done=lambda written: desk.said.emit(tr("{path} written.", path=str(written))),
            on_failed=self._failed,
        )

    # --- news --------------------------------------------------------------------------

    def _take(self, found: Pictured) -> None:
        self._found = found
        self.changed.emit()

    def _keep(self, found: Pictured, job: Job, machine: Machine | None) -> None:
        from lasernest.services.comparing import KeepComparison  # noqa: PLC0415 - heavy

        self._found = found
        self._basis, self._basis_of = found.comparison.made_from, (*_looked_at(job), machine)
        self._desk.do(KeepComparison(found.comparison), Step.SHEETS)
        self._desk.said.emit(tr("{n} stocks compared.", n=len(found.comparison.columns)))
        self.changed.emit()

    def _failed(self, error: Exception) -> None:
        self._desk.trouble(Step.SHEETS, tr("Comparing stocks"), error)
        self._on_job()

    def _on_job(self) -> None:
        """Show what is kept with the job; its pictures are made in the background."""
        if self.running:
            return
        desk, kept = self._desk, self._desk.job.comparison
        if kept is None:
            self._found = None
        elif self._found is None or self._found.comparison is not kept:
            job = desk.job
            if self._found is not None and self._found.comparison == kept:
                self._found = replace(self._found, comparison=kept)
            else:
                self.chosen = tuple(Chosen(column.stock, column.size) for column in kept.columns)

                def work(control: Control) -> Pictured:
                    from lasernest.gui.compare.pictured import pictured  # noqa: PLC0415 - heavy

                    return helpers.do(partial(pictured, job, kept), control=control)

                desk.tasks.run(
                    "pictures",
                    tr("Drawing the plans"),
                    work,
                    on_done=lambda found: self._take(
                        replace(found.with_drawn(job), comparison=kept)
                    ),
                    on_failed=lambda e: desk.trouble(Step.SHEETS, tr("Drawing the plans"), e),
                )
        self._find_basis()
        self.changed.emit()

    def _find_basis(self) -> None:
        """Work out in the background what the job as it is would be compared by."""
        job, machine = self._desk.job, self._desk.machines.chosen
        key = (*_looked_at(job), machine)
        if job.comparison is None or key == self._basis_of:
            return
        if machine is None:  # not read yet, or told where it is chosen
            self._basis, self._basis_of = "", ()
            return

        def work(_control: Control) -> str:
            from lasernest.services.comparing import basis_of  # noqa: PLC0415 - heavy

            return basis_of(job, machine)

        self._basis, self._basis_of = "", key
        self._desk.tasks.run(
            "basis",
            tr("Checking the comparison against the job"),
            work,
            on_done=self._take_basis,
            on_failed=self._failed,
        )

    def _take_basis(self, basis: str) -> None:
        self._basis = basis
        self.changed.emit()


def _looked_at(job: Job) -> tuple[object, ...]:
    """All of a job that `services.comparing.basis_of` rests on."""
    setup = job.setup
    order = (setup.units, setup.spares, setup.scrap_share, setup.gap_mm, setup.margin_mm)
    return (job.panels, job.joints, job.joint_rules, order, setup.other_stocks)


def _strangeness(first: Stock, other: Stock) -> tuple[bool, float]:
    """Lower is a likelier rival: another material, about as thick."""
    same = first.material.split()[-1] == other.material.split()[-1]
    return (same, abs(first.thickness_mm - other.thickness_mm))
