"""What a maker does with the shop book from the cards: stocks and offcuts, kept and taken back.

Everything is written in the background. What was done last can be taken back from the card;
the job, which keeps copies, follows by commands of its own that can be undone like any other.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from enum import Enum, auto
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from lasernest.domain.control import Control
from lasernest.domain.offcuts import Offcut
from lasernest.domain.plan import Plan
from lasernest.domain.stock import Stock
from lasernest.errors import ChangedMeanwhileError
from lasernest.gui.happened import Trouble
from lasernest.gui.lengths import lengths
from lasernest.gui.machines import ShopMachines
from lasernest.gui.tiles import Step
from lasernest.gui.words import count_of, tr
from lasernest.job import Job
from lasernest.services.apart import helpers
from lasernest.services.order_commands import TakeOffcuts
from lasernest.services.stock_changes import (
    TakeChanged,
    cuts_alike,
    is_cut_from,
    plan_with_changed,
)
from lasernest.services.stock_exchange import CutPanelsFrom

if TYPE_CHECKING:
    from lasernest.gui.desk import Desk
    from lasernest.shop.book import ShopBook

_KIND = "shop book"
Refused = Callable[[str, tuple[Stock, ...]], object]
"""Told why something was not kept, and the stocks of the shop book as they are now."""


class ShopPart(Enum):
    """What of the shop book was written, and so where it is told."""

    STOCKS = auto()
    SHELF = auto()
    MACHINES = auto()


@dataclass(frozen=True, slots=True)
class Kept:
    """What was done last, to be told on a card and to be taken back."""

    said: str
    back: Callable[[ShopBook], object]
    """Takes it back in the shop book."""
    before: Job
    after: Job
    """The job with it; while it is the desk's, undo takes the job back, too."""
    stock: tuple[Stock, Stock] | None = None
    """A stock as it was and as it is, where one was changed."""
    offcut: Offcut | None = None
    """One that was put on the shelf."""
    part: ShopPart = ShopPart.STOCKS
    then: Callable[[], object] | None = None
    """What more the window does once it is taken back."""


@dataclass(frozen=True, slots=True)
class ShopWritten:
    """What came of writing."""

    back: Callable[[ShopBook], object]
    stocks: tuple[Stock, ...]
    plan: Plan | str | None = None
    offcut: Offcut | None = None


@dataclass(frozen=True, slots=True)
class _Meanwhile:
    """Somebody else was faster."""

    error: ChangedMeanwhileError
    stocks: tuple[Stock, ...]
    machines: ShopMachines


