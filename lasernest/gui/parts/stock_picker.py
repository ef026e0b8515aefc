"""The stocks of a job as a row of buttons; nothing is shown while there is only one."""

from __future__ import annotations

from functools import partial

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QWidget

from lasernest.gui.parts.basics import Button, Text, button, clear, vertical
from lasernest.gui.parts.flow import FlowLayout
from lasernest.gui.stock_in_view import StockInView
from lasernest.gui.words import tr


class StockPicker(QWidget):
    """Tells that a job has several stocks, and which one the card speaks of."""

    picked = Signal(str)
    """The maker wants to look at this one."""

    def __init__(self, view: StockInView) -> None:
        super().__init__()
        self._view = view
        self.buttons: dict[str, Button] = {}
        column = vertical(self, gap=4)
        self.words = Text("", kind="quiet", wrap=True)
        column.addWidget(self.words)
        self._row = FlowLayout(gap=6)
        column.addLayout(self._row)
        self.hide()

    def refresh(self) -> None:
        """Show the stocks as they are now."""
        names = self._view.names
        self.setVisible(len(names) > 1)
        if len(names) < 2:
            return
        self.words.setText(tr("Cut from {stocks}:", stocks=self._view.count_words))
        if list(self.buttons) != names:
            clear(self._row)
            self.buttons = {}
            for name in names:
                made = button(name, partial(self._pick, name), tip=tr("What is set for this stock"))
                made.setCheckable(True)
                self.buttons[name] = made
                self._row.addWidget(made)
                made.show()
        self._check()

    def _check(self) -> None:
        stock = self._view.setup.stock
        for name, made in self.buttons.items():
            made.setChecked(stock is not None and stock.name == name)

    def _pick(self, name: str) -> None:
        self.picked.emit(name)
        self._check()
