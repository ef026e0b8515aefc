"""The machine that the job is cut on: chosen, and entered, changed and removed in place."""

from __future__ import annotations

from collections.abc import Sequence

from lasernest.domain.stock import Machine, Stock
from lasernest.gui.desk import Desk
from lasernest.gui.lengths import lengths
from lasernest.gui.parts.basics import SettingRow, Text, link
from lasernest.gui.parts.entry_box import EntryBox
from lasernest.gui.parts.fields import ChoiceField
from lasernest.gui.parts.machine_form import MachineForm
from lasernest.gui.shop_hands import ShopPart
from lasernest.gui.tiles import Step
from lasernest.gui.words import tr


class MachineBox(EntryBox):
    """A choice of the shop's machines, and the way to one that is not among them."""

    def __init__(self, desk: Desk, step: Step) -> None:
        super().__init__(desk, step, part=ShopPart.MACHINES)
        self._made: MachineForm | None = None
        self.choice = ChoiceField()
        self.choice.picked.connect(lambda name: desk.machine_hands.choose(name, step))
        row = SettingRow(
            tr("Machine"),
            self.choice,
            explain=tr("Its layers and corner of zero are in the file, its speeds in the times."),
            width=172,
        )
        self.column.insertWidget(0, row)
        self.in_short = Text("", kind="quiet", wrap=True)
        self.column.insertWidget(1, self.in_short)
        self.new_button = link(
            tr("+ New machine"), self.open_new, tip=tr("A machine that is not listed yet")
        )
        self.change_button = link(
            tr("Change this machine"),
            self.open_change,
            tip=tr("Name, bed, corner of zero, speeds, layers, note"),
        )
        self.links.addWidget(self.new_button)
        self.links.addWidget(self.change_button)

    @property
    def form(self) -> MachineForm:
        """The form, made when it is first wanted."""
        if self._made is None:
            self._made = MachineForm()
            self._made.given.connect(self._save)
            self._made.remove_wanted.connect(self.remove)
            self.stand(self._made)
        return self._made

    def refresh(self) -> None:
        """Show what the job is cut on."""
        machines = self._desk.machines
        chosen = machines.chosen
        self.choice.offer(
            [(one.name, one.name) for one in machines.all],
            chosen.name if chosen is not None else None,
        )
        self.choice.setEnabled(bool(machines.all))
        self.change_button.setVisible(chosen is not None)
        self.in_short.setText(self._told(chosen))
        self.in_short.set_kind("bad" if machines.lacking else "quiet")
        self.in_short.setVisible(bool(self.in_short.text()))
        self.show_notes()

    def _told(self, chosen: Machine | None) -> str:
        machines = self._desk.machines
        if chosen is not None:
            bed = lengths.size(chosen.bed_width_mm, chosen.bed_height_mm, 0)
            zero = tr(chosen.profile.origin.value)
            return tr("Bed {size}, zero {corner}", size=bed, corner=zero)
        if not machines.lacking:
            return ""
        todo = tr("Choose another one:") if machines.all else tr("Enter one:")
        why = tr("without a machine nobody knows layers and corner of zero, so nothing is written.")
        return f"{machines.lacking} {todo} {why}"

    def open_new(self) -> None:
        """Let the maker enter a machine."""
        self.form.open_new(self._desk.machines.all, self.make_way(self.form))

    def open_change(self) -> None:
        """Let the maker change the job's machine."""
        machine = self._desk.machines.chosen
        if machine is not None:
            self.form.open_change(machine, self._desk.machines.all, self.make_way(self.form))
        else:
            self._desk.said.emit(tr("Choose a machine first."))

    def remove(self, machine: Machine | None = None) -> None:
        """Take a machine out of the shop book: the job's."""
        gone = machine if machine is not None else self._desk.machines.chosen
        if gone is not None:
            self._desk.machine_hands.remove(gone, done=self.close_form, refused=self.refused)
        else:
            self._desk.said.emit(tr("Choose a machine first."))

    def refused(self, sentence: str, _stocks: Sequence[Stock | Machine]) -> None:
        super().refused(sentence, self._desk.machines.all)

    def _save(self, machine: Machine, old: Machine | None) -> None:
        self._desk.machine_hands.save(
            machine, old, self._step, done=self.close_form, refused=self.refused
        )
