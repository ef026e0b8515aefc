"""Fields for lengths, counts and choices.

A field shows what the job holds and tells when the maker has put in something
else; it never changes the job itself. What cannot be read stays in the field
with a red border and a sentence below the pointer, and nothing is sent.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

from PySide6.QtCore import QPoint, QPointF, Qt, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent, QPaintEvent, QWheelEvent
from PySide6.QtWidgets import (
    QComboBox,
    QLineEdit,
    QStyle,
    QStyleOptionComboBox,
    QStylePainter,
    QToolTip,
    QWidget,
)

from lasernest.errors import LasernestError
from lasernest.gui.lengths import lengths
from lasernest.gui.look.dressed import Dressed
from lasernest.gui.look.signs import draw_chevron
from lasernest.gui.look.theme import theme
from lasernest.gui.words import tr

_UNIT_APART = re.compile(r'\s+(?=(?:mm|cm|in|ft)\b|")')
"""The space between a number and its unit, where spaces part numbers."""


class Field(Dressed, QLineEdit):
    """What all typed fields share: commit on Enter or leaving, Escape takes it back."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._wrong_beside_others = False
        self.setAlignment(Qt.AlignmentFlag.AlignRight)
        self.editingFinished.connect(self._commit)
        self.dress()

    def _commit(self) -> None:
        raise NotImplementedError

    def _restore(self) -> None:
        raise NotImplementedError

    def _step(self, by: int) -> None:
        raise NotImplementedError

    def complain(self, sentence: str) -> None:
        """Keep what was typed, show that it cannot be used and why."""
        self._mark(wrong=True)
        self.setAccessibleDescription(sentence)
        self.setToolTip(sentence)
        if self.isVisible():
            QToolTip.showText(self.mapToGlobal(QPoint(0, self.height())), sentence, self)

    def show_wrong(self, *, wrong: bool) -> None:
        """Show that what stands here cannot be used beside the other fields, or can."""
        self._wrong_beside_others = wrong
        self._mark(wrong=wrong)

    def settle(self) -> bool:
        """Take what was typed now; False when it cannot be used."""
        self._commit()
        return not self.is_wrong

    @property
    def is_wrong(self) -> bool:
        return bool(self.property("wrong"))

    @property
    def _has_something_to_take_back(self) -> bool:
        return self.isModified() or (self.is_wrong and not self._wrong_beside_others)

    def _mark(self, *, wrong: bool) -> None:
        if bool(self.property("wrong")) != wrong:
            self.setProperty("wrong", wrong)
            self.style().unpolish(self)
            self.style().polish(self)
        if not wrong:
            self.setToolTip("")

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802 - Qt's name
        if event.key() == Qt.Key.Key_Up:
            self._step(1)
        elif event.key() == Qt.Key.Key_Down:
            self._step(-1)
        elif event.key() == Qt.Key.Key_Escape and self._has_something_to_take_back:
            self._restore()
        else:
            super().keyPressEvent(event)

    def focusInEvent(self, event: QFocusEvent) -> None:  # noqa: N802 - Qt's name
        super().focusInEvent(event)
        if event.reason() in (Qt.FocusReason.TabFocusReason, Qt.FocusReason.BacktabFocusReason):
            self.selectAll()


