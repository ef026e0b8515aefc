"""Filling sheets row by row: long orders cost no more than what is laid."""

from __future__ import annotations

import itertools
import random

import pytest

from lasernest.domain.contours import Contour
from lasernest.domain.panels import Panel
from lasernest.domain.plan import Sheet
from lasernest.nesting import filling
from lasernest.nesting.filling import Group, fill_sheets
from lasernest.nesting.outlines import Stance
from lasernest.nesting.rows import Box, Kind, kind_of

STANCES = (Stance(0.0), Stance(90.0))
SHEETS = (Sheet(200, 150, 5, available=2), Sheet(300, 200, 5))


def _cost(_box: Box, right_mm: float) -> float:
    return right_mm


def _kinds() -> list[Kind]:
    sizes = ((90, 60), (40, 40), (25, 70), (10, 10))
    panels = [Panel.of(f"p{i}", Contour.rectangle(0, 0, w, h)) for i, (w, h) in enumerate(sizes)]
    return [kind_of(i, panel, STANCES, 2.0) for i, panel in enumerate(panels)]


def _one_by_one(kinds: list[Kind], groups: list[Group]) -> tuple[list[object], list[Group]]:
    """The slow twin: every copy is looked at again for every sheet."""
    filled: list[object] = []
    left = list(groups)
    for index, sheet in enumerate(SHEETS):
        used = 0
        while left and (sheet.available is None or used < sheet.available):
            one = filling._Filling(index, kinds, sheet, 2.0, _cost)
            left = [group for group in left if not one.lay_all(group)]
            if not one.one.laid:
                break
            filled.append(one.one)
            used += 1
    return filled, left


@pytest.mark.parametrize("seed", range(8))
@pytest.mark.parametrize("in_order", [True, False])
def test_counted_copies_are_laid_like_listed_ones(seed: int, in_order: bool) -> None:
    rng = random.Random(seed)
    kinds = _kinds()
    some: list[Group] = [(0,), (1,), (2,), (3,), (0, 3, 3), (1, 2)]
    groups = rng.choices(some, k=60)
    if in_order:
        groups.sort()
    assert fill_sheets(kinds, groups, SHEETS, 2.0, box_cost=_cost) == _one_by_one(kinds, groups)


def test_copies_that_wait_are_not_looked_at_for_every_sheet(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    tries = itertools.count()
    lay_all = filling._Filling.lay_all

    def counted(self: filling._Filling, group: Group) -> bool:
        next(tries)
        return lay_all(self, group)

    monkeypatch.setattr(filling._Filling, "lay_all", counted)
    filled, left = fill_sheets(_kinds(), [(0,)] * 4000, SHEETS, 2.0, box_cost=_cost)
    assert left == []
    assert next(tries) == 4000 + len(filled) - 1  # every copy once, and once in vain for each sheet


def test_stop_leaves_what_was_not_laid(monkeypatch: pytest.MonkeyPatch) -> None:
    asked = itertools.count()
    filled, left = fill_sheets(
        _kinds(), [(3,)] * 9, SHEETS, 2.0, box_cost=_cost, stopped=lambda: next(asked) >= 4
    )
    assert sum(len(sheet.laid) for sheet in filled) == 4
    assert left == [(3,)] * 5
