"""The best plan so far of a search: better ones are checked, kept and offered."""

from __future__ import annotations

import logging
import math
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import replace

from lasernest.domain.contours import Pose
from lasernest.domain.control import Control
from lasernest.domain.plan import NestRequest, Placement, Plan, SearchPoint, SheetPlan
from lasernest.errors import BadDrawingError
from lasernest.nesting.budget import Clock, Stopped
from lasernest.nesting.check import Drawn, plan_problems
from lasernest.nesting.first_plan import FirstPlan, rank_of
from lasernest.nesting.outlines import Stance
from lasernest.nesting.rows import FilledSheet, Laid
from lasernest.nesting.sheet_choice import on_cheaper_sheets

AT_ONCE = 200
"""A first plan of more panels is shown while it is being checked: that takes up to a second."""

CHECK_EVERY = 8.0
"""Between two checks the search goes on for so many times as long as a check takes."""

BLINK_S = 0.02
"""So long a check may keep whoever pressed Stop waiting."""


class BestPlan:
    """Keeps the best plan and its filled sheets.

    Args:
        request: what is asked.
        first: says why panels are left out.
        control: is offered each better plan.
        start: a plan to go on from, if it answers the request.
    """

    def __init__(
        self, request: NestRequest, first: FirstPlan, control: Control, start: Plan | None
    ) -> None:
        self._request, self._first, self._control = request, first, control
        self.clock = Clock()
        self._best: Plan | None = None
        self.filled: list[FilledSheet] = []
        self._waiting: tuple[list[FilledSheet], int] | None = None
        self._check_s = self._next_s = 0.0
        self._drawn: dict[str, Drawn] = {}
        self.before = Plan(())
        """What was searched before; nothing without a plan to go on from."""
        if start is not None and not plan_problems(request, start):
            self._best = self.before = start
            self.filled = filled_from(request, start)
            control.offer(start)

    @property
    def copies(self) -> Counter[int]:
        """Copies placed of each order."""
        return Counter(laid.order for one in self.filled for laid in one.laid)

    @property
    def on_top(self) -> Counter[int]:
        """Copies placed beyond the quantity asked for."""
        wanted = {index: order.quantity for index, order in enumerate(self._request.orders)}
        return Counter({k: n - wanted[k] for k, n in self.copies.items() if n > wanted[k]})

    def take(self, filled: list[FilledSheet], evaluations: int = 0) -> None:
        """Keep and offer filled sheets if they are better and pass the exact check.

        Raises:
            BadDrawingError: not even the first plan passes.
        """
        best = self._best
        if best is not None and rank_of(self._request, filled) >= rank_of(
            self._request, self.filled
        ):
            return
        began_s = self.clock.seconds
        plan = self._plan_of(filled, evaluations)
        at_once = best is None and plan.placed_count > AT_ONCE
        if at_once:
            self._control.offer(plan)
        # The first plan is checked to the end: there is no other one.
        poll = _nothing if best is None else self._poll()
        try:
            problems = plan_problems(self._request, plan, drawn=self._drawn, poll=poll)
        except Stopped:
            return
        self._check_s = self.clock.seconds - began_s
        if problems:
            logging.getLogger(__name__).error("a plan failed its check: %s", problems[0])
            if best is None:
                raise BadDrawingError(
                    f"the panels cannot be arranged: {problems[0]}",
                    todo="Look whether an outline crosses itself. If all are sound, report this.",
                )
            return
        self._best, self.filled = plan, filled
        if not at_once:
            self._control.offer(plan)

    def take_in_time(self, filled: list[FilledSheet], evaluations: int) -> None:
        """The same, but only now and then, so that checks leave time for the search.

        What was not checked yet waits for the next time, or for `settle`.
        """
        if self.clock.seconds >= self._next_s:
            self._waiting = None
            self.take(filled, evaluations)
            self._next_s = self.clock.seconds + CHECK_EVERY * self._check_s
        else:
            self._waiting = (filled, evaluations)

    def settle(self) -> None:
        """Take what waits for its check; after Stop only if that is done in a blink."""
        waiting, self._waiting = self._waiting, None
        if waiting is not None and not (self._control.stopped and self._check_s > BLINK_S):
            self.take(*waiting)

    def _poll(self) -> Callable[[], None]:
        """Raises `Stopped` once Stop was pressed a blink ago."""
        seen_s = math.inf

        def poll() -> None:
            nonlocal seen_s
            if self._control.stopped:
                seen_s = min(seen_s, self.clock.seconds)
                if self.clock.seconds > seen_s + BLINK_S:
                    raise Stopped

        return poll

    def finished(self, evaluations: int) -> Plan:
        """The best plan with all that was spent on it."""
        assert self._best is not None  # the first filling at least was taken
        return replace(
            self._best,
            evaluations=self.before.evaluations + evaluations,
            seconds=self.before.seconds + self.clock.seconds,
        )

    def _plan_of(self, filled: Sequence[FilledSheet], evaluations: int) -> Plan:
        """The plan as the rest of the program knows it; copies are numbered along the sheets."""
        request = self._request
        copies: Counter[int] = Counter()
        sheet_plans: list[SheetPlan] = []
        for one in filled:
            placements: list[Placement] = []
            for laid in sorted(one.laid, key=lambda p: (p.order, p.x_mm, p.y_mm)):
                copies[laid.order] += 1
                pose = Pose(laid.x_mm, laid.y_mm, laid.stance.turn_deg, laid.stance.mirrored)
                name = request.orders[laid.order].panel.name
                placements.append(Placement(name, copies[laid.order], pose))
            sheet_plans.append(SheetPlan(request.sheets[one.kind], tuple(placements)))
        seconds = self.before.seconds + self.clock.seconds
        log = self._best.log if self._best is not None else ()
        if filled:
            point = SearchPoint(seconds, len(filled), float(filled[-1].used_length_mm))
            log = (*log, point)
        evaluations += self.before.evaluations
        unplaced = self._first.unplaced(copies)
        plan = Plan(tuple(sheet_plans), unplaced, evaluations, seconds, log)
        return on_cheaper_sheets(request, plan)


def _nothing() -> None:
    pass


def filled_from(request: NestRequest, plan: Plan) -> list[FilledSheet]:
    """A valid plan as filled sheets."""
    orders = {order.panel.name: index for index, order in enumerate(request.orders)}
    filled: list[FilledSheet] = []
    for one in plan.sheets:
        sheet = FilledSheet(request.sheets.index(one.sheet))
        for placed in one.placements:
            index, pose = orders[placed.panel_name], placed.pose
            stance = Stance(pose.turn_deg, pose.mirrored)
            sheet.laid.append(Laid(index, stance, pose.x_mm, pose.y_mm))
            right_mm = request.orders[index].panel.outer.posed(pose).bounds_mm()[2]
            sheet.used_length_mm = max(sheet.used_length_mm, right_mm)
        filled.append(sheet)
    return filled
