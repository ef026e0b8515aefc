"""What may be wished besides: priorities, as many as fit, products together, long sides."""

from __future__ import annotations

import math
from collections import Counter

import pytest

from lasernest.domain.contours import Contour, Pose
from lasernest.domain.control import QuietControl
from lasernest.domain.panels import Panel
from lasernest.domain.plan import (
    Axis,
    NestRequest,
    PanelOrder,
    Placement,
    Plan,
    Sheet,
    SheetPlan,
    Turns,
)
from lasernest.errors import BadValueError
from lasernest.nesting import Budget, arrange, plan_problems


def rectangle(name: str, width_mm: float, height_mm: float) -> Panel:
    return Panel.of(name, Contour.rectangle(3.0, -4.0, width_mm, height_mm))


def triangle(name: str, side_mm: float) -> Panel:
    return Panel.of(name, Contour.polygon([(0, 0), (side_mm, 0), (0, side_mm)]))


def searched(request: NestRequest, work: int = 300_000, workers: int = 1) -> Plan:
    plan = arrange(request, control=QuietControl(), budget=Budget(work=work), workers=workers)
    assert plan_problems(request, plan) == ()
    return plan


def placed(plan: Plan) -> Counter[str]:
    return Counter(p.panel_name for sheet in plan.sheets for p in sheet.placements)


@pytest.mark.parametrize("work", [0, 200_000])
def test_a_higher_priority_is_placed_first_where_sheets_are_short(work: int) -> None:
    # 200 x 100 holds two of 95 x 90; the small one would go first by neither size nor name
    sheet = Sheet(200, 100, 5, available=1)
    big = PanelOrder(rectangle("big", 190, 90), 1)
    small = PanelOrder(rectangle("small", 60, 60), 1, priority=1)
    plan = searched(NestRequest((big, small), (sheet,), 1), work)
    assert placed(plan) == {"small": 1}
    assert [(left.panel_name, left.count) for left in plan.unplaced] == [("big", 1)]


def test_what_rows_leave_out_is_searched_a_place() -> None:
    # Two right triangles of 100 close up to a square: boxes in rows hold 2 of 4 on 210 x 105.
    sheet = Sheet(215, 109, 2, available=1)
    request = NestRequest((PanelOrder(triangle("wedge", 100), 4, Turns.HALF),), (sheet,), 1.0)
    rows = arrange(request, control=QuietControl(), budget=Budget(seconds=0))
    assert placed(rows)["wedge"] == 2
    assert placed(searched(request))["wedge"] == 4


def test_a_full_sheet_takes_a_missing_panel_by_moving_others() -> None:
    # The ells are too different for a pattern and their boxes leave one of them out.
    def ell(name: str, leg: float) -> PanelOrder:
        corners = [(0, 0), (100, 0), (100, leg), (leg, leg), (leg, 100), (0, 100)]
        return PanelOrder(Panel.of(name, Contour.polygon(corners)), 1, Turns.QUARTER)

    request = NestRequest(
        tuple(ell(f"ell {leg}", leg) for leg in (20, 22, 24, 26)),
        (Sheet(210, 140, 2, available=1),),
        1.0,
    )
    assert arrange(request, control=QuietControl(), budget=Budget(seconds=0)).unplaced
    plan = searched(request, 1_500_000)
    assert plan.unplaced == ()
    assert searched(request, 1_500_000, workers=2).sheets == plan.sheets


@pytest.mark.parametrize(
    ("quantity", "sheets", "count"),
    [(0, 1, 30), (7, 1, 30), (31, 2, 60)],  # a 600 x 400 sheet holds 5 x 6, trade closed form
)
def test_as_many_as_fit_fills_the_sheets_that_are_used(
    quantity: int, sheets: int, count: int
) -> None:
    tile = PanelOrder(rectangle("tile", 100, 60), quantity, Turns.NONE, as_many_as_fit=True)
    plan = searched(NestRequest((tile,), (Sheet(600, 400, 5),), 2), 100_000)
    assert len(plan.sheets) == sheets
    assert placed(plan)["tile"] == count
    assert plan.unplaced == ()


def test_as_many_as_fit_takes_what_others_leave_and_never_their_place() -> None:
    frame = Panel.of(
        "frame", Contour.rectangle(0, 0, 190, 130), [Contour.rectangle(15, 15, 160, 100)]
    )
    request = NestRequest(
        (
            PanelOrder(frame, 1),
            PanelOrder(rectangle("lid", 90, 70), 2, Turns.HALF),
            PanelOrder(rectangle("key tag", 40, 18), 0, as_many_as_fit=True),
        ),
        (Sheet(400, 150, 5),),
        2.0,
    )
    plan = searched(request, 400_000)
    assert len(plan.sheets) == 1
    found = placed(plan)
    assert (found["frame"], found["lid"]) == (1, 2)
    # Inside the frame alone a grid of 3 x 5 tags fits: (160 - 4 + 2) / 42, (100 - 4 + 2) / 20
    rows = arrange(request, control=QuietControl(), budget=Budget(seconds=0))
    assert found["key tag"] >= placed(rows)["key tag"] + 6


