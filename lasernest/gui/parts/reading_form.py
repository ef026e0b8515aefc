"""The small form for any other reading: its method, its direction, its numbers."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QWidget

from lasernest.domain.readings import Axis, Method, Reading, is_length
from lasernest.errors import LasernestError
from lasernest.gui.parts.basics import SettingRow, Text, button, clear, horizontal, vertical
from lasernest.gui.parts.fields import ChoiceField, CountField, LengthField
from lasernest.gui.words import tr

_METHODS = (
    (Method.FRAME, "strips in a frame"),
    (Method.BLOCK, "a strip cut up"),
    (Method.PAIR, "plug and hole"),
    (Method.PART, "one part"),
    (Method.COMB, "tongue in slots"),
)
_NUMBERS = {
    "STRIPS": "Strips",
    "GAP": "Gap left over",
    "BEFORE": "Length before",
    "AFTER": "Length after",
    "PIECES": "Pieces",
    "PLUG": "Plug",
    "HOLE": "Hole",
    "NOMINAL": "Drawn size (if known)",
    "DRAWN": "Drawn size",
    "MEASURED": "Measured size",
    "TONGUE": "Tongue",
    "LAST_ENTERING": "Last slot it entered",
    "FIRST_REFUSING": "First that refused",
}
EXPLAINED = {
    Method.FRAME: "Slide all strips of a frame together; measure the gap that is left.",
    Method.BLOCK: "Measure a strip, cut it into pieces, push them together, measure again.",
    Method.PAIR: "Measure a plug across, and the hole it came from.",
    Method.PART: "Measure one part whose drawn size you know.",
    Method.COMB: "Try a tongue in the graded slots, from wide to narrow.",
}


class ReadingForm(QWidget):
    """Asks for one reading."""

    given = Signal(object)
    """A `Reading`."""
    closed = Signal()

    def __init__(self) -> None:
        super().__init__()
        column = vertical(self, gap=6)
        self.method = ChoiceField()
        self.method.offer([(tr(text), m) for m, text in _METHODS], Method.BLOCK)
        self.method.picked.connect(lambda _m: self._fill())
        self.axis = ChoiceField()
        self.axis.offer(
            [(tr("either way"), Axis.BOTH), (tr("across x"), Axis.X), (tr("across y"), Axis.Y)],
            Axis.BOTH,
        )
        column.addWidget(SettingRow(tr("Reading"), self.method, width=148))
        self._explained = Text("", kind="quiet", wrap=True)
        column.addWidget(self._explained)
        column.addWidget(SettingRow(tr("Direction"), self.axis, width=148))
        self._numbers = vertical(gap=6)
        column.addLayout(self._numbers)
        self._wrong = Text("", kind="bad", wrap=True)
        self._wrong.hide()
        column.addWidget(self._wrong)
        row = horizontal(gap=8)
        row.addStretch(1)
        row.addWidget(button(tr("Cancel"), self.closed.emit))
        self.add_button = button(tr("Add reading"), self._give)
        row.addWidget(self.add_button)
        column.addLayout(row)
        self.fields: dict[str, LengthField | CountField] = {}
        self._fill()

    def _fill(self) -> None:
        clear(self._numbers)
        self.fields = {}
        method: Method = self.method.value()
        self._explained.setText(tr(EXPLAINED[method]))
        for part in method.parts:
            field: LengthField | CountField = (
                LengthField(decimals=3, step_mm=0.01, empty="–")
                if is_length(part)
                else CountField(least=1, most=200)
            )
            self.fields[part] = field
            row = SettingRow(tr(_NUMBERS[part]), field, width=96)
            self._numbers.addWidget(row)
            row.show()
        self._wrong.hide()

    def _give(self) -> None:
        numbers: list[float] = []
        for part, field in self.fields.items():
            value = field.value() if isinstance(field, CountField) else field.value_mm()
            if value is None and part != "NOMINAL":
                self._complain(tr("{what} is missing.", what=tr(_NUMBERS[part])))
                return
            if value is not None:
                numbers.append(float(value))
        try:
            reading = Reading(self.method.value(), tuple(numbers), self.axis.value())
        except LasernestError as error:
            self._complain(error.sentence())
            return
        self._wrong.hide()
        self.given.emit(reading)

    def _complain(self, sentence: str) -> None:
        self._wrong.setText(sentence)
        self._wrong.show()
