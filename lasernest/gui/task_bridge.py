"""Long work on worker threads, its news on the main thread.

A worker's reports and offers are kept (the newest wins) and one event is
queued; the main thread takes what there is when it gets to it. So a worker
that reports a thousand times a second costs the window nothing, and a task
that was replaced or cancelled is never heard again.
"""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable
from typing import Any

from PySide6.QtCore import QObject, Qt, Signal, Slot

from lasernest.domain.control import Control
from lasernest.errors import Cancelled, LasernestError

log = logging.getLogger(__name__)

_NOTHING = object()


class Task(QObject):
    """One piece of long work; it is also the `Control` that the work gets.

    Exactly one of `done`, `failed` and `cancelled` is emitted, last, unless the
    task was dropped; then nothing is.
    """

    progressed = Signal(object, str)
    """Share from 0 to 1, or None when nobody can tell, and a note."""
    offered = Signal(object)
    """The best result so far."""
    done = Signal(object)
    failed = Signal(object)
    """A `LasernestError` for the maker, or another exception, which is a bug of ours."""
    cancelled = Signal()
    ended = Signal()
    """After any of the three, and after the end of a dropped task too."""
    _news = Signal()

    def __init__(self, name: str, *, keeps_best: bool = False) -> None:
        super().__init__()
        self.name = name
        self.keeps_best = keeps_best
        self._lock = threading.Lock()
        self._stop = threading.Event()
        self._cancel = threading.Event()
        self._dropped = False
        self._told = False
        self._report: tuple[float, float, str] | None = None
        self._offer: Any = _NOTHING
        self._end: tuple[str, Any] | None = None
        self._thread: threading.Thread | None = None
        self._news.connect(self._deliver, Qt.ConnectionType.QueuedConnection)

    # --- main thread -----------------------------------------------------------------

    def start(self, work: Callable[[Control], Any]) -> None:
        """Begin; `work` gets this task as its control."""
        self._thread = threading.Thread(
            target=self._run, args=(work,), name=f"task: {self.name}", daemon=True
        )
        self._thread.start()

    def stop(self) -> None:
        """Let it finish with the best so far."""
        self._stop.set()

    def cancel(self) -> None:
        """Let it end and drop what it has."""
        self._cancel.set()

    def drop(self) -> None:
        """Cancel, and never be heard again."""
        self._dropped = True
        self.cancel()

    @property
    def running(self) -> bool:
        return self._thread is not None and self._thread.is_alive()

    def wait(self, seconds: float) -> bool:
        """Wait for the thread; True when it has ended."""
        if self._thread is not None:
            self._thread.join(seconds)
        return not self.running

    @Slot()
    def _deliver(self) -> None:
        with self._lock:
            self._told = False
            report, self._report = self._report, None
            offer, self._offer = self._offer, _NOTHING
            end, self._end = self._end, None
        if not self._dropped:
            if report is not None:
                done, total, note = report
                self.progressed.emit(done / total if total > 0 else None, note)
            if offer is not _NOTHING:
                self.offered.emit(offer)
        if end is not None:
            kind, value = end
            if not self._dropped:
                if kind == "done":
                    self.done.emit(value)
                elif kind == "failed":
                    self.failed.emit(value)
                else:
                    self.cancelled.emit()
            self.ended.emit()

    # --- worker thread ---------------------------------------------------------------

    def _run(self, work: Callable[[Control], Any]) -> None:
        try:
            result = work(self)
            self.check()
            end = ("done", result)
        except Cancelled:
            end = ("cancelled", None)
        except LasernestError as error:
            end = ("failed", error)
        except Exception as error:  # a bug of ours must be shown, not end the thread silently
            log.exception("task %s failed", self.name)
            end = ("failed", error)
        self._tell(end=end)

    def _tell(self, *, end: tuple[str, Any] | None = None) -> None:
        with self._lock:
            if end is not None:
                self._end = end
            first, self._told = not self._told, True
        if first:
            self._news.emit()

    def report(self, done: float, total: float, note: str = "") -> None:
        with self._lock:
            self._report = (done, total, note)
        self._tell()

    def check(self) -> None:
        if self._cancel.is_set():
            raise Cancelled

    @property
    def stopped(self) -> bool:
        return self._stop.is_set() or self._cancel.is_set()

    def offer(self, result: Any) -> None:
        with self._lock:
            self._offer = result
        self._tell()


class TaskBridge(QObject):
    """The tasks of one window; a new one of a kind replaces the one before it."""

    started = Signal(object)
    ended = Signal(object)

    def __init__(self) -> None:
        super().__init__()
        self._tasks: dict[str, Task] = {}
        self._old: set[Task] = set()

    def run(
        self,
        kind: str,
        name: str,
        work: Callable[[Control], Any],
        *,
        on_done: Callable[[Any], object],
        on_failed: Callable[[Exception], object],
        on_offer: Callable[[Any], object] | None = None,
        on_cancelled: Callable[[], object] | None = None,
        keeps_best: bool = False,
    ) -> Task:
        """Start work in the background; its news come on the main thread."""
        self.drop(kind)
        task = Task(name, keeps_best=keeps_best)
        self._tasks[kind] = task
        task.done.connect(on_done)
        task.failed.connect(on_failed)
        if on_offer is not None:
            task.offered.connect(on_offer)
        if on_cancelled is not None:
            task.cancelled.connect(on_cancelled)
        task.ended.connect(lambda: self._end(kind, task))
        self.started.emit(task)
        task.start(work)
        return task

    def _end(self, kind: str, task: Task) -> None:
        self._old.discard(task)
        if self._tasks.get(kind) is task:
            del self._tasks[kind]
        self.ended.emit(task)

    def task(self, kind: str) -> Task | None:
        """The running task of a kind."""
        return self._tasks.get(kind)

    def drop(self, kind: str) -> None:
        """End the task of a kind; nothing of it is heard any more."""
        task = self._tasks.pop(kind, None)
        if task is not None:
            task.drop()
            self._old.add(task)

    @property
    def running(self) -> list[Task]:
        return list(self._tasks.values())

    def close(self, seconds: float = 5.0) -> bool:
        """End everything and wait for the threads; True when all have ended."""
        for kind in list(self._tasks):
            self.drop(kind)
        ended = [task.wait(seconds) for task in self._old]
        return all(ended)
