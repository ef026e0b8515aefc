"""The line above the list of panels: find some, and sort them."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QLineEdit, QWidget

from lasernest.gui.look.theme import theme
from lasernest.gui.parts.basics import horizontal
from lasernest.gui.parts.fields import ChoiceField
from lasernest.gui.parts.panel_rows import PanelSort
from lasernest.gui.words import tr


class _Find(QLineEdit):
    """Finds while it is typed; Down goes to the list, Escape shows all again."""

    list_wanted = Signal()

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802 - Qt's name
        if event.key() in (Qt.Key.Key_Down, Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.list_wanted.emit()
        elif event.key() == Qt.Key.Key_Escape and self.text():
            self.clear()
        else:
            super().keyPressEvent(event)


class PanelFinder(QWidget):
    """Words to find and an order."""

    changed = Signal()
    list_wanted = Signal()

    def __init__(self) -> None:
        super().__init__()
        row = horizontal(self, gap=8)
        self.field = _Find()
        self.field.setPlaceholderText(tr("Find panels"))
        self.field.setAccessibleName(tr("Find panels"))
        self.field.setToolTip(
            tr("Words of name, drawing, order, or what it has: holes, marks, any angle (Ctrl+L)")
        )
        self.field.setClearButtonEnabled(True)
        self.field.textChanged.connect(lambda _text: self.changed.emit())
        self.field.list_wanted.connect(self.list_wanted)
        self.sort = ChoiceField()
        self.offer_sorts(orders=False, stocks=False)
        self.sort.setAccessibleName(tr("Order of the list"))
        self.sort.picked.connect(lambda _sort: self.changed.emit())
        row.addWidget(self.field, 1)
        row.addWidget(self.sort)
        theme.changed.connect(self._dress)
        self._dress()

    def _dress(self) -> None:
        self.field.setFont(theme.font())
        self.sort.setFixedWidth(theme.pixels(132))

    def offer_sorts(self, *, orders: bool, stocks: bool) -> None:
        """Offer to sort by order where the shop book knows one, by stock where there are two."""
        asked = {PanelSort.ORDER: orders, PanelSort.STOCK: stocks}
        sorts = [sort for sort in PanelSort if asked.get(sort, True)]
        chosen = self.sort.value()
        self.sort.offer(
            [(tr(s.value), s) for s in sorts], chosen if chosen in sorts else PanelSort.DRAWN
        )

    def wanted(self) -> str:
        """The words that are looked for."""
        return self.field.text()