class LengthField(Field):
    """A length in millimetres or inches; takes `3,05`, `1/8in`, `3.2 mm`."""

    committed = Signal(float)
    """A new length in mm."""
    cleared = Signal()
    """The maker emptied a field that may be empty."""

    def __init__(
        self,
        *,
        least_mm: float = 0.0,
        most_mm: float = 1e5,
        decimals: int = 2,
        step_mm: float = 0.5,
        empty: str = "",
    ) -> None:
        """Args: `empty` is what a cleared field means; without it an empty field is wrong."""
        super().__init__()
        self._least_mm, self._most_mm = least_mm, most_mm
        self._decimals, self._step_mm = decimals, step_mm
        self._value_mm: float | None = None
        self._empty = empty
        self.setPlaceholderText(empty)
        lengths.changed.connect(self._restore)

    def value_mm(self) -> float | None:
        """What is shown, None while there is nothing."""
        return self._value_mm

    def set_mm(self, value_mm: float | None) -> None:
        """Show what the job holds; what the maker is typing is left alone."""
        unchanged = value_mm == self._value_mm
        self._value_mm = value_mm
        if not (self.hasFocus() and self.isModified() and unchanged):
            self._restore()

    def _restore(self) -> None:
        text = "" if self._value_mm is None else lengths.text(self._value_mm, self._decimals)
        self.setText(text)
        self.setModified(False)
        self._mark(wrong=False)

    def _commit(self) -> None:
        if not self.isModified():
            return
        if self._empty and not self.text().strip():
            self.set_mm(None)
            self._restore()
            self.cleared.emit()
            return
        try:
            value_mm = lengths.read_mm(self.text())
        except LasernestError as error:
            self.complain(error.sentence())
            return
        if not self._least_mm <= value_mm <= self._most_mm:
            self.complain(
                tr(
                    "This must be from {least} to {most}.",
                    least=lengths.text(self._least_mm, self._decimals),
                    most=lengths.text(self._most_mm, self._decimals),
                )
            )
            return
        self._take(value_mm)

    def _take(self, value_mm: float) -> None:
        changed = self._value_mm is None or abs(value_mm - self._value_mm) > 1e-9
        self._value_mm = value_mm
        self._restore()
        if changed:
            self.committed.emit(value_mm)

    def _step(self, by: int) -> None:
        value_mm = (self._value_mm or 0.0) + by * self._step_mm
        self._take(min(max(round(value_mm, 6), self._least_mm), self._most_mm))


class LengthsField(Field):
    """Several lengths of the same thing, parted by spaces or semicolons."""

    committed = Signal(object)
    """A tuple of lengths in mm; empty when the field was cleared."""

    def __init__(self, *, example_mm: tuple[float, ...]) -> None:
        """Args: `example_mm` is shown, in the unit in force, while the field is empty."""
        super().__init__()
        self._values_mm: tuple[float, ...] = ()
        self._example_mm = example_mm
        lengths.changed.connect(self._restore)
        self._restore()

    def set_mm(self, values_mm: tuple[float, ...]) -> None:
        """Show these."""
        self._values_mm = values_mm
        if not (self.hasFocus() and self.isModified()):
            self._restore()

    def _restore(self) -> None:
        self.setPlaceholderText("  ".join(lengths.number(v) for v in self._example_mm))
        self.setText("  ".join(lengths.number(v) for v in self._values_mm))
        self.setModified(False)
        self._mark(wrong=False)

    def _commit(self) -> None:
        if not self.isModified():
            return
        try:
            words = _UNIT_APART.sub("", self.text()).replace(";", " ").split()
            values_mm = tuple(lengths.read_mm(word) for word in words)
        except LasernestError as error:
            self.complain(error.sentence())
            return
        self._values_mm = values_mm
        self._restore()
        self.committed.emit(values_mm)

    def _step(self, by: int) -> None:
        """Arrows would not know which of them to step."""


class AngleField(Field):
    """An angle in degrees; an empty field means what its placeholder says."""

    committed = Signal(float)
    """A new angle in degrees."""
    cleared = Signal()

    def __init__(self, *, least_deg: float, most_deg: float, empty: str) -> None:
        super().__init__()
        self._least_deg, self._most_deg = least_deg, most_deg
        self._value_deg: float | None = None
        self.setPlaceholderText(empty)

    def set_deg(self, value_deg: float | None) -> None:
        """Show what the job holds; what the maker is typing is left alone."""
        unchanged = value_deg == self._value_deg
        self._value_deg = value_deg
        if not (self.hasFocus() and self.isModified() and unchanged):
            self._restore()

    def _restore(self) -> None:
        value_deg = self._value_deg
        self.setText("" if value_deg is None else f"{round(value_deg, 2):g}°")
        self.setModified(False)
        self._mark(wrong=False)

    def _commit(self) -> None:
        if not self.isModified():
            return
        text = self.text().strip().rstrip("°").strip().replace(",", ".")
        if not text:
            self.set_deg(None)
            self._restore()
            self.cleared.emit()
            return
        try:
            value_deg = float(text)
        except ValueError:
            value_deg = float("nan")
        if not self._least_deg <= value_deg <= self._most_deg:
            self.complain(
                tr(
                    "This must be an angle from {least}° to {most}°.",
                    least=f"{self._least_deg:g}",
                    most=f"{self._most_deg:g}",
                )
            )
            return
        self._take(value_deg)

    def _take(self, value_deg: float) -> None:
        changed = value_deg != self._value_deg
        self._value_deg = value_deg
        self._restore()
        if changed:
            self.committed.emit(value_deg)

    def _step(self, by: int) -> None:
        value_deg = (90.0 if self._value_deg is None else self._value_deg) + by
        self._take(min(max(value_deg, self._least_deg), self._most_deg))


