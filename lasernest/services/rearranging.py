"""Arranging a job again around what the maker has pinned or locked.

Nesting knows nothing of pins. A locked sheet and its panels are left out of
what it is asked; a pinned panel becomes a place on its sheet that is taken.
What it answers is put together with what stayed, and checked as a whole.
"""

from __future__ import annotations

import logging
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import count

from lasernest.domain.contours import Contour
from lasernest.domain.control import Control, PassedOn
from lasernest.domain.panels import Panel
from lasernest.domain.plan import NestRequest, Placement, Plan, Sheet, SheetPlan
from lasernest.errors import BadValueError
from lasernest.job import Job, working_parts
from lasernest.nesting import Budget, arrange, plan_problems
from lasernest.services.part_planning import PartSearch, arrange_parts
from lasernest.services.planning import arrange_job, request_of

log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class _Stays:
    """A sheet with what stays on it."""

    plan: SheetPlan
    """With the staying panels only."""
    stand_in: Sheet | None
    """The sheet as nesting is asked to fill the rest of it; None for a locked one."""


def holds_something(plan: Plan | None) -> bool:
    """True when a panel is pinned or a sheet locked."""
    return plan is not None and any(
        s.locked or any(p.pinned for p in s.placements) for s in plan.sheets
    )


def arrange_around(
    job: Job,
    *,
    control: Control,
    budget: Budget,
    seed: int = 1,
    workers: int = 1,
    panels: Mapping[str, Panel],
    start: Plan | None = None,
) -> Plan:
    """Arrange a job's panels, leaving pinned panels and locked sheets of its plan alone.

    Args: as `lasernest.services.planning.arrange_job`; a start is not used
        where something is pinned.

    Raises:
        BadValueError: nothing can be arranged, or everything is pinned.
        Cancelled: the maker pressed Cancel.
    """
    rests = {part.setup.stocks: _Rest.of(part, panels) for part in working_parts(job)}
    if all(rest is not None and not rest.asked.orders for rest in rests.values()):
        raise BadValueError(
            "every panel is pinned or on a locked sheet", todo="Unpin what may be moved."
        )

    def arrange_part(part: Job, how: PartSearch) -> Plan:
        rest = rests[part.setup.stocks]
        if rest is not None:
            return _arrange_rest(rest, how, workers)
        return arrange_job(
            part,
            control=how.control,
            budget=how.budget,
            seed=how.seed,
            workers=workers,
            panels=panels,
            start=how.start,
        )

    return arrange_parts(job, arrange_part, PartSearch(control, budget, seed, start))


@dataclass(frozen=True, slots=True)
class _Rest:
    """What is left to arrange of a part around what stays."""

    kept: Plan
    whole: NestRequest
    stays: tuple[_Stays, ...]
    asked: NestRequest
    """Without orders where everything stays."""

    @classmethod
    def of(cls, part: Job, panels: Mapping[str, Panel]) -> _Rest | None:
        """None where nothing is pinned or locked."""
        kept = part.plan
        if kept is None or not holds_something(kept):
            return None
        whole = request_of(part, panels)
        stays = [_staying(sheet, panels, whole.gap_mm) for sheet in kept.sheets]
        held = tuple(s for s in stays if s.plan.placements or s.plan.locked)
        return cls(kept, whole, held, _request_around(whole, held))


def _arrange_rest(rest: _Rest, how: PartSearch, workers: int) -> Plan:
    kept, whole = rest.kept, rest.whole
    if not rest.asked.orders:
        return kept

    def together(found: Plan) -> Plan:
        return _put_together(found, rest.stays, whole)

    answer = together(
        arrange(
            rest.asked,
            control=_Wrapped(how.control, together, whole),
            budget=how.budget,
            seed=how.seed,
            workers=workers,
        )
    )
    problems = plan_problems(whole, answer)
    if problems:
        log.error("a plan around pinned panels failed its check: %s", problems[0])
        return kept
    return answer


