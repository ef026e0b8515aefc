"""The sizes that a stock comes in: a row of fields for each, to be added and taken away."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import partial

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QWidget

from lasernest.gui.look.theme import theme
from lasernest.gui.parts.basics import Text, button, clear, horizontal, link, vertical
from lasernest.gui.parts.fields import LengthField
from lasernest.gui.parts.form import Form, Said
from lasernest.gui.parts.plain_fields import AmountField
from lasernest.gui.tab_order import give_keys
from lasernest.gui.words import tr
from lasernest.services.stock_entry import SheetEntry

_MOST_SHEET_MM = 20_000.0
_MOST_PRICE = 1_000_000.0
_MOST_COUNT = 100_000


class SheetRow(QWidget):
    """One size: width × height, price and count."""

    def __init__(self, sheet: SheetEntry) -> None:
        super().__init__()
        self.width_field, self.height_field = (
            LengthField(least_mm=1.0, most_mm=_MOST_SHEET_MM, decimals=1, step_mm=10.0, empty=empty)
            for empty in (tr("width"), tr("height"))
        )
        self.width_field.set_mm(sheet.width_mm)
        self.height_field.set_mm(sheet.height_mm)
        self.price = AmountField(decimals=2, least=0.01, most=_MOST_PRICE)
        self.price.set_number(sheet.price)
        self.count = AmountField(least=0, most=_MOST_COUNT)
        self.count.set_number(sheet.count)
        self._column = vertical(self, gap=4)
        size = horizontal(gap=6)
        size.addWidget(self.width_field)
        size.addWidget(Text("×", kind="quiet"))
        size.addWidget(self.height_field)
        size.addStretch(1)
        self.away_button = button("×", kind="link", tip=tr("Take this size away"))
        size.addWidget(self.away_button)
        self._column.addLayout(size)
        worth = horizontal(gap=6)
        for name, field, tip in (
            (tr("Price"), self.price, tr("Of one sheet; empty where nobody knows")),
            (tr("On hand"), self.count, tr("Sheets there are; empty where they are not counted")),
        ):
            label = Text(name, kind="quiet")
            label.setBuddy(field)
            label.setToolTip(tip)
            field.setAccessibleDescription(tip)
            worth.addWidget(label)
            worth.addWidget(field)
        worth.addStretch(1)
        self._column.addLayout(worth)
        theme.changed.connect(self._size)
        self._size()

    def _size(self) -> None:
        for field, width in (
            (self.width_field, 104),
            (self.height_field, 104),
            (self.price, 84),
            (self.count, 76),
        ):
            field.setFixedWidth(theme.pixels(width))

    @property
    def fields(self) -> tuple[LengthField, LengthField, AmountField, AmountField]:
        return (self.width_field, self.height_field, self.price, self.count)

    def stand(self, said: Said) -> None:
        """Lay out the sentence about its fields."""
        self._column.addWidget(said)

    def call(self, number: int) -> None:
        """Its names for who hears the window."""
        for field, name in zip(
            self.fields,
            (
                tr("Width of sheet {n}, along the grain", n=number),
                tr("Height of sheet {n}", n=number),
                tr("Price of sheet {n}", n=number),
                tr("Sheets {n} on hand", n=number),
            ),
            strict=True,
        ):
            field.setAccessibleName(name)
        self.away_button.setAccessibleName(tr("Take sheet {n} away", n=number))

    def entry(self) -> SheetEntry:
        """What stands in it."""
        count = self.count.number()
        return SheetEntry(
            self.width_field.value_mm(),
            self.height_field.value_mm(),
            self.price.number(),
            None if count is None else round(count),
        )


class SheetRows(QWidget):
    """All sizes; there is always one row."""

    def __init__(self, form: Form) -> None:
        super().__init__()
        self._form = form
        column = vertical(self, gap=8)
        column.addWidget(
            Text(tr("Sheets: width along the grain × height"), kind="quiet", wrap=True)
        )
        self._rows = vertical(gap=8)
        column.addLayout(self._rows)
        self.more_button = link(tr("+ another size"), self.add_empty)
        column.addWidget(self.more_button, 0, Qt.AlignmentFlag.AlignLeft)
        self.rows: list[SheetRow] = []

    def show_sheets(self, sheets: Sequence[SheetEntry]) -> None:
        """Show these, one row each."""
        for row in self.rows:
            self._form.forget(*row.fields)
        clear(self._rows)
        self.rows = []
        for sheet in sheets or (SheetEntry(),):
            self._add(sheet)

    def add_empty(self) -> None:
        """A row for one more size, with the keys in it."""
        give_keys(self._add(SheetEntry()).width_field, Qt.FocusReason.TabFocusReason)

    def _add(self, sheet: SheetEntry) -> SheetRow:
        row = SheetRow(sheet)
        row.stand(self._form.watched(*row.fields))
        row.away_button.clicked.connect(partial(self._take_away, row))
        self.rows.append(row)
        self._rows.addWidget(row)
        row.show()
        self._number()
        return row

    def _take_away(self, row: SheetRow, _checked: bool = False) -> None:
        self._form.forget(*row.fields)
        at = self.rows.index(row)
        self.rows.remove(row)
        self._rows.removeWidget(row)
        row.hide()
        row.deleteLater()
        self._number()
        near = self.rows[min(at, len(self.rows) - 1)]
        give_keys(near.width_field, Qt.FocusReason.TabFocusReason)

    def _number(self) -> None:
        for number, row in enumerate(self.rows, start=1):
            row.call(number)
            row.away_button.setVisible(len(self.rows) > 1)

    def entries(self) -> tuple[SheetEntry, ...]:
        """What stands in all rows."""
        return tuple(row.entry() for row in self.rows)

    def named_fields(self) -> Iterator[tuple[int, str, QWidget]]:
        """All fields with the number of their row and what they are."""
        for number, row in enumerate(self.rows, start=1):
            for part, field in zip(("width", "height", "price", "count"), row.fields, strict=True):
                yield number, part, field