class CountField(Field):
    """A whole number."""

    committed = Signal(int)

    def __init__(self, *, least: int = 0, most: int = 100_000) -> None:
        super().__init__()
        self._least, self._most = least, most
        self._value = least

    def value(self) -> int:
        return self._value

    def set_value(self, value: int) -> None:
        """Show what the job holds; what the maker is typing is left alone."""
        unchanged = value == self._value
        self._value = value
        if not (self.hasFocus() and self.isModified() and unchanged):
            self._restore()

    def show_different(self) -> None:
        """Several things have several numbers; what is typed goes to all of them."""
        self._value = _DIFFERENT
        self.setPlaceholderText(tr("different"))
        if not (self.hasFocus() and self.isModified()):
            self._restore()

    def _restore(self) -> None:
        self.setText("" if self._value == _DIFFERENT else str(self._value))
        self.setModified(False)
        self._mark(wrong=False)

    def _commit(self) -> None:
        if not self.isModified():
            return
        text = self.text().strip()
        if not text and self._value == _DIFFERENT:
            self._restore()
            return
        if not text.isdecimal() or not self._least <= int(text) <= self._most:
            self.complain(
                tr(
                    "This must be a whole number from {least} to {most}.",
                    least=self._least,
                    most=self._most,
                )
            )
            return
        self._take(int(text))

    def _take(self, value: int) -> None:
        changed = value != self._value
        self._value = value
        self._restore()
        if changed:
            self.committed.emit(value)

    def _step(self, by: int) -> None:
        if self._value != _DIFFERENT:
            self._take(min(max(self._value + by, self._least), self._most))


_DIFFERENT = -1
"""Stands in a `CountField` for numbers that differ."""


class ChoiceField(Dressed, QComboBox):
    """One of a few choices, each with a text and a value."""

    picked = Signal(object)
    """The value of what the maker chose."""

    def __init__(self) -> None:
        super().__init__()
        self.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        self.setMinimumContentsLength(4)
        self._values: list[Any] = []
        self.activated.connect(self._tell)
        self.dress()

    def offer(self, choices: Sequence[tuple[str, Any]], chosen: Any) -> None:
        """Show these choices; nothing is emitted."""
        texts = [text for text, _ in choices]
        self._values = [value for _, value in choices]
        if [self.itemText(i) for i in range(self.count())] != texts:
            self.clear()
            self.addItems(texts)
        self.setCurrentIndex(self._values.index(chosen) if chosen in self._values else -1)

    def value(self) -> Any:
        index = self.currentIndex()
        return self._values[index] if 0 <= index < len(self._values) else None

    def pick(self, value: Any) -> None:
        """Choose as the maker would."""
        self.setCurrentIndex(self._values.index(value))
        self.picked.emit(value)

    def _tell(self, index: int) -> None:
        self.picked.emit(self._values[index])

    def shown_text(self) -> str:
        """The chosen text, shortened where the field is too narrow for it."""
        option = QStyleOptionComboBox()
        self.initStyleOption(option)
        kind, part = QStyle.ComplexControl.CC_ComboBox, QStyle.SubControl.SC_ComboBoxEditField
        room = self.style().subControlRect(kind, option, part, self).width()
        return self.fontMetrics().elidedText(self.currentText(), Qt.TextElideMode.ElideRight, room)

    def showPopup(self) -> None:  # noqa: N802 - Qt's name
        widest = max(
            (self.fontMetrics().horizontalAdvance(self.itemText(i)) for i in range(self.count())),
            default=0,
        )
        self.view().setMinimumWidth(max(self.width(), widest + 40))
        super().showPopup()

    def wheelEvent(self, event: QWheelEvent) -> None:  # noqa: N802 - Qt's name
        # A wheel over a scrolled card must scroll the card, not change a choice.
        event.ignore()

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802 - Qt's name
        painter = QStylePainter(self)
        option = QStyleOptionComboBox()
        self.initStyleOption(option)
        painter.drawComplexControl(QStyle.ComplexControl.CC_ComboBox, option)
        option.currentText = self.shown_text()
        painter.drawControl(QStyle.ControlElement.CE_ComboBoxLabel, option)
        colour = theme.colour("quiet" if self.isEnabled() else "faint")
        draw_chevron(painter, QPointF(self.width() - 14.0, self.height() / 2.0), colour)
        painter.end()
