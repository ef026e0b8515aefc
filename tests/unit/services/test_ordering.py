from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lasernest.domain.bookings import Booking, CutPanel
from lasernest.domain.orders import Order, OrderLine, PanelNeed
from lasernest.errors import BadValueError, NotFoundError, UsageError
from lasernest.services.ordering import booked_for, by_stock, cut_list

SIDE = PanelNeed("side", "birch 3", 2, "r8")
LID = PanelNeed("lid", "acrylic 3", 1, "r1")
DRAWER = OrderLine("drawer", 10, (SIDE, LID), spares=1)
CLOCK = OrderLine("clock", 4, (PanelNeed("face", "birch 3"),))
DAY = date(2026, 11, 25)


def booked(*panels: CutPanel, job: str = "order 50") -> Booking:
    return Booking(DAY, job, panels=panels)


def test_orders_that_panels_of_a_product_were_booked_for() -> None:
    bookings = [
        booked(CutPanel("drawer", "side", 15, "birch 3"), CutPanel("clock", "side", 4, "birch 3")),
        booked(CutPanel("drawer", "side", 6, "birch 3"), CutPanel("drawer", "lid", 2, "acrylic 3")),
        booked(CutPanel("drawer", "lid", 1, "acrylic 3"), job="fair"),
        Booking(DAY, "order 50", failed=(CutPanel("drawer", "side", 2, "birch 3"),)),
    ]
    assert booked_for("drawer", bookings) == {
        "side": {"order 50": 19},
        "lid": {"order 50": 2, "fair": 1},
    }
    assert booked_for("shelf", bookings) == {}


def test_products_share_one_order() -> None:
    # by hand: sides 10 x 2 + 1, lids 10 + 1, faces 4
    lines = cut_list(Order("order 50", (DRAWER, CLOCK)))
    assert [(n.panel, n.needed, n.on_hand, n.to_cut) for n in lines] == [
        ("side", 21, 0, 21),
        ("lid", 11, 0, 11),
        ("face", 4, 0, 4),
    ]
    assert {s: [n.panel for n in batch] for s, batch in by_stock(lines).items()} == {
        "birch 3": ["side", "face"],
        "acrylic 3": ["lid"],
    }


def test_expected_scrap_is_started_on_top() -> None:
    # C3 of the trade's check table: 100 wanted at 5 % scrap, 106 started
    line = OrderLine("drawer", 100, (PanelNeed("lid", "acrylic 3"),))
    (found,) = cut_list(Order("o", (line,), scrap_share=0.05))
    assert (found.needed, found.to_cut) == (100, 106)


def test_what_was_cut_already_is_not_cut_again() -> None:
    order = Order("order 50", (DRAWER,))
    good = CutPanel("drawer", "side", 15, "birch 3", "r8")
    older = CutPanel("drawer", "lid", 11, "acrylic 3", "r0")
    other_stock = CutPanel("drawer", "lid", 11, "acrylic 5", "r1")
    bookings = [booked(good, older, other_stock), booked(good, job="order 49")]
    side, lid = cut_list(order, bookings)
    assert (side.on_hand, side.to_cut) == (15, 6)
    assert (lid.on_hand, lid.to_cut) == (0, 11)  # the drawing changed: all are cut again
    assert (side.why_again, lid.why_again) == ("", "11 of an older drawing")
    done = [*bookings, booked(good), booked(CutPanel("drawer", "lid", 20, "acrylic 3", "r1"))]
    assert [n.to_cut for n in cut_list(order, done)] == [0, 0]
    assert by_stock(cut_list(order, done)) == {}


def test_what_failed_is_cut_again_and_stays_failed() -> None:
    order = Order("order 50", (OrderLine("drawer", 10, (SIDE,)),))
    good = booked(CutPanel("drawer", "side", 23, "birch 3", "r8"))
    # 23 cut for 20 needed: two that failed are made up for, of five two are lacking
    assert [n.to_cut for n in cut_list(order, [good], {"side": 2})] == [0]
    (line,) = cut_list(order, [good], {"drawer/side": 5})
    assert (line.on_hand, line.to_cut, line.why_again) == (18, 2, "5 failed")
    told = Booking(DAY, "order 50", failed=(CutPanel("drawer", "side", 5, "birch 3", "r8"),))
    (line,) = cut_list(order, [good, told])
    assert (line.on_hand, line.to_cut) == (18, 2)
    with pytest.raises(UsageError, match="24 of side cannot have failed: 23 were booked for order"):
        cut_list(order, [good], {"side": 24})
    with pytest.raises(NotFoundError, match="the order has no panel door"):
        cut_list(order, [good], {"door": 1})


@given(
    units=st.integers(0, 200),
    per_unit=st.integers(1, 9),
    spares=st.integers(0, 20),
    done=st.integers(1, 500),
    scrap=st.floats(0.0, 0.5),
)
def test_never_too_few(units: int, per_unit: int, spares: int, done: int, scrap: float) -> None:
    need = PanelNeed("side", "birch 3", per_unit)
    order = Order("o", (OrderLine("d", units, (need,), spares),), scrap)
    (line,) = cut_list(order, [booked(CutPanel("d", "side", done, "birch 3"), job="o")])
    assert line.needed == units * per_unit + spares
    assert line.on_hand + line.to_cut * (1.0 - scrap) >= line.needed - 1e-6
    assert line.to_cut >= 0


def test_what_cannot_be_ordered() -> None:
    with pytest.raises(BadValueError):
        PanelNeed("a", "b", 0)
    with pytest.raises(BadValueError):
        OrderLine("a", -1, ())
    with pytest.raises(BadValueError, match="leaves nothing"):
        Order("a", (), 1.0)
