"""A place on a card where the shop book is written: links, a form in place, and the way back."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtWidgets import QWidget

from lasernest.domain.stock import Machine, Stock
from lasernest.gui.desk import Desk
from lasernest.gui.parts.basics import vertical
from lasernest.gui.parts.flow import FlowLayout
from lasernest.gui.parts.form import Form
from lasernest.gui.parts.notes import Answer, Note, NoteList
from lasernest.gui.shop_hands import Kept, ShopPart
from lasernest.gui.tiles import Step
from lasernest.gui.words import tr


class EntryBox(QWidget):
    """What such places share."""

    def __init__(self, desk: Desk, step: Step, *, part: ShopPart) -> None:
        super().__init__()
        self._desk, self._step, self._hands = desk, step, desk.shop_hands
        self._part = part
        self._form: Form | None = None
        """The one that is open."""
        self.column = vertical(self, gap=6)
        self._links = QWidget()
        self.links = FlowLayout(self._links, gap=16)
        self.column.addWidget(self._links)
        self.notes = NoteList()
        self.column.addWidget(self.notes)
        self._hands.changed.connect(self.show_notes)

    def stand(self, form: Form) -> None:
        """Give a form its place; it is shown when it is opened."""
        form.hide()
        form.closed.connect(self._closed)
        self.column.insertWidget(self.column.indexOf(self.notes), form)

    def make_way(self, form: Form) -> QWidget | None:
        """Let a form take the place of the links; tells what had the keys."""
        came_from = self.window().focusWidget()
        if self._form is not None and self._form is not form:
            self._form.close_form()
        self._form = form
        self._links.hide()
        self.notes.hide()
        return came_from

    def _closed(self) -> None:
        self._form = None
        self._links.show()
        self.show_notes()

    def close_form(self) -> None:
        """Put away the form that is open, if there is one."""
        if self._form is not None:
            self._form.close_form()

    def refused(self, sentence: str, listed: Sequence[Stock | Machine]) -> None:
        """Tell why something was not kept: in the form, which holds what was entered."""
        if self._form is not None:
            self._form.take_meanwhile(listed, sentence)
        else:
            self._desk.said.emit(sentence)

    def answers(self, kept: Kept) -> Sequence[Answer]:
        """More answers to the note about what was kept."""
        return ()

    def show_notes(self) -> None:
        """Tell what was kept last, with the way back."""
        kept = self._hands.last
        notes = []
        if kept is not None and kept.part is self._part:
            answers = (
                *self.answers(kept),
                Answer(tr("Take it back"), lambda: self._hands.take_back(self._step)),
                Answer(tr("Dismiss"), self._hands.put_away),
            )
            notes.append(Note(kept.said, "note", answers))
        self.notes.show_notes(notes)
        self.notes.setVisible(bool(notes) and self._form is None)
