"""Keeps a window's job in the data folder while it is worked on, and offers what was left.

A lock beside each kept job tells other windows and programs that somebody
works on it; the lock of a program that crashed no longer counts.
"""

from __future__ import annotations

from datetime import date
from functools import partial
from pathlib import Path

from PySide6.QtCore import QElapsedTimer, QLockFile, QObject, QTimer, Signal

from lasernest.domain.control import Control
from lasernest.errors import LasernestError
from lasernest.gui.desk import Desk
from lasernest.gui.tiles import Step
from lasernest.gui.words import tr
from lasernest.job import Job
from lasernest.services import autosave
from lasernest.services.autosave import KeptJob

AFTER_MS = 1500
"""A change is kept so long after the last one,"""

MOST_MS = 10_000
"""but at the latest so long after the first that is not kept yet: some never pause."""


class Keeper(QObject):
    """Keeps the job of one window."""

    offers_changed = Signal()

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self._desk = desk
        self.file = autosave.new_file()
        self._lock: QLockFile | None = None
        self.offers: tuple[KeptJob, ...] = ()
        """Jobs of programs that ended before they were saved."""
        self._told = ""
        self._waits = QElapsedTimer()
        """Since the first change that is not kept yet."""
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.timeout.connect(self.keep)
        desk.job_changed.connect(self._later)
        desk.workbench.saved_changed.connect(self._on_saved)

    # --- this window's job -------------------------------------------------------------

    def _later(self) -> None:
        if self._desk.settings.keep_while_working and not self._desk.workbench.is_saved:
            if not self._timer.isActive():
                self._waits.start()
            left_ms = max(0, MOST_MS - self._waits.elapsed())
            self._timer.start(min(AFTER_MS, left_ms))

    def _on_saved(self) -> None:
        if self._desk.workbench.is_saved:
            self._timer.stop()
            autosave.forget(self.file)  # what is being kept just now is forgotten at its end
        else:
            self._later()  # with the file and digest of what was saved while it was changed

    def keep(self) -> None:
        """Keep the job as it is now, in the background."""
        if self._desk.tasks.task("keep") is not None:
            # One after the other: of two, the older could end last, and nobody would hear
            # when the end of a dropped one left a file behind.
            self._timer.start(AFTER_MS)
            return
        workbench = self._desk.workbench
        job, path, file = workbench.job, workbench.path, self.file
        digest = workbench.digest
        self._take_lock()

        def work(_control: Control) -> str:
            return autosave.safely(job, path, file, digest=digest)

        self._desk.tasks.run(
            "keep",
            tr("Keeping the job"),
            work,
            on_done=partial(self._kept, file),
            on_failed=self._failed,
        )

    def _kept(self, file: Path, sentence: str) -> None:
        if sentence and sentence != self._told:
            self._desk.said.emit(sentence)
        self._told = sentence
        if self._desk.workbench.is_saved or file != self.file:
            autosave.forget(file)

    def _failed(self, error: Exception) -> None:
        self._desk.trouble(Step.OUTLINES, tr("Keeping the job"), error)

    def _take_lock(self) -> None:
        if self._lock is None:
            self.file.parent.mkdir(parents=True, exist_ok=True)
            self._lock = _lock_of(self.file)
            self._lock.tryLock(0)

    def close(self) -> None:
        """The window closes: an unsaved job is kept and offered at the next start."""
        self._timer.stop()
        workbench = self._desk.workbench
        workbench.saved_changed.disconnect(self._on_saved)
        if workbench.is_saved or workbench.job == Job():
            autosave.forget(self.file)
        else:
            self._take_lock()
            autosave.safely(workbench.job, workbench.path, self.file, digest=workbench.digest)
        if self._lock is not None:
            self._lock.unlock()

    # --- what was left over --------------------------------------------------------------

    def look(self) -> None:
        """Look for jobs that nobody works on any more."""
        autosave.clear_old()
        self.offers = tuple(k for k in autosave.kept_jobs() if _is_free(k.file))
        self.offers_changed.emit()

    def take(self, kept: KeptJob) -> None:
        """Go on with a job that was left over, in this window."""
        try:
            job = autosave.load(kept)
        except LasernestError as error:
            self._desk.trouble(Step.OUTLINES, tr("Opening the kept job"), error)
            return
        # Its file becomes this window's own: at no moment is the job without one.
        if self._lock is not None:
            self._lock.unlock()
            self._lock = None
        autosave.forget(self.file)
        self.file = kept.file
        self._take_lock()
        self._desk.workbench.recover(job, kept.path, kept.digest)
        self._drop(kept)
        self._desk.said.emit(tr("{name} is back; save it to keep it.", name=title_of(kept)))

    def let_go(self, kept: KeptJob) -> None:
        """The maker does not want it back."""
        autosave.let_go(kept.file)
        self._drop(kept)

    def _drop(self, kept: KeptJob) -> None:
        self.offers = tuple(k for k in self.offers if k is not kept)
        self.offers_changed.emit()


def title_of(kept: KeptJob) -> str:
    """What the maker knows the job by."""
    return kept.path.stem if kept.path else kept.name or tr("a job without a name")


def when(kept: KeptJob) -> str:
    """The time of the last change, as one says it."""
    time = f"{kept.at:%H:%M}"
    if kept.at.date() == date.today():
        return tr("today at {time}", time=time)
    return tr("{day} at {time}", day=f"{kept.at.day} {kept.at:%b %Y}", time=time)


def _lock_of(file: Path) -> QLockFile:
    lock = QLockFile(str(file.with_suffix(".lock")))
    lock.setStaleLockTime(0)  # a window may stay open for weeks; only a dead program is stale
    return lock


def _is_free(file: Path) -> bool:
    lock = _lock_of(file)
    if not lock.tryLock(0):
        return False
    lock.unlock()
    return True
