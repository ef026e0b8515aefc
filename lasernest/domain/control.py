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
