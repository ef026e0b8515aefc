from __future__ import annotations

import json
import math
from dataclasses import replace
from pathlib import Path

import pytest

from lasernest.domain.contours import Contour, Pose, Vertex
from lasernest.domain.findings import Finding, Severity
from lasernest.domain.panels import Mark, MarkKind, Panel
from lasernest.domain.plan import Placement, Plan, Sheet, SheetPlan, Turns
from lasernest.domain.stock import Kerf, SheetSize, Stock
from lasernest.errors import NewerFormatError, UnreadableFileError, UnwritableFileError
from lasernest.job import Job, JobPanel, Setup, Source, load_job, save_job
from lasernest.job.file import FORMAT, encode_job


def a_job() -> Job:
    panel = Panel.of(
        "lid",
        Contour((Vertex(0, 0, 0.1), Vertex(100, 0), Vertex(100, 60), Vertex(1 / 3, math.pi))),
        [Contour.circle(50, 30, 5)],
        [Mark(Contour.polyline([(10, 10), (20, 10)]), MarkKind.ENGRAVE)],
        source="case.dxf",
    )
    stock = Stock("birch 3", "birch plywood", 3.0, (SheetSize(600, 400, 6.5),), Kerf.same(0.18))
    sheet = Sheet(600, 400)
    return Job(
        "case",
        (JobPanel(panel, 2, Turns.HALF, may_mirror=True),),
        (
            Source(
                "case.dxf", "DXF R2000", "mm", 1.0, "ab", ("lid",),
                (Finding(Severity.NOTE, "unit-assumed", "mm taken", (1.0, 2.0)),),
            ),
        ),
        Setup(stock=stock, units=3),
        plan=Plan((SheetPlan(sheet, (Placement("lid", 1, Pose(5, 5, 90)),)),)),
    )  # fmt: skip


def test_survives_write_and_read_to_the_last_bit(tmp_path: Path) -> None:
    job = a_job()
    save_job(job, tmp_path / "case.lasernest")
    assert load_job(tmp_path / "case.lasernest") == job


def test_same_job_same_bytes() -> None:
    assert encode_job(a_job()) == encode_job(a_job())


def test_a_newer_format_is_refused_by_number(tmp_path: Path) -> None:
    path = tmp_path / "case.lasernest"
    data = json.loads(encode_job(a_job()))
    data["format"] = FORMAT + 1
    path.write_text(json.dumps(data))
    with pytest.raises(NewerFormatError) as caught:
        load_job(path)
    assert caught.value.sentence() == (
        f"case.lasernest: the job is of format {FORMAT + 1}, this program knows up to {FORMAT}. "
        "Open it with a newer version of lasernest."
    )


@pytest.mark.parametrize("content", [b"", b"{", b"[]", b'{"format": 1}', b"\xff\xfe", b"<html>"])
def test_what_is_not_a_job_is_refused(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "case.lasernest"
    path.write_bytes(content)
    with pytest.raises(UnreadableFileError):
        load_job(path)


def test_a_damaged_value_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "case.lasernest"
    data = json.loads(encode_job(a_job()))
    data["job"]["setup"]["gap_mm"] = -5
    path.write_text(json.dumps(data))
    with pytest.raises(UnreadableFileError, match="gap"):
        load_job(path)


@pytest.mark.parametrize("cut", [10, 200, 900])
def test_a_cut_off_file_is_refused(tmp_path: Path, cut: int) -> None:
    path = tmp_path / "case.lasernest"
    path.write_bytes(encode_job(a_job())[:-cut])
    with pytest.raises(UnreadableFileError):
        load_job(path)


def test_a_missing_folder_is_said(tmp_path: Path) -> None:
    with pytest.raises(UnwritableFileError):
        save_job(a_job(), tmp_path / "no" / "case.lasernest")


def test_plan_goes_when_what_nesting_looks_at_changes() -> None:
    job = a_job()
    assert job.changed(name="other").plan is job.plan
    assert job.changed(setup=replace(job.setup, gap_mm=3.0)).plan is None
    assert job.changed(setup=replace(job.setup)).plan is job.plan
    assert job.with_panel("lid", replace(job.panel("lid"), quantity=5)).plan is None
