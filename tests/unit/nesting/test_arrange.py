"""Plans against the grid oracle, the exact check, and sheets done by hand."""

from __future__ import annotations

import math

import pytest

from lasernest.domain.contours import Contour, Pose, Vertex
from lasernest.domain.control import QuietControl
from lasernest.domain.panels import Panel
from lasernest.domain.plan import NestRequest, PanelOrder, Placement, Plan, Sheet, SheetPlan, Turns
from lasernest.errors import BadDrawingError
from lasernest.nesting import Budget, arrange, plan_problems


class Recorder(QuietControl):
    def __init__(self) -> None:
        super().__init__()
        self.offers: list[Plan] = []

    def offer(self, result: Plan) -> None:
        self.offers.append(result)


def rectangle(name: str, width_mm: float, height_mm: float) -> Panel:
    return Panel.of(name, Contour.rectangle(3.0, -4.0, width_mm, height_mm))


def quick(request: NestRequest) -> Plan:
    plan = arrange(request, control=QuietControl(), budget=Budget(seconds=0.0))
    assert plan_problems(request, plan) == ()
    return plan


@pytest.mark.parametrize(
    ("sheet", "gap_mm", "panel", "turns", "capacity"),
    [
        # nx = floor((W - 2m + g) / (w + g)), closed form
        (Sheet(600, 400, 5), 2, (100, 60), Turns.NONE, 30),
        (Sheet(600, 400, 5), 2, (60, 100), Turns.NONE, 27),
        (Sheet(600, 400, 5), 2, (60, 100), Turns.QUARTER, 30),
        (Sheet(1220, 610, 10), 3, (150, 100), Turns.NONE, 35),
        (Sheet(610, 305, 5), 2, (50, 50), Turns.NONE, 55),
        (Sheet(600, 300, 5), 2, (100, 60), Turns.NONE, 20),
        (Sheet(600, 400, 0), 0, (100, 100), Turns.NONE, 24),
    ],
)
def test_grid_capacity(
    sheet: Sheet, gap_mm: float, panel: tuple[float, float], turns: Turns, capacity: int
) -> None:
    order = PanelOrder(rectangle("tile", *panel), capacity, turns)
    plan = quick(NestRequest((order,), (sheet,), gap_mm))
    assert len(plan.sheets) == 1
    assert plan.placed_count == capacity
    if turns is Turns.QUARTER:
        return  # rows of both directions may hold more than either grid
    more = PanelOrder(order.panel, capacity + 1, turns)
    assert len(quick(NestRequest((more,), (sheet,), gap_mm)).sheets) == 2


def test_every_panel_is_placed_on_as_many_sheets_as_it_takes() -> None:
    orders = tuple(
        PanelOrder(rectangle(f"p{i}", 40 + 13 * i, 90 - 7 * i), 9, Turns.HALF) for i in range(8)
    )
    request = NestRequest(orders, (Sheet(400, 300),))
    control = Recorder()
    plan = arrange(request, control=control, budget=Budget(seconds=0.0))
    assert plan_problems(request, plan) == ()
    assert plan.placed_count == 72
    assert plan.unplaced == ()
    assert control.offers
    assert plan.log[-1].sheets == len(plan.sheets)


def test_a_panel_too_large_is_named_with_the_reason_and_the_rest_is_placed() -> None:
    request = NestRequest(
        (
            PanelOrder(rectangle("door", 700, 50), 2, Turns.NONE),
            PanelOrder(rectangle("lid", 100, 50), 2),
        ),
        (Sheet(600, 400, 5),),
    )
    plan = quick(request)
    (left,) = plan.unplaced
    assert (left.panel_name, left.count) == ("door", 2)
    assert left.reason == (
        "its size of 700 x 50 mm fits on no sheet as drawn; "
        "the largest leaves 590 x 390 mm inside its margin"
    )
    assert plan.placed_count == 2


def test_availability_is_respected_and_kinds_come_in_order() -> None:
    offcut = Sheet(210, 210, 5, available=1, label="offcut", is_offcut=True)
    request = NestRequest(
        (PanelOrder(rectangle("tile", 99, 99), 8, Turns.NONE),),
        (offcut, Sheet(210, 210, 5, available=1)),
    )
    plan = quick(request)
    assert [s.sheet.label for s in plan.sheets] == ["offcut", ""]
    assert plan.unplaced == ()
    more = NestRequest((PanelOrder(rectangle("tile", 99, 99), 9, Turns.NONE),), request.sheets)
    (left,) = quick(more).unplaced
    assert left.count == 1
    assert left.reason.startswith("there are no more sheets")


