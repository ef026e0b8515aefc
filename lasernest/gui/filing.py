"""Opening and saving the job of one window, so that nobody's work is written over unasked."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path

from PySide6.QtCore import QObject, Signal

from lasernest.domain.control import Control
from lasernest.errors import LasernestError
from lasernest.gui.asking import Asking
from lasernest.gui.board.shapes import pictures
from lasernest.gui.desk import Desk
from lasernest.gui.job_hold import Holder, JobHold, is_held_here
from lasernest.gui.parts.notes import Answer, Note
from lasernest.gui.parts.place import file_name, usual_folder
from lasernest.gui.tiles import Step
from lasernest.gui.words import tr
from lasernest.job import SUFFIX, Job
from lasernest.services.apart import helpers
from lasernest.services.workbench import read_job, with_ending

_AT_ONCE_BYTES = 500_000
"""A job file up to this size is read in less than a blink."""


class Filing(QObject):
    """A window's dealings with its job file."""

    asks = Signal()
    """`question` is another one, or was answered."""
    opened = Signal()
    saved = Signal()
    elsewhere = Signal(object)
    """This job file is open in another window of the program."""

    def __init__(self, desk: Desk, asking: Callable[[], Asking], step: Callable[[], Step]) -> None:
        """Args: `step` is the one that is open, where problems are shown."""
        super().__init__()
        self._desk, self._asking, self._step = desk, asking, step
        self._hold = JobHold()
        self._followed: Path | None = None
        self._accepted: Holder | None = None
        """Whom the maker writes over knowingly."""
        self.question: Note | None = None
        """What the maker should answer; it stays until then."""
        desk.workbench.saved_changed.connect(self._follow)

    # --- opening ---------------------------------------------------------------------

    def ask_job(self) -> Path | None:
        """Ask for a job file."""
        return self._asking().job(Path(self._desk.settings.last_folder or Path.home()))

    def open(self, path: Path) -> None:
        """Open a job file; one that is open in another window here comes to the front there.

        A large one is read in the background.
        """
        workbench = self._desk.workbench
        if is_held_here(path) and not self._is_ours(path):
            self.elsewhere.emit(path)
        elif path.is_file() and path.stat().st_size > _AT_ONCE_BYTES:
            self._open_later(path)
        else:
            try:
                workbench.open(path)
            except LasernestError as error:
                self._not_opened(error)
            else:
                self._opened(path)

    def _open_later(self, path: Path) -> None:
        workbench = self._desk.workbench
        before = workbench.job

        def work(control: Control) -> tuple[Job, str]:
            job, digest = helpers.do(read_job, path, control=control)
            for entry in job.panels:
                pictures.of(
                    entry.panel
                ).make_ready()  # so that the window need not when it shows them
            return job, digest

        def take(read: tuple[Job, str]) -> None:
            # A window that just opened gets its usual stock meanwhile, and is blank still.
            blank = workbench.path is None and workbench.is_saved and not workbench.job.panels
            if workbench.job is not before and not blank:
                self.elsewhere.emit(path)  # the maker has begun something else here
                return
            workbench.take_opened(path, read)
            self._note_opened(path)
            if self._step() is not Step.OUTLINES:
                self.opened.emit()

        # There already when the job comes, so that only one page has to show it.
        self._desk.step_wanted.emit(Step.OUTLINES)
        self._desk.tasks.run(
            "import",
            tr("Opening {name}", name=path.name),
            work,
            on_done=take,
            on_failed=self._not_opened,
        )

    def _opened(self, path: Path) -> None:
        self._note_opened(path)
        self.opened.emit()

    def _note_opened(self, path: Path) -> None:
        self._desk.settings.note_recent(path)
        self._desk.said.emit(tr("{name} opened.", name=path.name))

    def _not_opened(self, error: Exception) -> None:
        self._desk.trouble(Step.OUTLINES, tr("Opening the job"), error)

    def _is_ours(self, path: Path) -> bool:
        return self._followed is not None and self._followed.resolve() == path.resolve()

    def _follow(self) -> None:
        """Hold the job's file, whichever way it came here."""
        path = self._desk.workbench.path
        if path == self._followed:
            return
        self._followed, self._accepted = path, None
        if path is None:
            self._hold.let_go()
            self._ask(None)
            return
        holder = self._hold.take(path)
        self._ask(self._also_open(path, holder) if holder is not None else None)

    # --- saving ----------------------------------------------------------------------

    def save(self) -> bool:
        """Save the job where it belongs, or ask where."""
        path = self._desk.workbench.path
        return self._save_to(path) if path is not None else self.save_as()

    def save_as(self) -> bool:
        """Ask where to save the job."""
        workbench, settings = self._desk.workbench, self._desk.settings
        folder = usual_folder(Path(settings.last_folder) if settings.last_folder else None)
        usual = workbench.path or folder / f"{file_name(workbench.job.name or tr('job'))}{SUFFIX}"
        path = self._asking().save_job(usual)
        return self._save_to(path) if path is not None else False

    def _save_to(self, path: Path) -> bool:
        """Save, or ask first where that would write over somebody's work."""
        question = self._doubt(path)
        if question is not None:
            self._ask(question)
            return False
        return self._write(path)

    def _write(self, path: Path) -> bool:
        try:
            saved = self._desk.workbench.save(path, over=True)
        except LasernestError as error:
            self._desk.trouble(self._step(), tr("Saving the job"), error)
            return False
        self._hold.take(saved)
        self._ask(None)
        self._desk.settings.note_recent(saved)
        self._desk.said.emit(tr("{name} saved.", name=saved.name))
        self.saved.emit()
        return True

    def _doubt(self, path: Path) -> Note | None:
        """Why saving there should be asked about."""
        workbench, target = self._desk.workbench, with_ending(path)
        holder = self._hold.other_holder(target)
        if holder is not None and holder != self._accepted:
            return Note(
                tr("{name} is open in another window{where}.", name=target.name, where=_at(holder))
                + " "
                + tr("Saving writes over what is or will be saved there."),
                "question",
                (self._another_name(), self._over(target, holder), self._not_now()),
                heading=tr("Not saved yet"),
            )
        if target == workbench.path and workbench.changed_on_disk:
            take = Answer(
                tr("Take what is on disk"),
                self._take_from_disk,
                tr("Undo brings the job of this window back"),
            )
            return Note(
                tr(
                    "{name} was changed on disk since it was opened or saved here.",
                    name=target.name,
                ),
                "question",
                (self._another_name(), take, self._over(target, None), self._not_now()),
                heading=tr("Not saved yet"),
            )
        # The dialog has asked about the name that was typed, not about the one with its ending.
        if target not in (path, workbench.path) and target.exists():
            return Note(
                tr("There is a job {name} already.", name=target.name),
                "question",
                (self._another_name(), self._over(target, None), self._not_now()),
                heading=tr("Not saved yet"),
            )
        return None

    def _take_from_disk(self) -> None:
        try:
            self._desk.workbench.take_from_disk()
        except LasernestError as error:
            self._desk.trouble(self._step(), tr("Opening the job"), error)
            return
        self._ask(None)

    # --- what is asked ---------------------------------------------------------------

    def _also_open(self, path: Path, holder: Holder) -> Note:
        return Note(
            tr("{name} is open in another window{where} too.", name=path.name, where=_at(holder))
            + " "
            + tr("Each would save over the other; you are asked before that."),
            "question",
            (self._another_name(), Answer(tr("Dismiss"), partial(self._ask, None))),
        )

    def _over(self, target: Path, holder: Holder | None) -> Answer:
        def write() -> None:
            if self._write(target):
                self._accepted = holder

        return Answer(
            tr("Save over it"), write, tr("What is there now is lost, and cannot be brought back")
        )

    def _another_name(self) -> Answer:
        return Answer(tr("Save under another name…"), self.save_as)

    def _not_now(self) -> Answer:
        return Answer(tr("Not now"), partial(self._ask, None))

    def _ask(self, question: Note | None) -> None:
        if question is not self.question:
            self.question = question
            self.asks.emit()

    def close(self) -> None:
        """The window closes: its file is free for others."""
        self._desk.workbench.saved_changed.disconnect(self._follow)
        self._hold.let_go()


def _at(holder: Holder) -> str:
    """Where the other window is, when it is on another machine."""
    return "" if holder.is_this_host else " " + tr("on {host}", host=holder.host)
