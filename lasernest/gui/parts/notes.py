"""Notes in place: questions with their answers as buttons, errors, hints."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial

from PySide6.QtCore import Qt, QTimer
from PySide6.QtWidgets import QFrame, QWidget

from lasernest.gui.guide.why import WhyMark
from lasernest.gui.parts.basics import Text, button, clear, horizontal, vertical
from lasernest.gui.parts.flow import FlowLayout
from lasernest.gui.tab_order import give_keys


@dataclass(frozen=True, slots=True)
class Answer:
    """A button below a note."""

    text: str
    act: Callable[[], object]
    tip: str = ""


@dataclass(frozen=True, slots=True)
class Note:
    """What is asked or told: kind is `question`, `error` or `note`."""

    text: str
    kind: str = "note"
    answers: tuple[Answer, ...] = ()
    heading: str = ""
    why: str = ""
    """Where in the guide it is explained."""


class NoteBox(QFrame):
    """A note on the card."""

    def __init__(self, note: Note, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.note = note
        self.setProperty("kind", note.kind)
        column = vertical(self, gap=8)
        column.setContentsMargins(12, 10, 12, 12)
        if note.heading:
            column.addWidget(Text(note.heading, strong=True, wrap=True))
        text = Text(note.text, wrap=True)
        if note.why:
            line = horizontal(gap=6)
            line.addWidget(text, 1)
            top = Qt.AlignmentFlag.AlignTop
            line.addWidget(WhyMark(note.heading or note.text, note.why), 0, top)
            column.addLayout(line)
        else:
            column.addWidget(text)
        self.setAccessibleName(f"{note.heading} {note.text}".strip())
        self._answers = [
            button(answer.text, partial(self._answer, place), tip=answer.tip)
            for place, answer in enumerate(note.answers)
        ]
        if self._answers:
            row = FlowLayout(gap=8)
            for answer in self._answers:
                row.addWidget(answer)
            column.addLayout(row)

    def _answer(self, place: int) -> None:
        self.note.answers[place].act()

    def take_keys(self) -> None:
        """Let the keys go to the first answer; the window scrolls it into sight."""
        if self._answers:
            give_keys(self._answers[0], Qt.FocusReason.OtherFocusReason)


class NoteList(QWidget):
    """All notes of a card; made anew only when they differ."""

    def __init__(self) -> None:
        super().__init__()
        self._column = vertical(self, gap=8)
        self._boxes: list[NoteBox] = []
        self._shown: tuple[tuple[str, str, str, tuple[str, ...]], ...] = ()
        self.hide()

    def show_notes(self, notes: Sequence[Note]) -> None:
        """Show these notes."""
        looks = tuple((n.kind, n.heading, n.text, tuple(a.text for a in n.answers)) for n in notes)
        if looks == self._shown:
            # Alike, but what the answers do may be about another file or place.
            for box, note in zip(self._boxes, notes, strict=True):
                box.note = note
            return
        self._shown = looks
        clear(self._column)
        self._boxes = [NoteBox(note) for note in notes]
        for box in self._boxes:
            self._column.addWidget(box)
            box.show()
        self.setVisible(bool(notes))

    def ask(self, text: str) -> None:
        """Let the keys go to the note of this text: it answers what the maker just did."""
        for box in self.findChildren(NoteBox):
            if box.note.text == text and not box.isHidden():
                # A new note has its place only after the page is laid out anew.
                QTimer.singleShot(0, box, box.take_keys)

    def notes(self) -> list[Note]:
        """What is shown."""
        return [box.note for box in self.findChildren(NoteBox) if not box.isHidden()]
