"""Which sheets to take: offcuts first, then the cheapest mixture of sizes that holds everything.

Combinations are tried from the cheapest up, leaving out what cannot hold the
panels' area and what is contained in a combination that was tried in vain.
Whether one holds them is nesting's answer, so the choice is as good as its
first plans; it is never dearer than the best single size, which is planned
first. Sizes without a price are compared by area, which is then said.
"""

from __future__ import annotations

import heapq
import math
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Generic, TypeVar

from lasernest.domain.control import Control
from lasernest.domain.plan import NestRequest, Plan, Sheet
from lasernest.nesting import Budget, arrange

Counts = tuple[int, ...]
"""Sheets of each size."""
MOST_TRIALS = 60
"""Combinations that are planned before the best so far is taken."""
LEAST_TRYING_S = 5.0
"""For trials, however short the search."""

P = TypeVar("P")


@dataclass(frozen=True, slots=True)
class Kind:
    """A size of sheet, as far as choosing cares."""

    cost: float
    area_mm2: float
    """That panels can lie on."""
    most: int
    """On hand, or as many as could ever be needed."""


@dataclass(frozen=True, slots=True)
class Choice(Generic[P]):
    """A combination that holds everything, and the plan that shows it."""

    counts: Counts
    cost: float
    plan: P
    trials: int


def cheapest(
    kinds: Sequence[Kind],
    holds: Callable[[Counts], P | None],
    *,
    area_mm2: float,
    singles: Sequence[tuple[Counts, P]] = (),
    most_trials: int = MOST_TRIALS,
    stopped: Callable[[], bool] = lambda: False,
) -> Choice[P] | None:
    """The cheapest combination of sheets that holds everything.

    Args:
        kinds: sizes to choose from.
        holds: a plan on so many sheets of each kind, None when they are too few.
            More sheets must never hold less.
        area_mm2: that the panels need at the least.
        singles: combinations known to hold everything, with their plans.
        most_trials: calls of `holds`.
        stopped: True ends the search with the best so far.

    Returns:
        None when nothing was found.
    """

    def cost(counts: Counts) -> float:
        return math.fsum(n * kind.cost for n, kind in zip(counts, kinds, strict=True))

    best: Choice[P] | None = None
    for counts, plan in singles:
        if best is None or _rank(cost(counts), counts) < _rank(best.cost, best.counts):
            best = Choice(counts, cost(counts), plan, 0)
    in_vain: list[Counts] = []
    trials = 0
    for counts in _by_cost(kinds):
        dearer = best is not None and cost(counts) >= best.cost - 1e-9
        if dearer or trials >= most_trials or stopped():
            break
        room = math.fsum(n * kind.area_mm2 for n, kind in zip(counts, kinds, strict=True))
        if room < area_mm2 or any(_within(counts, tried) for tried in in_vain):
            continue
        trials += 1
        found = holds(counts)
        if found is not None:
            best = Choice(counts, cost(counts), found, trials)
            break
        in_vain.append(counts)
    return None if best is None else replace(best, trials=trials)


def _rank(cost: float, counts: Counts) -> tuple[float, int]:
    """Cheapest first, then fewest sheets to lay in."""
    return (round(cost, 9), sum(counts))


def _within(counts: Counts, tried: Counts) -> bool:
    return all(a <= b for a, b in zip(counts, tried, strict=True))


def _by_cost(kinds: Sequence[Kind]) -> Iterator[Counts]:
    """All combinations from the cheapest up; of equal cost, fewest sheets first."""
    start = tuple(0 for _ in kinds)
    heap: list[tuple[float, int, Counts]] = [(0.0, 0, start)]
    seen = {start}
    while heap:
        cost, count, counts = heapq.heappop(heap)
        if count:
            yield counts
        for i, kind in enumerate(kinds):
            if counts[i] < kind.most:
                more = (*counts[:i], counts[i] + 1, *counts[i + 1 :])
                if more not in seen:
                    seen.add(more)
                    heapq.heappush(heap, (round(cost + kind.cost, 9), count + 1, more))


@dataclass(frozen=True, slots=True)
class SheetChoice:
    """A plan on the chosen sheets."""

    plan: Plan
    counts: Counts
    """Whole sheets of each size that was offered; offcuts not counted."""
    cost: float | None
    """Of the whole sheets; None where a size has no price."""
    single_cost: float | None
    """Of the best plan on sheets of one size; None when none holds everything."""
    by_area: bool
    """True when a size had no price and areas were compared instead."""
    trials: int


