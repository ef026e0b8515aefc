from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from lasernest.domain.contours import Contour
from lasernest.domain.control import QuietControl
from lasernest.domain.drawing import Drawing, Outlines
from lasernest.domain.panels import Panel
from lasernest.domain.rates import Rates
from lasernest.domain.stock import Kerf, SheetSize, Stock
from lasernest.errors import UsageError
from lasernest.job import Job
from lasernest.services.commands import AddDrawing, AddJoint, SetQuantity
from lasernest.services.comparing import StockColumn, compare_stocks
from lasernest.services.joining import parse_joint

PLATE = Panel.of("plate", Contour.rectangle(0, 0, 100, 60))
BIRCH = Stock(
    "birch", "birch plywood", 3.0, (SheetSize(600, 400, 6.5),), Kerf.same(0.18),
    density_g_per_cm3=0.68, grain=True,
)  # fmt: skip
ACRYLIC = Stock(
    "acrylic", "cast acrylic", 3.0, (SheetSize(600, 400, 18.0), SheetSize(300, 200, 5.0)),
    Kerf.same(0.2), density_g_per_cm3=1.19, masked=True,
)  # fmt: skip


def job_of(*panels: Panel) -> Job:
    drawing = Drawing(Path("case.dxf"), "DXF R2000", "mm", 1.0, ())
    return AddDrawing(Outlines(drawing, panels, 0, ())).apply(Job())


def compared(job: Job, *stocks: Stock, rates: Rates | None = None) -> tuple[StockColumn, ...]:
    return compare_stocks(
        job, stocks, control=QuietControl(), seconds=0.0, rates=rates, on=date(2026, 1, 1)
    )


def test_each_stock_is_planned_for_itself() -> None:
    job = SetQuantity("plate", 20).apply(job_of(PLATE))
    birch, acrylic = compared(job, BIRCH, ACRYLIC)
    assert (birch.yield_share, acrylic.yield_share) == pytest.approx((0.5, 0.5))
    assert birch.weight_per_unit_g == pytest.approx(20 * 6000 * 3 * 0.68 / 1000)
    assert acrylic.weight_per_unit_g == pytest.approx(20 * 6000 * 3 * 1.19 / 1000)
    # path of one plate: 2 (100 + kerf + 60 + kerf)
    assert birch.cut_length_mm == pytest.approx(20 * 2 * (160 + 2 * 0.18))
    assert acrylic.cut_length_mm == pytest.approx(20 * 2 * (160 + 2 * 0.20))
    assert birch.hands_s < acrylic.hands_s + 1e-9
    assert birch.job.plan is birch.plan


def test_another_size_can_be_named() -> None:
    job = SetQuantity("plate", 8).apply(job_of(PLATE))
    columns = compare_stocks(
        job,
        (BIRCH, ACRYLIC),
        control=QuietControl(),
        seconds=0.0,
        sizes={"acrylic": ACRYLIC.sizes[1]},
        on=date(2026, 1, 1),
    )
    # 300x200, margin 5, gap 2, 100x60: 2 x 3 upright, or 4 x 1 and more by turning: never 8
    assert [len(column.plan.sheets) for column in columns] == [1, 2]


def test_costs_by_hand() -> None:
    job = SetQuantity("plate", 30).apply(job_of(PLATE))
    _, acrylic = compared(job, BIRCH, ACRYLIC, rates=Rates(30.0, 25.0))
    cost = acrylic.costs[1]
    assert cost.material == pytest.approx(18.0)  # 30 plates fill one sheet (grid 5 x 6)
    assert cost.machine == pytest.approx(30.0 / 3600 * (acrylic.cut_time_s + 150.0))
    assert cost.per_unit == pytest.approx(cost.material + cost.machine + cost.hands)
    assert acrylic.costs[10].material == pytest.approx(180.0, abs=18.0)
    assert set(acrylic.costs) == {1, 10, 50}


def test_without_rates_no_cost_is_told() -> None:
    assert all(column.costs == {} for column in compared(job_of(PLATE), BIRCH, ACRYLIC))


def test_joints_follow_the_thickness_of_each_stock() -> None:
    floor = Panel.of("floor", Contour.rectangle(0, 0, 100, 80))
    front = Panel.of("front", Contour.rectangle(0, 0, 100, 60))
    job = job_of(floor, front)
    job = AddJoint(parse_joint("front@50,0=floor@50,0", [floor, front])).apply(job)
    thick = replace(ACRYLIC, name="thick", thickness_mm=6.0, measured_thickness_mm=5.8)
    birch, acrylic = compared(job, BIRCH, thick)
    assert birch.joined.joints[0].depth_mm == pytest.approx(3.0)
    assert acrylic.joined.joints[0].depth_mm == pytest.approx(5.8)
    for column in (birch, acrylic):
        assert column.share_in_fit is not None
        assert 0.0 <= column.share_in_fit <= 1.0


def test_one_stock_is_no_comparison() -> None:
    with pytest.raises(UsageError):
        compared(job_of(PLATE), BIRCH)
