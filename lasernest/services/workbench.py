"""The workbench: the job that is open, its history, its file and the shop book.

The window shows `workbench.job` and sends commands; it holds no truth of its
own. Events are psygnal signals, raised in the thread that made the change
(always the window's main thread).
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from psygnal import Signal

from lasernest.domain.control import Control, QuietControl
from lasernest.domain.stock import Machine, Stock
from lasernest.errors import ChangedMeanwhileError, UsageError, Where
from lasernest.files import digest_of
from lasernest.job import SUFFIX, Job, load_job, save_job
from lasernest.services.commands import Command
from lasernest.services.history import History
from lasernest.shop.book import ShopBook


@dataclass(frozen=True, slots=True)
class Moment:
    """The job as it was at a moment, to be saved while it is worked on."""

    job: Job
    history: History
    """That of the job: another one once a job was opened or begun in its place."""


class Workbench:
    """One open job."""

    job_changed = Signal(Job)
    """After every change, undo, redo, open or new."""
    saved_changed = Signal()
    """After saving, and whenever the unsaved mark may have changed."""
    shop_changed = Signal()
    """After a change of the shop book made through this workbench."""

    def __init__(self, shop: ShopBook | None = None, job: Job | None = None) -> None:
        self._shop = shop
        self._history = History(job if job is not None else Job())
        self.path: Path | None = None
        self.digest = ""
        """Of the job's file as it was read or saved here; empty when that is not known."""

    # -- the job -------------------------------------------------------------

    @property
    def job(self) -> Job:
        return self._history.now

    @property
    def is_saved(self) -> bool:
        return self._history.is_saved

    @property
    def undo_label(self) -> str | None:
        return self._history.undo_label

    @property
    def redo_label(self) -> str | None:
        return self._history.redo_label

    def do(self, command: Command) -> None:
        """Run a command and record it.

        Raises:
            LasernestError: the command cannot be done; nothing has changed.
        """
        after = command.apply(self.job)
        if after == self.job:
            return
        self._history.record(command.label, after, merge_key=getattr(command, "merge_key", None))
        self._tell()

    def undo(self) -> None:
        self._history.undo()
        self._tell()

    def redo(self) -> None:
        self._history.redo()
        self._tell()

    def _tell(self) -> None:
        self.job_changed.emit(self.job)
        self.saved_changed.emit()

    # -- files ---------------------------------------------------------------

    def new(self, job: Job | None = None) -> None:
        """Put the open job away and start an empty one (or this one)."""
        self._history = History(job if job is not None else Job())
        self.path, self.digest = None, ""
        self._tell()

    def open(self, path: Path) -> None:
        """Open a job file; the open job stays when it cannot be read."""
        self.take_opened(path, read_job(path, control=QuietControl()))

    def take_opened(self, path: Path, read: tuple[Job, str]) -> None:
        """Go on with a job file that was read elsewhere by `read_job`."""
        job, self.digest = read
        self._history = History(job)
        self.path = path
        self._tell()

    def recover(self, job: Job, path: Path | None, digest: str = "") -> None:
        """Go on with a job that was never saved as it is now; `path` is its older file."""
        self._history = History(job, saved=False)
        self.path, self.digest = path, digest
        self._tell()

    @property
    def changed_on_disk(self) -> bool:
        """Whether the job's file holds something else than was read or saved here."""
        return self.path is not None and holds_something_else(self.path, self.digest)

    def take_from_disk(self) -> None:
        """Take what the job's file holds now; undo brings this job back.

        Raises:
            UsageError: the job has no file.
            UnreadableFileError, NewerFormatError: it cannot be read; the job stays.
        """
        if self.path is None:
            raise UsageError("the job has no file yet", todo="Choose a name for it.")
        digest = digest_of(self.path)
        self._history.record(f"Take {self.path.name} from disk", load_job(self.path))
        self._history.mark_saved()
        self.digest = digest
        self._tell()

    def save(self, path: Path | None = None, *, over: bool = False) -> Path:
        """Save to this path, or to where it was saved before.

        Args:
            path: gets the ending of job files where it lacks it.
            over: write over the job's own file even if somebody else changed it.

        Raises:
            UsageError: no path was ever given.
            ChangedMeanwhileError: somebody else changed the job's file.
            UnwritableFileError: the file cannot be written.
        """
        target = path or self.path
        if target is None:
            raise UsageError("the job has no file yet", todo="Choose a name for it.")
        target = with_ending(target)
        if target == self.path and not over and self.changed_on_disk:
            raise ChangedMeanwhileError(
                "the job was changed on disk since it was opened or saved here",
                where=Where(file=target),
                todo="Save it under another name, or take what is on disk.",
            )
        moment = self.moment()
        self.take_saved(moment, target, save_job(moment.job, target))
        return target

    def moment(self) -> Moment:
        """The job as it is now."""
        return Moment(self.job, self._history)

    def is_of(self, moment: Moment) -> bool:
        """Whether this is the same job still, however it was changed since."""
        return moment.history is self._history

    def take_saved(self, moment: Moment, target: Path, digest: str) -> None:
        """The job as it was at a moment was saved there by `save_job`, which gave the digest.

        A job that was opened or begun in its place meanwhile has nothing to do with that.
        """
        moment.history.mark_saved(moment.job)
        if self.is_of(moment):
            self.path, self.digest = target, digest
            self.saved_changed.emit()

    # -- the shop ------------------------------------------------------------

    @property
    def shop(self) -> ShopBook:
        """The shop book, opened when first asked for."""
        if self._shop is None:
            self._shop = ShopBook.open()
        return self._shop

    def reopen_shop(self) -> None:
        """Open the shop book anew, where it was: it may have been mended or moved since."""
        self._shop = ShopBook.open(self._shop.path if self._shop is not None else None)

    def stocks(self) -> tuple[Stock, ...]:
        return self.shop.stocks()

    def machine_of(self, job: Job) -> Machine:
        """The machine a job is cut on, as the shop book has it now.

        Raises:
            NotFoundError: the shop book has no such machine.
        """
        return self.shop.machine(job.setup.machine_name)


def read_job(path: Path, *, control: Control) -> tuple[Job, str]:
    """The job of a file, and the digest of what was read.

    Raises:
        UnreadableFileError, NewerFormatError: it cannot be read.
        Cancelled: the maker pressed Cancel.
    """
    # Looked at before it is read: a change in between is then noticed, never missed.
    digest = digest_of(path)
    control.check()
    return load_job(path), digest


def holds_something_else(path: Path, digest: str) -> bool:
    """Whether a file is there and not what it was; never where that is not known."""
    there = digest_of(path) if digest else ""
    return bool(there) and there != digest


def with_ending(path: Path) -> Path:
    """The path with the ending of job files."""
    return path if path.suffix == SUFFIX else path.with_name(path.name + SUFFIX)
