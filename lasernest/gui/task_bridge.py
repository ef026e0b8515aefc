"""News of long work, queued to the main thread.

A worker's reports and offers are kept (the newest wins) and one event is
queued; the main thread takes what there is when it gets to it, reports at
most ten times a second. So a worker that reports a thousand times a second
costs the window nothing, and a task that was replaced or dropped is never
heard again.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from typing import Any

from PySide6.QtCore import QObject, Qt, QTimer, Signal, Slot

from lasernest.domain.control import Control
from lasernest.errors import LasernestError
from lasernest.services.tasks import Task

_NOTHING = object()
_REPORT_EVERY_S = 0.1
_BEGIN_AFTER_MS = 15
"""A worker that begins while a page is still being shown takes half of Python from it."""


class WatchedTask(QObject):
    """A task whose news come as signals on the main thread.

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

    def __init__(
        self, name: str, work: Callable[[Control], Any], *, keeps_best: bool = False
    ) -> None:
        super().__init__()
        self.name = name
        self.keeps_best = keeps_best
        self._task: Task[Any] = Task(name, work, self)
        self._dropped = self._begun = False
        self._lock = threading.Lock()
        self._told = False
        self._reported_s = 0.0
        self._report: tuple[float, float, str] | None = None
        self._offer: Any = _NOTHING
        self._end: tuple[str, Any] | None = None
        self._news.connect(self._deliver, Qt.ConnectionType.QueuedConnection)

    # --- main thread -----------------------------------------------------------------

    def start(self) -> None:
        """Begin soon, once the window has shown what it is showing now."""
        # Only when events come round again does the time to wait begin: it would be up
        # before what takes longer has come to painting.
        QTimer.singleShot(0, self, self._wait_to_begin)

    def _wait_to_begin(self) -> None:
        QTimer.singleShot(_BEGIN_AFTER_MS, self, self._begin)

    def _begin(self) -> None:
        if not self._dropped:
            self._begun = True
            self._task.start()
        else:
            self.ended.emit()

    def stop(self) -> None:
        """Let it finish with the best so far."""
        self._task.stop()

    def cancel(self) -> None:
        """Let it end and drop what it has."""
        self._task.cancel()

    def drop(self) -> None:
        """Cancel, and never be heard again."""
        self._dropped = True
        self.cancel()

    def wait(self, seconds: float) -> bool:
        """Wait for the thread; True when it has ended, or never began."""
        return not self._begun or self._task.wait(seconds)

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
                # What is held back meanwhile may be the last word for a long time.
                QTimer.singleShot(round(1000 * _REPORT_EVERY_S), self, self._deliver)
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
            # What the end brings is shown in one stretch, that it has ended in another.
            QTimer.singleShot(0, self, self.ended.emit)

    # --- worker thread: what `services.tasks.TaskListener` asks for --------------------

    def on_progress(self, done: float, total: float, note: str) -> None:
        now = time.monotonic()
        with self._lock:
            self._report = (done, total, note)
            soon = now - self._reported_s < _REPORT_EVERY_S
            if not soon:
                self._reported_s = now
        # What is held back comes with the next news, or when it is looked for.
        if not soon:
            self._tell()

    def on_offer(self, result: Any) -> None:
        with self._lock:
            self._offer = result
        self._tell()

    def on_done(self, result: Any) -> None:
        self._tell(end=("done", result))

    def on_error(self, error: LasernestError) -> None:
        self._tell(end=("failed", error))

    def on_bug(self, error: Exception) -> None:
        self._tell(end=("failed", error))

    def on_cancelled(self) -> None:
        self._tell(end=("cancelled", None))

    def _tell(self, *, end: tuple[str, Any] | None = None) -> None:
        with self._lock:
            if end is not None:
                self._end = end
            first, self._told = not self._told, True
        if first:
            self._news.emit()


class TaskBridge(QObject):
    """The tasks of one window; a new one of a kind replaces the one before it."""

    started = Signal(object)
    ended = Signal(object)

    def __init__(self) -> None:
        super().__init__()
        self._tasks: dict[str, WatchedTask] = {}
        self._dropped: set[WatchedTask] = set()

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
    ) -> WatchedTask:
        """Start work in the background; its news come on the main thread."""
        self.drop(kind)
        task = WatchedTask(name, work, keeps_best=keeps_best)
        self._tasks[kind] = task
        task.ended.connect(lambda: self._end(kind, task))
        task.done.connect(on_done)
        task.failed.connect(on_failed)
        if on_offer is not None:
            task.offered.connect(on_offer)
        if on_cancelled is not None:
            task.cancelled.connect(on_cancelled)
        self.started.emit(task)
        task.start()
        return task

    def _end(self, kind: str, task: WatchedTask) -> None:
        self._dropped.discard(task)
        if self._tasks.get(kind) is task:
            del self._tasks[kind]
        self.ended.emit(task)
        # What listens to it holds it and all it worked on; that goes with it only.
        task.deleteLater()

    def task(self, kind: str) -> WatchedTask | None:
        """The running task of a kind."""
        return self._tasks.get(kind)

    def drop(self, kind: str) -> None:
        """End the task of a kind; nothing of it is heard any more."""
        task = self._tasks.pop(kind, None)
        if task is not None:
            task.drop()
            self._dropped.add(task)

    @property
    def running(self) -> list[WatchedTask]:
        return list(self._tasks.values())

    def close(self, seconds: float = 5.0) -> bool:
        """End everything and wait for the threads; True when all have ended."""
        for kind in list(self._tasks):
            self.drop(kind)
        ended = [task.wait(seconds) for task in self._dropped]
        return all(ended)
