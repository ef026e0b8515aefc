"""The quiet line at the bottom: what is running, with Stop, and where the pointer is.

Work shorter than two seconds shows no bar, so that nothing flickers.
"""

from __future__ import annotations

from PySide6.QtCore import QTimer, Signal
from PySide6.QtWidgets import QProgressBar, QSizePolicy, QWidget

from lasernest.gui.lengths import lengths
from lasernest.gui.look.theme import TextSize, theme
from lasernest.gui.parts.basics import Elided, button, horizontal
from lasernest.gui.words import tr

BAR_AFTER_MS = 2000


class StatusLine(QWidget):
    """Left: what is running or was last done. Right: pointer and undo."""

    stop_pressed = Signal()
    cancel_pressed = Signal()

    def __init__(self) -> None:
        super().__init__()
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        row = horizontal(self, gap=12)
        row.setContentsMargins(4, 0, 4, 0)
        self._said = Elided(size=TextSize.SMALL, colour="quiet")
        self._said.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self._bar = QProgressBar()
        self._bar.setTextVisible(False)
        self._bar.setRange(0, 1000)
        self.stop_button = button(tr("Stop, keep best"), self.stop_pressed.emit)
        self.cancel_button = button(tr("Cancel"), self.cancel_pressed.emit)
        self._place = Elided(size=TextSize.SMALL, colour="quiet", right=True)
        row.addWidget(self._said, 3)
        row.addWidget(self._bar)
        row.addWidget(self.stop_button)
        row.addWidget(self.cancel_button)
        row.addWidget(self._place, 3)
        self._running = False
        self._passing = False
        """What is said is about work that goes on, and goes with it."""
        self._keeps_best = False
        self._pointer = ""
        self._undo = ""
        self._late = QTimer(self)
        self._late.setSingleShot(True)
        self._late.setInterval(BAR_AFTER_MS)
        self._late.timeout.connect(self._show_bar)
        theme.changed.connect(self._size)
        self._size()
        self._hide_bar()

    def _size(self) -> None:
        self.setFixedHeight(theme.pixels(34))
        self._bar.setFixedWidth(theme.pixels(180))

    def say(self, text: str, *, bad: bool = False) -> None:
        """Tell what was done or what is going on."""
        self._passing = False
        self._said.set_text(text, "bad" if bad else "quiet")
        self._said.setToolTip(text if len(text) > 60 else "")

    def tell(self, text: str) -> None:
        """Tell what was done; nothing, where that is no longer so. What runs is still told."""
        if text or not self._passing:
            self.say(text)

    def said(self) -> str:
        return self._said.text()

    def start(self, text: str, *, keeps_best: bool) -> None:
        """Something long has begun; the bar comes after two seconds."""
        self._running, self._keeps_best = True, keeps_best
        self._bar.setRange(0, 0)
        self.say(text)
        self._passing = True
        self._late.start()

    def progress(self, share: float | None, text: str) -> None:
        """How far it is (0 to 1, None when nobody can tell) and in words."""
        if not self._running:
            return
        if share is None:
            self._bar.setRange(0, 0)
        else:
            self._bar.setRange(0, 1000)
            self._bar.setValue(round(1000 * min(max(share, 0.0), 1.0)))
        if text:
            self.say(text)
            self._passing = True

    def finish(self, text: str = "", *, bad: bool = False) -> None:
        """It has ended."""
        self._running = False
        self._late.stop()
        self._hide_bar()
        if text or self._passing:
            self.say(text, bad=bad)

    @property
    def running(self) -> bool:
        return self._running

    def _show_bar(self) -> None:
        self._bar.show()
        self.stop_button.setVisible(self._keeps_best)
        self.cancel_button.show()

    def _hide_bar(self) -> None:
        self._bar.hide()
        self.stop_button.hide()
        self.cancel_button.hide()

    def show_pointer(self, place: tuple[float, float] | None) -> None:
        """Where the pointer is, x and y in mm; None where it is off the board."""
        self._pointer = ""
        if place is not None:
            x, y = (lengths.number(v, 1).replace("-", "−") for v in place)
            self._pointer = f"x {x}  y {y} {lengths.unit}"
        self._tell_place()

    def show_undo(self, text: str) -> None:
        """What undo would take back."""
        self._undo = text
        self._tell_place()

    def _tell_place(self) -> None:
        undo = tr("undo: {what}", what=self._undo) if self._undo else ""
        self._place.set_text("  ·  ".join(part for part in (self._pointer, undo) if part))
