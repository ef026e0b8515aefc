"""The figures of a plan as the window shows them, worked out off the main thread.

Nesting offers plans while it searches; `FiguringControl` works out the figures
of each in the searching thread, so that the window only has to show them.
"""

from __future__ import annotations

import math
import os
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from lasernest.domain.control import Control, PassedOn
from lasernest.domain.panels import Panel
from lasernest.domain.plan import Plan
from lasernest.job import Job

if TYPE_CHECKING:
    from lasernest.services.plan_work import BeamWork, PanelWorks
    from lasernest.services.planning import SheetFigures


@dataclass(frozen=True, slots=True)
class PlanFigures:
    """What a plan uses."""

    sheets: tuple[SheetFigures, ...]
    yield_share: float
    """Of all sheets together."""
    works: tuple[BeamWork, ...]
    """What the beam does on each sheet, as drawn; kerf changes it by a few per mille."""

    @property
    def cut_length_mm(self) -> float:
        """Of the drawn contours on all sheets."""
        return math.fsum(work.cut_length_mm for work in self.works)

    @property
    def sheets_used(self) -> float:
        """Whole sheets plus the used share of the last one's length."""
        if not self.sheets:
            return 0.0
        return len(self.sheets) - 1 + self.last_share

    @property
    def last_share(self) -> float:
        """How much of the last sheet's length is used."""
        last = self.sheets[-1]
        return last.yield_share / last.used_yield_share if last.used_yield_share else 0.0


def plan_figures(
    plan: Plan, panels: Mapping[str, Panel], works: PanelWorks | None = None
) -> PlanFigures:
    """Work out the figures; some twentieths of a second for a thousand panels.

    Args:
        plan: all its panels are there.
        panels: by name, as they will be cut.
        works: of these panels, where more plans of them are looked at.
    """
    from lasernest.services.plan_work import PanelWorks  # noqa: PLC0415 - heavy
    from lasernest.services.planning import sheet_figures, yield_of_all  # noqa: PLC0415 - heavy

    works = works or PanelWorks(panels)
    figures = tuple(sheet_figures(sheet, panels) for sheet in plan.sheets)
    return PlanFigures(
        figures, yield_of_all(figures), tuple(works.sheet(sheet) for sheet in plan.sheets)
    )


@dataclass(frozen=True, slots=True)
class FiguredPlan:
    """A plan with its figures."""

    plan: Plan
    figures: PlanFigures


class FiguringControl(PassedOn):
    """Hands everything on to another control: plans with their figures, and better ones only."""

    def __init__(self, control: Control, job: Job, panels: Mapping[str, Panel]) -> None:
        """Args: what is no better than the job's plan is not offered."""
        from lasernest.services.plan_work import PanelWorks  # noqa: PLC0415 - heavy
        from lasernest.services.planning import plan_rank, requests_of  # noqa: PLC0415 - heavy

        super().__init__(control)
        self._panels, self._works = panels, PanelWorks(panels)
        self._rank = plan_rank
        self._requests = requests_of(job, panels)
        self._best = plan_rank(job.plan, self._requests) if job.plan is not None else None

    def offer(self, result: Any) -> None:
        if self.is_better(result):
            self._control.offer(self.figured(result))

    def figured(self, plan: Plan) -> FiguredPlan:
        """The plan with its figures."""
        return FiguredPlan(plan, plan_figures(plan, self._panels, self._works))

    def is_better(self, plan: Plan) -> bool:
        """Whether a plan is better than the one there is."""
        return self._best is None or self._rank(plan, self._requests) < self._best


def best_plan(job: Job, *, seconds: float, seed: int, go_on: bool, control: Control) -> FiguredPlan:
    """The best plan of a job with its figures: a found one, or the one there is.

    Args:
        job: with its plan, whose pinned panels and locked sheets stay.
        seconds: to search.
        seed: where the search begins.
        go_on: from the plan there is, instead of from nothing.
        control: is offered each better plan with its figures.

    Raises:
        LasernestError: nothing can be arranged.
    """
    from lasernest.nesting import Budget  # noqa: PLC0415 - heavy
    from lasernest.services.joining import join_job  # noqa: PLC0415 - heavy
    from lasernest.services.rearranging import arrange_around  # noqa: PLC0415 - heavy

    kept = job.plan
    panels = {p.name: p for p in join_job(job).panels}
    figuring = FiguringControl(control, job, panels)
    plan = arrange_around(
        job,
        control=figuring,
        budget=Budget(seconds=seconds),
        seed=seed,
        workers=max(1, (os.cpu_count() or 2) - 1),
        panels=panels,
        start=kept if go_on else None,
    )
    if kept is not None and not figuring.is_better(plan):
        plan = kept
    return figuring.figured(plan)
