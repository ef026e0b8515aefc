"""The forms for the shelf: an offcut that comes onto it, and one that goes."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QWidget

from lasernest.domain.offcuts import Offcut
from lasernest.gui.lengths import lengths
from lasernest.gui.parts.fields import ChoiceField, LengthField
from lasernest.gui.parts.form import Form
from lasernest.gui.parts.plain_fields import WordsField
from lasernest.gui.words import tr
from lasernest.services.stock_entry import OffcutEntry, offcut_of, wrongs_of_offcut

_MOST_MM = 20_000.0
_MOST_LABEL = 24


class OffcutForm(Form):
    """A rectangular offcut: its sides, and what stands on it."""

    given = Signal(object)
    """An `Offcut` for the shelf."""

    def __init__(self) -> None:
        super().__init__(tr("Put on the shelf"))
        self._stock_name = ""
        self._labels: tuple[str, ...] = ()
        self.width_field, self.height_field = (
            LengthField(least_mm=1.0, most_mm=_MOST_MM, decimals=1, step_mm=10.0, empty="–")
            for _ in range(2)
        )
        self.add_row(tr("Width, along the grain"), self.width_field)
        self.add_row(tr("Height"), self.height_field)
        self.label = WordsField(empty=tr("next free"), most=_MOST_LABEL)
        self.add_row(
            tr("Label"),
            self.label,
            explain=tr("What stands on the piece; empty for the next free one."),
        )

    def open_for(self, stock_name: str, labels: Sequence[str], came_from: QWidget | None) -> None:
        """Enter an offcut of this stock; labels are those on the shelf."""
        self._stock_name, self._labels = stock_name, tuple(labels)
        self.heading.setText(tr("Offcut of {stock}", stock=stock_name))
        self.width_field.set_mm(None)
        self.height_field.set_mm(None)
        self.label.set_words("")
        self.open(came_from)

    def give(self) -> None:
        self.complain("")
        if not self.settle():
            return
        entry = OffcutEntry(
            self.label.words(), self.width_field.value_mm(), self.height_field.value_mm()
        )
        fields = {"width": self.width_field, "height": self.height_field, "label": self.label}
        wrongs = wrongs_of_offcut(entry, self._labels)
        if self.tell((fields[wrong.field], wrong.sentence) for wrong in wrongs):
            self.wait()
            self.given.emit(offcut_of(entry, self._stock_name))


class OffForm(Form):
    """Which offcut goes off the shelf."""

    given = Signal(object)
    """The `Offcut` that is no more."""

    def __init__(self) -> None:
        super().__init__(tr("Take off"))
        self.heading.setText(tr("Off the shelf: it was used up or thrown away"))
        self.which = ChoiceField()
        self.add_row(tr("Offcut"), self.which, width=172)

    def open_for(self, offcuts: Sequence[Offcut], came_from: QWidget | None) -> None:
        """Choose among these."""
        choices = [(offcut_text(offcut), offcut) for offcut in offcuts]
        self.which.offer(choices, offcuts[0] if offcuts else None)
        self.open(came_from)

    def give(self) -> None:
        offcut = self.which.value()
        if offcut is not None:
            self.wait()
            self.given.emit(offcut)


def offcut_text(offcut: Offcut) -> str:
    """An offcut in a choice."""
    return tr("{label}, {size}", label=offcut.label, size=lengths.size(*offcut.size_mm, 0))
