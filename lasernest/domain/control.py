"""The thread between long work and whoever waits for it.

Long work is a plain function that takes a `Control`. It reports how far it
is, asks whether it should end, and hands over the best result so far. *Stop*
ends the work and keeps the best; *Cancel* raises `Cancelled` and drops it.
"""

from __future__ import annotations

import threading
from typing import Any, Protocol

from lasernest.errors import Cancelled


class Control(Protocol):
    """What long work may call; every method is cheap and safe from any thread."""

    def report(self, done: float, total: float, note: str = "") -> None:
        """Tell how far the work is."""

    def check(self) -> None:
        """Raise `Cancelled` if the maker pressed Cancel."""

    @property
    def stopped(self) -> bool:
        """True once the maker pressed Stop (or Cancel): finish with the best so far."""

    def offer(self, result: Any) -> None:
        """Hand over a valid intermediate result."""


class PassedOn:
    """The control of work within longer work: all is handed on, but for what a kind of it changes.

    Args:
        control: of the longer work.
    """

    def __init__(self, control: Control) -> None:
        self._control = control

    def report(self, done: float, total: float, note: str = "") -> None:
        self._control.report(done, total, note)

    def check(self) -> None:
        self._control.check()

    @property
    def stopped(self) -> bool:
        return self._control.stopped

    def offer(self, result: Any) -> None:
        self._control.offer(result)


class Stretch(PassedOn):
    """The control of a part of the work, whose progress is a stretch of the whole.

    Args:
        control: of the whole.
        begin: the share of the whole that is done before it.
        share: its own share.
        note: told instead of the part's own notes, where given.
    """

    def __init__(self, control: Control, *, begin: float, share: float, note: str = "") -> None:
        super().__init__(control)
        self._begin, self._share, self._note = begin, share, note

    def report(self, done: float, total: float, note: str = "") -> None:
        part = min(max(done / total, 0.0), 1.0) if total > 0 else 0.0
        self._control.report(self._begin + self._share * part, 1.0, self._note or note)


class QuietControl:
    """A control that nobody watches; `stop` and `cancel` may be called from any thread."""

    def __init__(self) -> None:
        self._stop = threading.Event()
        self._cancel = threading.Event()

    def report(self, done: float, total: float, note: str = "") -> None:
        """Nobody listens."""

    def check(self) -> None:
        if self._cancel.is_set():
            raise Cancelled

    @property
    def stopped(self) -> bool:
        return self._stop.is_set() or self._cancel.is_set()

    def offer(self, result: Any) -> None:
        """Nobody listens."""

    def stop(self) -> None:
        self._stop.set()

    def cancel(self) -> None:
        self._cancel.set()
