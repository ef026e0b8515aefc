"""Watching the job's drawings on disk.

Programs save in several steps, or put a new file in the old one's place: the
news is told once it has been quiet for a moment, and a path is watched anew
when it has come back.
"""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from PySide6.QtCore import QFileSystemWatcher, QObject, QTimer, Signal

from lasernest.files import file_is_there, folder_is_there

QUIET_MS = 400


class DrawingWatch(QObject):
    """Tells that files may have changed."""

    changed = Signal()
    """One or more of the watched files were written, replaced or came back."""

    def __init__(self, parent: QObject) -> None:
        super().__init__(parent)
        self._watcher = QFileSystemWatcher(self)
        self._watcher.fileChanged.connect(self._stir)
        self._watcher.directoryChanged.connect(self._stir)
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.setInterval(QUIET_MS)
        self._timer.timeout.connect(self._tell)
        self._wanted: frozenset[str] = frozenset()

    def watch(self, paths: Iterable[str]) -> None:
        """Watch these files, and no others."""
        wanted = frozenset(paths)
        if wanted != self._wanted:
            self._wanted = wanted
            if not wanted:
                self._timer.stop()
            self._look_after()

    def _look_after(self) -> None:
        # Folders too: a file that is replaced leaves the watch, and comes back as a new one.
        there = {path for path in self._wanted if file_is_there(Path(path))}
        wanted = there | {_nearest_folder(path) for path in self._wanted}
        watched = {*self._watcher.files(), *self._watcher.directories()}
        if gone := watched - wanted:
            self._watcher.removePaths(sorted(gone))
        if fresh := wanted - watched:
            self._watcher.addPaths(sorted(fresh))

    def _stir(self, _path: str) -> None:
        self._timer.start()

    def _tell(self) -> None:
        self._look_after()
        self.changed.emit()


def _nearest_folder(path: str) -> str:
    """The folder of a file; where it is gone, too, the one in which it would come back."""
    folders = Path(path).parents
    return str(next((folder for folder in folders if folder_is_there(folder)), folders[-1]))
