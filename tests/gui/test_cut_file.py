"""The cut file in the window: written, proved, refused."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from lasernest.domain.cutting import CutChoices, HoldingTabs, WorkOrder
from lasernest.domain.plan import Unplaced
from lasernest.gui.look.signs import State
from lasernest.gui.parts.basics import Button
from lasernest.gui.parts.notes import NoteBox
from lasernest.gui.parts.place import FilePlace
from lasernest.gui.tiles import Step
from lasernest.gui.window import Window
from lasernest.services.commands import ChooseStock, KeepPlan
from tests.gui.conftest import Answers
from tests.gui.helpers import arrange, read, wait_for


def _notes(window: Window) -> list[NoteBox]:
    return [b for b in window.cut_file.card.findChildren(NoteBox) if b.isVisibleTo(window)]


@pytest.fixture
def arranged(qtbot: QtBot, window: Window, sample_panels: Path, tmp_path: Path) -> Window:
    """A window with a small plan, and a path in a folder of its own."""
    read(qtbot, window, sample_panels / "clock-feet.svg")
    arrange(qtbot, window)
    window.cut_file.choose_path(tmp_path / "feet.dxf")
    return window


def test_drop_arrange_write_are_three_actions(
    qtbot: QtBot, window: Window, sample_panels: Path, tmp_path: Path
) -> None:
    drawing = tmp_path / "clock-feet.svg"
    drawing.write_bytes((sample_panels / "clock-feet.svg").read_bytes())
    read(qtbot, window, drawing)  # 1: drop
    window.outlines.arrange_button.click()  # 2: arrange
    wait_for(qtbot, window, "arrange")
    window.sheets.main_button.click()  # 3: write
    wait_for(qtbot, window, "write")
    assert (tmp_path / "clock-feet-cut.dxf").read_bytes().startswith(b"  0")
    assert window.cut_file.verdict.text() == "1 file written. The proof passed."
    assert window.cut_file.found.value() == "3 of 3"
    assert window.tiles.tiles[Step.CUT_FILE].shown.state is State.DONE


def test_a_file_of_somebody_else_is_not_written_over_unasked(
    qtbot: QtBot, window: Window, sample_panels: Path, tmp_path: Path
) -> None:
    drawing = tmp_path / "clock-feet.svg"
    drawing.write_bytes((sample_panels / "clock-feet.svg").read_bytes())
    other = tmp_path / "clock-feet-cut.dxf"
    other.write_text("mine")
    read(qtbot, window, drawing)
    arrange(qtbot, window)
    window.write_cut_file()
    assert other.read_text() == "mine"
    qtbot.waitUntil(lambda: isinstance(window.focusWidget(), Button))
    asked = window.focusWidget()
    assert isinstance(asked, Button)
    assert asked.text() == "Write over it"  # the answer is one key away
    assert not asked.visibleRegion().isEmpty()
    (note,) = [b for b in _notes(window) if "already there" in b.note.text]
    note.note.answers[0].act()
    wait_for(qtbot, window, "write")
    assert other.read_text() != "mine"
    window.write_cut_file()  # our own file may be written again
    wait_for(qtbot, window, "write")
    assert not [b for b in _notes(window) if "already there" in b.note.text]


def test_another_plan_is_not_the_written_one(qtbot: QtBot, arranged: Window) -> None:
    arranged.write_cut_file()
    wait_for(qtbot, arranged, "write")
    assert arranged.tiles.tiles[Step.CUT_FILE].shown.figure == "1 file proved"
    arranged.outlines.list.choose([arranged.desk.job.panels[0].name])
    arranged.outlines.chosen_box.quantity.committed.emit(4)
    assert arranged.tiles.tiles[Step.CUT_FILE].shown.figure == "not written yet"


def test_pvc_gets_no_cut_file(qtbot: QtBot, arranged: Window, tmp_path: Path) -> None:
    stock = arranged.desk.job.setup.stock
    assert stock is not None
    arranged.desk.do(ChooseStock(replace(stock, name="foam board", material="PVC foam")))
    arrange(qtbot, arranged)
    arranged.go_to(Step.CUT_FILE)
    (note,) = _notes(arranged)
    assert note.note.text.startswith("PVC foam must not be cut with a laser. It holds chlorine")
    assert not arranged.cut_file.write_button.isEnabled()
    arranged.go_to(Step.SHEETS)
    (told,) = arranged.sheets.first_notes.notes()
    assert told.text == note.note.text
    assert not arranged.sheets.main_button.isEnabled()
    assert arranged.tiles.tiles[Step.CUT_FILE].shown.state is State.BLOCKED
    arranged.desk.write_cut_files(tmp_path / "feet.dxf")
    wait_for(qtbot, arranged, "write")
    assert not (tmp_path / "feet.dxf").exists()
    arranged.desk.settle_all(Step.CUT_FILE)
    arranged.cut_file.path = None
    arranged.cut_file.target().write_text("of another job")
    arranged.write_cut_file()  # by its command: what cannot be written is not asked about
    assert arranged.page.step is Step.CUT_FILE
    assert [b.note.text for b in _notes(arranged)] == [note.note.text]


def test_a_doubtful_material_is_asked_about(qtbot: QtBot, arranged: Window, tmp_path: Path) -> None:
    stock = arranged.desk.job.setup.stock
    assert stock is not None
    arranged.desk.do(ChooseStock(replace(stock, name="clear sheet", material="polycarbonate")))
    arrange(qtbot, arranged)
    arranged.go_to(Step.CUT_FILE)
    (note,) = _notes(arranged)
    assert note.note.kind == "question"
    tile = arranged.tiles.tiles[Step.CUT_FILE].shown
    assert (tile.state, tile.word) == (State.QUESTION, "1 question")
    note.note.answers[0].act()
    assert arranged.desk.job.plan is not None
    arranged.write_cut_file()
    wait_for(qtbot, arranged, "write")
    assert (tmp_path / "feet.dxf").exists()


def test_the_path_is_chosen_with_the_systems_dialog(
    arranged: Window, answers: Answers, tmp_path: Path
) -> None:
    answers.paths = [tmp_path / "other"]
    arranged.cut_file.path_wanted.emit()
    assert arranged.cut_file.target() == tmp_path / "other.dxf"


def test_nothing_is_written_beside_the_samples(
    qtbot: QtBot, window: Window, sample_panels: Path, documents: Path, answers: Answers
) -> None:
    read(qtbot, window, sample_panels / "clock-feet.svg")
    window.go_to(Step.CUT_FILE)
    page = window.cut_file
    assert page.target() == documents / "clock-feet-cut.dxf"
    assert page.place.file.text() == "clock-feet-cut.dxf"
    assert page.place.folder.text() == str(documents)
    page.place.open_button.click()
    assert answers.shown == [documents]
    window.settings.last_folder = str(sample_panels)
    assert window.kerf.target().parent == documents


def test_a_link_to_the_samples_is_seen_through(
    qtbot: QtBot, window: Window, sample_panels: Path, documents: Path, tmp_path: Path
) -> None:
    (tmp_path / "panels").symlink_to(sample_panels)
    read(qtbot, window, tmp_path / "panels" / "clock-feet.svg")
    assert window.cut_file.target().parent == documents


def test_how_it_is_cut_is_kept_with_the_job_and_the_plan_stays(
    qtbot: QtBot, window: Window, sample_panels: Path, tmp_path: Path
) -> None:
    read(qtbot, window, sample_panels / "clock-hands.dxf")
    arrange(qtbot, window)
    window.go_to(Step.CUT_FILE)
    plan, form = window.desk.job.plan, window.cut_file.cutting
    assert plan is not None
    form.lead.committed.emit(1.5)
    form.order.pick(WorkOrder.SPREAD_HEAT)
    form.tabs.committed.emit(0.5)
    assert window.desk.job.cutting == CutChoices(1.5, HoldingTabs(0.5), WorkOrder.SPREAD_HEAT)
    assert window.desk.job.plan is plan
    window.desk.write_cut_files(tmp_path / "cut.dxf")
    wait_for(qtbot, window, "write")
    assert window.desk.written is not None
    assert window.desk.written.proof.passed
    assert window.tiles.tiles[Step.CUT_FILE].shown.state is State.DONE
    form.tabs.cleared.emit()
    # What was written is of another way to cut now.
    assert window.desk.job.cutting.tabs is None
    assert window.tiles.tiles[Step.CUT_FILE].shown.state is State.NOTHING


def test_each_of_several_files_is_looked_at(qtbot: QtBot, arranged: Window, tmp_path: Path) -> None:
    """Two sheets become feet-1.dxf and feet-2.dxf; the dialog has asked about feet.dxf only."""
    other = tmp_path / "feet-2.dxf"
    other.write_text("mine")
    plan = arranged.desk.job.plan
    assert plan is not None
    (sheet,) = plan.sheets
    half = len(sheet.placements) // 2
    parts = (sheet.placements[:half], sheet.placements[half:])
    two = replace(plan, sheets=tuple(replace(sheet, placements=part) for part in parts))
    arranged.desk.workbench.new(replace(arranged.desk.job, plan=two))
    arranged.write_cut_file()
    assert [b.note.text for b in _notes(arranged) if "already" in b.note.text] == [
        "feet-2.dxf is already there."
    ]
    assert arranged.desk.tasks.task("write") is None
    assert other.read_text() == "mine"


def test_files_of_another_stock_are_not_written_over_unasked(
    qtbot: QtBot, arranged: Window, tmp_path: Path
) -> None:
    arranged.write_cut_file()
    wait_for(qtbot, arranged, "write")
    target = tmp_path / "feet.dxf"
    before = target.read_bytes()
    written = arranged.desk.written
    assert written is not None
    sheets = tuple(
        replace(s, sheet=replace(s.sheet, stock_name="cast acrylic 3 mm"))
        for s in written.plan.sheets
    )
    arranged.desk.written = replace(written, plan=replace(written.plan, sheets=sheets))
    arranged.cut_file.path = None
    arranged.cut_file.default_path = lambda: target  # type: ignore[method-assign]
    arranged.write_cut_file()
    assert [b for b in _notes(arranged) if b.note.text == "feet.dxf is already there."]
    assert target.read_bytes() == before


def test_the_name_shown_is_that_of_the_file_that_will_be_written(
    qtbot: QtBot, arranged: Window, tmp_path: Path
) -> None:
    page = arranged.cut_file
    arranged.go_to(Step.CUT_FILE)
    assert page.place.file.text() == "feet.dxf"
    plan = arranged.desk.job.plan
    assert plan is not None
    arranged.desk.do(KeepPlan(replace(plan, sheets=plan.sheets * 2)))
    page.show_sheet(1)
    assert page.place.file.text() == "feet-2.dxf"


def test_panels_that_are_in_no_file_are_told_where_the_files_are(
    qtbot: QtBot, arranged: Window
) -> None:
    plan = arranged.desk.job.plan
    assert plan is not None
    (sheet,) = plan.sheets
    last = sheet.placements[-1]
    rest = replace(sheet, placements=sheet.placements[:-1])
    left = Unplaced(last.panel_name, 1, "there is no sheet left")
    arranged.desk.do(KeepPlan(replace(plan, sheets=(rest,), unplaced=(left,))))
    arranged.write_cut_file()
    wait_for(qtbot, arranged, "write")
    assert arranged.cut_file.verdict.text() == "1 file written. The proof passed."
    tile = arranged.tiles.tiles[Step.CUT_FILE].shown
    assert (tile.state, tile.word) == (State.QUESTION, "1 left out")
    (note,) = _notes(arranged)
    assert note.note.heading == "Not on any sheet"
    assert note.note.text.startswith(f"{last.panel_name}, 1 copy: ")


def test_a_folder_is_told_from_the_makers_home(
    qtbot: QtBot, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(Path, "home", lambda: tmp_path / "maker")
    place = FilePlace()
    qtbot.addWidget(place)
    for folder, said in (
        (tmp_path / "maker", "home folder"),
        (tmp_path / "maker" / "Documents" / "cases", "home folder › Documents › cases"),
        (tmp_path / "elsewhere", str(tmp_path / "elsewhere")),
    ):
        place.show_path(folder / "lid-cut.dxf")
        assert place.folder.text() == said
        assert place.folder.toolTip() == str(folder)