def choose_sheets(
    request: NestRequest,
    *,
    control: Control,
    budget: Budget,
    seed: int = 1,
    workers: int = 1,
    most_trials: int = MOST_TRIALS,
) -> SheetChoice:
    """Plan a request on offcuts and the cheapest mixture of its sheets.

    Args:
        request: its sheets that are offcuts are filled first; the others are sizes
            to choose from, with their price and how many there are.
        control: progress; Stop takes the best so far.
        budget: for the search on the chosen sheets.
        seed: of that search.
        workers: threads to search with.
        most_trials: combinations to plan.

    Returns:
        A plan; what no combination can take is named in it.
    """
    offcuts = tuple(sheet for sheet in request.sheets if sheet.is_offcut)
    sizes = tuple(sheet for sheet in request.sheets if not sheet.is_offcut)
    by_area = any(sheet.price is None for sheet in sizes)
    # Each size alone is searched as long as the choice itself, so that none is passed over.
    share = _part(budget, 1 + len(sizes))
    quick = Budget(seconds=0.0)

    def planned(counts: Counts, how: Budget) -> Plan:
        # Large sheets first, so that what is left over is one large piece.
        order = sorted(range(len(sizes)), key=lambda i: (-sizes[i].area_mm2, i))
        taken = tuple(replace(sizes[i], available=counts[i]) for i in order if counts[i])
        trial = replace(request, sheets=(*offcuts, *taken) or request.sheets)
        return arrange(trial, control=control, budget=how, seed=seed, workers=workers)

    def holds(counts: Counts) -> Plan | None:
        control.check()
        control.report(0, 1, "Choosing sheets")
        plan = planned(counts, quick)
        return plan if not plan.unplaced else None

    singles: list[tuple[Counts, Plan]] = []
    for i, size in enumerate(sizes):
        most = request.panel_count if size.available is None else size.available
        counts = tuple(most if i == j else 0 for j in range(len(sizes)))
        plan = planned(counts, share)
        if not plan.unplaced:
            whole = sum(not one.sheet.is_offcut for one in plan.sheets)
            singles.append((tuple(whole if i == j else 0 for j in range(len(sizes))), plan))
    kinds = [
        Kind(
            size.area_mm2 if by_area or size.price is None else size.price,
            _room_mm2(size, request.gap_mm),
            _most(size, i, singles, request.panel_count),
        )
        for i, size in enumerate(sizes)
    ]
    began = time.monotonic()

    def enough() -> bool:
        # Trials take as long as the search at most; a budget of work knows no clock.
        seconds = budget.seconds
        slow = seconds is not None and time.monotonic() - began > max(LEAST_TRYING_S, seconds)
        return control.stopped or slow

    choice = cheapest(
        kinds,
        holds,
        area_mm2=_need_mm2(request) - sum(_room_mm2(sheet, request.gap_mm) for sheet in offcuts),
        singles=singles,
        most_trials=most_trials,
        stopped=enough,
    )
    if choice is None:
        # Nothing holds all of it: everything there is, and what is left out is named.
        plan = arrange(request, control=control, budget=budget, seed=seed, workers=workers)
        return SheetChoice(plan, _used(plan, sizes), None, None, by_area, 0)
    plan = choice.plan
    if budget.seconds != 0 and budget.work != 0 and choice.trials:
        better = planned(choice.counts, share)
        plan = better if not better.unplaced else plan
    single = min(
        (c for counts, _ in singles if (c := _price(counts, sizes)) is not None), default=None
    )
    used = _used(plan, sizes)
    return SheetChoice(plan, used, _price(used, sizes), single, by_area, choice.trials)


def _part(budget: Budget, parts: int) -> Budget:
    return Budget(
        None if budget.seconds is None else budget.seconds / parts,
        None if budget.work is None else budget.work // parts,
    )


def _most(size: Sheet, index: int, singles: Sequence[tuple[Counts, Plan]], panels: int) -> int:
    """More of a size are never needed than hold everything alone."""
    alone = [counts[index] for counts, _ in singles if counts[index]]
    most = alone[0] if alone else panels
    return most if size.available is None else min(most, size.available)


def _room_mm2(sheet: Sheet, gap_mm: float) -> float:
    """Area for panels that are each grown by half the gap."""
    if sheet.outline is not None:
        return sheet.area_mm2 + gap_mm * sheet.outline.length_mm
    width_mm = sheet.width_mm - 2.0 * sheet.margin_mm + gap_mm
    height_mm = sheet.height_mm - 2.0 * sheet.margin_mm + gap_mm
    return max(0.0, width_mm) * max(0.0, height_mm)


def _need_mm2(request: NestRequest) -> float:
    """Net area of all panels: what lies in another's hole needs no room of its own."""
    return math.fsum(o.quantity * o.panel.net_area_mm2 for o in request.orders)


def _used(plan: Plan, sizes: Sequence[Sheet]) -> Counts:
    whole = [one.sheet for one in plan.sheets if not one.sheet.is_offcut]
    return tuple(
        sum((s.width_mm, s.height_mm) == (size.width_mm, size.height_mm) for s in whole)
        for size in sizes
    )


def _price(counts: Counts, sizes: Sequence[Sheet]) -> float | None:
    prices = [(n, size.price) for n, size in zip(counts, sizes, strict=True) if n]
    if any(price is None for _, price in prices):
        return None
    return math.fsum(n * price for n, price in prices if price is not None)
