"""Who works on a job file: one window holds it, others are told by whom.

The hold is a small file beside the job, `.NAME.lasernest.lock`, with the host and the
number of the process. What a program that crashed left behind no longer counts: on the
same host its process is known to be gone. Where the folder cannot be written nobody
can be told, and the job is opened without a hold.
"""

from __future__ import annotations

import os
import threading
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from PySide6.QtCore import QLockFile, QSysInfo

_held: dict[Path, JobHold] = {}
"""By the windows of this program."""
_turn = threading.Lock()
"""Files are held from the background, too: no two may find a file free at once."""


@dataclass(frozen=True, slots=True)
class Holder:
    """Another window that has a job file open."""

    host: str
    process: int

    @property
    def is_this_host(self) -> bool:
        return self.host == QSysInfo.machineHostName()


class JobHold:
    """The hold of one window on its job file."""

    def __init__(self) -> None:
        self._lock: QLockFile | None = None
        self._path: Path | None = None

    def take(self, path: Path) -> Holder | None:
        """Hold a file instead of the one before; who else holds it, None when it is ours."""
        path = path.resolve()
        if path == self._path:
            return None
        self.let_go()
        with _turn:
            found = _try(path)
            if isinstance(found, Holder):
                return found
            self._lock, self._path = found, path
            _held[path] = self
        return None

    def holds(self, path: Path) -> bool:
        """Whether this is the file that is held."""
        return self._path is not None and self._path == path.resolve()

    def let_go(self) -> None:
        """Hold nothing."""
        with _turn:
            if self._path is not None:
                _held.pop(self._path, None)
            if self._lock is not None:
                self._lock.unlock()
            self._lock = self._path = None


def lock_file_of(path: Path) -> Path:
    """The small file beside a job file that tells who has it open."""
    return path.with_name(f".{path.name}.lock")


def is_held_here(path: Path) -> bool:
    """Whether a window of this program has the file open."""
    return path.resolve() in _held


def _try(path: Path) -> QLockFile | Holder:
    """The lock of a file, or who has it; a lock that cannot be written counts as ours."""
    if path in _held:
        return _ourselves()
    lock = QLockFile(str(lock_file_of(path)))
    lock.setStaleLockTime(0)  # a window may stay open for weeks; only a dead program is stale
    if not lock.tryLock(0) and lock.error() is QLockFile.LockError.LockFailedError:
        holder = _holder_in(lock)
        if holder is not None and holder != _ourselves():
            return holder
        # A program that crashed had the number that this one has now.
        with suppress(OSError):
            lock_file_of(path).unlink(missing_ok=True)
        lock.tryLock(0)
    return lock


def _ourselves() -> Holder:
    return Holder(QSysInfo.machineHostName(), os.getpid())


def _holder_in(lock: QLockFile) -> Holder | None:
    told: Any = lock.getLockInfo()  # number, host and program, not a bool as the stubs say
    process, host, _program = told
    return Holder(host, process) if process else None
