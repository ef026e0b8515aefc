"""A stock of one's own, entered in place: new, changed, removed, and all of it taken back."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from lasernest.domain.stock import Stock
from lasernest.gui.desk import Desk
from lasernest.gui.parts.basics import link
from lasernest.gui.parts.entry_box import EntryBox
from lasernest.gui.parts.stock_form import StockForm
from lasernest.gui.shop_hands import ShopPart
from lasernest.gui.tiles import Step
from lasernest.gui.words import tr
from lasernest.job import JobPanel


class StockBox(EntryBox):
    """Below a choice of stocks: the way to one that is not among them."""

    def __init__(
        self, desk: Desk, step: Step, *, panels: Callable[[], Sequence[JobPanel]] | None = None
    ) -> None:
        """Args: `panels` are those to be cut from a new stock; without it, the job takes it."""
        super().__init__(desk, step, part=ShopPart.STOCKS)
        self._panels = panels
        self._made: StockForm | None = None
        self.new_button = link(
            tr("+ New stock"), self.open_new, tip=tr("A kind of sheet that is not listed yet")
        )
        self.change_button = link(
            tr("Change this stock"),
            self.open_change,
            tip=tr("Name, thickness, sheet sizes, prices, sheets on hand, grain, note"),
        )
        self.links.addWidget(self.new_button)
        self.links.addWidget(self.change_button)
        self.change_button.setVisible(panels is None)  # which of the stocks would be unclear

    @property
    def form(self) -> StockForm:
        """The form, made when it is first wanted."""
        if self._made is None:
            self._made = StockForm()
            self._made.given.connect(self._save)
            self._made.remove_wanted.connect(self.remove)
            self.stand(self._made)
        return self._made

    def refresh(self) -> None:
        """Show what can be done with the stock in view."""
        one = self._panels is None and self._desk.in_view.setup.stock is not None
        self.change_button.setVisible(one)
        self.show_notes()

    def open_new(self) -> None:
        """Let the maker enter a stock."""
        self.form.open_new(self._desk.stocks, self.make_way(self.form))
        if self._panels is not None:
            self.form.heading.setText(tr("New stock for the chosen panels"))

    def open_change(self) -> None:
        """Let the maker change the stock in view."""
        stock = self._desk.in_view.setup.stock
        if stock is not None:
            self.form.open_change(stock, self._desk.stocks, self.make_way(self.form))

    def remove(self, stock: Stock | None = None) -> None:
        """Take a stock out of the shop book: the one in view."""
        gone = stock if stock is not None else self._desk.in_view.setup.stock
        if gone is not None:
            self._hands.remove_stock(gone, done=self.close_form, refused=self.refused)

    def _save(self, stock: Stock, old: Stock | None) -> None:
        self._hands.save_stock(
            stock,
            old,
            self._step,
            done=self.close_form,
            refused=self.refused,
            panels=None if self._panels is None else [panel.name for panel in self._panels()],
        )
