"""The jobs opened last, as links on the empty page."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from pathlib import Path

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QWidget

from lasernest.files import file_is_there
from lasernest.gui.look.theme import TextSize
from lasernest.gui.parts.basics import Text, button, clear, vertical
from lasernest.gui.words import tr

MOST = 5


class RecentJobs(QWidget):
    """A short list; hidden while there is none."""

    wanted = Signal(object)
    """The job file to open."""

    def __init__(self) -> None:
        super().__init__()
        self._column = vertical(self, gap=2)
        self._shown: tuple[str, ...] = ()
        self.hide()

    def show_jobs(self, paths: Sequence[str]) -> None:
        """Show those that are still there."""
        there = tuple(p for p in paths if file_is_there(Path(p)))[:MOST]
        if there == self._shown:
            return
        self._shown = there
        clear(self._column)
        middle = Qt.AlignmentFlag.AlignHCenter
        self._column.addWidget(
            Text(tr("Recent jobs"), size=TextSize.SMALL, kind="quiet"), 0, middle
        )
        for name in there:
            path = Path(name)
            made = button(path.stem, partial(self.wanted.emit, path), kind="link", tip=name)
            self._column.addWidget(made, 0, middle)
        self.setVisible(bool(there))
