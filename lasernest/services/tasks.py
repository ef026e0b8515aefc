"""Long work in a thread of its own, watched through a `Control`.

The window and the command line run the same plain functions. News (progress,
better results, the end) goes to a listener in the worker's thread; the window
queues it to its main thread. One `Task` runs once.
"""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable
from enum import Enum
from typing import Any, Generic, Protocol, TypeVar

from lasernest.domain.control import Control, QuietControl
from lasernest.errors import Cancelled, LasernestError

log = logging.getLogger(__name__)

T = TypeVar("T")


class TaskListener(Protocol):
    """Who hears of a task; called in the worker's thread."""

    def on_progress(self, done: float, total: float, note: str) -> None: ...

    def on_offer(self, result: Any) -> None: ...

    def on_done(self, result: Any) -> None: ...

    def on_error(self, error: LasernestError) -> None: ...

    def on_bug(self, error: Exception) -> None:
        """An error of ours, logged already."""

    def on_cancelled(self) -> None: ...


class _TaskControl(QuietControl):
    """A control whose reports reach a listener."""

    def __init__(self, listener: TaskListener) -> None:
        super().__init__()
        self._listener = listener

    def report(self, done: float, total: float, note: str = "") -> None:
        self._listener.on_progress(done, total, note)

    def offer(self, result: Any) -> None:
        self._listener.on_offer(result)


class TaskState(Enum):
    """Where a task is in its life."""

    WAITING = "waiting"
    RUNNING = "running"
    ENDED = "ended"


class Task(Generic[T]):
    """A function run once in its own thread."""

    def __init__(self, label: str, work: Callable[[Control], T], listener: TaskListener) -> None:
        self.label = label
        self._work = work
        self._listener = listener
        self._control = _TaskControl(listener)
        self._thread = threading.Thread(target=self._run, name=f"task: {label}", daemon=True)
        self.state = TaskState.WAITING

    def start(self) -> None:
        self.state = TaskState.RUNNING
        self._thread.start()

    def stop(self) -> None:
        """End soon and keep the best so far."""
        self._control.stop()

    def cancel(self) -> None:
        """End soon and drop the result."""
        self._control.cancel()

    def wait(self, timeout_s: float | None = None) -> bool:
        """Wait for the end; False when it took longer than allowed."""
        if self.state is TaskState.WAITING:
            return False
        self._thread.join(timeout_s)
        return not self._thread.is_alive()

    def _run(self) -> None:
        try:
            result = self._work(self._control)
            self._control.check()
        except Cancelled:
            self._listener.on_cancelled()
        except LasernestError as error:
            self._listener.on_error(error)
        except Exception as error:  # our own bug: the thread's end is the place to say so
            log.exception("task %s failed", self.label)
            self._listener.on_bug(error)
        else:
            self._listener.on_done(result)
        finally:
            self.state = TaskState.ENDED