def test_what_fits_nowhere_is_named_even_if_only_as_many_as_fit_were_wanted() -> None:
    order = PanelOrder(rectangle("door", 700, 700), 0, as_many_as_fit=True)
    plan = searched(NestRequest((order,), (Sheet(600, 400),)))
    assert plan.placed_count == 0
    assert plan.unplaced[0].panel_name == "door"
    assert "fits on no sheet" in plan.unplaced[0].reason


def test_products_stay_together_although_another_mixture_is_shorter() -> None:
    # Boxes A: 2 sides and a top each; laid by size alone all tops would go onto the first sheets.
    orders = (
        PanelOrder(rectangle("side", 130, 60), 8, Turns.NONE, product="box", per_product=2),
        PanelOrder(rectangle("top", 130, 95), 4, Turns.NONE, product="box", per_product=1),
        PanelOrder(rectangle("lamp back", 180, 100), 1, Turns.NONE, product="lamp"),
        PanelOrder(rectangle("lamp foot", 80, 80), 1, Turns.NONE, product="lamp"),
    )
    sheet = Sheet(300, 250, 5)
    apart = searched(NestRequest(orders, (sheet,), 2))
    plan = searched(NestRequest(orders, (sheet,), 2, together=True))
    for one in plan.sheets:
        names = Counter(p.panel_name for p in one.placements)
        assert names["side"] == 2 * names["top"]
        assert names["lamp back"] == names["lamp foot"]
    assert placed(plan) == placed(apart)
    assert searched(NestRequest(orders, (sheet,), 2, together=True), workers=2).sheets == (
        plan.sheets
    )


def test_a_product_larger_than_a_sheet_is_cut_from_several() -> None:
    order = PanelOrder(rectangle("wall", 280, 100), 5, Turns.NONE, product="shed")
    plan = searched(NestRequest((order,), (Sheet(300, 220, 5),), 2, together=True), 50_000)
    assert [len(one.placements) for one in plan.sheets] == [2, 2, 1]


@pytest.mark.parametrize("along", [Axis.X, Axis.Y])
def test_long_sides_lie_along_the_axis_wished(along: Axis) -> None:
    c = math.sqrt(0.5)
    tilted = Contour.polygon([(0, 0), (150 * c, 150 * c), (140 * c, 160 * c), (-10 * c, 10 * c)])
    orders = (
        PanelOrder(rectangle("tall", 30, 120), 4, Turns.QUARTER),
        PanelOrder(rectangle("flat", 110, 40), 4, Turns.QUARTER),
        PanelOrder(Panel.of("tilted", tilted), 3, Turns.FREE),
        PanelOrder(rectangle("kept", 20, 90), 2, Turns.NONE),
    )
    request = NestRequest(orders, (Sheet(300, 300),), 2, long_sides_along=along)
    plan = searched(request, 60_000)
    panels = {order.panel.name: order.panel for order in orders}
    for placement in plan.sheets[0].placements:
        x0, y0, x1, y1 = panels[placement.panel_name].posed(placement.pose).bounds_mm()
        lies_along_x = x1 - x0 > y1 - y0
        if placement.panel_name == "kept":
            assert not lies_along_x
        else:
            assert lies_along_x == (along is Axis.X)
        if placement.panel_name == "tilted":
            assert min(x1 - x0, y1 - y0) == pytest.approx(10.0, abs=1e-6)
    across = Pose(100.0, 100.0, 0.0 if along is Axis.X else 90.0)
    wrong = Plan((SheetPlan(request.sheets[0], (Placement("tall", 1, across),)),))
    assert any("longer side" in problem for problem in plan_problems(request, wrong))


def test_turns_in_steps_are_kept() -> None:
    strip = PanelOrder(rectangle("strip", 90, 8), 6, Turns.FREE, turn_step_deg=30.0)
    request = NestRequest((strip, PanelOrder(triangle("wedge", 80), 3)), (Sheet(160, 120, 2),), 1)
    plan = searched(request, 150_000)
    for placement in plan.sheets[0].placements:
        assert math.remainder(placement.pose.turn_deg, 30.0) == pytest.approx(0.0, abs=1e-9)
    off = Plan((SheetPlan(request.sheets[0], (Placement("strip", 1, Pose(40.0, 40.0, 45.0)),)),))
    assert any("turned by 45" in problem for problem in plan_problems(request, off))


def test_any_angle_saves_length_where_quarter_turns_cannot() -> None:
    # A strip 100 high and a bar of 110 mm: standing it does not fit, lying it takes 110,
    # along the diagonal less.
    bar = rectangle("bar", 110, 4)
    sheet = Sheet(200, 100, 0)

    def used(turns: Turns) -> float:
        request = NestRequest((PanelOrder(bar, 2, turns),), (sheet,), 0.5)
        return searched(request, 100_000).log[-1].used_length_mm

    assert used(Turns.QUARTER) == pytest.approx(110.0)
    assert used(Turns.FREE) < 100.0


def test_steps_and_copies_that_cannot_be_are_refused() -> None:
    with pytest.raises(BadValueError, match="steps of 0 degrees"):
        PanelOrder(rectangle("lid", 10, 10), turn_step_deg=0.0)
    with pytest.raises(BadValueError, match="-1 copies"):
        PanelOrder(rectangle("lid", 10, 10), per_product=-1)
