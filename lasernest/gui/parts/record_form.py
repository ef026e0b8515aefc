"""A form for what the shop book holds by name: a new one, or one that is changed.

What was typed for a new one before Escape is there again when the form is opened anew. What
somebody else wrote meanwhile is told; what was typed stays, and may be kept in its place.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Generic, TypeVar

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QWidget

from lasernest.domain.stock import Machine, Stock
from lasernest.errors import LasernestError
from lasernest.gui.lengths import lengths
from lasernest.gui.parts.basics import link
from lasernest.gui.parts.form import Form
from lasernest.gui.words import tr
from lasernest.services.entries import Wrong

WIDE = 172
"""Of fields for words and choices."""

R = TypeVar("R", Stock, Machine)
E = TypeVar("E")


class RecordForm(Form, Generic[R, E]):
    """What the forms for stocks and machines share."""

    given = Signal(object, object)
    """A record to keep, and the one it stands in place of, or None."""
    remove_wanted = Signal(object)
    """This record is to go."""

    def __init__(self, remove: str) -> None:
        super().__init__(tr("Done"))
        self._listed: tuple[R, ...] = ()
        """What the shop book lists."""
        self._old: R | None = None
        self._kept_draft = False
        self._filled: E | None = None
        """What stood in it when it was opened."""
        self.remove_button = link(
            remove, self._remove, tip=tr("Take it out of the shop book; it can be brought back")
        )

    def add_remove(self) -> None:
        """The link that takes the record out, below all fields."""
        self.body.addWidget(self.remove_button, 0, Qt.AlignmentFlag.AlignLeft)

    # --- what each form says -------------------------------------------------------------

    def entry(self) -> E:
        """What stands in the form."""
        raise NotImplementedError

    def entry_of(self, record: R) -> E:
        """What a record is entered as."""
        raise NotImplementedError

    def fields(self) -> Mapping[str, QWidget]:
        """The fields by the names that `wrongs` calls them; the first one first."""
        raise NotImplementedError

    def wrongs(self, entry: E) -> Sequence[Wrong]:
        """What stands against an entry."""
        raise NotImplementedError

    def record_of(self, entry: E) -> R:
        """The record to keep.

        Raises:
            LasernestError: a value that cannot be.
        """
        raise NotImplementedError

    # --- what all of them do ---------------------------------------------------------------

    def begins_anew(self) -> bool:
        """Whether a new record begins empty: nothing was kept of what was typed before."""
        anew = not self._kept_draft or self._old is not None
        self._kept_draft = False
        return anew

    def is_in_use(self) -> bool:
        """Whether something was entered that opening it again would drop; it gets the keys."""
        in_use = self.isVisible() and self.entry() != self._filled
        if in_use:
            self.point_at([next(iter(self.fields().values()))])
        return in_use

    def take_meanwhile(self, listed: Sequence[R], sentence: str) -> None:
        """It was not kept. What was typed stays, and may be kept in place of another's change."""
        self._listed = tuple(listed)
        old = self._old
        if old is not None:
            now = next((one for one in self._listed if one.name == old.name), None)
            if now is None or now != old or self.entry_of(now) != self.entry_of(old):
                sentence += " " + tr("Done keeps what stands here in place of it.")
            self._old = now
        self.complain(sentence)

    def give(self) -> None:
        self.complain("")
        if not self.settle():
            return
        entry, fields = self.entry(), self.fields()
        told = ((fields[w.field], lengths.retold(w.sentence)) for w in self.wrongs(entry))
        if not self.tell(told):
            return
        try:
            record = self.record_of(entry)
        except LasernestError as error:
            self.complain(lengths.retold(error.sentence()))
            return
        self.wait()
        self.given.emit(record, self._old)

    def _remove(self) -> None:
        if self._old is not None:
            self.remove_wanted.emit(self._old)

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802 - Qt's name
        if event.key() == Qt.Key.Key_Escape:
            self._kept_draft = self._old is None
        super().keyPressEvent(event)
