"""A stock of one's own, entered in place: new, changed, removed, and all of it taken back."""

from __future__ import annotations

from PySide6.QtWidgets import QWidget

from lasernest.domain.stock import Stock
from lasernest.gui.desk import Desk
from lasernest.gui.parts.basics import link, vertical
from lasernest.gui.parts.flow import FlowLayout
from lasernest.gui.parts.notes import Answer, Note, NoteList
from lasernest.gui.parts.stock_form import StockForm
from lasernest.gui.tiles import Step
from lasernest.gui.words import tr


class StockBox(QWidget):
    """Below a choice of stocks: the way to one that is not among them."""

    def __init__(self, desk: Desk, step: Step) -> None:
        super().__init__()
        self._desk, self._step, self._hands = desk, step, desk.shop_hands
        self._made: StockForm | None = None
        self._column = vertical(self, gap=6)
        self._links = QWidget()
        row = FlowLayout(self._links, gap=16)
        self.new_button = link(
            tr("+ New stock"), self.open_new, tip=tr("A kind of sheet that is not listed yet")
        )
        self.change_button = link(
            tr("Change this stock"),
            self.open_change,
            tip=tr("Name, thickness, sheet sizes, prices, sheets on hand, grain, note"),
        )
        row.addWidget(self.new_button)
        row.addWidget(self.change_button)
        self._column.addWidget(self._links)
        self.notes = NoteList()
        self._column.addWidget(self.notes)
        self._hands.changed.connect(self._show_notes)

    @property
    def form(self) -> StockForm:
        """The form, made when it is first wanted."""
        if self._made is None:
            self._made = StockForm()
            self._made.hide()
            self._made.given.connect(self._save)
            self._made.remove_wanted.connect(self.remove)
            self._made.closed.connect(self._links.show)
            self._column.insertWidget(1, self._made)
        return self._made

    def refresh(self) -> None:
        """Show what can be done with the stock in view."""
        self.change_button.setVisible(self._desk.in_view.setup.stock is not None)
        self._show_notes()

    # --- what the maker does -----------------------------------------------------------

    def open_new(self) -> None:
        """Let the maker enter a stock."""
        form, came_from = self.form, self.window().focusWidget()
        self._links.hide()
        form.open_new(self._desk.stocks, came_from)

    def open_change(self) -> None:
        """Let the maker change the stock in view."""
        stock, came_from = self._desk.in_view.setup.stock, self.window().focusWidget()
        if stock is None:
            return
        form = self.form
        self._links.hide()
        form.open_change(stock, self._desk.stocks, came_from)

    def remove(self, stock: Stock | None = None) -> None:
        """Take a stock out of the shop book: the one in view."""
        gone = stock if stock is not None else self._desk.in_view.setup.stock
        if gone is not None:
            self._hands.remove_stock(gone, done=self._close, refused=self._refused)

    def _save(self, stock: Stock, old: Stock | None) -> None:
        self._hands.save_stock(stock, old, self._step, done=self._close, refused=self._refused)

    def _close(self) -> None:
        if self._made is not None and not self._made.isHidden():
            self._made.close_form()

    def _refused(self, sentence: str, stocks: tuple[Stock, ...]) -> None:
        if self._made is not None and not self._made.isHidden():
            self._made.take_meanwhile(stocks, sentence)
        else:
            self._desk.said.emit(sentence)

    def _show_notes(self) -> None:
        kept = self._hands.last
        notes = []
        if kept is not None and not kept.of_shelf:
            answers = (
                Answer(tr("Take it back"), lambda: self._hands.take_back(self._step)),
                Answer(tr("Dismiss"), self._hands.put_away),
            )
            notes.append(Note(kept.said, "note", answers))
        self.notes.show_notes(notes)
