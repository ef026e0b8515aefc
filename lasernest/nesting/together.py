"""Keeps products together: one sheet after the other takes as many whole products as it can."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from lasernest.nesting.adding import Adder, Means
from lasernest.nesting.best_plan import BestPlan
from lasernest.nesting.budget import Budget
from lasernest.nesting.filling import Choice, Group, as_offered, fill_sheets
from lasernest.nesting.first_plan import FirstPlan
from lasernest.nesting.jobs import Board
from lasernest.nesting.rows import FilledSheet


def sheet_by_sheet(
    board: Board, first: FirstPlan, plans: BestPlan, budget: Budget, means: Means
) -> int:
    """Look for a plan with more whole products on each sheet.

    Args:
        board: with the outlines of all panels.
        first: the groups, and how rows take them.
        plans: takes what is better.
        budget: shared among the sheets.
        means: to search with.

    Returns:
        Places weighed.
    """
    request = board.request
    left = first.in_order(first.groups, first.ways()[0])
    done: list[FilledSheet] = []
    spent = 0
    most = max(1, len(plans.filled))
    while left and not means.control.stopped:
        used = Counter(one.kind for one in done)
        choice = [
            (kind, None if count is None else count - used[kind])
            for kind, count in as_offered(request.sheets)
        ]
        rest = _by_rows(first, left, choice)
        plans.take([*done, *rest], spent)
        if not rest:
            break
        on_it = _groups_on(rest[0], left)
        others = list((Counter(left) - Counter(on_it)).elements())
        others = first.in_order(others, first.ways()[0])
        sheet = rest[0]
        if others:
            # Each sheet gets an equal share of what is left of the budget.
            sheets_left = max(1, most - len(done))
            part = _part(budget, spent, means.clock.seconds, sheets_left)
            adder = Adder(board, part, means)
            (sheet,), others = adder.add([sheet], others)
            spent += adder.evaluations
        done.append(sheet)
        left = others
    plans.take(done, spent)
    return spent


def _by_rows(first: FirstPlan, groups: Sequence[Group], choice: Choice) -> list[FilledSheet]:
    way = first.ways()[0]
    request = first.request
    return fill_sheets(
        first.kinds,
        first.in_order(groups, way),
        request.sheets,
        request.gap_mm,
        box_cost=way[1],
        choice=choice,
    )[0]


def _groups_on(sheet: FilledSheet, groups: Sequence[Group]) -> list[Group]:
    """Groups that make up what lies on a sheet."""
    there = sheet.copies()
    found: list[Group] = []
    for group in groups:
        parts = Counter(group)
        if all(there[order] >= n for order, n in parts.items()):
            there.subtract(parts)
            found.append(group)
    return found


def _part(budget: Budget, spent: int, now_s: float, sheets: int) -> Budget:
    """A sheet's share of what is left; seconds count from the start of the clock."""
    return Budget(
        None if budget.seconds is None else now_s + max(0.0, budget.seconds - now_s) / sheets,
        None if budget.work is None else max(0, budget.work - spent) // sheets,
    )
