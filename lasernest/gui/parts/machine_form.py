"""The form for a machine of the shop book: a new one, or one that is changed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from PySide6.QtWidgets import QWidget

from lasernest.domain.cutting import Corner
from lasernest.domain.stock import Machine
from lasernest.gui.look.theme import theme
from lasernest.gui.parts.basics import Text, horizontal
from lasernest.gui.parts.fields import ChoiceField, LengthField
from lasernest.gui.parts.plain_fields import NumberField, WordsField
from lasernest.gui.parts.record_form import WIDE, RecordForm
from lasernest.gui.words import tr
from lasernest.services.entries import Wrong
from lasernest.services.machine_entry import (
    ACCELERATION,
    BED_HEIGHT,
    BED_WIDTH,
    MARKING,
    NAME,
    PIERCE,
    TRAVEL,
    MachineEntry,
    machine_of,
    wrongs_of_machine,
)

_BED_WIDTH = 104
_MOST_BED_MM = 20_000.0
_MOST_NAME = 60


class MachineForm(RecordForm[Machine, MachineEntry]):
    """Name, bed, corner of zero, speeds, layers and note."""

    def __init__(self) -> None:
        super().__init__(tr("Remove this machine"))
        self.basis = Text("", kind="quiet", wrap=True)
        self.body.addWidget(self.basis)
        self.name = WordsField(empty=tr("what the shop calls it"), most=_MOST_NAME)
        self.add_row(tr("Called"), self.name, width=WIDE)
        self._add_bed()
        self.origin = ChoiceField()
        self.add_row(
            tr("Zero lies"),
            self.origin,
            explain=tr("The corner of the sheet at 0, 0 of the machine."),
            width=WIDE,
        )
        self.travel = NumberField(
            unit="mm/s", inch_unit="in/s", least=1.0, most=20_000.0, step=10.0, empty="–"
        )
        self.acceleration = NumberField(
            unit="mm/s²", inch_unit="in/s²", least=1.0, most=200_000.0, step=100.0, empty="–"
        )
        self.pierce = NumberField(unit="s", least=0.0, most=60.0, step=0.1, empty="–")
        self.marking = NumberField(
            unit="mm/s", inch_unit="in/s", least=0.1, most=20_000.0, step=10.0, empty="–"
        )
        for name, field, explain in (
            (tr("Travel speed"), self.travel, tr("From one line to the next, beam off.")),
            (tr("Acceleration"), self.acceleration, tr("Of the head on these ways.")),
            (tr("Pierce time"), self.pierce, tr("Before each cut, until the beam is through.")),
            (tr("Marking speed"), self.marking, tr("Of scoring and engraving.")),
        ):
            self.add_row(name, field, explain=explain)
        self.body.addWidget(
            Text(
                tr("Layers that its program looks for; their colours stay as they are"),
                kind="quiet",
                wrap=True,
            )
        )
        self.layers = {use: WordsField(empty="–", most=80) for use in _LAYER_NAMES}
        for use, words in self.layers.items():
            self.add_row(tr(_LAYER_NAMES[use]), words, width=WIDE)
            words.setAccessibleName(tr("Layer of {what}", what=tr(_LAYER_NAMES[use])))
        self.note = WordsField(empty="–")
        self.add_row(tr("Note"), self.note, width=WIDE)
        self.add_remove()
        theme.changed.connect(self._size)
        self._size()

    def _add_bed(self) -> None:
        self.bed_width, self.bed_height = (
            LengthField(least_mm=10.0, most_mm=_MOST_BED_MM, decimals=1, step_mm=10.0, empty=empty)
            for empty in (tr("width"), tr("height"))
        )
        self.bed_width.setAccessibleName(tr("Width of the bed, along x"))
        self.bed_height.setAccessibleName(tr("Height of the bed"))
        self.body.addWidget(Text(tr("Bed: width along x × height"), kind="quiet", wrap=True))
        row = horizontal(gap=6)
        row.addWidget(self.bed_width)
        row.addWidget(Text("×", kind="quiet"))
        row.addWidget(self.bed_height)
        row.addStretch(1)
        self.body.addLayout(row)
        self.body.addWidget(self.watched(self.bed_width, self.bed_height))

    def _size(self) -> None:
        for field in (self.bed_width, self.bed_height):
            field.setFixedWidth(theme.pixels(_BED_WIDTH))

    # --- opening ---------------------------------------------------------------------

    def open_new(self, machines: Sequence[Machine], came_from: QWidget | None) -> None:
        """Enter a new machine; what was typed before Escape is still there."""
        if self.is_in_use():
            return
        self._listed = tuple(machines)
        if self.begins_anew():
            self._old = None
            self._fill(MachineEntry.usual())
        self.heading.setText(tr("New machine"))
        self.basis.setText(
            tr("What stands here is common practice: replace it by what the machine's manual says.")
        )
        self.basis.show()
        self.remove_button.hide()
        self.open(came_from)

    def open_change(
        self, machine: Machine, machines: Sequence[Machine], came_from: QWidget | None
    ) -> None:
        """Change a machine of the shop book."""
        if self.is_in_use():
            return
        self._listed, self._old, self._kept_draft = tuple(machines), machine, False
        self._fill(MachineEntry.of(machine))
        self.heading.setText(tr("Change {machine}", machine=machine.name))
        self.basis.setText(
            tr("This is common practice still: replace it by what the machine's manual says.")
        )
        self.basis.setVisible(machine == Machine(machine.name))
        self.remove_button.show()
        self.open(came_from)

    def _fill(self, entry: MachineEntry) -> None:
        self.name.set_words(entry.name)
        self.bed_width.set_mm(entry.bed_width_mm)
        self.bed_height.set_mm(entry.bed_height_mm)
        self.origin.offer([(tr(corner.value), corner) for corner in Corner], entry.origin)
        self.travel.set_number(entry.travel_mm_per_s)
        self.acceleration.set_number(entry.acceleration_mm_per_s2)
        self.pierce.set_number(entry.pierce_s)
        self.marking.set_number(entry.mark_speed_mm_per_s)
        for use, field in self.layers.items():
            field.set_words(getattr(entry, use))
        self.note.set_words(entry.note)
        self._filled = self.entry()

    # --- done ------------------------------------------------------------------------

    def entry(self) -> MachineEntry:
        return MachineEntry(
            self.name.words(),
            self.bed_width.value_mm(),
            self.bed_height.value_mm(),
            self.origin.value(),
            self.travel.number(),
            self.acceleration.number(),
            self.pierce.number(),
            self.marking.number(),
            self.layers["inner"].words(),
            self.layers["outer"].words(),
            self.layers["score"].words(),
            self.layers["engrave"].words(),
            self.note.words(),
        )

    def entry_of(self, record: Machine) -> MachineEntry:
        return MachineEntry.of(record)

    def fields(self) -> Mapping[str, QWidget]:
        return {
            NAME: self.name,
            BED_WIDTH: self.bed_width,
            BED_HEIGHT: self.bed_height,
            TRAVEL: self.travel,
            ACCELERATION: self.acceleration,
            PIERCE: self.pierce,
            MARKING: self.marking,
            **self.layers,
        }

    def wrongs(self, entry: MachineEntry) -> Sequence[Wrong]:
        return wrongs_of_machine(entry, self._listed, old=self._old)

    def record_of(self, entry: MachineEntry) -> Machine:
        return machine_of(entry, old=self._old)


_LAYER_NAMES = {
    "inner": "Inner cuts",
    "outer": "Outer cuts",
    "score": "Scores",
    "engrave": "Engravings",
}
