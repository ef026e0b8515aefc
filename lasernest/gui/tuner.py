"""Tuning on one desk: the comb of the chosen stock, what was read and felt, what it tells.

The draft (readings and feels not yet kept) lives here until *Use for this
stock* keeps it as a record of the shop book. All working out happens in the
background; the page shows the last `TuningView`.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from lasernest.domain.control import Control
from lasernest.domain.findings import Finding
from lasernest.domain.readings import Feel, FeelReading, Reading, Rung
from lasernest.domain.records import CutSettings, KerfRecord
from lasernest.domain.stock import Machine, Stock
from lasernest.gui.desk import Desk
from lasernest.gui.lengths import lengths
from lasernest.gui.tiles import Step
from lasernest.gui.words import tr
from lasernest.job import Job
from lasernest.services.apart import helpers
from lasernest.services.machine_choice import writes_alike

if TYPE_CHECKING:
    from lasernest.kerf.comb import Comb
    from lasernest.kerf.thickness import Thickness
    from lasernest.services.cutting import WrittenSheet
    from lasernest.services.remeasured import Remeasured
    from lasernest.services.tuning import KerfPoint, Tuning


@dataclass(frozen=True, slots=True)
class TuningView:
    """What is known of a stock, with the draft taken in."""

    stock: Stock
    comb: Comb
    """The one to cut next, or the one whose readings are entered."""
    tuning: Tuning
    history: tuple[KerfPoint, ...]
    thickness: Thickness | None
    """Of the draft's readings."""
    thickness_findings: tuple[Finding, ...]
    records: tuple[KerfRecord, ...]


@dataclass(frozen=True, slots=True)
class _Used:
    """A stock with what was measured taken in, and what becomes of the job's plan."""

    stock: Stock
    stocks: tuple[Stock, ...]
    job: Job
    plan: Remeasured


@dataclass(slots=True)
class Draft:
    """What was entered and is not kept yet."""

    readings: dict[str, Reading] = field(default_factory=dict)
    """By the name of the field they came from."""
    felt: dict[tuple[Rung, int], Feel] = field(default_factory=dict)
    """By kind and number of the rung."""
    thickness_mm: tuple[float, ...] = ()
    settings: CutSettings = field(default_factory=CutSettings)
    """How the piece was cut."""
    note: str = ""

    @property
    def is_empty(self) -> bool:
        """True when nothing was read or felt; a thickness alone makes no record."""
        return not (self.readings or self.felt)

    @property
    def has_news(self) -> bool:
        """True when there is something for the stock to use."""
        return not self.is_empty or bool(self.thickness_mm)

    def copy(self) -> Draft:
        """The draft as it is now, for a worker thread."""
        return replace(self, readings=dict(self.readings), felt=dict(self.felt))

    def record(self, stock: Stock, comb: Comb | None) -> KerfRecord | None:
        """The draft as a record of today; None while nothing was entered."""
        from lasernest.services.tuning import comb_drawn  # noqa: PLC0415 - heavy

        if self.is_empty:
            return None
        felt = []
        for (kind, number), feel in self.felt.items():
            rungs = (comb.slots if kind is Rung.SLOT else comb.gaps) if comb else ()
            if number < len(rungs):
                rung = rungs[number]
                felt.append(FeelReading(kind, rung.finger_mm, rung.drawn_mm, feel))
        return KerfRecord(
            stock.name,
            date.today(),
            tuple(self.readings.values()),
            tuple(felt),
            self.settings,
            self.thickness_mm,
            comb_drawn(comb.spec) if comb is not None else None,
            note=self.note,
        )


