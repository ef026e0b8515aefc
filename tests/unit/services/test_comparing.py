from __future__ import annotations

import csv
import io
import math
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from lasernest.domain.comparison import ComparedStock, Comparison
from lasernest.domain.contours import Contour
from lasernest.domain.control import QuietControl
from lasernest.domain.costs import Cost
from lasernest.domain.drawing import Drawing, Outlines
from lasernest.domain.panels import Panel
from lasernest.domain.plan import Plan
from lasernest.domain.rates import Rates
from lasernest.domain.stock import Kerf, SheetSize, Stock
from lasernest.errors import UsageError
from lasernest.job import Job, load_job, save_job
from lasernest.services.commands import AddDrawing, AddJoint, SetQuantity
from lasernest.services.comparing import (
    Candidate,
    KeepComparison,
    PlanWith,
    basis_of,
    compare_stocks,
    on_candidate,
    panels_on,
    recosted,
)
from lasernest.services.comparison_table import (
    comparison_csv,
    comparison_notes,
    comparison_paper,
    comparison_rows,
    sheets_text,
    write_comparison,
)
from lasernest.services.joining import join_job, parse_joint
from lasernest.services.planning import arrange_job

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


def compared(
    job: Job, *stocks: Stock | Candidate, rates: Rates | None = None, **more: Any
) -> Comparison:
    candidates = [s if isinstance(s, Candidate) else Candidate(s) for s in stocks]
    return compare_stocks(
        job, candidates, control=more.pop("control", QuietControl()), seconds=0.0, rates=rates,
        on=date(2026, 1, 1), **more,
    )  # fmt: skip


def cost_at(column: ComparedStock, units: int) -> Cost:
    made = column.made_of(units)
    assert made is not None
    return made.cost


def test_each_stock_is_planned_for_itself() -> None:
    job = SetQuantity("plate", 20).apply(job_of(PLATE))
    birch, acrylic = compared(job, BIRCH, ACRYLIC).columns
    assert (birch.yield_share, acrylic.yield_share) == pytest.approx((0.5, 0.5))
    assert birch.weight_per_unit_g == pytest.approx(20 * 6000 * 3 * 0.68 / 1000)
    assert acrylic.weight_per_unit_g == pytest.approx(20 * 6000 * 3 * 1.19 / 1000)
    # path of one plate: 2 (100 + kerf + 60 + kerf)
    assert birch.cut_length_mm == pytest.approx(20 * 2 * (160 + 2 * 0.18))
    assert acrylic.cut_length_mm == pytest.approx(20 * 2 * (160 + 2 * 0.20))
    assert (birch.pierces, birch.panels) == (20, 20)
    # by hand: 20 panels; wipe 15, deburr 5, a look of 20 at one in ten; acrylic is peeled instead
    assert (birch.hands_s, acrylic.hands_s) == pytest.approx((20 * 22.0, 20 * 22.0))


def test_sizes_of_one_stock_side_by_side() -> None:
    job = SetQuantity("plate", 8).apply(job_of(PLATE))
    comparison = compared(job, ACRYLIC, Candidate(ACRYLIC, ACRYLIC.sizes[1]))
    # 300x200, margin 5, gap 2, 100x60: 2 x 3 upright, or 4 x 1 and more by turning: never 8
    assert [len(column.plan.sheets) for column in comparison.columns] == [1, 2]
    assert comparison.names == ("acrylic, 600 × 400", "acrylic, 300 × 200")
    with pytest.raises(UsageError, match="acrylic is to be compared with itself"):
        compared(job, ACRYLIC, Candidate(ACRYLIC, ACRYLIC.sizes[0]))


def test_costs_by_hand() -> None:
    job = SetQuantity("plate", 30).apply(job_of(PLATE))
    comparison = compared(job, BIRCH, ACRYLIC, rates=Rates(30.0, 25.0, 0.15))
    acrylic = comparison.columns[1]
    cost = cost_at(acrylic, 1)
    assert cost.material == pytest.approx(18.0)  # 30 plates fill one sheet (grid 5 x 6)
    assert cost.machine == pytest.approx(30.0 / 3600 * (acrylic.machine_s + 150.0))
    assert cost.hands == pytest.approx(25.0 / 3600 * 30 * 22.0)
    assert cost.setup == pytest.approx(25.0 / 6)  # ten minutes
    assert cost.per_unit == pytest.approx(cost.material + cost.machine + cost.hands + cost.setup)
    assert math.fsum(v for _, v in cost.parts_per_unit) == pytest.approx(1.15 * cost.per_unit)
    assert cost_at(acrylic, 10).material == pytest.approx(180.0, abs=18.0)
    assert comparison.counts == (1, 10, 50)


