"""A form in place on a card: fields with their sentences, Cancel and Done.

What cannot be used stays in its field, and a sentence below says why. Enter goes on to the
next field, Escape closes the form, the main action's key presses Done.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QAbstractButton, QVBoxLayout, QWidget

from lasernest.gui.parts.basics import (
    SettingRow,
    Text,
    button,
    give_focus_back,
    horizontal,
    rule,
    vertical,
)
from lasernest.gui.parts.fields import Field
from lasernest.gui.tab_order import first_stop, give_keys, scroll_to
from lasernest.gui.words import tr


class Said(Text):
    """A sentence below one field or several: the first of them that cannot be used."""

    def __init__(self) -> None:
        super().__init__("", kind="bad", wrap=True)
        self.fields: list[QWidget] = []
        self._sentences: dict[QWidget, str] = {}
        self.hide()

    def tell(self, field: QWidget, sentence: str) -> None:
        """What is to be said of a field; nothing takes back what was."""
        self._sentences[field] = sentence
        texts = [text for field in self.fields if (text := self._sentences.get(field, ""))]
        self.setText(texts[0] if texts else "")
        self.setVisible(bool(texts))


class Form(QWidget):
    """What all forms share."""

    closed = Signal()
    """Cancel, Escape, or done; what was kept is the hands' business."""

    def __init__(self, done: str) -> None:
        super().__init__()
        column = vertical(self, gap=6)
        self.heading = Text("", strong=True, wrap=True)
        column.addWidget(rule())
        column.addWidget(self.heading)
        self.body: QVBoxLayout = vertical(gap=6)
        column.addLayout(self.body)
        self.trouble = Text("", kind="bad", wrap=True)
        """What went wrong with the form as a whole."""
        self.trouble.hide()
        column.addWidget(self.trouble)
        row = horizontal(gap=8)
        row.addStretch(1)
        self.cancel_button = button(tr("Cancel"), self._cancel)
        self.done_button = button(done, self.give)
        row.addWidget(self.cancel_button)
        row.addWidget(self.done_button)
        column.addLayout(row)
        column.addWidget(rule())
        self._said: dict[QWidget, Said] = {}
        self._marked: set[QWidget] = set()
        """Fields that can be read but not used beside the others."""
        self._came_from: QWidget | None = None
        self._went_on = False
        """Whether the Enter that is under way has moved the keys already."""

    # --- fields ------------------------------------------------------------------------

    def add_row(self, name: str, field: QWidget, *, explain: str = "", width: int = 112) -> None:
        """A field beside its name, and the sentence about it below."""
        self.body.addWidget(SettingRow(name, field, explain=explain, width=width))
        self.body.addWidget(self.watched(field))

    def watched(self, *fields: QWidget) -> Said:
        """Let fields have a sentence; it is to be laid out below them."""
        said = Said()
        for field in fields:
            said.fields.append(field)
            self._said[field] = said
            if isinstance(field, Field):
                field.editingFinished.connect(lambda f=field: self._look(f))
                field.textEdited.connect(lambda _text, f=field: self._unmark(f))
                field.returnPressed.connect(lambda f=field: self._go_on(f))
        return said

    def forget(self, *fields: QWidget) -> None:
        """Fields that go away."""
        for field in fields:
            self._marked.discard(field)
            self._said.pop(field, None)

    def _unmark(self, field: QWidget) -> None:
        if field in self._marked:
            self._marked.discard(field)
            if isinstance(field, Field):
                field.show_wrong(wrong=False)
            if field in self._said:
                self._said[field].tell(field, "")

    def _look(self, field: Field) -> None:
        if field in self._said and field not in self._marked:
            self._said[field].tell(field, field.toolTip() if field.is_wrong else "")

    def _go_on(self, field: Field) -> None:
        self._went_on = True
        if field.settle():
            field.focusNextPrevChild(True)

    def settle(self) -> bool:
        """Take what is typed everywhere; the first field that cannot be used gets the keys."""
        wrong: list[QWidget] = []
        for marked in list(self._marked):
            self._unmark(marked)
        for field in list(self._said):
            if isinstance(field, Field):
                field.settle()
                self._look(field)
                if field.is_wrong:
                    wrong.append(field)
        return self.point_at(wrong)

    def tell(self, wrongs: Iterable[tuple[QWidget, str]]) -> bool:
        """Say what stands against fields; True when nothing does."""
        told = []
        for field, sentence in wrongs:
            if field in self._said and field not in told:
                self._said[field].tell(field, sentence)
                self._marked.add(field)
                if isinstance(field, Field):
                    field.show_wrong(wrong=True)
                told.append(field)
        return self.point_at(told)

    def point_at(self, fields: list[QWidget]) -> bool:
        """Give the keys to the first of these, or tell that there is none."""
        shown = [field for field in fields if field.isVisibleTo(self)]
        if shown:
            give_keys(shown[0], Qt.FocusReason.TabFocusReason)
            self._show_soon(self._said[shown[0]], shown[0])
        return not fields

    def _show_soon(self, *parts: QWidget) -> None:
        """Scroll these into sight, the last one for sure, once sentences have their places."""

        def scroll() -> None:
            for part in parts:
                if part.isVisible():
                    scroll_to(part)

        QTimer.singleShot(0, self, scroll)

    def complain(self, sentence: str) -> None:
        """Say what went wrong; what was entered stays."""
        self.trouble.setText(sentence)
        self.trouble.setVisible(bool(sentence))
        self.done_button.setEnabled(True)

    def take_meanwhile(self, _listed: Sequence[Any], sentence: str) -> None:
        """It was not kept; `_listed` is what the shop book lists now."""
        self.complain(sentence)

    def wait(self) -> None:
        """What was entered is being kept; Done is pressed once only."""
        self.done_button.setEnabled(False)

    # --- opening and closing -------------------------------------------------------------

    def open(self, came_from: QWidget | None) -> None:
        """Show it, with the keys in its first field; they go back to where they were."""
        if came_from is None or not self.isAncestorOf(came_from):
            self._came_from = came_from
        self.complain("")
        for marked in list(self._marked):
            self._unmark(marked)
        self.show()
        first = first_stop(self)
        if first is not None:
            give_keys(first, Qt.FocusReason.TabFocusReason)
            self._show_soon(self.done_button, self.heading, first)

    def close_form(self) -> None:
        """Put it away; the keys go back."""
        had_keys = self.isAncestorOf(self.window().focusWidget() or self)
        self.hide()
        self.closed.emit()
        if had_keys:
            give_focus_back(self.window(), self._came_from)

    def _cancel(self) -> None:
        self.close_form()

    def give(self) -> None:
        """Done: take what was entered, if it can be used."""
        raise NotImplementedError

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802 - Qt's name
        key, focused = event.key(), self.window().focusWidget()
        if key == Qt.Key.Key_Escape:
            self.close_form()
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and focused is not None:
            # A field's own Enter comes here, too, once it went on to what is next.
            went_on, self._went_on = self._went_on, False
            if not went_on and not isinstance(focused, QAbstractButton | Field):
                focused.focusNextPrevChild(True)
        else:
            super().keyPressEvent(event)


def form_around(part: QWidget | None) -> Form | None:
    """The form that a part stands in."""
    while part is not None and not isinstance(part, Form):
        part = part.parentWidget()
    return part
