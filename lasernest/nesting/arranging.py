"""From a request to a plan: the first plan at once, then a search that improves it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from concurrent.futures import Executor
from contextlib import suppress

import shapely

from lasernest.domain.control import Control
from lasernest.domain.plan import NestRequest, Plan, Turns
from lasernest.nesting.adding import Adder, Means
from lasernest.nesting.best_plan import BestPlan
from lasernest.nesting.blocks import FEWEST, pattern_filling
from lasernest.nesting.budget import Budget, Stopped
from lasernest.nesting.filling import Group
from lasernest.nesting.first_plan import FirstPlan
from lasernest.nesting.jobs import Board, board_of, search_shapes, sheets_of, streams_of
from lasernest.nesting.outlines import Stance
from lasernest.nesting.rows import FilledSheet
from lasernest.nesting.search.driver import STREAMS
from lasernest.nesting.search.layout import Tuning
from lasernest.nesting.search.windows import shorten
from lasernest.nesting.together import sheet_by_sheet
from lasernest.nesting.turning import first_stances, search_stances

MOST_PANELS = 3000
"""More copies than this are laid in rows and patterns only."""

MOST_STANCES = 600
"""Ways of laying all kinds of panels together: each pair of them needs a no-fit region, half a
millisecond and some kilobytes. Of more kinds than this nothing is searched, rows must do."""

LEAST_PREPARING_S = 2.0
"""So long outlines may be prepared and patterns tried, however short the budget."""

MISSING_SHARE = 0.6
"""Of the budget, to place what rows found no room for."""

ON_TOP_SHARE = 0.4
"""Of the budget, for panels of which as many are wanted as fit."""


def arrange(
    request: NestRequest,
    *,
    control: Control,
    budget: Budget,
    seed: int = 1,
    workers: int = 1,
    executor: Executor | None = None,
    start: Plan | None = None,
) -> Plan:
    """Arrange all panels of a request on few sheets.

    A first valid plan is offered at once; better ones follow while the budget
    lasts and nobody stops the search. Best is the plan that leaves no panel
    out, then the one with the fewest (or cheapest) sheets, then the one with
    the shortest used length on the last sheet.

    Args:
        request: panels with quantities, sheets, gap, and what else is wished.
        control: polled between short steps; improving plans are offered to it.
        budget: seconds or work, see `Budget`.
        seed: same seed and same work, same plan, on one worker or on two.
        workers: threads to search with.
        executor: runs the search instead of threads of our own; one that does
            not share our memory (processes, a cluster) gets copies of it.
        start: a plan to go on from. The answer is never worse; its log,
            seconds and evaluations go on too. A plan that does not answer
            the request (any more) is passed over.

    Returns:
        A valid plan; panels that no sheet can take are named in `unplaced`.

    Raises:
        Cancelled: the maker pressed Cancel.
    """
    control.check()
    along = request.long_sides_along
    stances = [first_stances(order, along) for order in request.orders]
    first = FirstPlan(request, stances)
    plans = BestPlan(request, first, control, start)
    plans.take(first.fill(control=control))
    if not plans.filled or 0 in {budget.seconds, budget.work}:
        return plans.finished(0)
    means = Means(control, plans.clock, seed + plans.before.evaluations, workers, executor)
    search = _Search(request, stances, first, plans, budget, means)
    with suppress(Stopped):
        search.run()
    return plans.finished(search.spent)


class _Search:
    """The stages that improve the first plan."""

    def __init__(
        self,
        request: NestRequest,
        first_stances: Sequence[tuple[Stance, ...]],
        first: FirstPlan,
        plans: BestPlan,
        budget: Budget,
        means: Means,
    ) -> None:
        self._request, self._first, self._plans = request, first, plans
        self._first_stances = first_stances
        self._budget, self._means = budget, means
        self.spent = 0
        """Places weighed."""

    def run(self) -> None:
        """Go through the stages.

        Raises:
            Stopped: between two of them; what was found is with the plans.
        """
        request, plans = self._request, self._plans
        self._poll()
        first, copies = self._first, plans.copies
        used = sorted(
            set(copies.elements()) | set(first.extras) | {k for g in first.groups for k in g}
        )
        few = len(used) <= MOST_STANCES
        if not few and max((copies + self._missing_copies()).values()) < FEWEST:
            return
        shapes = search_shapes(request, used, poll=self._poll)
        if not request.together:
            self._blocks(shapes, copies)
        board = None
        if few and plans.copies.total() <= MOST_PANELS:
            board = board_of(request, shapes, self._stances(used), stopped=self._is_over)
        if board is not None:
            if request.together:
                self.spent += sheet_by_sheet(
                    board, first, plans, self._part(MISSING_SHARE), self._means
                )
            else:
                self._add(board, self._missing(), MISSING_SHARE)
            share = 1.0 - ON_TOP_SHARE if first.extras else 1.0
            self._shorten(board, share)
            self._add(board, self._on_top(board), 1.0)

    def _poll(self) -> None:
        seconds = self._budget.seconds
        over = seconds is not None and self._plans.clock.seconds >= max(seconds, LEAST_PREPARING_S)
        if over or self._means.control.stopped:
            raise Stopped

    def _is_over(self) -> bool:
        seconds = self._budget.seconds
        return self._means.control.stopped or (
            seconds is not None and self._plans.clock.seconds >= seconds
        )

    def _stances(self, used: Sequence[int]) -> list[tuple[Stance, ...]]:
        """The stances of all orders, with those that the plan so far uses besides.

        Args:
            used: orders that take part; of very many only a few stances each.
        """
        request = self._request
        free = sum(order.turns is Turns.FREE for order in request.orders)
        more = []
        for order, known in zip(request.orders, self._first_stances, strict=True):
            self._poll()
            found = search_stances(order, known, request.long_sides_along, free_orders=free)
            more.append(dict.fromkeys(found))
        laid_so: list[dict[Stance, None]] = [{} for _ in request.orders]
        for sheet in self._plans.filled:
            for laid in sheet.laid:
                more[laid.order][laid.stance] = None
                laid_so[laid.order][laid.stance] = None
        if sum(len(more[index]) for index in used) <= MOST_STANCES:
            return [tuple(one) for one in more]
        most = MOST_STANCES // len(used)
        return [
            tuple(laid | found)[: max(len(laid), most)]
            for laid, found in zip(laid_so, more, strict=True)
        ]

    def _part(self, share: float) -> Budget:
        """The budget up to a share of the whole, less what was spent already."""
        seconds, work = self._budget.seconds, self._budget.work
        return Budget(
            None if seconds is None else share * seconds,
            None if work is None else max(0, round(share * work) - self.spent),
        )

    def _blocks(self, shapes: Mapping[int, shapely.Polygon], copies: Counter[int]) -> None:
        """Try patterns of equal panels."""
        request, first = self._request, self._first
        # Among several kinds rows and the search see to what goes on top.
        alone = first.extras if len(shapes) == 1 else ()
        extras = Counter(dict.fromkeys(alone, MOST_PANELS))
        blocks = pattern_filling(
            request,
            shapes,
            self._first_stances,
            copies + self._missing_copies(),
            extras,
            most_sheets=len(self._plans.filled) if first.extras else None,
            poll=self._poll,
        )
        if blocks is not None:
            self._plans.take(blocks)

    def _missing_copies(self) -> Counter[int]:
        placed = self._plans.copies
        return Counter(
            {
                index: missing
                for index, order in enumerate(self._request.orders)
                if (missing := order.quantity - placed[index]) > 0
                and index not in self._first.impossible
            }
        )

    def _add(self, board: Board, groups: Sequence[Group], share: float) -> None:
        """Put more panels on the sheets of the best plan."""
        budget = self._part(share)
        if not groups or 0 in {budget.seconds, budget.work}:
            return
        adder = Adder(board, budget, self._means)
        adder.add(
            self._plans.filled,
            groups,
            lambda found: self._plans.take_in_time(found, self.spent + adder.evaluations),
        )
        self._plans.settle()
        self.spent += adder.evaluations

    def _missing(self) -> list[Group]:
        """Copies that rows found no room for, in the order of laying."""
        groups = [(order,) for order, n in self._missing_copies().items() for _ in range(n)]
        return self._first.in_order(groups, self._first.ways()[0])

    def _on_top(self, board: Board) -> list[Group]:
        """More copies of what is wanted as often as it fits, than can fit by area."""
        sheets = [self._request.sheets[one.kind] for one in self._plans.filled]
        free_mm2 = sum(sheet.area_mm2 for sheet in sheets)
        most = max(0, MOST_PANELS - len(board.kind_of_order))
        groups: list[Group] = []
        for order in self._first.extras:
            area_mm2 = self._request.orders[order].panel.net_area_mm2
            groups += [(order,)] * min(most, int(free_mm2 / area_mm2) + 1)
        return groups

    def _shorten(self, board: Board, share: float) -> None:
        """Give sheets up, and make the used length of the last one shorter."""
        plans, request = self._plans, self._request
        budget = self._part(share)
        if 0 in {budget.seconds, budget.work}:
            return
        kept, loose = [], plans.filled
        if request.together:
            kept, loose = loose[:-1], loose[-1:]
        elif self._first.extras:
            loose = _without(loose, plans.on_top)
            if len(plans.filled) < 2 or not loose:
                return
        job = board.job(loose)
        spent = self.spent
        self.spent += shorten(
            streams_of(
                job,
                seed=self._means.seed,
                count=max(STREAMS, self._means.workers),
                tuning=Tuning(),
            ),
            budget=budget,
            clock=self._means.clock,
            control=self._means.control,
            workers=self._means.workers,
            executor=self._means.executor,
            on_better=lambda found, n: plans.take_in_time(
                [*kept, *sheets_of(job, found)], spent + n
            ),
            seed=self._means.seed,
        )
        plans.settle()


def _without(filled: Sequence[FilledSheet], extras: Counter[int]) -> list[FilledSheet]:
    """The sheets less so many copies of each order, taken from the last ones."""
    left, found = extras.copy(), []
    for one in reversed(filled):
        kept = FilledSheet(one.kind, used_length_mm=one.used_length_mm)
        for laid in one.laid:
            if left[laid.order] > 0:
                left[laid.order] -= 1
            else:
                kept.laid.append(laid)
        if kept.laid:
            found.append(kept)
    return found[::-1]