def test_a_tilted_strip_needs_a_free_turn() -> None:
    # 300 x 20 drawn at 45 degrees has a box of 226 mm and fits a 320 x 40 sheet only when turned.
    c = math.sqrt(0.5)
    corners = [(0.0, 0.0), (300 * c, 300 * c), (280 * c, 320 * c), (-20 * c, 20 * c)]
    panel = Panel.of("strip", Contour.polygon(corners))
    sheet = Sheet(320, 40, 5)
    assert quick(NestRequest((PanelOrder(panel, 1, Turns.QUARTER),), (sheet,))).unplaced
    assert quick(NestRequest((PanelOrder(panel, 1, Turns.FREE),), (sheet,))).placed_count == 1


def test_offcut_with_a_slanted_edge_and_a_clamp() -> None:
    outline = Contour.polygon([(0, 0), (300, 0), (300, 100), (150, 200), (0, 200)])
    clamp = Contour.circle(60, 60, 15)
    sheet = Sheet(300, 200, 4, outline=outline, holes=(clamp,), available=1)
    disc = Panel.of("disc", Contour.circle(0, 0, 20))
    request = NestRequest((PanelOrder(disc, 12), PanelOrder(rectangle("bar", 60, 12), 3)), (sheet,))
    plan = quick(request)
    assert plan.placed_count == 15


def test_arcs_keep_the_gap_exactly() -> None:
    # A half moon and discs: bulging in and out.
    moon = Panel.of("moon", Contour((Vertex(-30, 0, 1.0), Vertex(30, 0, -0.5))))
    disc = Panel.of("disc", Contour.circle(1, 2, 9))
    request = NestRequest((PanelOrder(moon, 6), PanelOrder(disc, 20)), (Sheet(200, 200, 3),), 1.5)
    assert quick(request).placed_count == 26


def test_no_copies_no_sheets() -> None:
    plan = quick(NestRequest((PanelOrder(rectangle("lid", 10, 10), 0),), (Sheet(100, 100),)))
    assert plan.sheets == ()
    assert plan.unplaced == ()


def test_the_search_saves_length_and_every_offer_is_valid() -> None:
    ell = Contour.polygon([(0, 0), (90, 0), (90, 25), (25, 25), (25, 90), (0, 90)])
    frame = Panel.of(
        "frame", Contour.rectangle(0, 0, 150, 120), [Contour.rectangle(15, 15, 120, 90)]
    )
    request = NestRequest(
        (
            PanelOrder(Panel.of("ell", ell), 6, Turns.QUARTER, may_mirror=True),
            PanelOrder(frame, 2),
            PanelOrder(Panel.of("disc", Contour.circle(0, 0, 20)), 9),
        ),
        (Sheet(600, 250),),
    )
    control = Recorder()
    plan = arrange(request, control=control, budget=Budget(work=300_000), seed=2)
    for offer in control.offers:
        assert plan_problems(request, offer) == ()
    first = control.offers[0]
    assert len(plan.sheets) <= len(first.sheets)
    assert plan.log[-1].used_length_mm < 0.9 * first.log[-1].used_length_mm
    assert plan.evaluations >= 300_000
    again = arrange(request, control=QuietControl(), budget=Budget(work=300_000), seed=2, workers=2)
    assert again.sheets == plan.sheets


def test_the_search_keeps_off_clamps_and_slanted_edges() -> None:
    outline = Contour.polygon([(0, 0), (300, 0), (300, 100), (150, 200), (0, 200)])
    sheet = Sheet(300, 200, 4, outline=outline, holes=(Contour.circle(60, 60, 15),), available=1)
    disc = Panel.of("disc", Contour.circle(0, 0, 20))
    request = NestRequest((PanelOrder(disc, 12), PanelOrder(rectangle("bar", 60, 12), 3)), (sheet,))
    control = Recorder()
    plan = arrange(request, control=control, budget=Budget(work=200_000))
    assert plan_problems(request, plan) == ()
    assert plan.log[-1].used_length_mm < control.offers[0].log[-1].used_length_mm


def test_many_equal_discs_get_a_pattern() -> None:
    # 14 columns of 9 and 8 by turns in a square grid would take 15 x 42 = 630 mm; hexagonal
    # columns are 36.4 mm apart: 100 discs fit into 12 columns, 42 + 11 * 36.4 = 442 mm
    order = PanelOrder(Panel.of("disc", Contour.circle(0, 0, 20)), 100)
    request = NestRequest((order,), (Sheet(600, 400),))
    plan = arrange(request, control=QuietControl(), budget=Budget(work=1))
    assert plan_problems(request, plan) == ()
    assert plan.log[-1].used_length_mm < 450.0


