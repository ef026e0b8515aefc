"""The choice of sheets, held against every combination there is."""

from __future__ import annotations

import itertools
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lasernest.domain.contours import Contour
from lasernest.domain.control import QuietControl
from lasernest.domain.offcuts import Offcut
from lasernest.domain.panels import Panel
from lasernest.domain.plan import NestRequest, PanelOrder, Sheet, Turns
from lasernest.nesting import Budget, arrange
from lasernest.services.sheet_choice import Kind, cheapest, choose_sheets

PLATE = Panel.of("plate", Contour.rectangle(0, 0, 100, 60))


def exhaustive(kinds: list[Kind], capacities: list[int], pieces: int) -> float | None:
    """Slow twin: the least cost over every combination."""
    costs = [
        math.fsum(n * kind.cost for n, kind in zip(counts, kinds, strict=True))
        for counts in itertools.product(*(range(kind.most + 1) for kind in kinds))
        if sum(n * c for n, c in zip(counts, capacities, strict=True)) >= pieces
    ]
    return min(costs, default=None)


@settings(deadline=None)
@given(
    data=st.lists(
        st.tuples(st.integers(1, 40), st.integers(1, 12), st.integers(0, 4)), min_size=1, max_size=3
    ),
    pieces=st.integers(1, 40),
)
def test_cheapest_of_all_combinations(data: list[tuple[int, int, int]], pieces: int) -> None:
    kinds = [Kind(cost / 4, float(capacity), most) for cost, capacity, most in data]
    capacities = [capacity for _, capacity, _ in data]

    def holds(counts: tuple[int, ...]) -> str | None:
        room = sum(n * c for n, c in zip(counts, capacities, strict=True))
        return "held" if room >= pieces else None

    found = cheapest(kinds, holds, area_mm2=float(pieces), most_trials=10_000)
    least = exhaustive(kinds, capacities, pieces)
    assert (found is None) == (least is None)
    if found is not None and least is not None:
        assert found.cost == pytest.approx(least)
        assert all(n <= kind.most for n, kind in zip(found.counts, kinds, strict=True))


def test_what_is_known_is_never_given_up_for_something_dearer() -> None:
    kinds = [Kind(10.0, 100.0, 5), Kind(7.0, 60.0, 5)]
    found = cheapest(
        kinds, lambda counts: None, area_mm2=90.0, singles=[((1, 0), "one"), ((0, 2), "two")]
    )
    assert found is not None
    assert (found.counts, found.cost, found.plan) == ((1, 0), 10.0, "one")


def request(pieces: int, *sheets: Sheet, gap_mm: float = 2.0) -> NestRequest:
    return NestRequest((PanelOrder(PLATE, pieces, Turns.HALF),), sheets, gap_mm)


def chosen(asked: NestRequest):  # type: ignore[no-untyped-def]
    return choose_sheets(asked, control=QuietControl(), budget=Budget(seconds=0))


# Grid arithmetic for unturned plates: 600 x 400, margin 5, gap 2: 5 x 6; 300 x 200: 2 x 3.
LARGE = Sheet(600, 400, price=18.0)
SMALL = Sheet(300, 200, price=4.0)


@pytest.mark.parametrize(
    ("pieces", "counts", "cost"),
    [
        (6, (0, 1), 4.0),
        (24, (0, 4), 16.0),  # four small ones are cheaper than a large one of 18
        (30, (1, 0), 18.0),  # five small ones cost 20
        (36, (1, 1), 22.0),  # a mixture beats 24 (small only) and 36 (large only)
        (60, (2, 0), 36.0),
        (61, (2, 1), 40.0),
    ],
)
def test_mixture_of_sizes(pieces: int, counts: tuple[int, int], cost: float) -> None:
    choice = chosen(request(pieces, LARGE, SMALL))
    assert choice.plan.unplaced == ()
    assert (choice.counts, choice.cost) == (counts, pytest.approx(cost))
    assert choice.single_cost is None or choice.cost <= choice.single_cost


def test_counts_on_hand_are_kept() -> None:
    few = Sheet(600, 400, price=18.0, available=1)
    choice = chosen(request(60, few, SMALL))
    assert choice.counts == (1, 5)
    assert choice.plan.placed_count == 60
    gone = chosen(request(60, few, Sheet(300, 200, price=4.0, available=2)))
    assert gone.plan.placed_count + sum(u.count for u in gone.plan.unplaced) == 60
    assert gone.counts == (1, 2)


def test_offcuts_come_first() -> None:
    offcut = Offcut.rectangle("A01", "birch", 300, 200).sheet(margin_mm=5.0)
    choice = chosen(request(36, offcut, LARGE, SMALL))
    assert choice.counts == (1, 0)  # six lie on the offcut
    assert any(one.sheet.is_offcut for one in choice.plan.sheets)
    alone = chosen(request(5, offcut, LARGE))
    assert (alone.counts, alone.cost) == ((0,), 0.0)


def test_without_prices_areas_are_compared() -> None:
    choice = chosen(request(6, Sheet(600, 400), Sheet(300, 200)))
    assert choice.by_area
    assert (choice.counts, choice.cost) == ((0, 1), None)


@settings(max_examples=12, deadline=None)
@given(pieces=st.integers(1, 70), price=st.integers(1, 40))
def test_never_worse_than_one_size(pieces: int, price: int) -> None:
    sizes = (Sheet(600, 400, price=18.0), Sheet(300, 200, price=price / 4))
    choice = chosen(request(pieces, *sizes))
    assert choice.plan.placed_count == pieces
    for size in sizes:
        plan = arrange(request(pieces, size), control=QuietControl(), budget=Budget(seconds=0))
        alone = len(plan.sheets) * (size.price or 0.0)
        assert choice.cost is not None
        assert choice.cost <= alone + 1e-9
