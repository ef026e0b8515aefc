"""Puts more panels on filled sheets than rows of boxes find room for.

More panels are thrown onto the sheets, overlapping, and the search takes
everything apart; what stays apart is kept. Several at once first, fewer when
that fails. Cost: a tenth of a second a try for 50 panels.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace

import shapely

from lasernest.domain.control import Control
from lasernest.domain.plan import Sheet
from lasernest.nesting.budget import Budget, Clock
from lasernest.nesting.filling import Group
from lasernest.nesting.jobs import Board, sheets_of, streams_of
from lasernest.nesting.rows import FilledSheet, free_region
from lasernest.nesting.search.driver import STREAMS, drive
from lasernest.nesting.search.layout import Tuning

FULL = 0.8
"""So full the sheets get easily: how many panels are tried at once."""

FIRST_TRY = 400_000
"""Places weighed for a try; each time that nothing fits they are doubled."""


@dataclass(frozen=True, slots=True)
class Means:
    """What a search may use."""

    control: Control
    clock: Clock
    seed: int
    workers: int
    executor: Executor | None


class Adder:
    """Adds panels to sheets until the budget is used.

    Args:
        board: with the outlines of all that may be added.
        budget: seconds count from the start of the clock.
        means: to search with.
    """

    def __init__(self, board: Board, budget: Budget, means: Means) -> None:
        self._board, self._budget, self._means = board, budget, means
        self._free_mm2 = [_free_mm2(board, sheet) for sheet in board.request.sheets]
        self._area_mm2 = {
            order: float(board.model.net_areas[kind]) for order, kind in board.kind_of_order.items()
        }
        self._tries = 0
        self.evaluations = 0

    def add(
        self,
        filled: Sequence[FilledSheet],
        groups: Sequence[Group],
        on_better: Callable[[list[FilledSheet]], object] = lambda _: None,
    ) -> tuple[list[FilledSheet], list[Group]]:
        """Add as many groups as fit, each whole, in the order given.

        Args:
            filled: sheets; what lies on them stays on them, though elsewhere.
            groups: to be added.
            on_better: called with the sheets each time they hold more.

        Returns:
            The sheets, and the groups that they do not hold.
        """
        sheets, left = list(filled), list(groups)
        work = FIRST_TRY
        while left and not self._over():
            before = len(left)
            sheets, left = self._one_round(sheets, left, work, on_better)
            if not any(self._area(group) <= self._room_mm2(sheets) for group in left):
                break
            if len(left) == before:
                work *= 2
        return sheets, left

    def _one_round(
        self,
        sheets: list[FilledSheet],
        left: list[Group],
        work: int,
        on_better: Callable[[list[FilledSheet]], object],
    ) -> tuple[list[FilledSheet], list[Group]]:
        """Try all groups once, in order; those that do not fit are left."""
        at, size = 0, self._easily(sheets, left)
        while at < len(left) and not self._over():
            batch = left[at : at + size]
            room_mm2 = self._room_mm2(sheets)
            fits = sum(map(self._area, batch)) <= room_mm2
            found = self._try(sheets, batch, work) if fits else None
            if found is not None:
                sheets = found
                del left[at : at + size]
                size *= 2
                on_better(sheets)
            elif size > 1:
                size = max(1, size // 2)
            else:
                failed = left[at]
                while at < len(left) and left[at] == failed:
                    at += 1
        return sheets, left

    def _try(
        self, sheets: Sequence[FilledSheet], batch: Sequence[Group], work: int
    ) -> list[FilledSheet] | None:
        means = self._means
        job = self._board.job(sheets, [order for group in batch for order in group])
        self._tries += 1
        streams = streams_of(
            job,
            seed=means.seed + 7919 * self._tries,
            count=max(STREAMS, means.workers),
            tuning=replace(Tuning(), compress_share=0.0),
        )
        if self._budget.work is not None:
            work = min(work, self._budget.work - self.evaluations)
        found: list[list[FilledSheet]] = []
        self.evaluations += drive(
            streams,
            budget=Budget(self._budget.seconds, work),
            clock=means.clock,
            control=means.control,
            workers=means.workers,
            executor=means.executor,
            on_better=lambda feasible, _: found.append(sheets_of(job, feasible)),
        )
        return found[-1] if found else None

    def _over(self) -> bool:
        seconds, work = self._budget.seconds, self._budget.work
        return (
            self._means.control.stopped
            or (seconds is not None and self._means.clock.seconds >= seconds)
            or (work is not None and self.evaluations >= work)
        )

    def _easily(self, sheets: Sequence[FilledSheet], groups: Sequence[Group]) -> int:
        """How many of the groups surely fit, by area; at least one."""
        free_mm2 = sum(self._free_mm2[one.kind] for one in sheets)
        room_mm2 = FULL * free_mm2 - (free_mm2 - self._room_mm2(sheets))
        count = 0
        while count < len(groups) and room_mm2 > 0.0:
            room_mm2 -= self._area(groups[count])
            count += 1
        return max(1, count)

    def _room_mm2(self, sheets: Sequence[FilledSheet]) -> float:
        """Area that is left on the sheets for grown outlines."""
        laid = sum(self._area_mm2[laid.order] for one in sheets for laid in one.laid)
        return sum(self._free_mm2[one.kind] for one in sheets) - laid

    def _area(self, group: Group) -> float:
        return sum(self._area_mm2[order] for order in group)


def _free_mm2(board: Board, sheet: Sheet) -> float:
    """Area for grown outlines: the free region grown by half the gap."""
    region: shapely.Geometry = free_region(sheet)
    return float(region.buffer(0.5 * board.request.gap_mm, join_style="mitre").area)
