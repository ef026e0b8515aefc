from __future__ import annotations

import hashlib
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from lasernest.domain.contours import Contour
from lasernest.domain.control import QuietControl
from lasernest.domain.cutting import Corner, MachineProfile
from lasernest.domain.drawing import Drawing, Outlines
from lasernest.domain.job_sheet import Fact, JobSheet
from lasernest.domain.joints import JointRules
from lasernest.domain.panels import Mark, MarkKind, Panel
from lasernest.domain.records import CombDrawn, CutSettings, KerfRecord
from lasernest.domain.stock import Kerf, Machine, SheetSize, Stock
from lasernest.errors import UsageError
from lasernest.job import Job, load_job, save_job
from lasernest.nesting import Budget
from lasernest.services.commands import AddDrawing, ChooseStock, SetQuantity, SetUnits
from lasernest.services.job_sheet import (
    code_of,
    job_sheet_of,
    jobs_with_code,
    record_behind,
    write_job_sheet,
)
from lasernest.services.job_sheet_facts import Bench
from lasernest.services.main_job import run_main_job
from tests.joint_kit import LEFT, RIGHT, mate, plate

DAY = date(2026, 11, 25)
PLAIN = Panel.of("plain", Contour.rectangle(0, 0, 100, 60))
BIRCH = Stock("birch 3", "birch plywood", 3.0, (SheetSize(600, 400),), Kerf.same(0.2))


def job_of(*panels: Panel, stock: Stock = BIRCH) -> Job:
    drawing = Drawing(Path("case.dxf"), "DXF R2000", "mm", 1.0, ())
    return ChooseStock(stock).apply(AddDrawing(Outlines(drawing, panels, 0, ())).apply(Job()))


def sheet_of(job: Job, *files: Path, bench: Bench | None = None) -> JobSheet:
    return job_sheet_of(
        job, bench or Bench(Machine(), on=DAY), control=QuietControl(), cut_files=files,
        budget=Budget(seconds=0),
    )  # fmt: skip


def fact(sheet: JobSheet, name: str) -> Fact:
    return next(f for group in sheet.groups for f in group.facts if f.name == name)


def cut(job: Job, out: Path, machine: Machine | None = None) -> list[Path]:
    result = run_main_job(
        job, out, control=QuietControl(), budget=Budget(seconds=0), machine=machine
    )
    return [entry.written.file for entry in result.sheets]


def test_figures_of_the_grid_oracle() -> None:
    # C2 of the trade's check table: 30 plates of 100 x 60 on 600 x 400, yield 0.75.
    # Cut length 30 x 2 x (100.2 + 60.2) = 9624 mm; at 10 mm/s 962.4 s, 30 pierces of 0.4 s.
    sheet = sheet_of(SetQuantity("plain", 30).apply(job_of(PLAIN)))
    assert fact(sheet, "Yield").value == "75.0%"
    assert fact(sheet, "Cut length").value == "9.62 m"
    assert fact(sheet, "Pierces").value == "30"
    assert fact(sheet, "Kerf loss").value == "19.2 cm²"  # 9624 x 0.2 = 1924.8 mm2
    assert "cutting 16 min 02 s" in fact(sheet, "Cut time").rests_on
    assert [len(one.picture.panels) for one in sheet.sheets] == [30]


def test_remainder_worth_keeping() -> None:
    # By hand: a column of six plates of 100 needs 5 + 100 + 5 = 110 of the length of 600.
    sheet = sheet_of(SetQuantity("plain", 6).apply(job_of(PLAIN)))
    ((kept,),) = [one.picture.kept for one in sheet.sheets]
    assert kept.bounds_mm() == pytest.approx((110.0, 0.0, 600.0, 400.0))
    assert fact(sheet, "Offcut kept").value == "0.196 m²"  # 490 x 400
    # C5: yield of the used part is 36000 over 110 x 400
    assert fact(sheet, "Yield, used part").value == "81.8%"