def test_a_search_goes_on_from_a_plan_and_is_never_worse() -> None:
    orders = tuple(
        PanelOrder(rectangle(f"p{i}", 45 + 11 * i, 88 - 6 * i), 3, Turns.QUARTER) for i in range(5)
    )
    request = NestRequest(orders, (Sheet(500, 300),))

    def search(start: Plan | None, work: int) -> Plan:
        plan = arrange(
            request, control=QuietControl(), budget=Budget(work=work), seed=3, start=start
        )
        assert plan_problems(request, plan) == ()
        return plan

    first = search(None, 300_000)
    again = search(first, 1)
    assert again.log[-1].used_length_mm <= first.log[-1].used_length_mm
    assert again.log[: len(first.log)] == first.log
    longer = search(first, 600_000)
    assert longer.log[-1].used_length_mm <= first.log[-1].used_length_mm
    assert longer.evaluations > first.evaluations
    # A plan to start from that answers another request is left alone.
    other = NestRequest(orders[:4], (Sheet(500, 300),))
    plan = arrange(other, control=QuietControl(), budget=Budget(seconds=0.0), start=first)
    assert plan_problems(other, plan) == ()


def test_a_start_worse_than_rows_is_not_taken() -> None:
    request = NestRequest((PanelOrder(rectangle("tile", 100, 60), 2),), (Sheet(600, 400, 5),))
    rows = quick(request)
    poses = [Pose(2.0, 9.0), Pose(300.0, 200.0)]
    far = SheetPlan(
        request.sheets[0], tuple(Placement("tile", n, p) for n, p in enumerate(poses, start=1))
    )
    start = Plan((far,))
    assert plan_problems(request, start) == ()
    plan = arrange(request, control=QuietControl(), budget=Budget(seconds=0.0), start=start)
    assert plan.sheets == rows.sheets


def test_too_many_panels_to_search_still_get_patterns(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("lasernest.nesting.arranging.MOST_PANELS", 50)
    order = PanelOrder(Panel.of("disc", Contour.circle(0, 0, 20)), 100)
    request = NestRequest((order,), (Sheet(600, 400),))
    plan = arrange(request, control=QuietControl(), budget=Budget(work=10**9))
    assert plan_problems(request, plan) == ()
    assert plan.log[-1].used_length_mm < 450.0
    assert plan.evaluations == 0


def test_a_plan_that_fails_its_check_is_never_handed_out(monkeypatch: pytest.MonkeyPatch) -> None:
    request = NestRequest((PanelOrder(rectangle("lid", 50, 40), 3),), (Sheet(300, 200),))
    control = Recorder()
    monkeypatch.setattr(
        "lasernest.nesting.best_plan.plan_problems", lambda *_, **__: ("lid hangs over.",)
    )
    with pytest.raises(BadDrawingError, match="cannot be arranged: lid hangs over"):
        arrange(request, control=control, budget=Budget(seconds=0.0))
    assert control.offers == []


def test_of_too_many_kinds_nothing_is_prepared(monkeypatch: pytest.MonkeyPatch) -> None:
    def never(*_given: object, **_more: object) -> None:
        raise AssertionError("outlines are prepared for a search that cannot begin")

    orders = tuple(
        PanelOrder(Panel.of(f"p{i}", Contour.rectangle(0, 0, 20 + i, 30 - i)), 1) for i in range(6)
    )
    request = NestRequest(orders, (Sheet(200, 100, 5),), 2.0)
    searched = arrange(request, control=QuietControl(), budget=Budget(work=20_000))
    assert searched.evaluations > 0
    # With six stances for six kinds none but those of the plan are left.
    monkeypatch.setattr("lasernest.nesting.arranging.MOST_STANCES", 6)
    few = arrange(request, control=QuietControl(), budget=Budget(work=20_000))
    assert few.evaluations > 0
    assert plan_problems(request, few) == ()
    monkeypatch.setattr("lasernest.nesting.arranging.MOST_STANCES", 5)
    monkeypatch.setattr("lasernest.nesting.arranging.search_shapes", never)
    rows = arrange(request, control=QuietControl(), budget=Budget(seconds=60.0))
    assert rows.placed_count == 6
    assert rows.seconds < 30.0
    assert plan_problems(request, rows) == ()
