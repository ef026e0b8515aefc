"""The guided reading of a sheet's thickness: eight fields for eight places."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject, Signal
from PySide6.QtWidgets import QGridLayout, QWidget

from lasernest.gui.look.theme import theme
from lasernest.gui.parts.basics import Text, button, horizontal, vertical
from lasernest.gui.parts.fields import LengthField
from lasernest.gui.words import tr

PLACES = 8


class ThicknessForm(QWidget):
    """Eight numbered fields; Enter goes on to the next place."""

    committed = Signal(object)
    """What was read, in the order of the places, without the empty ones."""
    at_place = Signal(int)
    """The place whose field has the keys, from 0."""
    closed = Signal()

    def __init__(self) -> None:
        super().__init__()
        column = vertical(self, gap=6)
        grid = QGridLayout()
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(8)
        grid.setVerticalSpacing(6)
        self.fields: list[LengthField] = []
        for number in range(PLACES):
            field = LengthField(least_mm=0.05, most_mm=50.0, step_mm=0.01, empty="–")
            field.setAccessibleName(tr("Thickness at place {n}", n=number + 1))
            field.committed.connect(self._tell)
            field.cleared.connect(self._tell)
            field.returnPressed.connect(lambda at=number: self._go_on(at))
            field.installEventFilter(self)
            self.fields.append(field)
            row, side = number % 4, number // 4
            grid.addWidget(Text(str(number + 1), kind="quiet"), row, 2 * side)
            grid.addWidget(field, row, 2 * side + 1)
        column.addLayout(grid)
        last = horizontal(gap=8)
        last.addStretch(1)
        self.done_button = button(tr("Done"), self.closed.emit)
        last.addWidget(self.done_button)
        column.addLayout(last)
        theme.changed.connect(self._size)
        self._size()

    def _size(self) -> None:
        for field in self.fields:
            field.setFixedWidth(theme.pixels(96))

    def show_mm(self, readings_mm: tuple[float, ...]) -> None:
        """Fill the places in order, unless they say the same already."""
        if readings_mm != self.readings_mm():
            for number, field in enumerate(self.fields):
                field.set_mm(readings_mm[number] if number < len(readings_mm) else None)

    def places_mm(self) -> tuple[float | None, ...]:
        """What was read at each place, None where nothing was."""
        return tuple(field.value_mm() for field in self.fields)

    def readings_mm(self) -> tuple[float, ...]:
        """What was read, in order."""
        return tuple(mm for mm in self.places_mm() if mm is not None)

    def place(self) -> int:
        """The place whose field has the keys, -1 for none."""
        return next((i for i, field in enumerate(self.fields) if field.hasFocus()), -1)

    def _tell(self, _mm: float | None = None) -> None:
        self.committed.emit(self.readings_mm())

    def _go_on(self, number: int) -> None:
        if self.fields[number].settle():
            following = self.fields[number + 1] if number + 1 < PLACES else self.done_button
            following.setFocus()
            if isinstance(following, LengthField):
                following.selectAll()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:  # noqa: N802 - Qt's name
        if event.type() == QEvent.Type.FocusIn and watched in self.fields:
            self.at_place.emit(self.fields.index(watched))
        return super().eventFilter(watched, event)