def test_without_a_cut_file_nothing_is_called_proved() -> None:
    sheet = sheet_of(job_of(PLAIN))
    assert [one.proved for one in sheet.sheets] == [None]
    assert any("nothing on it is proved" in doubt for doubt in sheet.doubts)
    assert any("cut file still to be written" in step for step in sheet.steps)


@pytest.mark.parametrize("corner", list(Corner))
def test_sheets_are_what_the_files_hold(tmp_path: Path, corner: Corner) -> None:
    machine = Machine(profile=MachineProfile(origin=corner))
    job = SetQuantity("plain", 40).apply(job_of(PLAIN))
    files = cut(job, tmp_path / "cut.dxf", machine)
    sheet = sheet_of(job, *files, bench=Bench(machine, on=DAY))
    assert [(one.file_name, one.proved) for one in sheet.sheets] == [
        ("cut-1.dxf", True),
        ("cut-2.dxf", True),
    ]
    labels = [lying.label for one in sheet.sheets for lying in one.picture.panels]
    assert sorted(labels) == sorted(f"plain {i}" for i in range(1, 41))
    for one in sheet.sheets:
        boxes = [lying.panel.bounds_mm() for lying in one.picture.panels]
        assert min(min(b[:2]) for b in boxes) == pytest.approx(5.0, abs=0.002)  # the margin
        lines = [p.path.bounds_mm() for p in one.picture.cut.paths]
        assert min(min(b[:2]) for b in lines) == pytest.approx(4.9, abs=0.002)
        assert max(b[2] for b in lines) <= 600.0
    assert not any("copies" in doubt for doubt in sheet.doubts)


def test_a_file_too_few_is_noticed(tmp_path: Path) -> None:
    job = SetUnits(2).apply(SetQuantity("plain", 20).apply(job_of(PLAIN)))
    files = cut(job, tmp_path / "cut.dxf")
    sheet = sheet_of(job, files[0])
    there = len(sheet.sheets[0].picture.panels)
    assert 0 < there < 40
    assert f"plain: {there} of 40 copies are in the cut files" in " ".join(sheet.doubts)


def test_panels_of_one_shape_are_told_by_their_marks_and_numbers(tmp_path: Path) -> None:
    def plate(name: str, *, at_mm: float | None) -> Panel:
        marks = ()
        if at_mm is not None:
            line = Contour.polyline([(at_mm, 10), (at_mm, 20)])
            marks = (Mark(line, MarkKind.ENGRAVE),)
        return replace(PLAIN, name=name, marks=marks)

    job = job_of(
        plate("one", at_mm=10), plate("two", at_mm=20), plate("bare", at_mm=None),
        plate("twin", at_mm=None),
    )  # fmt: skip
    job = SetQuantity("twin", 3).apply(job)
    (file,) = cut(job, tmp_path / "cut.dxf")
    sheet = sheet_of(job, file)
    assert sheet.sheets[0].proved is True
    assert sheet.sheets[0].picture.counts == {"one": 1, "two": 1, "bare": 1, "twin": 3}


def test_kerf_tells_its_record_and_age() -> None:
    drawn = CombDrawn(3.0, 0.18, 0.18, (0.0,), False)
    record = KerfRecord(
        "birch 3", date(2026, 11, 19), comb=drawn, number=4,
        settings=CutSettings("old laser", "2 inch", 12.0, 0.6, 2),
    )  # fmt: skip
    kerf = Kerf(0.181, 0.183, 0.003, record.name)
    job = job_of(PLAIN, stock=replace(BIRCH, kerf=kerf))
    assert record_behind(kerf, [record, replace(record, number=3)]) == record
    assert record_behind(Kerf.same(0.2), [record]) is None
    sheet = sheet_of(job, bench=Bench(Machine(), {BIRCH.name: record}, DAY))
    assert fact(sheet, "Kerf, full width") == Fact(
        "Kerf, full width", "0.182 ± 0.006 mm", "comb of 19 Nov 2026, 6 days old"
    )
    assert fact(sheet, "Cut speed").value == "12 mm/s"
    assert fact(sheet, "Power").value == "60%"
    assert fact(sheet, "Passes").value == "2"
    assert fact(sheet, "Lens").value == "2 inch"
    assert fact(sheet, "Comb cut on").value == "old laser"
    old = sheet_of(job, bench=Bench(Machine(), {BIRCH.name: record}, date(2027, 11, 19)))
    assert any("is 365 days old" in doubt for doubt in old.doubts)


