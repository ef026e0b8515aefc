"""Lengths as the maker wants to see them: millimetres or inches.

The job is always in millimetres; only what is shown and typed changes. A bare
number typed while inches are shown is inches; a unit in the text always wins.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from PySide6.QtCore import QObject, Signal

from lasernest.units import MM_PER_INCH, parse_length_mm

_IN_WORDS = re.compile(
    r"(?P<first>-?\d+(?:\.\d+)?)(?P<by>(?:,| x| ×| to| and) (?P<second>-?\d+(?:\.\d+)?))? mm\b"
)
_BARE = re.compile(r"[\d.,/ +\-eE]+")


class Lengths(QObject):
    """The unit of length in force, with `changed` when it is switched."""

    changed = Signal()

    def __init__(self) -> None:
        super().__init__()
        self._inches = False
        self._names: list[str] = []
        self.screen_px_per_mm = 0.0
        """Measured on the screen; 0 while nobody has."""

    @property
    def inches(self) -> bool:
        return self._inches

    def show_inches(self, inches: bool) -> None:
        """Show inches, or millimetres again."""
        if inches != self._inches:
            self._inches = inches
            self.changed.emit()

    @property
    def unit(self) -> str:
        return "in" if self._inches else "mm"

    def number(self, value_mm: float, decimals: int = 2) -> str:
        """The bare number; an inch needs about one decimal more for the same fineness."""
        value = value_mm / MM_PER_INCH if self._inches else value_mm
        places = decimals + 1 if self._inches else decimals
        return f"{round(value, places) + 0.0:.{places}f}"

    def text(self, value_mm: float, decimals: int = 2) -> str:
        """The number with its unit."""
        return f"{self.number(value_mm, decimals)} {self.unit}"

    def fine(self, value_mm: float) -> str:
        """A kerf or an interference: hundredths of a mm, ten-thousandths of an inch."""
        return f"{self.fine_number(value_mm)} {self.unit}"

    def fine_number(self, value_mm: float) -> str:
        """The bare number of that."""
        return self.number(value_mm, 3 if self._inches else 2)

    def area(self, area_mm2: float) -> str:
        """An area: square centimetres, or square inches."""
        if self._inches:
            return f"{area_mm2 / MM_PER_INCH**2:.1f} in²"
        return f"{area_mm2 / 100.0:.1f} cm²"

    def size(self, width_mm: float, height_mm: float, decimals: int = 0) -> str:
        """A size such as `600 × 400 mm`."""
        return f"{self._short(width_mm, decimals)} × {self._short(height_mm, decimals)} {self.unit}"

    def _short(self, value_mm: float, decimals: int) -> str:
        number = self.number(value_mm, decimals)
        return number.rstrip("0").rstrip(".") if "." in number else number

    def path(self, length_mm: float) -> str:
        """A long way, such as a cut length: metres, or feet and inches as inches."""
        if self._inches:
            return f"{length_mm / MM_PER_INCH:,.0f} in".replace(",", " ")
        if length_mm < 1000.0:
            return f"{length_mm:.0f} mm"
        return f"{length_mm / 1000.0:.2f} m"

    def leave_alone(self, names: Iterable[str]) -> None:
        """Names that hold a size, such as those of stocks; they are never converted."""
        self._names = sorted((n for n in names if _IN_WORDS.search(n)), key=len, reverse=True)

    def retold(self, sentence: str) -> str:
        """A sentence made elsewhere, with its millimetres as inches while inches are shown."""
        if not self._inches:
            return sentence
        parts = [sentence]
        for name in self._names:
            parts = [p for part in parts for p in _parted(part, name)]
        return "".join(p if p in self._names else _IN_WORDS.sub(_as_inches, p) for p in parts)

    def read_mm(self, text: str) -> float:
        """Millimetres from what was typed.

        Raises:
            BadValueError: not a length.
        """
        typed = text.strip()
        if self._inches and _BARE.fullmatch(typed):
            typed += "in"
        return parse_length_mm(typed)


def _parted(text: str, name: str) -> list[str]:
    """A text cut before and after each time a name occurs."""
    if name not in text or text == name:
        return [text]
    pieces = text.split(name)
    return [p for piece in pieces[:-1] for p in (piece, name)] + [pieces[-1]]


def _as_inches(found: re.Match[str]) -> str:
    def inches(number: str) -> str:
        decimals = len(number.partition(".")[2])
        # A kerf or a grip is told like on the cards, see `Lengths.fine`.
        more = 2 if decimals == 2 and abs(float(number)) < 1.0 else 1
        return f"{float(number) / MM_PER_INCH:.{decimals + more}f}"

    second = found["by"].replace(found["second"], inches(found["second"])) if found["by"] else ""
    return f"{inches(found['first'])}{second} in"


lengths = Lengths()
"""The one unit of length of the program."""
