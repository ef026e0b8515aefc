from __future__ import annotations

from pathlib import Path

import pytest

from lasernest.domain.contours import Contour, Pose
from lasernest.domain.drawing import Drawing, Outlines
from lasernest.domain.joints import Joint, PanelLine
from lasernest.domain.panels import Panel
from lasernest.domain.plan import Placement, Plan, Sheet, SheetPlan
from lasernest.domain.stock import Kerf, SheetSize, Stock
from lasernest.errors import (
    BadValueError,
    ChangedMeanwhileError,
    NotFoundError,
    UnreadableFileError,
    UsageError,
)
from lasernest.job import Job, load_job, save_job
from lasernest.services.commands import (
    AddDrawing,
    AddJoint,
    ChooseStock,
    Command,
    KeepPlan,
    RemovePanels,
    RenamePanel,
    SetGap,
    SetKerf,
    SetQuantity,
    SetSheetSize,
    SetUnits,
)
from lasernest.services.plan_commands import PlacePanels
from lasernest.services.workbench import Workbench

LID = Panel.of("lid", Contour.rectangle(0, 0, 100, 60))
SIDE = Panel.of("side", Contour.rectangle(0, 0, 80, 60))
BIRCH = Stock(
    "birch 3", "birch plywood", 3.0, (SheetSize(600, 400), SheetSize(300, 200)), Kerf.same(0.18),
    grain=True,
)  # fmt: skip


def drawing(*panels: Panel, name: str = "case.dxf") -> Outlines:
    return Outlines(Drawing(Path(name), "DXF R2000", "mm", 1.0, ()), panels, 0, ())


def bench(*commands: Command) -> Workbench:
    workbench = Workbench()
    for command in commands:
        workbench.do(command)
    return workbench


def test_undo_all_gives_the_start_and_redo_all_the_end() -> None:
    start = Job()
    workbench = Workbench(job=start)
    plan = Plan((SheetPlan(Sheet(600, 400), (Placement("lid", 1, Pose(5, 5)),)),))
    line_a = PanelLine("lid", (0, 0), (100, 0), (0, 0, 100, 60))
    line_b = PanelLine("side", (0, 0), (80, 0), (0, 0, 80, 60))
    commands: list[Command] = [
        AddDrawing(drawing(LID, SIDE)),
        ChooseStock(BIRCH),
        SetQuantity("lid", 4),
        SetUnits(2),
        SetGap(3.0),
        SetKerf(Kerf.same(0.2)),
        SetSheetSize(BIRCH.sizes[1]),
        AddJoint(Joint(line_a, line_b)),
        RenamePanel("lid", "top"),
        KeepPlan(plan),
        RemovePanels(("side",)),
    ]
    states = [start]
    for command in commands:
        workbench.do(command)
        states.append(workbench.job)
    assert len(set(map(id, states))) == len(states)
    for state in reversed(states[:-1]):
        workbench.undo()
        assert workbench.job == state
    assert workbench.undo_label is None
    for state in states[1:]:
        workbench.redo()
        assert workbench.job == state
    assert workbench.redo_label is None


def test_menu_speaks_of_the_step() -> None:
    workbench = bench(AddDrawing(drawing(LID)), SetQuantity("lid", 3))
    assert workbench.undo_label == "Set quantity of lid"
    workbench.undo()
    assert workbench.redo_label == "Set quantity of lid"


def test_a_drag_is_one_step() -> None:
    plan = Plan((SheetPlan(Sheet(600, 400), (Placement("lid", 1, Pose(5, 5)),)),))
    workbench = bench(AddDrawing(drawing(LID)), KeepPlan(plan))
    for x in range(6, 20):
        workbench.do(PlacePanels(0, (Placement("lid", 1, Pose(x, 5)),)))
    assert workbench.undo_label == "Move lid"
    workbench.undo()
    assert workbench.job.plan == plan


def test_nothing_changed_is_no_step() -> None:
    workbench = bench(AddDrawing(drawing(LID)), SetGap(2.0))
    assert workbench.undo_label == "Add case.dxf"