class Tuner(QObject):
    """The tuning of the stock that the job has chosen."""

    comb_written = Signal()
    changed = Signal()

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self._desk = desk
        self.view: TuningView | None = None
        self.draft = Draft()
        self._written: WrittenSheet | None = None
        self._written_for = Machine()
        self._stock: Stock | None = None
        self._comb: Comb | None = None
        self._write_to: Path | None = None
        """Where to write the comb that is still being drawn."""

    @property
    def written(self) -> WrittenSheet | None:
        """The comb's cut file, when one was written for the job's machine."""
        machine = self._desk.machines.chosen
        if machine is None or not writes_alike(self._written_for, machine):
            return None
        return self._written

    def follow_job(self) -> None:
        """Look at the job's stock in view; another one starts with an empty draft."""
        stock = self._desk.in_view.setup.stock
        if stock == self._stock:
            return
        if self._stock is None or stock is None or stock.name != self._stock.name:
            self.draft = _fresh_draft(stock)
            self._written = None
            self.view = None
            self._comb = self._write_to = None
        self._stock = stock
        if stock is not None:
            self.work_out()
        self.changed.emit()

    def work_out(self) -> None:
        """Work out kerf and fit from all records and the draft, in the background."""
        stock, comb, thickness = self._stock, self._comb, self.draft.thickness_mm
        if stock is None:
            return
        draft = self.draft.copy()
        shop = self._desk.workbench.shop

        def work(_control: Control) -> TuningView:
            from lasernest.kerf.comb import draw_comb  # noqa: PLC0415 - heavy
            from lasernest.kerf.thickness import (  # noqa: PLC0415 - heavy
                thickness_findings,
                thickness_of,
            )
            from lasernest.services.tuning import kerf_history, next_comb, tune  # noqa: PLC0415

            today = date.today()
            records = shop.records(stock.name)
            used = comb
            if used is None:
                measured = (
                    replace(stock, measured_thickness_mm=thickness_of(thickness).mean_mm)
                    if thickness
                    else stock
                )
                known = tune(measured, records, on=today)
                lines = (f"{today.day}.{today.month}.{today.year}",)
                used = draw_comb(next_comb(measured, known, lines=lines))
            everything = records
            record = draft.record(stock, used)
            if record is not None:
                newest = 1 + max((r.number for r in records), default=0)
                everything = (*records, replace(record, number=newest))
            tuning = tune(stock, everything, on=today)
            measured_now = thickness_of(thickness) if thickness else None
            odd = (
                thickness_findings(
                    measured_now, material=stock.material, nominal_mm=stock.thickness_mm
                )
                if measured_now
                else ()
            )
            return TuningView(
                stock, used, tuning, kerf_history(everything), measured_now, odd, records
            )

        self._desk.tasks.run(
            "tune",
            tr("Working out kerf and fit"),
            work,
            on_done=self._take,
            on_failed=lambda e: self._desk.trouble(Step.KERF, tr("Working out kerf and fit"), e),
        )

    def _take(self, view: TuningView) -> None:
        self._desk.settle_all(Step.KERF)
        self.view = view
        self.changed.emit()
        if self._write_to is not None:
            path, self._write_to = self._write_to, None
            self.write_comb(path)

    # --- what the maker enters -----------------------------------------------------------

    def set_reading(self, name: str, reading: Reading | None) -> None:
        """Take a reading in, or out again."""
        if reading is None:
            self.draft.readings.pop(name, None)
        else:
            self.draft.readings[name] = reading
        self._keep_comb()
        self.changed.emit()  # what can be done with it shows before it is worked out
        self.work_out()

    def set_feel(self, kind: Rung, number: int, feel: Feel | None) -> None:
        """Take in how a rung of the comb felt."""
        if feel is None:
            self.draft.felt.pop((kind, number), None)
        else:
            self.draft.felt[kind, number] = feel
        self._keep_comb()
        self.changed.emit()
        self.work_out()

    def set_thickness(self, readings_mm: tuple[float, ...]) -> None:
        """Take in what the sheet measured at several places."""
        self.draft.thickness_mm = readings_mm
        self.changed.emit()
        self.work_out()

    def set_cut(self, settings: CutSettings, note: str) -> None:
        """Take in how the piece was cut."""
        self.draft.settings, self.draft.note = settings, note
        self.work_out()

    def _keep_comb(self) -> None:
        """Readings belong to the comb that is shown: it must not change under them."""
        if self.view is not None:
            self._comb = self.view.comb

    # --- what the maker does ---------------------------------------------------------------

    def write_comb(self, path: Path) -> None:
        """Write the comb's cut file and prove it, in the background, once it is drawn."""
        view, job, bench = self.view, self._desk.job, self._desk.workbench
        if view is None:
            self._write_to = path
            return
        self._comb = view.comb

        def work(control: Control) -> tuple[WrittenSheet, Machine]:
            from lasernest.services.comb_cutting import write_comb  # noqa: PLC0415 - heavy

            machine = bench.machine_of(job)
            written = write_comb(
                view.comb.spec,
                path,
                stock=view.stock,
                machine=machine,
                control=control,
                material_acknowledged=view.stock.material in job.setup.materials_accepted,
            )
            return written, machine

        self._desk.tasks.run(
            "write comb",
            tr("Writing and proving the comb"),
            work,
            on_done=self._take_written,
            on_failed=lambda e: self._desk.trouble(Step.KERF, tr("Writing the comb"), e),
        )

    def _take_written(self, found: tuple[WrittenSheet, Machine]) -> None:
        self._written, self._written_for = found
        self._desk.settle_all(Step.KERF)
        self.changed.emit()
        self.comb_written.emit()

    def use_for_stock(self) -> None:
        """Keep the draft as a record and let stock and job use what the records tell."""
        stock, comb = self._stock, self._comb
        if stock is None:
            return
        shop = self._desk.workbench.shop
        record, thickness_mm = self.draft.record(stock, comb), self.draft.thickness_mm

        job = self._desk.job

        def work(control: Control) -> _Used:
            from lasernest.services.remeasured import plan_with  # noqa: PLC0415 - heavy

            used, stocks = keep()
            bare = replace(job, sources=())  # which need not be sent
            return _Used(used, stocks, job, helpers.do(plan_with, bare, used, control=control))

        def keep() -> tuple[Stock, tuple[Stock, ...]]:
            from lasernest.services.tuning import (  # noqa: PLC0415 - heavy
                thickness_for_stock,
                tune,
                use_for_stock,
            )

            current = shop.stock(stock.name)
            if thickness_mm:
                thick, _, _ = thickness_for_stock(current, thickness_mm)
                shop.save_stock(thick, instead_of=current)
                current = thick
            if record is None:
                return current, shop.stocks()
            shop.add_record(record)
            tuning = tune(current, shop.records(stock.name), on=date.today())
            return use_for_stock(shop, tuning), shop.stocks()

        self._desk.tasks.run(
            "use",
            tr("Keeping the readings"),
            work,
            on_done=self._take_used,
            on_failed=lambda e: self._desk.trouble(Step.KERF, tr("Keeping the readings"), e),
        )

    def _take_used(self, used: _Used) -> None:
        from lasernest.services.remeasured import TakeMeasured  # noqa: PLC0415 - loaded by now

        stock, job = used.stock, self._desk.job
        self.draft = _fresh_draft(stock)
        self._comb = None
        self._written = None
        self._desk.take_stocks(used.stocks)
        plan = used.plan.plan if job == used.job else None
        self._desk.do(TakeMeasured(stock, plan), Step.KERF)
        said = tr("{stock} uses it from now on, in this job and the next.", stock=stock.name)
        if plan is not None:
            said += " " + tr("The plan keeps gap and margin with it, so it stays.")
        elif job.plan is not None and used.plan.why_not:
            why = lengths.retold(used.plan.why_not)
            said += " " + tr("Arrange again: {why}", why=why)
        elif job.plan is not None:
            said += " " + tr("Arrange again: the job changed meanwhile.")
        self._desk.said.emit(said)
        self._desk.shop_written.emit()


def _fresh_draft(stock: Stock | None) -> Draft:
    """An empty draft; the piece is cut at the stock's speed unless the maker says otherwise."""
    return Draft(
        settings=CutSettings(speed_mm_per_s=stock.cut_speed_mm_per_s) if stock else CutSettings()
    )
