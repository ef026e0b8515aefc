"""Arranging for one desk: the search in the background, the best plan so far, its figures."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

from lasernest.domain.control import Control
from lasernest.domain.plan import Placement, Plan
from lasernest.gui.board.shapes import pictures
from lasernest.gui.plan_figures import FiguredPlan, PlanFigures, best_plan, plan_figures
from lasernest.gui.tiles import Step
from lasernest.gui.words import count_of, tr
from lasernest.services.apart import helpers
from lasernest.services.commands import KeepPlan

if TYPE_CHECKING:
    from lasernest.gui.desk import Desk

_FEW = 150
"""Panels whose figures are worked out at once; more of them in the background."""


class Planner:
    """The plan on the desk while it is searched for, and what it uses."""

    def __init__(self, desk: Desk) -> None:
        self._desk = desk
        self.live_plan: Plan | None = None
        """The best so far of the search that runs."""
        self._arranged = desk.job
        self._figured: FiguredPlan | None = None
        self._figuring: Plan | None = None
        self._tries = 0

    def arrange(self, seconds: float | None = None, *, go_on: bool = False) -> None:
        """Look for the best plan in the background, showing it as it gets better.

        The plan there is stays until a better one is found.

        Args:
            seconds: to search; the maker's usual time when not given.
            go_on: from the plan there is, instead of from nothing.
        """
        desk = self._desk
        reading = desk.tasks.task("import")
        if reading is not None:
            reading.ended.connect(lambda: self.arrange(seconds, go_on=go_on))
            desk.said.emit(tr("Arranging begins when the drawings are read."))
            return
        desk.settle_all(Step.SHEETS)
        desk.step_wanted.emit(Step.SHEETS)
        job = self._arranged = desk.job
        limit = desk.settings.search_seconds if seconds is None else seconds
        # Another start each time, or a second search would only find the first plan again.
        self._tries += 1
        kept, seed = job.plan, self._tries

        def work(control: Control) -> FiguredPlan:
            searching = partial(best_plan, job, seconds=limit, seed=seed, go_on=go_on)
            found = helpers.do(searching, control=control)
            # The plan there is came back as another one that is equal.
            return replace(found, plan=kept) if kept is not None and found.plan == kept else found

        desk.tasks.run(
            "arrange",
            tr("Arranging {what}", what=count_of(job.panel_count, "panel", "panels")),
            work,
            on_done=self._keep,
            on_failed=self._failed,
            on_offer=self._show_live,
            on_cancelled=self.drop_live,
            keeps_best=True,
        )
        desk.plan_changed.emit()  # of a long order the first plan takes a while

    def gone_stale(self) -> bool:
        """True when the search that runs is for a job that has changed since."""
        now, then = self._desk.job, self._arranged
        setup = replace(now.setup, machine_name=then.setup.machine_name)  # nothing lies elsewhere
        return (now.panels, setup, now.joints, now.joint_rules) != (
            then.panels,
            then.setup,
            then.joints,
            then.joint_rules,
        )

    def drop_live(self) -> None:
        """Show the kept plan again."""
        self.live_plan = None
        self._desk.plan_changed.emit()

    def _show_live(self, found: FiguredPlan) -> None:
        self.live_plan = found.plan
        self._figured = found
        self._desk.plan_changed.emit()

    def _failed(self, error: Exception) -> None:
        self.drop_live()
        self._desk.trouble(Step.SHEETS, tr("Arranging"), error)

    def _keep(self, found: FiguredPlan) -> None:
        self.live_plan = None
        self._figured = found
        if found.plan is self._desk.job.plan:
            self._desk.said.emit(
                tr(
                    "No better plan was found; the one there is stays, yield {share} %.",
                    share=f"{100 * found.figures.yield_share:.1f}",
                )
            )
        elif self._desk.do(KeepPlan(found.plan), Step.SHEETS):
            self._desk.said.emit(
                tr(
                    "Arranged on {sheets}, yield {share} %, after {seconds} s.",
                    sheets=count_of(len(found.plan.sheets), "sheet", "sheets"),
                    share=f"{100 * found.figures.yield_share:.1f}",
                    seconds=f"{found.plan.seconds:.0f}",
                )
            )
        self._desk.plan_changed.emit()

    @property
    def figures(self) -> PlanFigures | None:
        """The figures of the shown plan; None while they are worked out, or without a plan."""
        desk = self._desk
        plan, panels = desk.shown_plan, desk.panels
        if plan is None:
            return None
        if self._figured is not None and self._figured.plan is plan:
            return self._figured.figures
        joints_wait = bool(desk.job.joints) and desk.joined is None
        names = {p.panel_name for p in placements(plan)}
        if joints_wait or not names <= panels.keys():
            return None
        few = plan.placed_count <= _FEW
        if few and not any(pictures.of(panels[name]).is_large for name in names):
            self._figured = FiguredPlan(plan, plan_figures(plan, panels))
            return self._figured.figures
        if self._figuring is not plan:
            self._figuring = plan
            desk.tasks.run(
                "figures",
                tr("Working out figures"),
                lambda _control: FiguredPlan(plan, plan_figures(plan, panels)),
                on_done=self._take_figures,
                on_failed=lambda e: desk.trouble(Step.SHEETS, tr("Working out figures"), e),
            )
        return None

    def _take_figures(self, found: FiguredPlan) -> None:
        self._figured, self._figuring = found, None
        self._desk.plan_changed.emit()


def placements(plan: Plan) -> Iterator[Placement]:
    """All placements of a plan."""
    for sheet in plan.sheets:
        yield from sheet.placements