def test_unmeasured_numbers_say_so() -> None:
    sheet = sheet_of(job_of(PLAIN, stock=replace(BIRCH, kerf=Kerf.same(0.2, basis="unmeasured"))))
    assert fact(sheet, "Thickness").rests_on == "as sold, not measured"
    assert any("starting value that nobody measured" in doubt for doubt in sheet.doubts)
    kerf = Kerf(0.22, 0.16, 0.005, "reading of 1 Nov 2026")
    stock = replace(BIRCH, measured_thickness_mm=3.05, thickness_u_mm=0.02, kerf=kerf)
    sheet = sheet_of(job_of(PLAIN, stock=stock))
    assert fact(sheet, "Thickness").value == "3.05 ± 0.04 mm"
    assert fact(sheet, "Kerf, full width").value == "x 0.220, y 0.160 ± 0.010 mm"


def test_the_sheet_is_to_be_as_thick_as_its_joints_are_made_for() -> None:
    """A thickness given for the job sizes the joints; the stock is sold as 3 mm."""
    a, b = plate("a", 80, 40), plate("b", 80, 40, 100)
    job = job_of(a, b).changed(
        joints=(mate(a, RIGHT, b, LEFT),),
        joint_rules=JointRules(thickness_mm=3.1),
    )
    (step,) = [s for s in sheet_of(job).steps if s.startswith("Measure its thickness")]
    assert "it should be 3.10 mm" in step
    assert fact(sheet_of(job), "Joints made for").value == "3.10 mm"
    (bare,) = [s for s in sheet_of(job_of(a)).steps if s.startswith("Measure its thickness")]
    assert "it should be 3.00 mm" in bare


def test_code_finds_the_job_again(tmp_path: Path) -> None:
    (tmp_path / "deep").mkdir()
    path = tmp_path / "deep" / "box.lasernest"
    save_job(job_of(PLAIN), path)
    save_job(load_job(path), path)  # whole numbers typed in this test become lengths
    save_job(job_of(replace(PLAIN, name="other")), tmp_path / "other.lasernest")
    code = code_of(path.read_bytes())
    digest = hashlib.sha256(path.read_bytes()).hexdigest().upper()
    assert code == f"{digest[:4]}-{digest[4:8]}"
    assert sheet_of(load_job(path)).code == code
    assert jobs_with_code(code.lower(), [tmp_path]) == (path,)
    assert jobs_with_code("0000-0000", [tmp_path]) == ()


def test_what_cannot_be_written(tmp_path: Path) -> None:
    sheet = sheet_of(job_of(PLAIN))
    with pytest.raises(UsageError, match="'A0' is no paper known here"):
        write_job_sheet(sheet, tmp_path / "s.pdf", paper="A0")
    assert write_job_sheet(sheet, tmp_path / "s.html") == 1
    with pytest.raises(UsageError, match="no stock"):
        sheet_of(Job())


def test_panels_left_out_are_named() -> None:
    wide = Panel.of("wide", Contour.rectangle(0, 0, 900, 60))
    sheet = sheet_of(job_of(PLAIN, wide))
    assert [line.startswith("1 × wide: ") for line in sheet.left_out] == [True]
    assert all(p.label != "wide" for one in sheet.sheets for p in one.picture.panels)


def test_placements_keep_their_copies() -> None:
    job = SetQuantity("plain", 2).apply(job_of(PLAIN))
    labels = [lying.label for lying in sheet_of(job).sheets[0].picture.panels]
    assert sorted(labels) == ["plain 1", "plain 2"]
