"""The shelf of one desk: offcuts on hand, and the booking of cuts, read and written behind."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from datetime import date
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from lasernest.domain.bookings import Booking
from lasernest.domain.control import Control
from lasernest.domain.offcuts import Offcut
from lasernest.gui.tiles import Step
from lasernest.gui.words import tr

if TYPE_CHECKING:
    from lasernest.gui.desk import Desk

ShelfNews = tuple[tuple[Offcut, ...], tuple[Booking, ...], dict[str, dict[str, int]]]


class Shelf(QObject):
    """What the shop book holds of this job's stock, and what was booked for it."""

    changed = Signal()

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self._desk = desk
        self._key: tuple[tuple[str, ...], str] | None = None
        self.offcuts: tuple[Offcut, ...] = ()
        """Of all the job's stocks."""
        self.bookings: tuple[Booking, ...] = ()
        """Of the job's name, newest first."""
        self.orders: Mapping[str, Mapping[str, int]] = {}
        """By panel, the orders it was booked for, with its copies; see `booked_for`."""
        self._booked: tuple[object, int] | None = None
        """The plan that was booked last, and the number of its booking."""

    @property
    def name(self) -> str:
        """What the job is booked as; an order of this name counts its panels as cut."""
        path = self._desk.workbench.path
        return self._desk.job.name or (path.stem if path else tr("new job"))

    @property
    def booking(self) -> Booking | None:
        """The booking of the job's plan as it is; None while it is not booked."""
        if self._booked is None or self._booked[0] is not self._desk.job.plan:
            return None
        number = self._booked[1]
        return next((b for b in self.bookings if b.number == number), None)

    @property
    def booked_alike(self) -> Booking | None:
        """The job's last booking, where it took the same panels and sheets as the plan takes.

        Perhaps it is of this very plan: a job that was opened again does not know.
        """
        last, plan = next(iter(self.bookings), None), self._desk.job.plan
        if last is None or plan is None or self.booking is not None:
            return None
        panels: Counter[str] = Counter()
        for panel in last.panels:
            panels[panel.panel] += panel.count
        sheets: Counter[tuple[float, float]] = Counter()
        for use in last.sheets:
            sheets[use.width_mm, use.height_mm] += use.count
        laid = Counter(p.panel_name for sheet in plan.sheets for p in sheet.placements)
        whole = Counter(
            (one.sheet.width_mm, one.sheet.height_mm)
            for one in plan.sheets
            if not one.sheet.is_offcut
        )
        return last if (panels, sheets) == (laid, whole) else None

    def look(self, *, again: bool = False) -> None:
        """Read the shelf, when the stock or the name is another one or it is asked for."""
        key = (tuple(stock.name for stock in self._desk.job.setup.stocks), self.name)
        if key == self._key and not again:
            return
        self._key = key
        shop = self._desk.workbench

        def work(_control: Control) -> ShelfNews:
            from lasernest.services.ordering import booked_for  # noqa: PLC0415 - heavy

            offcuts = tuple(o for name in key[0] for o in shop.shop.offcuts(name))
            every = shop.shop.bookings()
            own = tuple(booking for booking in every if booking.job == key[1])
            return offcuts, own, booked_for(key[1], every)

        self._desk.tasks.run(
            "shelf",
            tr("Looking up offcuts and bookings"),
            work,
            on_done=self._take,
            on_failed=lambda e: self._desk.no_shop(
                Step.CUT_FILE, tr("Looking up offcuts and bookings"), e
            ),
        )

    def _take(self, news: ShelfNews) -> None:
        self.offcuts, self.bookings, self.orders = news
        self.changed.emit()

    def book(self) -> None:
        """Take the plan's sheets from the count, its offcuts off and onto the shelf."""
        desk, job, name = self._desk, self._desk.job, self.name
        plan = job.plan
        written = desk.written_of(plan)
        files = written.files if written is not None else ()
        desk.settle_all(Step.CUT_FILE)

        def work(_control: Control) -> Booking:
            from lasernest.services.bench_sheets import (  # noqa: PLC0415 - heavy
                planned_sheets,
                written_sheets,
            )
            from lasernest.services.joining import join_job  # noqa: PLC0415 - heavy
            from lasernest.services.order_booking import booking_of_job  # noqa: PLC0415 - heavy

            panels = {panel.name: panel for panel in join_job(job).panels}
            assert plan is not None  # the button is off without one
            sheets = (
                written_sheets(plan, files, job.setup)
                if files
                else planned_sheets(plan, panels, job.setup)
            )
            wanted = booking_of_job(job, sheets, panels, name=name, on=date.today())
            return desk.workbench.shop.book(wanted)

        def done(booking: Booking) -> None:
            self._booked = (plan, booking.number)
            self._changed_shop(tr("Booked as number {n}.", n=booking.number))

        desk.tasks.run(
            "book",
            tr("Booking"),
            work,
            on_done=done,
            on_failed=lambda e: self._failed(tr("Booking"), e),
        )

    def take_back(self, number: int) -> None:
        """Undo a booking: counts and offcuts are as they were."""
        desk = self._desk
        desk.settle_all(Step.CUT_FILE)
        desk.tasks.run(
            "book",
            tr("Taking the booking back"),
            lambda _control: desk.workbench.shop.take_back(number),
            on_done=lambda _booking: self._changed_shop(
                tr("Booking {n} was taken back.", n=number)
            ),
            on_failed=lambda e: self._failed(tr("Taking the booking back"), e),
        )

    def _changed_shop(self, said: str) -> None:
        self._desk.said.emit(said)
        self._desk.open_shop()
        self.look(again=True)
        self._desk.shop_written.emit()

    def _failed(self, what: str, error: Exception) -> None:
        self._desk.trouble(Step.CUT_FILE, what, error)
        self.changed.emit()
