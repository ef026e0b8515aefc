"""Which of a job's stocks the cards of Sheets and of Kerf and fit speak of."""

from __future__ import annotations

from typing import TYPE_CHECKING

from lasernest.domain.stock import Stock
from lasernest.gui.tiles import Step
from lasernest.gui.words import tr
from lasernest.job import Setup
from lasernest.services.commands import ChooseStock

if TYPE_CHECKING:
    from lasernest.gui.desk import Desk


class StockInView:
    """The stock that one window looks at; the job's own unless the maker looks at another."""

    def __init__(self, desk: Desk) -> None:
        self._desk = desk
        self._name = ""

    @property
    def name(self) -> str:
        """As panels and sheets name it; empty for the job's own."""
        others = self._desk.job.setup.other_stocks
        return self._name if any(c.stock.name == self._name for c in others) else ""

    @property
    def setup(self) -> Setup:
        """What holds for it."""
        return self._desk.job.setup.for_stock(self.name)

    @property
    def names(self) -> list[str]:
        """The stocks that panels of the job are cut from, by their names in the shop."""
        job = self._desk.job
        used = {job.setup.for_stock(name).stock for name in {p.stock_name for p in job.panels}}
        return [stock.name for stock in job.setup.stocks if stock in used]

    @property
    def count_words(self) -> str:
        """How many they are, such as `2 stocks`; empty for one."""
        count = len(self.names)
        return tr("{n} stocks", n=count) if count > 1 else ""

    @property
    def choices(self) -> list[tuple[str, Stock]]:
        """What it may be: the stocks of the shop book, and what the job has instead of one."""
        stocks, own = self._desk.stocks, self.setup.stock
        choices = [(stock.name, stock) for stock in stocks]
        if own is not None and own not in stocks:
            listed = any(stock.name == own.name for stock in stocks)
            text = tr("this job's {stock}", stock=own.name) if listed else own.name
            choices.insert(0, (text, own))
        return choices

    def look(self, stock_name: str) -> None:
        """Look at this stock from now on."""
        self._name = stock_name

    def exchange(self, stock: Stock, step: Step) -> bool:
        """Cut from another stock instead, and look at that; False when it cannot be done."""
        of = self.name
        self._name = stock.name
        done = self._desk.do(ChooseStock(stock, of), step)
        if not done:
            self._name = of
        return done
