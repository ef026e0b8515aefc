"""The form for a machine of the shop book: a new one, or one that is changed."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QWidget

from lasernest.domain.cutting import Corner
from lasernest.domain.stock import Machine
from lasernest.errors import LasernestError
from lasernest.gui.lengths import lengths
from lasernest.gui.look.theme import theme
from lasernest.gui.parts.basics import Text, horizontal, link
from lasernest.gui.parts.fields import ChoiceField, LengthField
from lasernest.gui.parts.form import Form
from lasernest.gui.parts.plain_fields import NumberField, WordsField
from lasernest.gui.words import tr
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

_WIDE = 172
_BED_WIDTH = 104
_MOST_BED_MM = 20_000.0
_MOST_NAME = 60


class MachineForm(Form):
    """Name, bed, corner of zero, speeds, layers and note."""

    given = Signal(object, object)
    """A `Machine` to keep, and the one it stands in place of, or None."""
    remove_wanted = Signal(object)
    """This `Machine` is to go."""

    def __init__(self) -> None:
        super().__init__(tr("Done"))
        self._machines: tuple[Machine, ...] = ()
        self._old: Machine | None = None
        self._kept_draft = False
        self._filled = MachineEntry()
        """What stood in it when it was opened."""
        self.basis = Text("", kind="quiet", wrap=True)
        self.body.addWidget(self.basis)
        self.name = WordsField(empty=tr("what the shop calls it"), most=_MOST_NAME)
        self.add_row(tr("Called"), self.name, width=_WIDE)
        self._add_bed()
        self.origin = ChoiceField()
        self.add_row(
            tr("Zero lies"),
            self.origin,
            explain=tr("The corner of the sheet at 0, 0 of the machine."),
            width=_WIDE,
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
            Text(tr("Layers that its program looks for; colours stay"), kind="quiet", wrap=True)
        )
        self.layers = {use: WordsField(empty="–", most=80) for use in _LAYER_NAMES}
        for use, words in self.layers.items():
            self.add_row(tr(_LAYER_NAMES[use]), words, width=_WIDE)
            words.setAccessibleName(tr("Layer of {what}", what=tr(_LAYER_NAMES[use])))
        self.note = WordsField(empty="–")
        self.add_row(tr("Note"), self.note, width=_WIDE)
        self.remove_button = link(
            tr("Remove this machine"),
            self._remove,
            tip=tr("Take it out of the shop book; it can be brought back"),
        )
        self.body.addWidget(self.remove_button, 0, Qt.AlignmentFlag.AlignLeft)
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
        if self._is_in_use():
            return
        self._machines = tuple(machines)
        if not self._kept_draft or self._old is not None:
            self._old = None
            self._fill(MachineEntry.usual())
        self._kept_draft = False
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
        if self._is_in_use():
            return
        self._machines, self._old, self._kept_draft = tuple(machines), machine, False
        self._fill(MachineEntry.of(machine))
        self.heading.setText(tr("Change {machine}", machine=machine.name))
        self.basis.setText(
            tr("This is common practice still: replace it by what the machine's manual says.")
        )
        self.basis.setVisible(machine == Machine(machine.name))
        self.remove_button.show()
        self.open(came_from)

    def take_machines(self, machines: tuple[Machine, ...], sentence: str) -> None:
        """It was not kept. What was typed stays, and may be kept in place of another's change."""
        self._machines = machines
        if self._old is not None:
            name = self._old.name
            now = next((m for m in machines if m.name == name), None)
            if now is None or MachineEntry.of(now) != MachineEntry.of(self._old):
                sentence += " " + tr("Done keeps what stands here in place of it.")
            self._old = now
        self.complain(sentence)

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

    def _is_in_use(self) -> bool:
        """Whether something was entered that opening it again would drop; it gets the keys."""
        in_use = self.isVisible() and self.entry() != self._filled
        if in_use:
            self.point_at([self.name])
        return in_use

    # --- done ------------------------------------------------------------------------

    def entry(self) -> MachineEntry:
        """What stands in the form."""
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

    def give(self) -> None:
        self.complain("")
        if not self.settle():
            return
        entry = self.entry()
        fields: dict[str, QWidget] = {
            NAME: self.name,
            BED_WIDTH: self.bed_width,
            BED_HEIGHT: self.bed_height,
            TRAVEL: self.travel,
            ACCELERATION: self.acceleration,
            PIERCE: self.pierce,
            MARKING: self.marking,
            **self.layers,
        }
        wrongs = wrongs_of_machine(entry, self._machines, old=self._old)
        if not self.tell((fields[w.field], lengths.retold(w.sentence)) for w in wrongs):
            return
        try:
            machine = machine_of(entry, old=self._old)
        except LasernestError as error:
            self.complain(lengths.retold(error.sentence()))
            return
        self.wait()
        self.given.emit(machine, self._old)

    def _remove(self) -> None:
        if self._old is not None:
            self.remove_wanted.emit(self._old)

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802 - Qt's name
        if event.key() == Qt.Key.Key_Escape:
            self._kept_draft = self._old is None
        super().keyPressEvent(event)


_LAYER_NAMES = {
    "inner": "Inner cuts",
    "outer": "Outer cuts",
    "score": "Scores",
    "engrave": "Engravings",
}
