"""C1, C3 to C5, C9, S3 to S5 and S10 of the trade's check table: closed forms and data sheets."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lasernest.domain.orders import start_count
from lasernest.domain.rates import HandlingTimes, Rates
from lasernest.domain.stock import Kerf, SheetSize, Stock
from lasernest.errors import BadValueError
from lasernest.services.costing import (
    SheetAreas,
    SheetCost,
    order_cost,
    sheet_weight_kg,
    sheets_needed,
)
from lasernest.services.planning import weight_g


def stock(thickness_mm: float, density: float | None) -> Stock:
    return Stock(
        "s", "birch plywood", thickness_mm, (SheetSize(600, 400),), Kerf.same(0.2),
        density_g_per_cm3=density,
    )  # fmt: skip


def test_yields() -> None:
    # C1: twelve panels of 100 x 60 on 600 x 400, the strip above 260 kept
    areas = SheetAreas(600 * 400, 12 * 100 * 60, 600 * 140, kerf_mm2=12 * 320 * 0.2)
    assert areas.yield_share == pytest.approx(0.30)
    assert areas.used_yield_share == pytest.approx(0.461538, abs=1e-6)
    assert areas.offcut_share == pytest.approx(0.35)
    # C5: identity
    assert areas.net_mm2 + areas.offcut_mm2 + areas.waste_mm2 == pytest.approx(areas.sheet_mm2)
    assert areas.kerf_mm2 < areas.waste_mm2


def test_worked_order() -> None:
    # C3, C4: order of 100, 5 % scrap, 20 to a sheet of 18.00 (invented price), 6.5 min a sheet
    # at 30/h, 2 min a part at 25/h, 10 min of setup
    started = start_count(100, 0.05)
    sheets = sheets_needed(started, 20)
    assert (started, sheets) == (106, 6)
    cost = order_cost(
        [SheetCost(sheets, 18.00)],
        rates=Rates(30.0, 25.0, 0.15),
        machine_s=sheets * 6.5 * 60,
        hands_s=started * 2 * 60,
        setup_s=10 * 60,
        good_units=100,
    )
    assert (cost.material, cost.machine) == (pytest.approx(108.00), pytest.approx(19.50))
    assert cost.hands == pytest.approx(88.3333, abs=1e-4)
    assert cost.setup == pytest.approx(4.1667, abs=1e-4)
    assert cost.total == pytest.approx(220.00)
    assert cost.per_unit == pytest.approx(2.20)
    assert cost.per_unit_with_overhead == pytest.approx(2.53)
    assert cost.unpriced == ()


def test_prices_that_cannot_be() -> None:
    # C9
    for price in (0.0, -3.0, float("nan")):
        with pytest.raises(BadValueError, match="cannot be right"):
            SheetCost(1, price)
    nothing = order_cost(
        [SheetCost(0, 18.0)], rates=Rates(30, 25), machine_s=0, hands_s=0, setup_s=0, good_units=1
    )
    assert nothing.material == 0.0
    with pytest.raises(BadValueError):
        Rates(-1, 25)
    with pytest.raises(BadValueError, match="an order of no unit"):
        order_cost([], rates=Rates(30, 25), machine_s=0, hands_s=0, setup_s=0, good_units=0)
    with pytest.raises(BadValueError, match="-1 cannot be a time or a credit"):
        order_cost([], rates=Rates(30, 25), machine_s=-1, hands_s=0, setup_s=0, good_units=1)


def test_a_missing_price_is_said_and_offcuts_count() -> None:
    cost = order_cost(
        [SheetCost.of(SheetSize(600, 400), 2), SheetCost(1, 4.0, "offcut A01")],
        rates=Rates(30, 25),
        machine_s=0,
        hands_s=0,
        setup_s=0,
        good_units=4,
        offcut_credit=1.5,
    )
    assert cost.unpriced == ("600 x 400 mm",)
    assert cost.material == pytest.approx(2.5)


def test_handling() -> None:
    # by hand: acrylic 10 panels x (15 + 5 + 2); wood 10 x (15 + 5 + 2) and 4 glued joints x 45
    times = HandlingTimes()
    assert times.by_hand_s(panels=10, masked=True, wood=False) == pytest.approx(220.0)
    assert times.by_hand_s(panels=10, masked=False, wood=True, glued_joints=4) == pytest.approx(400)


@given(good=st.integers(0, 5000), scrap=st.floats(0.0, 0.9))
def test_enough_are_started_and_not_one_too_many(good: int, scrap: float) -> None:
    started = start_count(good, scrap)
    assert started * (1 - scrap) >= good - 1e-6
    assert started == 0 or (started - 1) * (1 - scrap) < good
    with pytest.raises(BadValueError):
        start_count(good, 1.0)


def test_counts_that_come_out_even() -> None:
    assert start_count(95, 0.05) == 100
    assert sheets_needed(40, 20) == 2
    assert sheets_needed(0, 20) == 0
    with pytest.raises(BadValueError, match="not one piece fits"):
        sheets_needed(3, 0)
    with pytest.raises(BadValueError):
        start_count(-1, 0.0)


@pytest.mark.parametrize(
    ("width_mm", "height_mm", "thickness_mm", "density", "kg", "printed"),
    [
        (1220, 2440, 4, 0.660, 7.8588, 7.9),  # S3: a birch plywood maker's data sheet
        (1220, 2440, 12, 0.695, 24.8265, 24.8),  # S4
        (1220, 2440, 18, 0.685, 36.7039, 36.7),  # S4
        (3050, 1525, 4, 0.660, 12.2793, 12.3),  # S5
        (600, 400, 3, 1.19, 0.8568, 0.9),  # S10: acrylic, closed form
    ],
)
def test_weights(
    width_mm: float, height_mm: float, thickness_mm: float, density: float, kg: float,
    printed: float,
) -> None:  # fmt: skip
    sheet = stock(thickness_mm, density)
    assert sheet_weight_kg(sheet, width_mm, height_mm) == pytest.approx(kg, abs=5e-4)
    assert kg == pytest.approx(printed, abs=0.05)
    assert weight_g(width_mm * height_mm, sheet) == pytest.approx(1000 * kg, abs=0.5)
    assert sheet_weight_kg(stock(3.0, None), 600, 400) is None
