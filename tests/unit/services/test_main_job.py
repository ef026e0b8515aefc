from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from lasernest.domain.contours import Contour
from lasernest.domain.control import QuietControl
from lasernest.domain.drawing import Drawing, Outlines
from lasernest.domain.findings import Finding, Severity
from lasernest.domain.panels import Panel
from lasernest.domain.stock import Kerf, SheetSize, Stock
from lasernest.errors import (
    BadDrawingError,
    BadValueError,
    RefusedMaterialError,
    UnwritableFileError,
    UsageError,
)
from lasernest.job import Job, save_job
from lasernest.nesting import Budget
from lasernest.services.commands import AddDrawing, AddJoint, ChooseStock, SetGap, SetQuantity
from lasernest.services.joining import parse_joint
from lasernest.services.main_job import bare_stock, read_inputs, run_main_job

PLATE = Panel.of("plate", Contour.rectangle(0, 0, 100, 60), [Contour.circle(50, 30, 5)])
BIRCH = Stock("birch 3", "birch plywood", 3.0, (SheetSize(600, 400),), Kerf.same(0.2))


def job_of(*panels: Panel, stock: Stock = BIRCH, findings: tuple[Finding, ...] = ()) -> Job:
    drawing = Drawing(Path("case.dxf"), "DXF R2000", "mm", 1.0, ())
    job = AddDrawing(Outlines(drawing, panels, 0, findings)).apply(Job())
    return ChooseStock(stock).apply(job)


def run(job: Job, out: Path, **choices: bool):  # type: ignore[no-untyped-def]
    return run_main_job(job, out, control=QuietControl(), budget=Budget(seconds=0), **choices)


def test_grid_oracle_row(tmp_path: Path) -> None:
    # common yield arithmetic: 600x400, margin 5, gap 2, panels 100x60 -> 5 x 6 = 30, yield 0.75
    plain = Panel.of("plain", Contour.rectangle(0, 0, 100, 60))
    job = SetQuantity("plain", 30).apply(job_of(plain))
    result = run(job, tmp_path / "cut.dxf")
    assert [len(sheet.plan.placements) for sheet in result.sheets] == [30]
    assert result.yield_share == pytest.approx(0.75)
    assert result.passed
    # outer paths: 30 x 2 x (100.2 + 60.2)
    assert result.sheets[0].written.cut.cut_length_mm == pytest.approx(30 * 320.8)
    assert result.sheets[0].written.cut.pierces == 30


def test_more_sheets_get_numbers(tmp_path: Path) -> None:
    job = SetQuantity("plate", 40).apply(job_of(PLATE))
    result = run(job, tmp_path / "cut.dxf")
    assert [sheet.written.file.name for sheet in result.sheets] == ["cut-1.dxf", "cut-2.dxf"]
    assert sorted(p.name for p in tmp_path.iterdir()) == ["cut-1.dxf", "cut-2.dxf"]
    assert result.proof.panels_found == 40


def test_a_drawing_with_an_error_is_not_cut_unasked(tmp_path: Path) -> None:
    error = Finding(
        Severity.ERROR, "open-outline", "the outline is open", (1.0, 2.0), todo="Close."
    )
    job = job_of(PLATE, findings=(error,))
    with pytest.raises(BadDrawingError) as caught:
        run(job, tmp_path / "cut.dxf")
    assert caught.value.sentence() == "case.dxf, at 1.00, 2.00 mm: the outline is open. Close."
    assert list(tmp_path.iterdir()) == []
    assert run(job, tmp_path / "cut.dxf", despite_errors=True).passed


def test_pvc_gets_no_cut_file(tmp_path: Path) -> None:
    job = job_of(PLATE, stock=replace(BIRCH, material="rigid PVC sheet"))
    job = job.changed(setup=replace(job.setup, materials_accepted=("rigid PVC sheet",)))
    with pytest.raises(RefusedMaterialError):
        run(job, tmp_path / "cut.dxf")
    assert list(tmp_path.iterdir()) == []


def test_a_risky_material_needs_a_decision(tmp_path: Path) -> None:
    job = job_of(PLATE, stock=replace(BIRCH, material="polycarbonate"))
    with pytest.raises(RefusedMaterialError):
        run(job, tmp_path / "cut.dxf")
    accepted = job.changed(setup=replace(job.setup, materials_accepted=("polycarbonate",)))
    assert run(accepted, tmp_path / "cut.dxf").passed


def test_a_bare_sheet_is_cut_and_says_what_is_not_known(tmp_path: Path) -> None:
    stock = bare_stock(SheetSize(600, 400), Kerf.same(0.2, basis="unmeasured"))
    result = run(job_of(PLATE, stock=stock), tmp_path / "cut.dxf")
    assert {f.code for f in result.findings} >= {"kerf-unmeasured", "material-not-stated"}


def test_a_gap_below_the_kerf_is_refused(tmp_path: Path) -> None:
    with pytest.raises(BadValueError, match="narrower than the kerf"):
        run(SetGap(0.1).apply(job_of(PLATE)), tmp_path / "cut.dxf")


def test_a_missing_folder_is_told_before_the_search(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def search(*_given: object, **_named: object) -> None:
        raise AssertionError("it searched first")

    monkeypatch.setattr("lasernest.services.main_job.arrange_job", search)
    panel = Panel.of("tile", Contour.rectangle(0, 0, 50, 40))
    with pytest.raises(UnwritableFileError, match="does not exist"):
        run(job_of(panel), tmp_path / "missing" / "cut.dxf")


def test_joints_are_cut_and_measured(tmp_path: Path) -> None:
    floor = Panel.of("floor", Contour.rectangle(0, 0, 100, 80))
    front = Panel.of("front", Contour.rectangle(0, 0, 100, 60))
    job = job_of(floor, front)
    joint = parse_joint("front@50,0=floor@50,0", [floor, front])
    result = run(AddJoint(joint).apply(job), tmp_path / "cut.dxf")
    (measured,) = result.proof.joints
    wanted = 0.05  # starting value for a press fit in plywood, common practice, no source
    assert measured.interference_mm == pytest.approx(wanted, abs=0.06)
    assert measured.worst_mm == pytest.approx(measured.interference_mm, abs=0.005)
    assert result.passed


def test_a_job_comes_alone(tmp_path: Path) -> None:
    path = tmp_path / "case.lasernest"
    save_job(job_of(PLATE), path)
    assert read_inputs([path], control=QuietControl()) == job_of(PLATE)
    with pytest.raises(UsageError):
        read_inputs([path, path], control=QuietControl())


def test_same_seed_same_bytes(tmp_path: Path) -> None:
    job = SetQuantity("plate", 7).apply(job_of(PLATE))
    run(job, tmp_path / "a.dxf")
    run(job, tmp_path / "b.dxf")
    assert (tmp_path / "a.dxf").read_bytes() == (tmp_path / "b.dxf").read_bytes()