class ShopHands(QObject):
    """The hands of one desk on the shop book."""

    changed = Signal()
    """Something was kept, taken back or put away."""

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self._desk = desk
        self.last: Kept | None = None

    # --- stocks ----------------------------------------------------------------------

    def save_stock(
        self,
        stock: Stock,
        old: Stock | None,
        step: Step,
        *,
        done: Callable[[], object],
        refused: Refused,
        panels: Sequence[str] | None = None,
    ) -> None:
        """Keep a stock in the shop book, new or in place of `old`; the job takes it.

        Args: `panels` are cut from a new one, by their names, instead of the whole job.
        """
        desk, job = self._desk, self._desk.job
        old_name = old.name if old is not None else stock.name
        follows = old is not None and is_cut_from(job, old_name)

        def write(shop: ShopBook, control: Control) -> ShopWritten:
            plan = _plan_with(job, stock, old_name, control) if follows else None
            number = shop.save_stock(stock, instead_of=old)
            return ShopWritten(lambda book: book.undo(number), shop.stocks(), plan)

        def take(written: ShopWritten) -> None:
            before = desk.job
            desk.take_stocks(written.stocks)
            if old is None and panels is not None:
                if panels:
                    desk.do(CutPanelsFrom(tuple(panels), stock), step)
                said = tr(
                    "{stock} is in the shop book, and {what} cut from it.",
                    stock=stock.name,
                    what=tr("{panel} is", panel=panels[0])
                    if len(panels) == 1
                    else tr("{panels} are", panels=count_of(len(panels), "panel", "panels")),
                )
            elif old is None:
                own = not desk.in_view.name
                if desk.in_view.exchange(stock, step) and own:
                    desk.settings.stock_name = stock.name
                said = tr("{stock} is in the shop book, and this job takes it.", stock=stock.name)
            else:
                plan = written.plan if desk.job == job else tr("the job changed meanwhile.")
                kept = plan if isinstance(plan, Plan) else None
                if follows:
                    self._follow(TakeChanged(stock, old_name, kept), old, step)
                    if old_name != stock.name:
                        desk.in_view.look(stock.name)
                if desk.settings.stock_name == old_name:
                    desk.settings.stock_name = stock.name
                said = tr("{stock} is changed in the shop book.", stock=stock.name)
                if isinstance(plan, str) and job.plan is not None:
                    said += " " + tr("Arrange again: {why}", why=lengths.retold(plan))
            done()
            both = None if old is None else (old, stock)
            self.keep(Kept(said, written.back, before, desk.job, both))

        self.write(tr("Keeping {stock}", stock=stock.name), write, take, refused)

    def _follow(self, change: TakeChanged, old: Stock, step: Step) -> None:
        """Let the job take a changed stock; cut files stay where they would be the same."""
        desk = self._desk
        was = desk.job.plan
        desk.do(change, step)
        written, now = desk.written, desk.job.plan
        if written is None or now is None or now is was or not written.is_of(was):
            return
        if cuts_alike(old, change.stock):
            desk.written = replace(written, alike=(*written.alike, now))
            desk.job_changed.emit()

    def remove_stock(self, stock: Stock, *, done: Callable[[], object], refused: Refused) -> None:
        """Take a stock out of the shop book; a job that is cut from it keeps its copy."""
        desk = self._desk

        def write(shop: ShopBook, _control: Control) -> ShopWritten:
            number = shop.remove_stock(stock.name)
            return ShopWritten(lambda book: book.undo(number), shop.stocks())

        def take(written: ShopWritten) -> None:
            desk.take_stocks(written.stocks)
            said = tr("{stock} is out of the shop book.", stock=stock.name)
            if is_cut_from(desk.job, stock.name):
                said += " " + tr("This job still has it; choose another one when you like.")
            done()
            self.keep(Kept(said, written.back, desk.job, desk.job))

        self.write(tr("Removing {stock}", stock=stock.name), write, take, refused)

    # --- offcuts ---------------------------------------------------------------------

    def put_offcut(self, offcut: Offcut, *, done: Callable[[], object], refused: Refused) -> None:
        """Put an offcut on the shelf; without a label it gets the next free one."""
        desk = self._desk

        def write(shop: ShopBook, _control: Control) -> ShopWritten:
            kept = shop.add_offcut(offcut)
            return ShopWritten(
                lambda book: book.remove_offcut(kept.label), shop.stocks(), offcut=kept
            )

        def take(written: ShopWritten) -> None:
            assert written.offcut is not None
            desk.shelf.look(again=True)
            done()
            size = lengths.size(*written.offcut.size_mm, 0)
            label = written.offcut.label
            said = tr("On the shelf: write {label} on the piece of {size}.", label=label, size=size)
            self.keep(
                Kept(
                    said,
                    written.back,
                    desk.job,
                    desk.job,
                    offcut=written.offcut,
                    part=ShopPart.SHELF,
                )
            )

        self.write(tr("Putting an offcut on the shelf"), write, take, refused)

    def take_off(self, offcut: Offcut, *, done: Callable[[], object], refused: Refused) -> None:
        """Take an offcut off the shelf, because it is no more; the job no longer fills it."""
        desk = self._desk

        def write(shop: ShopBook, _control: Control) -> ShopWritten:
            number = shop.remove_offcut(offcut.label)
            return ShopWritten(lambda book: book.undo(number), shop.stocks())

        def take(written: ShopWritten) -> None:
            before = desk.job
            self._no_longer_fill(offcut)
            desk.shelf.look(again=True)
            done()
            said = tr("{label} is off the shelf.", label=offcut.label)
            self.keep(Kept(said, written.back, before, desk.job, part=ShopPart.SHELF))

        self.write(tr("Taking {label} off the shelf", label=offcut.label), write, take, refused)

    def _no_longer_fill(self, offcut: Offcut) -> None:
        """An offcut is not on the shelf any more: take it out of the job that is to fill it."""
        setup = self._desk.job.setup
        for stock in setup.stocks:
            of = "" if setup.is_own(stock.name) else stock.name
            taken = setup.for_stock(of).offcuts
            left = tuple(one for one in taken if one.label != offcut.label)
            if left != taken:
                self._desk.do(TakeOffcuts(left, of), Step.SHEETS)

    # --- and back --------------------------------------------------------------------

    def put_away(self) -> None:
        """The maker has read it."""
        self.last = None
        self.changed.emit()

    def take_back(self, step: Step) -> None:
        """Take back what was done last, in the shop book and in the job."""
        kept, desk, job = self.last, self._desk, self._desk.job
        if kept is None:
            return
        undoes = kept.after is not kept.before and job is kept.after
        was, now = kept.stock if kept.stock is not None else (None, None)
        follows = not undoes and was is not None and now is not None and is_cut_from(job, now.name)

        def write(shop: ShopBook, control: Control) -> ShopWritten:
            plan = None
            if follows and was is not None and now is not None:
                plan = _plan_with(job, was, now.name, control)
            kept.back(shop)
            return ShopWritten(kept.back, shop.stocks(), plan)

        def take(written: ShopWritten) -> None:
            self.last = None
            desk.take_stocks(written.stocks)
            desk.shelf.look(again=True)
            if kept.offcut is not None:
                self._no_longer_fill(kept.offcut)
            if was is not None and now is not None:
                if desk.in_view.name == now.name:
                    desk.in_view.look(was.name)
                if desk.settings.stock_name == now.name:
                    desk.settings.stock_name = was.name
            if undoes and desk.job is kept.after:
                desk.undo()
            elif follows and was is not None and now is not None:
                plan = written.plan if desk.job == job else None
                kept_plan = plan if isinstance(plan, Plan) else None
                self._follow(TakeChanged(was, now.name, kept_plan), now, step)
            if kept.then is not None:
                kept.then()
            desk.said.emit(tr("Taken back."))
            self.changed.emit()

        def refused(sentence: str, _stocks: tuple[Stock, ...]) -> None:
            self.keep(replace(kept, said=sentence))

        self.write(tr("Taking it back"), write, take, refused)

    # --- writing ---------------------------------------------------------------------

    def keep(self, kept: Kept) -> None:
        self.last = kept
        self.changed.emit()

    def write(
        self,
        what: str,
        write: Callable[[ShopBook, Control], ShopWritten],
        take: Callable[[ShopWritten], None],
        refused: Refused,
    ) -> None:
        desk = self._desk

        def work(control: Control) -> tuple[ShopWritten, ShopMachines] | _Meanwhile:
            shop = desk.workbench.shop
            try:
                written = write(shop, control)
            except ChangedMeanwhileError as error:
                return _Meanwhile(error, shop.stocks(), ShopMachines.of(shop))
            return written, ShopMachines.of(shop)

        def done(came: tuple[ShopWritten, ShopMachines] | _Meanwhile) -> None:
            if isinstance(came, _Meanwhile):
                desk.machines.hold(came.machines)
                desk.take_stocks(came.stocks)
                refused(Trouble(Step.SHEETS, what, came.error).sentence, came.stocks)
                return
            written, machines = came
            desk.machines.hold(machines)
            take(written)
            desk.till.look()  # so that what was read before never comes after this
            desk.plan_changed.emit()
            desk.shop_written.emit()

        def failed(error: Exception) -> None:
            refused(Trouble(Step.SHEETS, what, error).sentence, desk.stocks)

        if desk.tasks.task(_KIND) is not None:
            # Another task of its kind would take its place, and what it wrote would go unheard.
            refused(tr("The shop book is being written. Try again in a moment."), desk.stocks)
            return
        desk.tasks.run(
            _KIND,
            what,
            work,
            on_done=done,
            on_failed=failed,
            on_cancelled=lambda: refused(tr("It was cancelled, and nothing is kept."), desk.stocks),
        )


def _plan_with(job: Job, stock: Stock, instead_of: str, control: Control) -> Plan | str | None:
    """What becomes of the job's plan, worked out before anything is written."""
    if job.plan is None:
        return None
    bare = replace(job, sources=())  # which need not be sent
    return helpers.do(plan_with_changed, bare, stock, instead_of, control=control)