class _Wrapped(PassedOn):
    """Hands on to another control what nesting found, together with what stays."""

    def __init__(
        self, control: Control, together: Callable[[Plan], Plan], whole: NestRequest
    ) -> None:
        super().__init__(control)
        self._together, self._whole = together, whole

    def offer(self, result: Plan) -> None:
        plan = self._together(result)
        if not plan_problems(self._whole, plan):
            self._control.offer(plan)


def _staying(plan: SheetPlan, panels: Mapping[str, Panel], gap_mm: float) -> _Stays:
    if plan.locked:
        return _Stays(plan, None)
    pinned = tuple(p for p in plan.placements if p.pinned)
    taken = [panels[p.panel_name].outer.posed(p.pose) for p in pinned]
    return _Stays(replace(plan, placements=pinned), _taken_up(plan.sheet, taken, gap_mm))


def _taken_up(sheet: Sheet, taken: Sequence[Contour], gap_mm: float) -> Sheet:
    """The sheet with places taken, from which others keep the gap rather than the margin.

    A sheet has one margin for its edges and its holes. For a full rectangle
    the rest of its margin goes into an outline, so that the gap is left.
    """
    holes = tuple(c.oriented(anticlockwise=False) for c in taken)
    rest_mm = sheet.margin_mm - gap_mm
    plain = sheet.outline is None and not sheet.holes
    if plain and rest_mm > 0.0 and gap_mm > 0.0:
        outline = Contour.rectangle(
            rest_mm, rest_mm, sheet.width_mm - 2.0 * rest_mm, sheet.height_mm - 2.0 * rest_mm
        )
        return replace(sheet, margin_mm=gap_mm, outline=outline, holes=holes, available=1)
    return replace(
        sheet, margin_mm=max(sheet.margin_mm, gap_mm), holes=(*sheet.holes, *holes), available=1
    )


def _request_around(whole: NestRequest, stays: Sequence[_Stays]) -> NestRequest:
    """What is left to ask: fewer copies, and the started sheets before new ones."""
    held = Counter(p.panel_name for s in stays for p in s.plan.placements)
    used = Counter(whole.sheets.index(s.plan.sheet) for s in stays if s.plan.sheet in whole.sheets)
    orders = tuple(
        replace(order, quantity=max(0, order.quantity - held[order.panel.name]))
        for order in whole.orders
    )
    sheets = tuple(
        sheet if sheet.available is None else replace(sheet, available=sheet.available - used[i])
        for i, sheet in enumerate(whole.sheets)
    )
    started = tuple(s.stand_in for s in stays if s.stand_in is not None)
    return NestRequest(
        tuple(order for order in orders if order.quantity or order.as_many_as_fit),
        (*started, *(s for s in sheets if s.available != 0)) or whole.sheets,
        whole.gap_mm,
        together=whole.together,
        long_sides_along=whole.long_sides_along,
    )


def _put_together(found: Plan, stays: Sequence[_Stays], whole: NestRequest) -> Plan:
    """What stayed and what nesting found, with copies numbered anew where they were not held."""
    taken: dict[str, set[int]] = {}
    for s in stays:
        for p in s.plan.placements:
            taken.setdefault(p.panel_name, set()).add(p.copy)
    numbers = {order.panel.name: count(1) for order in whole.orders}

    def free(name: str) -> int:
        return next(n for n in numbers[name] if n not in taken.get(name, ()))

    def renumbered(placements: Sequence[Placement]) -> tuple[Placement, ...]:
        return tuple(replace(p, copy=free(p.panel_name)) for p in placements)

    answers = list(found.sheets)
    sheets: list[SheetPlan] = []
    for s in stays:
        fill = next((a for a in answers if s.stand_in is not None and a.sheet == s.stand_in), None)
        if fill is not None:
            answers.remove(fill)
        new = renumbered(fill.placements) if fill is not None else ()
        sheets.append(replace(s.plan, placements=(*s.plan.placements, *new)))
    originals = {_without_count(sheet): sheet for sheet in whole.sheets}
    sheets += [
        SheetPlan(originals[_without_count(a.sheet)], renumbered(a.placements)) for a in answers
    ]
    return replace(found, sheets=tuple(sheets))


def _without_count(sheet: Sheet) -> Sheet:
    return replace(sheet, available=None)
