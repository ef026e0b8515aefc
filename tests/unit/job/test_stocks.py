"""A job that is cut from several stocks: what holds for which, and the file of before."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest

from lasernest.domain.contours import Contour, Pose
from lasernest.domain.findings import Choice, Finding, Severity
from lasernest.domain.offcuts import Offcut
from lasernest.domain.panels import Panel
from lasernest.domain.plan import Placement, Plan, Sheet, SheetPlan, Unplaced
from lasernest.domain.stock import Kerf, SheetSize, Stock
from lasernest.errors import BadValueError, NotFoundError, UnreadableFileError, UsageError
from lasernest.job import Job, JobPanel, Setup, Source, StockChoice, load_job, parts_of, save_job

BIRCH = Stock("birch 3", "birch plywood", 3.0, (SheetSize(600, 400),), Kerf.same(0.18), grain=True)
CAST = Stock("cast 6", "cast acrylic", 6.0, (SheetSize(300, 200, 5.0),), Kerf.same(0.25))
OLDEST = Path(__file__).with_name("format_1.lasernest")


def panel(name: str, stock_name: str = "") -> JobPanel:
    outline = Contour.rectangle(0, 0, 60, 40)
    return JobPanel(Panel.of(name, outline), stock_name=stock_name)


def mixed() -> Job:
    setup = Setup(BIRCH, kerf=Kerf.same(0.17), other_stocks=(StockChoice(CAST, keep_grain=True),))
    return Job("case", (panel("side"), panel("front", "cast 6"), panel("back")), setup=setup)


def test_what_holds_for_a_stock() -> None:
    setup = mixed().setup
    own, other = setup.for_stock(""), setup.for_stock("cast 6")
    assert own == setup.for_stock("birch 3") == Setup(BIRCH, kerf=Kerf.same(0.17))
    assert own.cut_from() == (BIRCH, Kerf.same(0.17))
    assert other.cut_from() == (CAST, CAST.kerf)
    assert (other.chosen_size, other.grain_kept) == (CAST.sizes[0], True)
    assert setup.stocks == (BIRCH, CAST)
    with pytest.raises(NotFoundError, match="nothing of this job is cut from cork"):
        setup.for_stock("cork")
    with pytest.raises(UsageError, match="no stock is chosen"):
        Setup().cut_from()
    changed = setup.with_choice("cast 6", kerf=Kerf.same(0.3)).with_choice("", keep_grain=False)
    assert changed.for_stock("cast 6").used_kerf == Kerf.same(0.3)
    assert (changed.used_kerf, changed.grain_kept) == (Kerf.same(0.17), False)


def test_a_warning_is_accepted_for_each_material() -> None:
    setup = replace(mixed().setup, materials_accepted=("cast acrylic",))
    assert [setup.for_stock(s.name).material_accepted for s in setup.stocks] == [False, True]


def test_a_stock_that_the_job_does_not_know_cannot_be() -> None:
    with pytest.raises(BadValueError, match="front is to be cut from cork, which the job does not"):
        Job("case", (panel("front", "cork"),), setup=Setup(BIRCH))
    with pytest.raises(BadValueError, match="birch 3 is chosen twice"):
        Setup(BIRCH, other_stocks=(StockChoice(BIRCH),))


def test_parts_are_jobs_of_one_stock() -> None:
    birch = Sheet(600, 400, label="birch 3", stock_name="birch 3")
    cast = Sheet(300, 200, label="cast 6", stock_name="cast 6")
    lying = [Placement(name, 1, Pose(5, 5)) for name in ("side", "front", "back")]
    plan = Plan(
        (SheetPlan(birch, (lying[0],)), SheetPlan(cast, (lying[1],))),
        (Unplaced("back", 1, "too large"),),
        evaluations=7,
    )
    job = mixed().changed(plan=plan)
    own, other = parts_of(job)
    assert [p.name for p in own.panels] == ["side", "back"]
    assert [p.name for p in other.panels] == ["front"]
    assert own.plan == Plan(plan.sheets[:1], plan.unplaced)
    assert other.plan == Plan(plan.sheets[1:])
    assert other.setup.stock == CAST
    assert parts_of(own) == (own,)
    alone = Job("case", (panel("front", "cast 6"),), setup=job.setup)
    assert [part.setup.stock for part in parts_of(alone)] == [CAST]


def test_a_job_of_one_stock_is_its_only_part() -> None:
    job = Job("case", (panel("side"),), setup=Setup(BIRCH))
    assert parts_of(job)[0] is job


def test_all_of_it_survives_the_file(tmp_path: Path) -> None:
    offcut = Offcut.rectangle("A1", "cast 6", 90, 80)
    job = mixed()
    job = job.changed(setup=job.setup.with_choice("cast 6", offcuts=(offcut,)))
    save_job(job, tmp_path / "case.lasernest")
    assert load_job(tmp_path / "case.lasernest") == job


def test_the_oldest_file_is_read() -> None:
    # Written by the program when format 1 was all there was.
    job = load_job(OLDEST)
    assert [(p.name, p.quantity, p.stock_name) for p in job.panels] == [
        ("floor", 2, ""), ("side", 4, ""),
    ]  # fmt: skip
    assert job.setup.materials_accepted == ("polycarbonate",)
    assert job.setup.other_stocks == ()
    assert [offcut.label for offcut in job.setup.offcuts] == ["A1"]
    assert job.plan is not None
    assert job.plan.placed_count == 6
    assert {one.sheet.stock_name for one in job.plan.sheets} == {"clear 3"}
    assert job.comparison is not None
    assert [
        {one.sheet.stock_name for one in column.plan.sheets} for column in job.comparison.columns
    ] == [{"birch 3"}, {"clear 3"}]


@pytest.mark.parametrize(
    ("was", "todo", "words"),
    [
        ("Choose the unit (--unit mm, cm, in).", "Choose the unit.", "--unit mm, cm, in"),
        ("Close it, or give --answer gaps=0.02.", "", ""),
        ("Close it in the drawing.", "Close it in the drawing.", ""),
    ],
)
def test_advice_of_format_2_is_parted_from_words_of_the_command_line(
    tmp_path: Path, was: str, todo: str, words: str
) -> None:
    choices = (Choice("close it", "--answer", "gaps=0.02"),)
    finding = Finding(Severity.ERROR, "open-outline", "A gap.", todo=was, choices=choices)
    path = tmp_path / "case.lasernest"
    save_job(Job("case", sources=(Source("lid.dxf", "DXF", "mm", 1.0, findings=(finding,)),)), path)
    data = json.loads(path.read_text())
    data["format"] = 2
    del data["job"]["sources"][0]["findings"][0]["on_command_line"]
    path.write_text(json.dumps(data))
    (read,) = load_job(path).sources[0].findings
    assert (read.todo, read.on_command_line) == (todo, words)


@pytest.mark.parametrize("damage", ["list", "no stock name", "no sheets"])
def test_an_old_file_that_is_damaged_is_refused(tmp_path: Path, damage: str) -> None:
    data = json.loads(OLDEST.read_text())
    if damage == "list":
        data["job"]["setup"] = []
    elif damage == "no stock name":
        del data["job"]["setup"]["stock"]["name"]
    else:
        del data["job"]["plan"]["sheets"]
    path = tmp_path / "case.lasernest"
    path.write_text(json.dumps(data))
    with pytest.raises(UnreadableFileError, match="the job file is damaged"):
        load_job(path)


def test_joints_for_a_sheet_that_has_no_stock_are_not_passed_over(tmp_path: Path) -> None:
    data = json.loads(OLDEST.read_text())
    data["job"]["joint_rules"]["other_sheets"] = [["floor", {"thickness_mm": 6.1}]]
    path = tmp_path / "case.lasernest"
    path.write_text(json.dumps(data))
    with pytest.raises(UnreadableFileError, match="the joints of floor have a sheet of their own"):
        load_job(path)