def test_same_drawing_twice_gets_new_names() -> None:
    workbench = bench(AddDrawing(drawing(LID)), AddDrawing(drawing(LID)))
    assert [p.name for p in workbench.job.panels] == ["lid", "lid-2"]
    assert workbench.job.sources[1].panel_names == ("lid-2",)


def test_stock_brings_its_own_size_kerf_and_grain() -> None:
    workbench = bench(SetKerf(Kerf.same(0.3)), ChooseStock(BIRCH))
    setup = workbench.job.setup
    assert setup.chosen_size == BIRCH.sizes[0]
    assert setup.used_kerf == BIRCH.kerf
    assert setup.grain_kept


def test_renaming_carries_joints_and_sources() -> None:
    line_a = PanelLine("lid", (0, 0), (100, 0), (0, 0, 100, 60))
    line_b = PanelLine("side", (0, 0), (80, 0), (0, 0, 80, 60))
    workbench = bench(
        AddDrawing(drawing(LID, SIDE)), AddJoint(Joint(line_a, line_b)), RenamePanel("lid", "top")
    )
    assert workbench.job.joints[0].a.panel == "top"
    assert workbench.job.sources[0].panel_names == ("top", "side")
    workbench.do(RemovePanels(("top",)))
    assert workbench.job.joints == ()


def test_a_command_that_cannot_be_done_changes_nothing() -> None:
    workbench = bench(AddDrawing(drawing(LID, SIDE)))
    before = workbench.job
    with pytest.raises(NotFoundError):
        workbench.do(SetQuantity("roof", 2))
    with pytest.raises(BadValueError):
        workbench.do(SetQuantity("lid", -1))
    with pytest.raises(BadValueError):
        workbench.do(RenamePanel("lid", "side"))
    assert workbench.job is before


def test_saved_mark_follows_undo(tmp_path: Path) -> None:
    workbench = bench(AddDrawing(drawing(LID)))
    assert not workbench.is_saved
    with pytest.raises(UsageError):
        workbench.save()
    assert workbench.save(tmp_path / "case") == tmp_path / "case.lasernest"
    assert workbench.is_saved
    workbench.do(SetUnits(5))
    assert not workbench.is_saved
    workbench.undo()
    assert workbench.is_saved


def test_a_job_that_cannot_be_opened_leaves_the_open_one(tmp_path: Path) -> None:
    workbench = bench(AddDrawing(drawing(LID)))
    before = workbench.job
    (tmp_path / "bad.lasernest").write_text("{")
    with pytest.raises(UnreadableFileError):
        workbench.open(tmp_path / "bad.lasernest")
    assert workbench.job is before
    assert workbench.undo_label == "Add case.dxf"


def test_listeners_hear_of_every_change() -> None:
    heard: list[int] = []
    workbench = Workbench()
    workbench.job_changed.connect(lambda job: heard.append(len(job.panels)))
    workbench.do(AddDrawing(drawing(LID, SIDE)))
    workbench.undo()
    workbench.redo()
    assert heard == [2, 0, 2]


def test_a_file_changed_by_somebody_else_is_not_written_over(tmp_path: Path) -> None:
    workbench = bench(AddDrawing(drawing(LID)))
    path = workbench.save(tmp_path / "case")
    assert not workbench.changed_on_disk
    save_job(Job("other"), path)
    assert workbench.changed_on_disk
    with pytest.raises(ChangedMeanwhileError) as caught:
        workbench.save()
    assert caught.value.sentence().endswith(
        "the job was changed on disk since it was opened or saved here. "
        "Save it under another name, or take what is on disk."
    )
    assert load_job(path).name == "other"
    before = workbench.job
    workbench.take_from_disk()
    assert (workbench.job.name, workbench.is_saved) == ("other", True)
    assert workbench.undo_label == "Take case.lasernest from disk"
    workbench.undo()
    assert workbench.job is before
    workbench.save(over=True)
    assert load_job(path) == before
