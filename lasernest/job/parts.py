"""A job by stock: what is cut from one kind of sheet, as a job with that stock only.

A part is arranged, cut and counted like any job. It has no joints and no
drawings: joints are worked out for the whole job, as they may hold panels of
different stocks together, and whoever works on a part gives it the panels.
"""

from __future__ import annotations

from dataclasses import replace

from lasernest.domain.plan import Plan
from lasernest.job.document import Job


def parts_of(job: Job) -> tuple[Job, ...]:
    """The parts of a job, its own stock first; a job of one stock is its only part."""
    if not job.setup.other_stocks:
        return (job,)
    names = ["", *(choice.stock.name for choice in job.setup.other_stocks)]
    used = {panel.stock_name for panel in job.panels}
    return tuple(_part(job, name) for name in names if name in used) or (_part(job, ""),)


def working_parts(job: Job) -> tuple[Job, ...]:
    """The parts of a job in which something is to be cut; one at least."""
    parts = parts_of(job)
    return tuple(part for part in parts if part.has_work) or parts[:1]


def _part(job: Job, stock_name: str) -> Job:
    part = replace(
        job,
        panels=tuple(replace(p, stock_name="") for p in job.panels if p.stock_name == stock_name),
        setup=job.setup.for_stock(stock_name),
        sources=(),
        joints=(),
        plan=None,
        comparison=None,
    )
    return replace(part, plan=plan_of_part(job.plan, part)) if job.plan is not None else part


def plan_of_part(plan: Plan, part: Job) -> Plan:
    """The sheets of a part in the plan of its whole job, as if nothing had been searched yet."""
    names = {panel.name for panel in part.panels}
    return Plan(
        tuple(
            one
            for one in plan.sheets
            if part.setup.is_own(one.sheet.stock_name)
            and all(p.panel_name in names for p in one.placements)
        ),
        tuple(left for left in plan.unplaced if left.panel_name in names),
    )
