"""The till of one window: what machine time and a unit of the shown plan come to.

Rates and machines are read from the shop book in the background. Times are
those of the cut files once they are written; before, they are told from the
work as drawn, for every plan that a search shows.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from lasernest.domain.control import Control
from lasernest.domain.costs import Cost
from lasernest.domain.rates import HandlingTimes, Rates
from lasernest.domain.stock import Stock
from lasernest.gui.machines import ShopMachines
from lasernest.gui.tiles import Step
from lasernest.gui.words import tr

if TYPE_CHECKING:
    from lasernest.gui.desk import Desk


class Till(QObject):
    """Machine time and cost for one desk."""

    changed = Signal()
    """Rates or machines are others."""

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self._desk = desk
        self.rates: Rates | None = None
        """What hours cost; None while nobody said."""
        desk.stocks_changed.connect(self.look)

    def look(self) -> None:
        """Read rates and machines from the shop book, in the background."""
        desk = self._desk

        def work(_control: Control) -> tuple[Rates | None, ShopMachines]:
            shop = desk.workbench.shop
            return shop.rates(), ShopMachines.of(shop)

        desk.tasks.run(
            "till", tr("Opening the shop book"), work, on_done=self._take, on_failed=self._failed
        )

    def _take(self, found: tuple[Rates | None, ShopMachines]) -> None:
        rates, machines = found
        if self._desk.tasks.task("rates") is None:  # else they may be those from before
            self.rates = rates
        self._desk.machines.hold(machines)
        self.changed.emit()

    def _failed(self, error: Exception) -> None:
        self._desk.no_shop(Step.SHEETS, tr("Opening the shop book"), error)

    def set_rates(self, rates: Rates | None) -> None:
        """Keep what an hour costs."""
        self.rates = rates
        self._desk.tasks.drop("till")  # it may have read those from before
        if self._desk.tasks.task("rates") is None:
            self._keep_rates()
        self.changed.emit()

    def _keep_rates(self) -> None:
        """Keep them one after the other: of two at once, the older could be written last."""
        rates, desk = self.rates, self._desk
        desk.tasks.run(
            "rates",
            tr("Keeping what an hour costs"),
            lambda _control: desk.workbench.shop.save_rates(rates),
            on_done=lambda _number: self._rates_kept(rates),
            on_failed=self._failed,
        )

    def _rates_kept(self, rates: Rates | None) -> None:
        if rates != self.rates:
            self._keep_rates()
            return
        self._desk.tasks.drop("rates")  # so that what is read now counts
        self.look()
        self._desk.shop_written.emit()

    # --- what the shown plan comes to -------------------------------------------------

    @property
    def is_exact(self) -> bool:
        """True when the times are those of cut files that were written of the shown plan."""
        desk = self._desk
        written = desk.written_of(desk.shown_plan)
        return written is not None and desk.machines.times_s(written) is not None

    def beam_s(self) -> tuple[float, ...] | None:
        """The beam's time on each sheet of the shown plan; None while it is not known."""
        desk = self._desk
        if self.is_exact and desk.written is not None:
            return desk.written.times_s
        figures, stocks, machine = desk.figures, self._stocks(), desk.machines.chosen
        if figures is None or not stocks or machine is None:
            return None
        return tuple(
            work.time_s(machine, cut_speed_mm_per_s=stock.cut_speed_mm_per_s)
            for work, stock in zip(figures.works, stocks, strict=True)
        )

    def _stocks(self) -> tuple[Stock, ...]:
        """What each sheet of the shown plan is of; nothing where that is not known."""
        plan, setup = self._desk.shown_plan, self._desk.job.setup
        found = [
            setup.for_stock(one.sheet.stock_name).stock
            for one in (plan.sheets if plan is not None else ())
        ]
        known = tuple(stock for stock in found if stock is not None)
        return known if len(known) == len(found) else ()

    def cost(self) -> Cost | None:
        """What the units of the shown plan cost; None while it is not known, or without a price."""
        plan, stocks, times_s = self._desk.shown_plan, self._stocks(), self.beam_s()
        if plan is None or not stocks or times_s is None:
            return None
        from lasernest.services.plan_work import SheetToPay, plan_cost  # noqa: PLC0415 - heavy

        cost = plan_cost(
            [
                SheetToPay(sheet, stock, beam_s)
                for sheet, stock, beam_s in zip(plan.sheets, stocks, times_s, strict=True)
            ],
            units=self._desk.job.setup.units,
            rates=self.rates,
            handling=HandlingTimes(),
        )
        return None if cost.unpriced else cost
