"""Lengths as the maker wants to see them: millimetres or inches.

The job is always in millimetres; only what is shown and typed changes. A bare
number typed while inches are shown is inches; a unit in the text always wins.
"""

from __future__ import annotations

import re

from PySide6.QtCore import QObject, Signal

from lasernest.units import MM_PER_INCH, parse_length_mm

_BARE = re.compile(r"[\d.,/ +\-eE]+")


class Lengths(QObject):
    """The unit of length in force, with `changed` when it is switched."""

    changed = Signal()

    def __init__(self) -> None:
        super().__init__()
        self._inches = False

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

    def read_mm(self, text: str) -> float:
        """Millimetres from what was typed.

        Raises:
            BadValueError: not a length.
        """
        typed = text.strip()
        if self._inches and _BARE.fullmatch(typed):
            typed += "in"
        return parse_length_mm(typed)


lengths = Lengths()
"""The one unit of length of the program."""
