"""Rooms: the parts of windows that carry the style sheet, each on its own.

With one sheet for the whole application Qt dresses every part of every page in one call
when the look changes: 0.7 s. So the sheet is that of tiles and of the parts of cards and
board, and these are dressed a few between two events: those in sight first, then the
others, or sooner when one is about to be seen. What is in no room has the palette only.
"""

from __future__ import annotations

import time
from collections.abc import Iterable
from typing import Protocol, runtime_checkable
from weakref import WeakSet

from PySide6.QtCore import QEvent, QObject, QTimer
from PySide6.QtWidgets import QWidget
from shiboken6 import isValid

_STRETCH_S = 0.008
"""How long rooms are dressed between two events, unless one takes longer."""


@runtime_checkable
class DressesItself(Protocol):
    """A part that has something to do once the sheet of its room is another."""

    def dress(self) -> None: ...


@runtime_checkable
class House(Protocol):
    """A part that draws itself and leaves the sheet to the rooms in it."""

    def rooms(self) -> Iterable[QWidget]: ...


class Rooms(QObject):
    """All rooms there are, and which of them are still to be dressed anew."""

    def __init__(self) -> None:
        super().__init__()
        self._sheet = ""
        self._rooms: WeakSet[QWidget] = WeakSet()
        self._houses: WeakSet[QWidget] = WeakSet()
        self._waiting: list[QWidget] = []
        self._timer = QTimer(self)
        self._timer.timeout.connect(self._next)

    def add(self, part: QWidget) -> None:
        """Dress a part, or the rooms in it, now and whenever the sheet changes.

        Rooms hold no rooms.
        """
        rooms: Iterable[QWidget] = (part,)
        if isinstance(part, House):
            self._houses.add(part)
            rooms = part.rooms()
        for room in rooms:
            if room not in self._rooms:
                self._rooms.add(room)
                room.installEventFilter(self)
                room.setStyleSheet(self._sheet)

    def grown(self, house: QWidget) -> None:
        """A house may hold more rooms than before; nothing, where it is none of ours."""
        if house in self._houses:
            self.add(house)

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
        until = time.monotonic() + _STRETCH_S
        while self._waiting and time.monotonic() < until:
            self._put_on(self._waiting.pop(0))
        if not self._waiting:
            self._timer.stop()

    def _put_on(self, room: QWidget) -> None:
        if not isValid(room):
            return
        room.setStyleSheet(self._sheet)
        # What holds others may have to know how large they are now.
        for part in (*reversed(room.findChildren(QWidget)), room):
            if isinstance(part, DressesItself):
                part.dress()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:  # noqa: N802 - Qt's name
        if event.type() is QEvent.Type.Show and watched in self._waiting:
            self._put_on(self._waiting.pop(self._waiting.index(watched)))
        return False
