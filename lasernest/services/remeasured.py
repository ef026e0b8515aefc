"""A stock that was measured anew, in a job that is arranged already.

The gap lies between finished panels, so another kerf moves nothing on the sheets; what
may no longer fit are panels whose joints follow another thickness or fit, and a gap that
the kerf has outgrown. So the plan is checked exactly as nesting checks its own, with the
panels as they would be cut now, and stays with its pins when it passes.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from lasernest.domain.control import Control
from lasernest.domain.plan import Plan
from lasernest.domain.stock import Stock
from lasernest.errors import LasernestError
from lasernest.job import Job, plan_of_part, working_parts
from lasernest.nesting import plan_problems
from lasernest.services.joining import join_job
from lasernest.services.planning import request_of
from lasernest.services.stock_exchange import exchange_stock


@dataclass(frozen=True, slots=True)
class Remeasured:
    """What becomes of a plan: the one that stays, or why there is none."""

    plan: Plan | None
    why_not: str = ""


@dataclass(frozen=True, slots=True)
class TakeMeasured:
    """Cut from a stock as it is measured now; size, grain and offcuts stay as they were chosen."""

    stock: Stock
    plan: Plan | None = None
    """One that is known to hold for the job with this stock."""

    @property
    def label(self) -> str:
        return f"Use what was measured of {self.stock.name}"

    def apply(self, job: Job) -> Job:
        taken = _with_stock(job, self.stock)
        return taken if self.plan is None else replace(taken, plan=self.plan)


def plan_with(job: Job, stock: Stock, *, control: Control) -> Remeasured:
    """Whether the plan of a job holds when one of its stocks is as it is measured now.

    Args:
        job: with the plan, before.
        stock: one of the job's, by its name, as it is now.
        control: asked between panels.
    """
    if job.plan is None:
        return Remeasured(None)
    return plan_held(_with_stock(job, stock), job.plan, control=control)


def plan_held(after: Job, plan: Plan, *, control: Control) -> Remeasured:
    """Whether a plan holds for a job as it will be.

    Args:
        after: the job with its new stock.
        plan: of the job before.
        control: asked between panels.
    """
    try:
        panels = {panel.name: panel for panel in join_job(after).panels}
        for part in working_parts(after):
            own = plan_of_part(plan, part)
            problems = plan_problems(request_of(part, panels), own, poll=control.check)
            if problems:
                return Remeasured(None, problems[0])
    except LasernestError as error:
        return Remeasured(None, error.sentence())
    # Another object: a file written of the plan before is not of this one.
    return Remeasured(replace(plan))


def _with_stock(job: Job, stock: Stock) -> Job:
    if stock.name not in [one.name for one in job.setup.stocks]:
        return exchange_stock(job, stock)
    name = "" if job.setup.is_own(stock.name) else stock.name
    size = job.setup.for_stock(name).sheet_size
    size = size if size in stock.sizes else None
    setup = job.setup.with_choice(name, stock=stock, sheet_size=size, kerf=None)
    return job.changed(setup=setup)
