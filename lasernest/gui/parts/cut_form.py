"""How a test piece was cut: what its record keeps beside the readings."""

from __future__ import annotations

from dataclasses import replace

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QWidget

from lasernest.domain.records import CutSettings
from lasernest.gui.parts.basics import SettingRow, vertical
from lasernest.gui.parts.fields import CountField
from lasernest.gui.parts.plain_fields import NumberField, WordsField
from lasernest.gui.words import tr


class CutForm(QWidget):
    """Machine, lens, speed, power, passes and a note."""

    committed = Signal(object, str)
    """A `CutSettings` and the note."""

    def __init__(self) -> None:
        super().__init__()
        column = vertical(self, gap=6)
        self.machine = WordsField(empty=tr("this shop's"))
        self.lens = WordsField(empty=tr("lens or nozzle"))
        self.speed = NumberField(
            unit="mm/s", inch_unit="in/s", least=0.1, most=2000.0, empty=tr("unknown")
        )
        self.power = NumberField(unit="%", least=1.0, most=100.0, empty=tr("unknown"))
        self.passes = CountField(least=1, most=50)
        self.passes.set_value(1)
        self.note = WordsField(empty="–")
        self._settings = CutSettings()
        for name, field in (
            (tr("Machine"), self.machine),
            (tr("Lens or nozzle"), self.lens),
            (tr("Cut speed"), self.speed),
            (tr("Power"), self.power),
            (tr("Passes"), self.passes),
            (tr("Note"), self.note),
        ):
            field.committed.connect(self._tell)
            column.addWidget(SettingRow(name, field, width=148))

    def show_settings(self, settings: CutSettings, note: str) -> None:
        """Show how the piece was cut, as far as it is known."""
        self._settings = settings
        self.machine.set_words(settings.machine)
        self.lens.set_words(settings.lens)
        self.speed.set_number(settings.speed_mm_per_s)
        power = settings.power_share
        self.power.set_number(None if power is None else 100.0 * power)
        self.passes.set_value(settings.passes)
        self.note.set_words(note)

    def _tell(self, _value: object = None) -> None:
        power = self.power.number()
        self._settings = replace(
            self._settings,
            machine=self.machine.words(),
            lens=self.lens.words(),
            speed_mm_per_s=self.speed.number(),
            power_share=None if power is None else power / 100.0,
            passes=self.passes.value(),
        )
        self.committed.emit(self._settings, self.note.words())
