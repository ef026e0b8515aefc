"""Fields for plain numbers with a unit that is no length, and for a few words."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal

from lasernest.gui.lengths import lengths
from lasernest.gui.parts.fields import Field
from lasernest.gui.words import tr
from lasernest.units import MM_PER_INCH


def _short(number: float) -> str:
    """Four digits, or all before the point; never with an exponent."""
    return f"{number:.0f}" if abs(number) >= 1000.0 else f"{number:.4g}"


class NumberField(Field):
    """A number with its unit; empty means that nobody knows."""

    committed = Signal(object)
    """The number, or None when the field was emptied."""

    def __init__(
        self,
        *,
        unit: str,
        least: float,
        most: float,
        step: float = 1.0,
        empty: str,
        inch_unit: str = "",
    ) -> None:
        """Args: `inch_unit` takes the place of a unit made of mm while inches are shown."""
        super().__init__()
        self._mm_unit, self._inch_unit = unit, inch_unit
        self._least, self._most, self._by = least, most, step
        lengths.changed.connect(self._restore)
        self._number: float | None = None
        self.setPlaceholderText(empty)

    @property
    def _factor(self) -> float:
        """Of the number to what is shown and typed."""
        return 1.0 / MM_PER_INCH if self._inch_unit and lengths.inches else 1.0

    @property
    def _unit(self) -> str:
        return self._inch_unit if self._inch_unit and lengths.inches else self._mm_unit

    def number(self) -> float | None:
        """What is shown."""
        return self._number

    def set_number(self, number: float | None) -> None:
        """Show a number; what the maker is typing is left alone."""
        self._number = number
        if not (self.hasFocus() and self.isModified()):
            self._restore()

    def _restore(self) -> None:
        number = self._number
        self.setText("" if number is None else f"{_short(number * self._factor)} {self._unit}")
        self.setModified(False)
        self._mark(wrong=False)

    def _commit(self) -> None:
        if not self.isModified():
            return
        text = self.text().strip().removesuffix(self._unit).strip().replace(",", ".")
        if not text:
            self._take(None)
            return
        try:
            number = float(text) / self._factor
        except ValueError:
            number = float("nan")
        if not self._least <= number <= self._most:
            self.complain(
                tr(
                    "This must be from {least} to {most}.",
                    least=_short(self._least * self._factor),
                    most=f"{_short(self._most * self._factor)} {self._unit}",
                )
            )
            return
        self._take(number)

    def _take(self, number: float | None) -> None:
        changed = number != self._number
        self._number = number
        self._restore()
        if changed:
            self.committed.emit(number)

    def _step(self, by: int) -> None:
        number = (self._number or 0.0) + by * self._by
        self._take(min(max(round(number, 6), self._least), self._most))


class AmountField(NumberField):
    """A bare number, such as a price or a count; empty means that nobody said."""

    def __init__(self, *, decimals: int = 0, least: float, most: float, empty: str = "–") -> None:
        """Args: `decimals` that are shown and taken; 0 for whole numbers only."""
        super().__init__(unit="", least=least, most=most, empty=empty)
        self._decimals = decimals

    def _restore(self) -> None:
        super()._restore()
        if self._number is not None:
            self.setText(self._told(self._number))
            self.setModified(False)

    def _told(self, number: float) -> str:
        return f"{number:.{self._decimals}f}"

    def _commit(self) -> None:
        if not self.isModified():
            return
        text = self.text().strip().replace(",", ".")
        try:
            number = float(text) if text else None
        except ValueError:
            number = float("nan")
        if number is None:
            self._take(None)
            return
        is_fine = self._decimals > 0 or number.is_integer()
        if self._least <= number <= self._most and is_fine:
            self._take(round(number, self._decimals))
            return
        least, most = self._told(self._least), self._told(self._most)
        self.complain(
            tr("This must be from {least} to {most}, or empty.", least=least, most=most)
            if self._decimals
            else tr(
                "This must be a whole number from {least} to {most}, or empty.",
                least=least,
                most=most,
            )
        )


class WordsField(Field):
    """A few words of the maker's own."""

    committed = Signal(object)
    """The words, as a string."""

    def __init__(self, *, empty: str = "", most: int = 200) -> None:
        super().__init__()
        self.setAlignment(Qt.AlignmentFlag.AlignLeft)
        self.setPlaceholderText(empty)
        self.setMaxLength(most)
        self._words = ""

    def words(self) -> str:
        """What is shown."""
        return self._words

    def set_words(self, words: str) -> None:
        """Show words; what the maker is typing is left alone."""
        unchanged = words == self._words
        self._words = words
        if not (self.hasFocus() and self.isModified() and unchanged):
            self._restore()

    def _restore(self) -> None:
        self.setText(self._words)
        self.setModified(False)
        self._mark(wrong=False)

    def _commit(self) -> None:
        words = self.text().strip()
        if words != self._words:
            self._words = words
            self._restore()
            self.committed.emit(words)

    def _step(self, by: int) -> None:
        """Words have no next one."""
