"""A job of two stocks from plan to cut files, proof, paper, booking, order and comparison."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from lasernest.domain.contours import Contour
from lasernest.domain.control import QuietControl
from lasernest.domain.costs import Cost
from lasernest.domain.offcuts import Offcut
from lasernest.domain.panels import Panel
from lasernest.domain.plan import Plan
from lasernest.domain.rates import HandlingTimes
from lasernest.domain.records import KerfRecord
from lasernest.domain.stock import Kerf, Machine, SheetSize, Stock
from lasernest.errors import BadValueError, RefusedMaterialError, UsageError
from lasernest.job import Job, JobPanel, Setup, parts_of
from lasernest.nesting import Budget
from lasernest.services.bench_sheets import planned_sheets, written_sheets
from lasernest.services.commands import AcknowledgeMaterial, AddJoint, ChooseStock, SetKerf
from lasernest.services.comparing import (
    Candidate,
    PlanWith,
    basis_of,
    compare_stocks,
    panels_on,
    recosted,
)
from lasernest.services.comparison_table import comparison_notes, comparison_paper
from lasernest.services.job_sheet import job_sheet_of
from lasernest.services.job_sheet_facts import Bench
from lasernest.services.joining import parse_joint
from lasernest.services.main_job import MainJobResult, cut_plan, join_job, run_main_job
from lasernest.services.order_booking import booking_of_job
from lasernest.services.order_commands import TakeOffcuts
from lasernest.services.order_planning import Product, all_on_one, on_stock, order_of, plan_order
from lasernest.services.planning import arrange_job
from lasernest.services.proving import prove_files
from lasernest.services.recutting import recut_job
from lasernest.services.stock_exchange import CutPanelsFrom

DAY = date(2026, 11, 25)
BIRCH = Stock(
    "birch 3", "birch plywood", 3.0, (SheetSize(600, 400, 6.5, 9),), Kerf.same(0.2, u_mm=0.01),
    cut_speed_mm_per_s=14.0, density_g_per_cm3=0.68,
)  # fmt: skip
CAST = Stock(
    "cast 6", "cast acrylic", 6.0, (SheetSize(300, 200, 5.0, 4),), Kerf(0.3, 0.3),
    cut_speed_mm_per_s=5.0, density_g_per_cm3=1.19, masked=True,
)  # fmt: skip
SIDE = Panel.of("side", Contour.rectangle(0, 0, 100, 60))
FRONT = Panel.of("front", Contour.rectangle(0, 0, 120, 50))
PLAIN = Job("case", (JobPanel(SIDE, 4), JobPanel(FRONT, 2)), setup=Setup(BIRCH))
MIXED = CutPanelsFrom(("front",), CAST).apply(PLAIN)


def run(job: Job, out: Path, **more: object) -> MainJobResult:
    return run_main_job(job, out, control=QuietControl(), budget=Budget(seconds=0), **more)  # type: ignore[arg-type]


def test_each_sheet_is_cut_for_its_own_kerf_and_at_its_own_speed(tmp_path: Path) -> None:
    result = run(MIXED, tmp_path / "cut.dxf")
    assert result.passed
    birch, cast = result.sheets
    assert [s.written.file.name for s in result.sheets] == ["cut-1.dxf", "cut-2.dxf"]
    assert (birch.stock, cast.stock) == (BIRCH, CAST)
    assert (cast.plan.sheet.width_mm, cast.plan.sheet.height_mm) == (300, 200)
    # The path around a rectangle is longer by four kerfs, whatever its sides.
    assert birch.written.cut.cut_length_mm == pytest.approx(4 * (320 + 4 * 0.2))
    assert cast.written.cut.cut_length_mm == pytest.approx(2 * (340 + 4 * 0.3))
    for one, speed in ((birch, 14.0), (cast, 5.0)):
        cut_s = one.written.cut.cut_length_mm / speed
        assert one.written.time.cutting_s == pytest.approx(cut_s)
    assert result.yield_share == pytest.approx((24000 + 12000) / (240000 + 60000))
    assert [f.message for f in result.findings] == [
        "cast 6: The kerf of 0.30 mm is a starting value that nobody measured."
    ]
    own = run(SetKerf(Kerf.same(0.1), "cast 6").apply(MIXED), tmp_path / "own.dxf")
    lengths = [s.written.cut.cut_length_mm for s in own.sheets]
    assert lengths == pytest.approx([4 * (320 + 4 * 0.2), 2 * (340 + 4 * 0.1)])


def test_a_material_that_must_not_be_cut_refuses_all_of_it(tmp_path: Path) -> None:
    pvc = replace(CAST, name="white 3", material="PVC")
    job = AcknowledgeMaterial("PVC").apply(CutPanelsFrom(("front",), pvc).apply(PLAIN))
    with pytest.raises(RefusedMaterialError) as caught:
        run(job, tmp_path / "cut.dxf")
    assert caught.value.sentence().startswith(
        "front of white 3: PVC must not be laser cut, so no cut file is written. "
    )
    assert list(tmp_path.iterdir()) == []
    # Of a panel that is not cut nothing is refused.
    none = job.with_panel("front", replace(job.panel("front"), quantity=0))
    assert run(none, tmp_path / "cut.dxf").passed


def test_each_warning_is_accepted_for_itself(tmp_path: Path) -> None:
    clear = replace(CAST, name="clear 3", material="polycarbonate")
    job = CutPanelsFrom(("front",), clear).apply(PLAIN)
    with pytest.raises(RefusedMaterialError, match="front of clear 3: polycarbonate needs a dec"):
        run(job, tmp_path / "cut.dxf")
    accepted = AcknowledgeMaterial("polycarbonate").apply(job)
    assert run(accepted, tmp_path / "cut.dxf").passed


def test_a_panel_on_a_sheet_of_another_stock_is_not_cut(tmp_path: Path) -> None:
    result = run(MIXED, tmp_path / "cut.dxf")
    (one, two), plan = result.plan.sheets, result.plan
    swapped = replace(plan, sheets=(replace(one, sheet=two.sheet), replace(two, sheet=one.sheet)))
    with pytest.raises(BadValueError) as caught:
        cut_plan(MIXED, swapped, join_job(MIXED), tmp_path / "x.dxf", control=QuietControl())
    assert caught.value.sentence() == (
        "side is to be cut from birch 3 and lies on sheet 1 of cast 6. Arrange the panels again."
    )
    assert not (tmp_path / "x.dxf").exists()


def test_joints_between_the_stocks_are_proved(tmp_path: Path) -> None:
    joint = parse_joint("front@60,0=side@50,0", [FRONT, SIDE])
    result = run(AddJoint(joint).apply(MIXED), tmp_path / "cut.dxf")
    (measured,) = result.proof.joints
    assert result.passed
    # Acrylic decides where it meets plywood (common practice, no source): no press, a clearance.
    assert measured.interference_mm <= 0.0 + 0.01


def test_files_from_disk_are_proved_for_the_stock_whose_panels_they_hold(tmp_path: Path) -> None:
    files = [s.written.file for s in run(MIXED, tmp_path / "cut.dxf").sheets]
    for order in (files, files[::-1]):
        proof = prove_files(order, None, control=QuietControl(), against=MIXED)
        assert (proof.passed, proof.panels_found) == (True, 6)
    # One kerf for both is a wrong one for one of them: each edge is off by half of what the
    # kerfs differ, a corner by the diagonal of that.
    wrong = prove_files(files, Kerf.same(0.2), control=QuietControl(), against=MIXED)
    assert not wrong.passed
    assert wrong.max_deviation_mm == pytest.approx(0.05 * 2**0.5, abs=0.002)
    short = prove_files(files[:1], None, control=QuietControl(), against=MIXED)
    assert "front is lost: 0 of 2 copies are in the file." in short.problems
    with pytest.raises(UsageError, match="a proof needs the kerf"):
        prove_files(files, None, control=QuietControl())


def test_panels_of_one_shape_are_told_apart_by_what_is_lacking(tmp_path: Path) -> None:
    twin = replace(SIDE, name="twin")
    job = CutPanelsFrom(("twin",), replace(CAST, kerf=BIRCH.kerf)).apply(
        Job("twins", (JobPanel(SIDE, 2), JobPanel(twin, 1)), setup=Setup(BIRCH))
    )
    files = [s.written.file for s in run(job, tmp_path / "cut.dxf").sheets]
    proof = prove_files(files, None, control=QuietControl(), against=job)
    assert proof.passed
    assert Counter(p.panel_name for p in proof.panels) == {"side": 2, "twin": 1}


def test_the_paper_tells_both_stocks(tmp_path: Path) -> None:
    result = run(MIXED, tmp_path / "cut.dxf")
    record = KerfRecord("cast 6", date(2026, 1, 1), number=1)
    for files in ((), [s.written.file for s in result.sheets]):
        sheet = job_sheet_of(
            result.job, Bench(Machine(), {"cast 6": record}, DAY), control=QuietControl(),
            cut_files=files, budget=Budget(seconds=0),
        )  # fmt: skip
        assert [group.title for group in sheet.groups] == [
            "Sheet of birch 3", "Beam of birch 3", "Sheet of cast 6", "Beam of cast 6", "Figures",
        ]  # fmt: skip
        beams = [{f.name: f.value for f in group.facts} for group in sheet.groups]
        assert beams[1]["Kerf, full width"] == "0.200 ± 0.020 mm"
        assert beams[3]["Kerf, full width"] == "0.300 mm"
        assert [beams[i]["Cut speed"] for i in (1, 3)] == ["14 mm/s", "5 mm/s"]
        assert [beams[i]["Sheets"] for i in (0, 2)] == ["1 × 600 × 400 mm", "1 × 300 × 200 mm"]
        # by hand: 24000 mm2 of 3 mm at 0.68 g/cm3 and 12000 mm2 of 6 mm at 1.19 g/cm3
        assert beams[4]["Weight"] == f"{0.001 * (24000 * 3 * 0.68 + 12000 * 6 * 1.19):.0f} g"
        assert [one.title for one in sheet.sheets] == [
            "Sheet 1 of 2 · birch 3 · 600 × 400 mm", "Sheet 2 of 2 · cast 6 · 300 × 200 mm",
        ]  # fmt: skip
        order = [step for step in sheet.steps if "nothing else" in step or "Lay in" in step]
        assert [("birch" in s, "cast" in s, "Lay in" in s) for s in order] == [
            (True, False, False), (False, False, True), (False, True, False), (False, False, True),
        ]  # fmt: skip
        assert any(doubt.startswith("cast 6: The kerf of 0.30 mm is") for doubt in sheet.doubts)
        assert any(doubt.startswith("cast 6: the ") for doubt in sheet.doubts)
    assert all(one.proved for one in sheet.sheets)


def test_a_booking_takes_from_each_stock() -> None:
    offcut = Offcut.rectangle("A1", "cast 6", 150, 60)
    job = TakeOffcuts((offcut,), "cast 6").apply(MIXED)
    result_plan = run_plan(job)
    panels = {p.name: p.panel for p in job.panels}
    sheets = planned_sheets(result_plan, panels, job.setup)
    booking = booking_of_job(job, sheets, panels, name="case", on=DAY)
    assert {(u.stock_name, u.width_mm, u.count) for u in booking.sheets} == {
        ("birch 3", 600.0, 1), ("cast 6", 300.0, 1),
    }  # fmt: skip
    assert booking.offcuts_used == (offcut,)
    assert {(p.panel, p.stock_name) for p in booking.panels} == {
        ("side", "birch 3"), ("front", "cast 6"),
    }  # fmt: skip
    assert {o.stock_name for o in booking.offcuts_kept} == {"birch 3", "cast 6"}
    product = Product("case", job, 1)
    plan = plan_order(
        [product], order_of([product], name="case"), control=QuietControl(),
        budget=Budget(seconds=0), bookings=[booking],
    )  # fmt: skip
    assert {line.panel: (line.stock_name, line.to_cut) for line in plan.lines} == {
        "side": ("birch 3", 0), "front": ("cast 6", 0),
    }  # fmt: skip


def run_plan(job: Job) -> Plan:
    return arrange_job(job, control=QuietControl(), budget=Budget(seconds=0))


def test_an_order_takes_each_panel_from_its_own_stock() -> None:
    lamp = Product("lamp", replace(PLAIN, name="lamp"), 3)
    case = Product("case", SetKerf(Kerf.same(0.25), "cast 6").apply(MIXED), 5)
    plan = plan_order(
        [case, lamp], order_of([case, lamp], name="order"), control=QuietControl(),
        budget=Budget(seconds=0),
    )  # fmt: skip
    parts = {part.stock.name: part for part in plan.parts}
    assert set(parts["birch 3"].panels) == {"case/side", "lamp/side", "lamp/front"}
    assert set(parts["cast 6"].panels) == {"front"}
    assert parts["cast 6"].kerf == Kerf.same(0.25)
    assert plan.planned == 5 * 6 + 3 * 6


def test_an_order_moves_every_stock_to_what_the_shop_has_now() -> None:
    job = SetKerf(Kerf.same(0.25), "cast 6").apply(MIXED)
    measured = replace(CAST, measured_thickness_mm=5.8)
    moved = on_stock(job, measured, "cast 6").setup.for_stock("cast 6")
    assert (moved.stock, moved.used_kerf) == (measured, Kerf.same(0.25))
    assert all_on_one(job, BIRCH) == PLAIN
    cork = replace(CAST, name="cork")
    assert all_on_one(job, cork) == ChooseStock(cork).apply(PLAIN)


def test_what_is_cut_again_comes_from_its_own_stock() -> None:
    job = recut_job(MIXED, {"front": 1})
    (part,) = (part for part in parts_of(job) if part.has_work)
    assert part.setup.stock == CAST


# --- comparing -----------------------------------------------------------------------------


def compared(job: Job, **more):  # type: ignore[no-untyped-def]
    poplar = replace(BIRCH, name="poplar 3", sizes=(SheetSize(400, 300, 3.0),))
    return compare_stocks(
        job, [Candidate(BIRCH), Candidate(poplar)], control=QuietControl(), seconds=0.0, on=DAY,
        unit_counts=(1, 9), **more,
    )  # fmt: skip


def test_comparing_exchanges_the_own_stock_and_counts_the_others() -> None:
    comparison = compared(MIXED)
    birch, poplar = comparison.columns
    for column in comparison.columns:
        assert Counter(one.sheet.stock_name for one in column.plan.sheets)["cast 6"] == 1
        assert column.panels == 6
        made = column.made_of(1)
        assert made is not None
        assert [(o.stock_name, o.count) for o in made.others] == [("cast 6", 1)]
        # One whole sheet of acrylic, and what is used of the other one.
        assert 1.0 < column.sheets < 2.0
        assert column.sheets == made.sheets
        # by hand: wipe 15, deburr 5, a look of 20 at one in ten; masked panels are peeled instead
        assert column.hands_s == pytest.approx(6 * 22.0)
        grams = 0.001 * (24000 * 3 * 0.68 + 12000 * 6 * 1.19)
        assert column.weight_per_unit_g == pytest.approx(grams)
        load_s = HandlingTimes().load_per_sheet_s
        assert made.machine_s == pytest.approx(column.machine_s + 2 * load_s)
    assert cost_of(birch, 1).material == pytest.approx(6.5 + 5.0)
    assert cost_of(poplar, 1).material == pytest.approx(3.0 + 5.0)
    # Nine units: 36 sides are two birch sheets of 30; 18 fronts at most 6 to a sheet of acrylic.
    nine = birch.made_of(9)
    assert nine is not None
    assert nine.cost.material == pytest.approx(2 * 6.5 + 5.0 * nine.others[0].count)
    assert nine.others[0].count >= 3
    assert recosted(comparison, None) == comparison
    assert "Panels of cast 6 stay on it in every column; its sheets are counted" in " ".join(
        comparison_notes(comparison)
    )
    assert [title for title, _ in comparison_paper(MIXED, comparison).pictures] == [
        "birch 3 · sheet 1 of 2",
        "birch 3 · sheet 2 of 2 · cast 6",
        "poplar 3 · sheet 1 of 2",
        "poplar 3 · sheet 2 of 2 · cast 6",
    ]


def cost_of(column, units: int) -> Cost:  # type: ignore[no-untyped-def]
    made = column.made_of(units)
    assert made is not None
    return made.cost


def test_a_price_that_is_not_known_leaves_the_cost_open() -> None:
    free = replace(CAST, sizes=(SheetSize(300, 200),))
    comparison = compared(CutPanelsFrom(("front",), free).apply(PLAIN))
    assert cost_of(comparison.columns[0], 1).unpriced == ("300 x 200 mm",)
    assert "cast 6: no price is known, so no cost is told." in comparison_notes(comparison)


def test_a_comparison_rests_on_the_other_stocks_too() -> None:
    assert basis_of(MIXED) != basis_of(PLAIN)
    assert basis_of(SetKerf(Kerf.same(0.25), "cast 6").apply(MIXED)) != basis_of(MIXED)


def test_a_compared_plan_is_taken_over_whole(tmp_path: Path) -> None:
    column = compared(MIXED).columns[1]
    job = PlanWith(column).apply(MIXED)
    assert [s.name for s in job.setup.stocks] == ["poplar 3", "cast 6"]
    result = run(job, tmp_path / "cut.dxf")
    assert result.passed
    assert {s.stock.name for s in result.sheets} == {"poplar 3", "cast 6"}
    moved, panels = panels_on(MIXED, column)
    written = [entry.written for entry in result.sheets]
    at_hand = written_sheets(result.plan, written, moved.setup)
    assert [s.kerf for s in at_hand] == [BIRCH.kerf, CAST.kerf]
    assert set(panels) == {"side", "front"}
