"""Rooms: the parts of windows that carry the style sheet, each on its own.

With one sheet for the whole application Qt dresses every part of every page in one call
when the look changes: 0.7 s. So the sheet is that of cards, board and tiles, and these
are dressed one between two events: those in sight first, then the others, or sooner when
one is about to be seen. What is in no room has the palette only.
"""

from __future__ import annotations

from weakref import WeakSet

from PySide6.QtCore import QEvent, QObject, QTimer
from PySide6.QtWidgets import QWidget
from shiboken6 import isValid


class Rooms(QObject):
    """All rooms there are, and which of them are still to be dressed anew."""

    def __init__(self) -> None:
        super().__init__()
        self._sheet = ""
        self._rooms: WeakSet[QWidget] = WeakSet()
        self._waiting: list[QWidget] = []
        self._timer = QTimer(self)
        self._timer.timeout.connect(self._next)

    def add(self, room: QWidget) -> None:
        """Dress a part now and whenever the sheet changes; rooms hold no rooms."""
        self._rooms.add(room)
        room.installEventFilter(self)
        room.setStyleSheet(self._sheet)

    def dress(self, sheet: str) -> None:
        """Give all rooms another sheet, one after the other."""
        if sheet == self._sheet:
            return
        self._sheet = sheet
        rooms = [room for room in self._rooms if isValid(room)]
        self._waiting = sorted(rooms, key=lambda room: not room.isVisible())
        self._timer.start()

    @property
    def busy(self) -> bool:
        """Whether rooms are still to be dressed."""
        return bool(self._waiting)

    def _next(self) -> None:
        if self._waiting:
            self._put_on(self._waiting.pop(0))
        if not self._waiting:
            self._timer.stop()

    def _put_on(self, room: QWidget) -> None:
        if isValid(room):
            room.setStyleSheet(self._sheet)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:  # noqa: N802 - Qt's name
        if event.type() is QEvent.Type.Show and watched in self._waiting:
            self._put_on(self._waiting.pop(self._waiting.index(watched)))
        return False