def test_too_many_panels_are_told_in_proportion(monkeypatch: pytest.MonkeyPatch) -> None:
    # Thirty plates of 100 x 60 fill a sheet of 600 x 400 (grid 5 x 6): a sheet for each unit.
    job = SetQuantity("plate", 30).apply(job_of(PLATE))
    planned: list[int] = []

    def counted(job: Job, **more: Any) -> Plan:
        planned.append(job.panel_count)
        return arrange_job(job, **more)

    monkeypatch.setattr("lasernest.services.comparing.arrange_job", counted)
    monkeypatch.setattr("lasernest.services.comparing.MOST_PLANNED", 100)
    comparison = compared(job, BIRCH, ACRYLIC)
    assert planned == [30, 90] * 2
    for column in comparison.columns:
        one, ten, fifty = (column.made_of(units) for units in (1, 10, 50))
        assert one is not None
        assert ten is not None
        assert fifty is not None
        assert (one.planned_units, ten.planned_units, fifty.planned_units) == (0, 3, 3)
        # No fewer than their area fills, no more than the grid.
        assert 300 * 6000 / 240_000 < ten.sheets <= 10.0
        assert fifty.sheets == pytest.approx(5.0 * ten.sheets)
        assert ten.cost.material == math.ceil(ten.sheets) * (column.size.price or 0.0)
    assert comparison_notes(comparison)[1] == (
        "Sheets for 10 units are reckoned from a plan of 3: so many panels are not laid out to "
        "compare stocks."
    )


def test_without_rates_only_material_counts() -> None:
    comparison = compared(job_of(PLATE), BIRCH, ACRYLIC)
    assert cost_at(comparison.columns[0], 1).per_unit == 6.5
    rows = {row.name: row.texts for row in comparison_rows(comparison)}
    assert rows["Cost per unit, 1 made, material"] == ("6.50", "18.00")
    assert "nobody has said what an hour costs" in comparison_notes(comparison)[0]
    free = replace(BIRCH, name="found", sizes=(SheetSize(600, 400),))
    comparison = compared(job_of(PLATE), free, ACRYLIC)
    rows = {row.name: row.texts for row in comparison_rows(comparison)}
    assert rows["Cost per unit, 1 made, material"] == ("–", "18.00")


def test_other_rates_need_no_other_plan() -> None:
    job = SetQuantity("plate", 30).apply(job_of(PLATE))
    rates = Rates(30.0, 25.0, 0.15)
    plain = compared(job, BIRCH, ACRYLIC)
    again = recosted(plain, rates)
    asked = compared(job, BIRCH, ACRYLIC, rates=rates)
    assert [c.made for c in again.columns] == [c.made for c in asked.columns]
    assert again.rates == rates
    assert recosted(recosted(plain, rates), None) == plain


def test_joints_follow_the_thickness_of_each_stock() -> None:
    floor = Panel.of("floor", Contour.rectangle(0, 0, 100, 80))
    front = Panel.of("front", Contour.rectangle(0, 0, 100, 60))
    job = job_of(floor, front)
    job = AddJoint(parse_joint("front@50,0=floor@50,0", [floor, front])).apply(job)
    thick = replace(ACRYLIC, name="thick", thickness_mm=6.0, measured_thickness_mm=5.8)
    comparison = compared(job, BIRCH, thick)
    moved = [on_candidate(job, Candidate(c.stock, c.size)) for c in comparison.columns]
    depths = [join_job(one).joints[0].depth_mm for one in moved]
    assert depths == pytest.approx([3.0, 5.8])
    panels = [panels_on(job, column)[1] for column in comparison.columns]
    assert panels[0]["front"] != panels[1]["front"]
    for column in comparison.columns:
        assert column.share_in_fit is not None
        assert 0.0 <= column.share_in_fit <= 1.0


