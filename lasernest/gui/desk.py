"""The desk: what one window does with its workbench.

It sends commands, runs long work in the background and keeps what is not part
of the job: the plan that is still being improved, what went wrong and where,
what was written last. Pages show the desk and ask it to do things; nothing
here draws.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QTimer, Signal

from lasernest.domain.control import Control
from lasernest.domain.cutting import NamePlace
from lasernest.domain.panels import Panel
from lasernest.domain.plan import Plan
from lasernest.domain.stock import Stock
from lasernest.errors import (
    LasernestError,
    NotFoundError,
    UnwritableFileError,
    UsageError,
)
from lasernest.gui.beam_check import BeamCheck
from lasernest.gui.guide.book import the_guide
from lasernest.gui.happened import Trouble, Written
from lasernest.gui.importer import Importer
from lasernest.gui.joint_key import is_same, joint_key
from lasernest.gui.lengths import lengths
from lasernest.gui.machine_hands import MachineHands
from lasernest.gui.machines import Machines, ShopMachines
from lasernest.gui.plan_figures import PlanFigures
from lasernest.gui.planner import Planner
from lasernest.gui.quiet_work import QUIET_KINDS
from lasernest.gui.redrawer import Redrawer
from lasernest.gui.settings import Settings
from lasernest.gui.shelf import Shelf
from lasernest.gui.shop_hands import ShopHands
from lasernest.gui.stock_in_view import StockInView
from lasernest.gui.task_bridge import TaskBridge, WatchedTask
from lasernest.gui.tiles import Step
from lasernest.gui.till import Till
from lasernest.gui.words import tr
from lasernest.job import Job, Setup
from lasernest.services.apart import get_ready, helpers, load_all
from lasernest.services.commands import Command
from lasernest.services.workbench import Workbench

if TYPE_CHECKING:
    from lasernest.joints.joined import Joined

_SAY_AFTER_MS = 3000


class Desk(QObject):
    """One window's dealings with its job."""

    job_changed = Signal()
    """The job is another, and with it perhaps its plan; `plan_changed` does not follow."""
    plan_changed = Signal()
    """The shown plan is another or its figures are known, with the job as it was."""
    troubles_changed = Signal()
    stocks_changed = Signal()
    shop_written = Signal()
    """Something was written into the shop book: other windows should look at it again."""
    said = Signal(str)
    """What was done; empty when a command made old what was said before."""
    """A short sentence for the bottom line."""
    step_wanted = Signal(object)
    """The window should go to this step."""

    def __init__(self, workbench: Workbench, settings: Settings) -> None:
        super().__init__()
        self.workbench = workbench
        self.settings = settings
        self.tasks = TaskBridge()
        self.stocks: tuple[Stock, ...] = ()
        self.troubles: tuple[Trouble, ...] = ()
        self.written: Written | None = None
        self.cut_refused = False
        """True when no cut file could be made of the plan as the job is, wherever it is put."""
        self._told_of_warming = False
        self.in_view = StockInView(self)
        self.planner = Planner(self)
        self.shelf = Shelf(self)
        self.shop_hands = ShopHands(self)
        self.machines = Machines(self)
        self.machine_hands = MachineHands(self)
        self.till = Till(self)
        self.beam = BeamCheck(self)
        self.importer = Importer(self)
        self.redrawer = Redrawer(self)
        self.till.changed.connect(self.plan_changed)
        self._joined: Joined | None = None
        self._joined_for: tuple[object, ...] = joint_key(workbench.job)
        self._panels_of: tuple[object, object, dict[str, Panel]] = (None, None, {})
        workbench.job_changed.connect(self._on_job)

    # --- the job ---------------------------------------------------------------------

    @property
    def job(self) -> Job:
        return self.workbench.job

    @property
    def panels(self) -> dict[str, Panel]:
        """The job's panels by name, as they will be cut: joints applied once they are ready."""
        rows, joined = self.job.panels, self.joined
        if self._panels_of[0] is not rows or self._panels_of[1] is not joined:
            panels = {p.name: p.panel for p in rows}
            if joined is not None:
                panels |= {p.name: p for p in joined.panels}
            self._panels_of = (rows, joined, panels)
        return self._panels_of[2]

    @property
    def joined(self) -> Joined | None:
        """The job's joints worked out; None while they are, or where there are none."""
        ready = self._joined is not None and is_same(self._joined_for, joint_key(self.job))
        return self._joined if ready else None

    def _work_out_joints(self) -> None:
        job, key = self.job, joint_key(self.job)
        if is_same(key, self._joined_for):
            return
        self._joined_for = key
        self._joined = None
        if not job.joints and job.cutting.names is NamePlace.NOWHERE:
            self.tasks.drop("joints")
            return

        def work(_control: Control) -> Joined:
            from lasernest.services.joining import join_job  # noqa: PLC0415 - heavy

            return join_job(job)

        self.tasks.run(
            "joints",
            tr("Working out joints"),
            work,
            on_done=self._take_joined,
            on_failed=lambda e: self.trouble(Step.JOINTS, tr("Working out joints"), e),
        )

    def _take_joined(self, joined: Joined) -> None:
        self._joined = joined
        self.job_changed.emit()

    @property
    def shown_plan(self) -> Plan | None:
        """The plan being improved, or the kept one."""
        return self.planner.live_plan if self.planner.live_plan is not None else self.job.plan

    @property
    def arranging(self) -> bool:
        return self.tasks.task("arrange") is not None

    @property
    def figures(self) -> PlanFigures | None:
        """The figures of the shown plan; None while they are worked out, or without a plan."""
        return self.planner.figures

    def do(self, command: Command, step: Step = Step.OUTLINES) -> bool:
        """Run a command; what cannot be done is shown at its step."""
        self.said.emit("")
        try:
            self.workbench.do(command)
        except LasernestError as error:
            self.trouble(step, command.label, error)
            return False
        return True

    def undo(self) -> None:
        label = self.workbench.undo_label
        self.workbench.undo()
        if label:
            self.said.emit(tr("Undone: {what}.", what=label))

    def redo(self) -> None:
        label = self.workbench.redo_label
        self.workbench.redo()
        if label:
            self.said.emit(tr("Done again: {what}.", what=label))

    def _on_job(self, _job: Job) -> None:
        if self.arranging and self.planner.gone_stale():
            self.tasks.drop("arrange")
            self.planner.live_plan = None
            self.said.emit(tr("The job changed, so arranging was stopped."))
        self._work_out_joints()
        # What could not be arranged or written was another job.
        self.settle_all(Step.SHEETS)
        self.settle_all(Step.CUT_FILE)
        self.cut_refused = False
        self.job_changed.emit()

    # --- what went wrong -------------------------------------------------------------

    def trouble(
        self, step: Step, what: str, error: Exception, again: Callable[[], object] | None = None
    ) -> None:
        """Keep something that went wrong, to be shown at its step."""
        known = tuple(t for t in self.troubles if (t.step, t.what) != (step, what))
        self.troubles = (*known, Trouble(step, what, error, again))
        self.troubles_changed.emit()

    def no_shop(self, step: Step, what: str, error: Exception) -> None:
        """The shop book could not be used; opening it can be tried again."""
        self.trouble(step, what, error, self.open_shop)

    def settle(self, trouble: Trouble) -> None:
        """The maker has seen it."""
        self._keep_troubles(lambda t: t is not trouble)

    def settle_all(self, step: Step) -> None:
        """What went wrong at a step no longer matters, but for a shop book that is not open."""
        self._keep_troubles(lambda t: t.step is not step or t.again == self.open_shop)

    def settle_what(self, step: Step, what: str) -> None:
        """What went wrong there was put right."""
        self._keep_troubles(lambda t: (t.step, t.what) != (step, what))

    def _keep_troubles(self, matters: Callable[[Trouble], bool]) -> None:
        left = tuple(filter(matters, self.troubles))
        if left != self.troubles:
            self.troubles = left
            self.troubles_changed.emit()

    # --- the shop --------------------------------------------------------------------

    def open_shop(self) -> None:
        """Read the stocks in the background; a new job takes the stock chosen last."""

        def work(_control: Control) -> tuple[Stock, ...]:
            self.workbench.reopen_shop()
            return self.workbench.stocks()

        self.tasks.run(
            "shop",
            tr("Opening the shop book"),
            work,
            on_done=self.take_stocks,
            on_failed=lambda e: self.no_shop(Step.SHEETS, tr("Opening the shop book"), e),
        )

    def take_stocks(self, stocks: tuple[Stock, ...]) -> None:
        """Show these stocks of the shop book from now on."""
        self.stocks = stocks
        self._keep_troubles(lambda t: t.again != self.open_shop)
        self.leave_names_alone()
        empty = not self.job.panels and self.job.setup == Setup() and self.workbench.path is None
        if empty and self.workbench.undo_label is None:
            self.workbench.new(self.fresh_job())
        self.stocks_changed.emit()

    def leave_names_alone(self) -> None:
        """Names of the shop book that hold a size stay as they are while inches are shown."""
        machines = [machine.name for machine in self.machines.all]
        lengths.leave_alone([*(stock.name for stock in self.stocks), *machines])

    def fresh_job(self) -> Job:
        """An empty job on the stock that was chosen last."""
        stock = next(
            (s for s in self.stocks if s.name == self.settings.stock_name),
            self.stocks[0] if self.stocks else None,
        )
        settings = self.settings
        machine = settings.machine_name or None
        return Job(
            setup=Setup(
                stock,
                gap_mm=settings.gap_mm,
                margin_mm=settings.margin_mm,
                machine_name=machine,
            )
        )

    def begin_afresh(self) -> None:
        """Let a job that holds nothing yet begin with the usual values."""
        workbench = self.workbench
        if not self.job.panels and workbench.undo_label is None and workbench.path is None:
            workbench.new(self.fresh_job())

    # --- long work -------------------------------------------------------------------

    def arrange(self, seconds: float | None = None, *, go_on: bool = False) -> None:
        """Look for the best plan in the background, from nothing or from the one there is."""
        self.planner.arrange(seconds, go_on=go_on)

    def write_cut_files(self, path: Path) -> None:
        """Write the kept plan as cut files, read them back and prove them, in the background."""
        job, plan = self.job, self.job.plan
        self.settle_all(Step.CUT_FILE)
        self.step_wanted.emit(Step.CUT_FILE)
        if plan is None:
            error = UsageError("there is no plan to write", todo="Arrange the panels first.")
            self.trouble(Step.CUT_FILE, tr("Writing the cut file"), error)
            return

        def work(control: Control) -> tuple[Written, ShopMachines]:
            from lasernest.services.main_job import write_and_prove  # noqa: PLC0415 - heavy

            machine = self.workbench.machine_of(job)
            writing = partial(write_and_prove, job, plan, path, machine=machine)
            files, proof = helpers.do(writing, control=control)
            written = Written.of(plan, path, files, proof, job.cutting, machine)
            return written, ShopMachines.of(self.workbench.shop)

        self.tasks.run(
            "write",
            tr("Writing and proving the cut file"),
            work,
            on_done=self._take_written,
            on_failed=self._not_written,
        )

    def _not_written(self, error: Exception) -> None:
        is_ours = isinstance(error, LasernestError)
        passes = isinstance(error, UnwritableFileError | NotFoundError)  # a disk, or no machine
        self.cut_refused = is_ours and not passes
        if isinstance(error, NotFoundError):
            self.till.look()  # somebody took the machine out of the book
        self.trouble(Step.CUT_FILE, tr("Writing the cut file"), error)

    def _take_written(self, found: tuple[Written, ShopMachines]) -> None:
        self.written, machines = found
        self.machines.hold(machines)
        self.cut_refused = False
        self.plan_changed.emit()

    def written_of(self, plan: Plan | None) -> Written | None:
        """The cut files written last, while they are what would be written of a plan now."""
        written = self.written
        if written is None or not written.is_of(plan) or written.cutting != self.job.cutting:
            return None
        return written if self.machines.is_for_chosen(written) else None

    def warm_up(self) -> None:
        """Load the heavy parts in the background once the window is up."""

        def work(control: Control) -> None:
            load_all()
            the_guide()  # so that the search for commands need not read it
            helpers.do(get_ready, control=control)

        def say() -> None:
            if self.tasks.task("warm up") is not None and not self.foreground():
                self._told_of_warming = True
                self.said.emit(
                    tr("Preparing the search; only the first start takes half a minute for it.")
                )

        QTimer.singleShot(_SAY_AFTER_MS, self, say)
        self.tasks.run(
            "warm up",
            tr("Getting ready"),
            work,
            on_done=lambda _none: self._ready(),
            on_failed=lambda e: self.trouble(Step.SHEETS, tr("Getting ready"), e),
        )

    def _ready(self) -> None:
        if self._told_of_warming and not self.foreground():
            self.said.emit(tr("Ready."))
        self.plan_changed.emit()

    def stop(self) -> None:
        """End what runs in the foreground and keep the best it has."""
        for task in self.foreground():
            task.stop()

    def cancel(self) -> None:
        """End what runs in the foreground and drop what it has."""
        for task in self.foreground():
            task.cancel()

    def foreground(self) -> list[WatchedTask]:
        """Running work that the maker asked for."""
        quiet = [self.tasks.task(kind) for kind in QUIET_KINDS]
        return [task for task in self.tasks.running if task not in quiet]

    def close(self) -> bool:
        """End all work; True when no thread is left."""
        self.redrawer.close()
        self.workbench.job_changed.disconnect(self._on_job)
        return self.tasks.close()
