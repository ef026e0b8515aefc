"""Opening and saving the job of one window, so that nobody's work is written over unasked.

Saving looks and writes in the background: a disk may be slow, a network share slower. What is
saved is the job as it was when that was asked for; one save follows the other in the order
in which they were asked for. A save that began is never broken off.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from PySide6.QtCore import QObject, QTimer, Signal

from lasernest.domain.control import Control
from lasernest.errors import LasernestError
from lasernest.files import file_is_there
from lasernest.gui.asking import Asking
from lasernest.gui.board.shapes import pictures
from lasernest.gui.desk import Desk
from lasernest.gui.job_hold import Holder, JobHold, is_held_here
from lasernest.gui.parts.notes import Answer, Note
from lasernest.gui.parts.place import file_name, usual_folder
from lasernest.gui.tiles import Step
from lasernest.gui.words import tr
from lasernest.job import SUFFIX, Job, save_job
from lasernest.services.apart import helpers
from lasernest.services.workbench import Moment, holds_something_else, read_job, with_ending

_AT_ONCE_BYTES = 500_000
"""A job file up to this size is read in less than a blink."""

TELL_AFTER_MS = 500
"""A save that takes longer is told while it runs."""


@dataclass(frozen=True, slots=True)
class Wish:
    """A save that the maker asked for."""

    moment: Moment
    path: Path | None
    """As it was given; None for where the job belongs by then."""
    over: bool = False
    """Write over what is there."""
    holder: Holder | None = None
    """Whom it writes over."""


class Filing(QObject):
    """A window's dealings with its job file."""

    asks = Signal()
    """`question` is another one, or was answered."""
    opened = Signal()
    saved = Signal()
    may_leave = Signal()
    """What the window waited for before it closes is saved."""
    elsewhere = Signal(object)
    """This job file is open in another window of the program."""

    def __init__(self, desk: Desk, asking: Callable[[], Asking], step: Callable[[], Step]) -> None:
        """Args: `step` is the one that is open, where problems are shown."""
        super().__init__()
        self._desk, self._asking, self._step = desk, asking, step
        self._hold = JobHold()
        self._new_hold = JobHold()
        """Of the file that is being written, where that is another one."""
        self._running: Wish | None = None
        self._waiting: list[Wish] = []
        self._all_saved = True
        """Of what was asked for since nothing was being saved."""
        self._leaving = False
        """The window closes when all is saved."""
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
        elif file_is_there(path) and path.stat().st_size > _AT_ONCE_BYTES:
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
            if (workbench.job is not before and not blank) or self.saving:
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

    @property
    def saving(self) -> bool:
        """Whether something is being saved."""
        return self._running is not None

    def save(self) -> None:
        """Save the job where it belongs, or ask where."""
        if self._desk.workbench.path is None and not self.saving:
            self.save_as()
        else:
            self._want(None)

    def save_as(self) -> None:
        """Ask where to save the job."""
        workbench, settings = self._desk.workbench, self._desk.settings
        folder = usual_folder(Path(settings.last_folder) if settings.last_folder else None)
        usual = workbench.path or folder / f"{file_name(workbench.job.name or tr('job'))}{SUFFIX}"
        path = self._asking().save_job(usual)
        if path is not None:
            self._want(path)

    def _want(self, path: Path | None, *, over: bool = False, holder: Holder | None = None) -> None:
        """Save the job as it is now, once what was asked for before is saved."""
        wish = Wish(self._desk.workbench.moment(), path, over, holder)
        if wish != (self._waiting[-1] if self._waiting else self._running):
            self._waiting.append(wish)
        if not self.saving:
            self._all_saved = True
            self._go_on()

    def _go_on(self) -> None:
        """Begin with what was asked for first."""
        while self._waiting and not self.saving:
            wish = self._waiting.pop(0)
            path = wish.path or self._desk.workbench.path
            # Without one, saving under a name was asked for before and did not come about.
            if path is not None:
                self._begin(wish, path)

    def _begin(self, wish: Wish, path: Path) -> None:
        workbench, target = self._desk.workbench, with_ending(path)
        is_own = target == workbench.path
        digest, accepted = workbench.digest if is_own else "", self._accepted
        self._running, new_hold = wish, self._new_hold

        def work(_control: Control) -> Note | str:
            """What is to be asked, or the digest of what was saved."""
            hold = self._hold if self._hold.holds(target) else new_hold
            holder = hold.take(target)
            written = ""
            try:
                if not wish.over:
                    if holder is not None and holder != accepted:
                        return self._held_question(target, holder)
                    if holds_something_else(target, digest):
                        return self._changed_question(target)
                    # The dialog has asked about the name that was typed, not about the one
                    # with its ending.
                    if target != path and not is_own and target.exists():
                        return self._there_question(target)
                written = save_job(wish.moment.job, target)
                return written
            finally:
                if not written:
                    new_hold.let_go()

        def tell() -> None:
            if task is self._desk.tasks.task("save") and not self._leaving:
                self._desk.said.emit(tr("Saving {name}…", name=target.name))

        if wish.over:
            self._ask(None)  # it was answered
        task = self._desk.tasks.run(
            "save",
            tr("Saving {name}", name=target.name),
            work,
            on_done=partial(self._take_saved, wish, target),
            on_failed=self._not_saved,
        )
        task.ended.connect(self._ended)
        QTimer.singleShot(TELL_AFTER_MS, self, tell)

    def _take_saved(self, wish: Wish, target: Path, result: Note | str) -> None:
        if isinstance(result, Note):
            self._all_saved = False
            self._desk.said.emit("")  # it is not being saved any more
            self._ask(result)
            return
        workbench = self._desk.workbench
        if workbench.is_of(wish.moment):
            if self._new_hold.holds(target):
                self._hold.let_go()
                self._hold, self._new_hold = self._new_hold, self._hold
            workbench.take_saved(wish.moment, target, result)
            self._ask(None)
            if wish.over:
                self._accepted = wish.holder
        else:  # a blank job, in whose place another was opened
            self._new_hold.let_go()
        self._desk.settings.note_recent(target)
        self._desk.said.emit(tr("{name} saved.", name=target.name))
        self.saved.emit()

    def _not_saved(self, error: Exception) -> None:
        self._all_saved = False
        self._desk.said.emit("")
        self._desk.trouble(self._step(), tr("Saving the job"), error)

    def _ended(self) -> None:
        if self._running is None:
            return  # the window is closed
        self._running = None
        self._go_on()
        if not self.saving and self._leaving:
            self._leaving = False
            if self._all_saved:
                self.may_leave.emit()

    def _held_question(self, target: Path, holder: Holder) -> Note:
        return Note(
            tr("{name} is open in another window{where}.", name=target.name, where=_at(holder))
            + " "
            + tr("Saving writes over what is or will be saved there."),
            "question",
            (self._another_name(), self._over(target, holder), self._not_now()),
            heading=tr("Not saved yet"),
        )

    def _changed_question(self, target: Path) -> Note:
        take = Answer(
            tr("Take what is on disk"),
            self._take_from_disk,
            tr("Undo brings the job of this window back"),
        )
        return Note(
            tr("{name} was changed on disk since it was opened or saved here.", name=target.name),
            "question",
            (self._another_name(), take, self._over(target, None), self._not_now()),
            heading=tr("Not saved yet"),
        )

    def _there_question(self, target: Path) -> Note:
        return Note(
            tr("There is a job {name} already.", name=target.name),
            "question",
            (self._another_name(), self._over(target, None), self._not_now()),
            heading=tr("Not saved yet"),
        )

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
        return Answer(
            tr("Save over it"),
            partial(self._want, target, over=True, holder=holder),
            tr("What is there now is lost, and cannot be brought back"),
        )

    def _another_name(self) -> Answer:
        return Answer(tr("Save under another name…"), self.save_as)

    def _not_now(self) -> Answer:
        return Answer(tr("Not now"), partial(self._ask, None))

    def _ask(self, question: Note | None) -> None:
        if question is not self.question:
            self.question = question
            self.asks.emit()

    # --- the end ---------------------------------------------------------------------

    def lets_close(self) -> bool:
        """Whether the window may close; where not yet, `may_leave` follows once all is saved.

        What was not saved is told or asked then, and the window stays. Who asks once more
        does not want to wait; the job is kept then like any other that was not saved.
        """
        if not self.saving or self._leaving:
            return True
        self._leaving = True
        self._desk.said.emit(
            tr("The window closes when the job is saved. To leave at once, close it again.")
        )
        return False

    def close(self) -> None:
        """The window closes: its file is free for others."""
        self._desk.workbench.saved_changed.disconnect(self._follow)
        self._running = None
        self._waiting.clear()
        self._hold.let_go()
        self._new_hold.let_go()


def _at(holder: Holder) -> str:
    """Where the other window is, when it is on another machine."""
    return "" if holder.is_this_host else " " + tr("on {host}", host=holder.host)
