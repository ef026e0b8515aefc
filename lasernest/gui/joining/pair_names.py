"""The names of two joined panels in one line: each is shortened, so that both are told."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QFontMetrics

from lasernest.gui.parts.basics import Elided

_BETWEEN = " = "


def pair_names(a: str, b: str) -> str:
    """Both names in full."""
    return f"{a}{_BETWEEN}{b}"


def pair_within(a: str, b: str, metrics: QFontMetrics, room_px: int) -> str:
    """Both names in at most so many pixels; a short one leaves its room to the other.

    What tells panels of one drawing apart is mostly at the end of their names, so these are
    shortened in their middle.
    """
    whole = pair_names(a, b)
    if metrics.horizontalAdvance(whole) <= room_px:
        return whole
    room_px -= metrics.horizontalAdvance(_BETWEEN)
    wide_a, wide_b = metrics.horizontalAdvance(a), metrics.horizontalAdvance(b)
    half = room_px // 2
    for_a = max(half, room_px - wide_b) if wide_b < half else min(half, wide_a)
    middle = Qt.TextElideMode.ElideMiddle
    return pair_names(
        metrics.elidedText(a, middle, for_a), metrics.elidedText(b, middle, room_px - for_a)
    )


class PairText(Elided):
    """The names of a pair in one line of its own."""

    def __init__(self, a: str, b: str) -> None:
        self._pair = (a, b)
        super().__init__(pair_names(a, b))

    def shortened(self, metrics: QFontMetrics) -> str:
        return pair_within(*self._pair, metrics, self.width())