def test_one_stock_is_no_comparison() -> None:
    with pytest.raises(UsageError):
        compared(job_of(PLATE), BIRCH)


class Watching(QuietControl):
    """Stops as soon as a first column is offered, and keeps what was told."""

    def __init__(self) -> None:
        super().__init__()
        self.offers: list[Comparison] = []
        self.shares: list[float] = []

    def report(self, done: float, total: float, note: str = "") -> None:
        self.shares.append(done / total)

    def offer(self, result: Comparison) -> None:
        self.offers.append(result)
        self.stop()


def test_stop_leaves_out_what_was_not_worked_out() -> None:
    control = Watching()
    comparison = compared(job_of(PLATE), BIRCH, ACRYLIC, control=control)
    assert [len(offer.columns) for offer in control.offers] == [1, 2]
    birch, acrylic = comparison.columns
    assert [m.units for m in birch.made] == [1, 10, 50]
    assert [m.units for m in acrylic.made] == [1]
    assert control.shares == sorted(control.shares)
    assert max(control.shares) <= 1.0


def test_a_comparison_is_kept_with_the_job(tmp_path: Path) -> None:
    job = SetQuantity("plate", 30).apply(job_of(PLATE))
    comparison = compared(job, BIRCH, ACRYLIC, rates=Rates(30.0, 25.0))
    kept = KeepComparison(comparison).apply(job)
    save_job(kept, tmp_path / "case.lasernest")
    assert load_job(tmp_path / "case.lasernest") == kept
    assert kept.comparison is not None
    assert kept.comparison.made_from == basis_of(kept)
    taken = PlanWith(comparison.columns[1]).apply(kept)
    assert taken.setup.stock == ACRYLIC
    assert taken.plan == comparison.columns[1].plan
    assert taken.comparison == comparison
    assert basis_of(taken) == comparison.made_from  # another stock is no other job
    assert basis_of(SetQuantity("plate", 31).apply(taken)) != comparison.made_from


def test_table_file() -> None:
    job = SetQuantity("plate", 20).apply(job_of(PLATE))
    text = comparison_csv(compared(job, BIRCH, ACRYLIC, rates=Rates(30.0, 25.0))).decode()
    rows = {row[0]: row for row in csv.reader(io.StringIO(text, newline=""))}
    assert rows["figure"] == ["figure", "unit", "birch", "acrylic"]
    assert rows["Sheet"] == ["Sheet", "mm", "600x400", "600x400"]
    assert rows["Yield"] == ["Yield", "share", "0.5", "0.5"]
    assert rows["Panels"] == ["Panels", "", "20", "20"]
    assert float(rows["Cut length"][2]) == pytest.approx(20 * 2 * (160 + 2 * 0.18), rel=1e-5)


def test_sheets_in_words() -> None:
    assert [sheets_text(s) for s in (0.41, 1.0, 3.41, 2.0)] == [
        "41 % of one", "100 % of one", "3 + 41 %", "1 + 100 %",
    ]  # fmt: skip


def test_paper_of_a_comparison(tmp_path: Path) -> None:
    job = SetQuantity("plate", 40).apply(job_of(PLATE))
    comparison = compared(job, BIRCH, ACRYLIC, rates=Rates(30.0, 25.0))
    paper = comparison_paper(job, comparison, title="plates", on=date(2026, 1, 1))
    # 30 to a sheet, so two sheets of each
    assert [title for title, _ in paper.pictures] == [
        "birch · sheet 1 of 2", "birch · sheet 2 of 2",
        "acrylic · sheet 1 of 2", "acrylic · sheet 2 of 2",
    ]  # fmt: skip
    assert sum(len(picture.panels) for _, picture in paper.pictures) == 80
    assert paper.title == "plates · 1 unit, 40 panels"
    out = [tmp_path / "c.pdf", tmp_path / "c.csv"]
    write_comparison(job, comparison, out, title="plates")
    assert out[0].read_bytes().startswith(b"%PDF-")
    assert out[1].read_bytes() == comparison_csv(comparison)
