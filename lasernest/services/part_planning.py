"""One plan for a job that is cut from several stocks: part after part, always shown as a whole.

Panels of one stock never lie on a sheet of another, so the parts are arranged by
themselves. First all of them get their first plan; from then on whatever is offered is a
whole plan that can be cut, sheets grouped by stock. The budget is divided by the number
of panels. A job of one stock is arranged as if there were no parts at all.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import chain
from typing import Any

from lasernest.domain.control import Control, Stretch
from lasernest.domain.plan import Plan, SearchPoint
from lasernest.job import Job, plan_of_part, working_parts
from lasernest.nesting import Budget


@dataclass(frozen=True, slots=True)
class PartSearch:
    """How one part is to be searched; arguments of `nesting.arrange`."""

    control: Control
    budget: Budget
    seed: int
    start: Plan | None = None


ArrangePart = Callable[[Job, PartSearch], Plan]


def arrange_parts(job: Job, arrange_part: ArrangePart, how: PartSearch) -> Plan:
    """Arrange all parts of a job.

    Args:
        job: of one stock or of several.
        arrange_part: arranges one part.
        how: for the whole job; its start is a plan of the whole job.

    Returns:
        The plan of the whole job.
    """
    parts = working_parts(job)
    if len(parts) == 1:
        return arrange_part(parts[0], how)
    before = how.start if how.start is not None else Plan(())
    starts = [None if how.start is None else plan_of_part(before, part) for part in parts]
    # As `nesting.arrange` does where it goes on from a plan: another start for the search.
    seed = how.seed + before.evaluations
    hidden = _PartControl(how.control, lambda _plan: None)
    plans = [
        arrange_part(part, PartSearch(hidden, Budget(seconds=0.0), seed, start))
        for part, start in zip(parts, starts, strict=True)
    ]
    how.control.offer(_together(plans, before))
    if 0 in {how.budget.seconds, how.budget.work}:
        return _together(plans, before)
    sizes = [max(1, part.panel_count) for part in parts]
    done = 0
    for number, (part, start, size) in enumerate(zip(parts, starts, sizes, strict=True)):
        if how.control.stopped:
            break

        def offer(found: Plan, at: int = number) -> None:
            how.control.offer(_together([*plans[:at], found, *plans[at + 1 :]], before))

        share = size / sum(sizes)
        control = _PartControl(how.control, offer, begin=done / sum(sizes), share=share)
        plans[number] = arrange_part(
            part, PartSearch(control, _part_of(how.budget, share), seed, start)
        )
        done += size
    return _together(plans, before)


class _PartControl(Stretch):
    """The control of one part: its plans go to `offer`, its progress is a share of the whole."""

    def __init__(
        self,
        control: Control,
        offer: Callable[[Plan], None],
        *,
        begin: float = 0.0,
        share: float = 0.0,
    ) -> None:
        super().__init__(control, begin=begin, share=share)
        self._offer = offer

    def offer(self, result: Any) -> None:
        self._offer(result)


def _part_of(budget: Budget, share: float) -> Budget:
    return replace(
        budget,
        seconds=None if budget.seconds is None else share * budget.seconds,
        work=None if budget.work is None else max(1, round(share * budget.work)),
    )


def _together(plans: Sequence[Plan], before: Plan) -> Plan:
    """The plan of the whole job; what was searched before goes on in it."""
    return Plan(
        tuple(chain.from_iterable(plan.sheets for plan in plans)),
        tuple(chain.from_iterable(plan.unplaced for plan in plans)),
        before.evaluations + sum(plan.evaluations for plan in plans),
        before.seconds + math.fsum(plan.seconds for plan in plans),
        (*before.log, *_log(plans, before.seconds)),
    )


def _log(plans: Sequence[Plan], since_s: float) -> list[SearchPoint]:
    """The search of all parts, one after the other, as entries for the whole."""
    # A part that was only kept has no log of its own; its sheets count all the same.
    now = [p.log[0] if p.log else SearchPoint(0.0, len(p.sheets), 0.0) for p in plans]
    points = [_sum(now, since_s)]
    for number, plan in enumerate(plans):
        for point in plan.log[1:]:
            now[number] = point
            points.append(_sum(now, since_s))
    return points


def _sum(points: Sequence[SearchPoint], since_s: float) -> SearchPoint:
    return SearchPoint(
        since_s + math.fsum(point.seconds for point in points),
        sum(point.sheets for point in points),
        math.fsum(point.used_length_mm for point in points),
    )
