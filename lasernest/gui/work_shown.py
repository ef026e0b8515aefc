"""What runs in the background, as the window tells it: status line, busy pointer, refreshes."""

from __future__ import annotations

from PySide6.QtCore import QObject, Qt, QTimer, Signal
from PySide6.QtWidgets import QWidget

from lasernest.gui.desk import Desk
from lasernest.gui.status import StatusLine
from lasernest.gui.task_bridge import WatchedTask
from lasernest.gui.words import tr

_BUSY_AFTER_MS = 500


class WorkShown(QObject):
    """Follows the tasks of a desk."""

    begun = Signal()
    ended = Signal()
    """Something has ended, in a turn of the event loop after the one that took its result.

    What a task brings is often shown already when it is said to have ended; to show
    everything once more at once would make one long silence of two.
    """

    def __init__(self, desk: Desk, status: StatusLine, pointer_over: QWidget) -> None:
        """Args: `pointer_over` is where the pointer is busy when work takes long."""
        super().__init__(desk)
        self._desk, self._status, self._pointer_over = desk, status, pointer_over
        self._later = QTimer(self)
        self._later.setSingleShot(True)
        self._later.timeout.connect(self.ended)
        desk.tasks.started.connect(self._started)
        desk.tasks.ended.connect(self._ended)
        status.stop_pressed.connect(desk.stop)
        status.cancel_pressed.connect(desk.cancel)

    def _started(self, task: WatchedTask) -> None:
        if task in self._desk.foreground():
            task.progressed.connect(lambda share, note: self._progress(task, share, note))
            self._status.start(task.name + "…", keeps_best=task.keeps_best)
            self._busy_later(task)
        self.begun.emit()

    def _progress(self, task: WatchedTask, share: float | None, note: str) -> None:
        if task in self._desk.foreground():
            figures = self._desk.figures if self._desk.arranging else None
            if figures is not None:
                best = f"{100 * figures.yield_share:.1f} %"
                note = tr("Arranging: yield {best} so far, still improving", best=best)
            self._status.progress(share, note or f"{task.name}…")

    def _ended(self, _task: WatchedTask) -> None:
        if not self._desk.foreground() and self._status.running:
            self._status.finish()
        self._later.start()

    def _busy_later(self, task: WatchedTask) -> None:
        """A busy pointer after half a second, until the work ends."""

        def show() -> None:
            if task in self._desk.foreground():
                self._pointer_over.setCursor(Qt.CursorShape.BusyCursor)
                task.ended.connect(self._pointer_over.unsetCursor)

        QTimer.singleShot(_BUSY_AFTER_MS, self, show)
