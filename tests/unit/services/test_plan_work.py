"""What a plan takes, told before its cut paths are worked out."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from lasernest.domain.contours import Contour, Pose
from lasernest.domain.control import QuietControl
from lasernest.domain.panels import Mark, MarkKind, Panel
from lasernest.domain.plan import Placement, Sheet, SheetPlan
from lasernest.domain.rates import HandlingTimes, Rates
from lasernest.domain.stock import Kerf, Machine, SheetSize, Stock
from lasernest.job import Job, JobPanel, Setup
from lasernest.kerf.cut_time import cut_time
from lasernest.nesting import Budget
from lasernest.services.bench_sheets import planned_sheets
from lasernest.services.importing import import_drawing
from lasernest.services.plan_work import BeamWork, PanelWorks, SheetToPay, plan_cost
from lasernest.services.planning import arrange_job

SAMPLES = Path(__file__).resolve().parents[3] / "sample_panels"
MACHINE = Machine(
    travel_mm_per_s=200.0, acceleration_mm_per_s2=1000.0, pierce_s=0.5, mark_speed_mm_per_s=100.0
)
PLYWOOD = Stock(
    "ply", "birch plywood", 3.0, (SheetSize(600, 400, price=9.0),), Kerf.same(0.2),
    cut_speed_mm_per_s=10.0,
)  # fmt: skip


def plate(name: str, x_mm: float = 0.0) -> Panel:
    """100 x 50 with a hole of 10 x 10 in its corner and a line of 20 to be scored."""
    return Panel(
        name,
        Contour.rectangle(x_mm, 0.0, 100.0, 50.0),
        (Contour.rectangle(x_mm, 0.0, 10.0, 10.0).reversed(),),
        (Mark(Contour.polyline([(x_mm, 0.0), (x_mm + 20.0, 0.0)]), MarkKind.SCORE),),
    )


def test_the_work_of_a_sheet_by_hand() -> None:
    panels = {"a": plate("a"), "b": plate("b", x_mm=500.0)}
    laid = SheetPlan(
        Sheet(600, 400), (Placement("a", 1, Pose()), Placement("b", 1, Pose(-500.0 + 120.0, 0.0)))
    )
    work = PanelWorks(panels).sheet(laid)
    # All paths of a panel start in one corner; the panels' middles are 120 apart.
    assert work.cut_length_mm == pytest.approx(2 * (300 + 40))
    assert work.mark_length_mm == pytest.approx(2 * 20)
    assert (work.pierces, work.moves) == (4, 6)
    assert work.travel_mm == pytest.approx(math.hypot(50, 25) + 120.0)
    each_mm = work.travel_mm / 6
    assert work.time_s(MACHINE, cut_speed_mm_per_s=10.0) == pytest.approx(
        68.0 + 0.4 + 4 * 0.5 + 6 * 2.0 * math.sqrt(each_mm / 1000.0)
    )


def test_nothing_takes_no_time() -> None:
    assert BeamWork().time_s(MACHINE, cut_speed_mm_per_s=10.0) == 0.0


@pytest.mark.parametrize(
    "names",
    [
        ("clock-case.dxf", "clock-dial.dxf", "clock-hands.dxf"),
        ("seed-drawer.dxf", "drawer-pulls.dxf"),
        ("station-base-plate.dxf", "station-louvres.dxf"),
        ("rain-gauge-scale.svg",),
    ],
)
def test_it_is_near_what_the_cut_takes(names: tuple[str, ...]) -> None:
    read = [import_drawing(SAMPLES / name, control=QuietControl()) for name in names]
    job = Job(
        panels=tuple(JobPanel(panel, 3) for outlines in read for panel in outlines.panels),
        setup=Setup(PLYWOOD),
    )
    panels = {entry.name: entry.panel for entry in job.panels}
    plan = arrange_job(job, control=QuietControl(), budget=Budget(seconds=0.0))
    works = PanelWorks(panels)
    for sheet, laid in zip(plan.sheets, planned_sheets(plan, panels, job.setup), strict=True):
        told_s = works.sheet(sheet).time_s(MACHINE, cut_speed_mm_per_s=10.0)
        takes_s = cut_time(laid.cut, MACHINE, cut_speed_mm_per_s=10.0).total_s
        assert told_s == pytest.approx(takes_s, rel=0.03)


def test_the_cost_of_a_unit_by_hand() -> None:
    laid = SheetPlan(Sheet(600, 400, price=9.0), (Placement("a", 1, Pose()),) * 4)
    handling = HandlingTimes(
        peel_per_panel_s=7.0, wipe_per_panel_s=10.0, deburr_per_panel_s=5.0,
        load_per_sheet_s=60.0, inspected_share=0.0, setup_per_order_s=360.0,
    )  # fmt: skip
    cost = plan_cost(
        [SheetToPay(laid, PLYWOOD, beam_s=300.0)] * 2,
        units=4,
        rates=Rates(machine_per_h=36.0, wage_per_h=18.0, overhead_share=0.5),
        handling=handling,
    )
    assert cost.material == 18.0
    assert cost.machine == pytest.approx(2 * 360 / 3600 * 36)
    assert cost.hands == pytest.approx(2 * 4 * 15 / 3600 * 18)  # not masked: wiped and deburred
    assert cost.setup == pytest.approx(1.8)
    assert cost.per_unit_with_overhead == pytest.approx((18 + 7.2 + 0.6 + 1.8) / 4 * 1.5)


def test_without_rates_only_material_counts_and_missing_prices_are_named() -> None:
    def paid(price: float | None, *, is_offcut: bool = False) -> SheetToPay:
        sheet = Sheet(600, 400, price=price, is_offcut=is_offcut)
        return SheetToPay(SheetPlan(sheet, (Placement("a", 1, Pose()),)), PLYWOOD, 300.0)

    def cost(*sheets: SheetToPay) -> tuple[float, tuple[str, ...]]:
        found = plan_cost(sheets, units=2, rates=None, handling=HandlingTimes())
        return found.per_unit_with_overhead, found.unpriced

    assert cost(paid(9.0), paid(3.0, is_offcut=True)) == (6.0, ())
    assert cost(paid(9.0), paid(None, is_offcut=True)) == (4.5, ())
    assert cost(paid(9.0), paid(None)) == (4.5, ("ply",))
