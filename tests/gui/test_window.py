"""The main job in the window, by what a maker does and sees."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtCore import QMimeData, QPoint, QPointF, Qt, QUrl
from PySide6.QtGui import QDropEvent
from PySide6.QtTest import QSignalSpy
from pytestqt.qtbot import QtBot

from lasernest.domain.contours import Contour
from lasernest.domain.panels import Panel
from lasernest.domain.plan import Plan, Unplaced
from lasernest.gui.look.signs import State
from lasernest.gui.pages.left_out import left_out_notes
from lasernest.gui.parts.notes import NoteBox
from lasernest.gui.tiles import Step
from lasernest.gui.window import Window
from lasernest.gui.window_frame import dropped
from lasernest.job import Job, JobPanel, Setup, load_job, save_job
from lasernest.joints.case import CaseSpec
from lasernest.services.joint_making import AddCase
from lasernest.services.planning import plan_rank, request_of
from tests.gui.conftest import Answers
from tests.gui.helpers import arrange, read, wait_for, wait_for_saves


def _drop(paths: list[Path]) -> QMimeData:
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(p)) for p in paths])
    return data


def _notes(window: Window) -> list[str]:
    return [
        box.note.text for box in window.page.card.findChildren(NoteBox) if box.isVisibleTo(window)
    ]


def test_an_empty_window_says_what_to_do_first(window: Window) -> None:
    assert window.board.is_empty
    assert window.tiles.tiles[Step.OUTLINES].shown.figure == "no drawing yet"
    assert window.desk.job.setup.stock is not None
    assert window.windowTitle() == "new job[*] – lasernest"
    assert not window.isWindowModified()


def test_dropped_drawings_become_panels(qtbot: QtBot, window: Window, sample_panels: Path) -> None:
    data = _drop([sample_panels / "clock-case.dxf", sample_panels / "clock-feet.svg"])
    event = QDropEvent(
        QPointF(200, 200),
        Qt.DropAction.CopyAction,
        data,
        Qt.MouseButton.LeftButton,
        Qt.KeyboardModifier.NoModifier,
    )
    window.dropEvent(event)
    wait_for(qtbot, window, "import")
    assert [p.name for p in window.desk.job.panels][:3] == ["case-front", "glass-ring", "case-back"]
    assert len(window.desk.job.sources) == 2
    assert not window.board.is_empty
    assert window.tiles.tiles[Step.OUTLINES].shown.rests_on == "2 files"
    assert window.desk.workbench.undo_label == "Add 2 drawings"


def test_a_dropped_photo_is_refused_by_name(
    qtbot: QtBot, window: Window, sample_panels: Path, tmp_path: Path
) -> None:
    photo = tmp_path / "photo.png"
    photo.write_bytes(b"\x89PNG\r\n\x1a\n")
    window.take_files(dropped(_drop([photo, sample_panels / "clock-case.dxf"])))
    wait_for(qtbot, window, "import")
    assert len(window.desk.job.sources) == 1
    (trouble,) = window.desk.troubles
    assert "photo.png" in trouble.what
    assert "a PNG picture, not a drawing" in str(trouble.error)


def test_a_broken_drawing_is_told_beside_the_drawing_and_loses_nothing(
    qtbot: QtBot, window: Window, sample_panels: Path
) -> None:
    read(qtbot, window, sample_panels / "clock-feet.svg")
    before = window.desk.job
    read(qtbot, window, sample_panels / "broken" / "decimal-commas.dxf")
    assert window.desk.job is before
    assert any("has a decimal comma, which DXF does not know" in note for note in _notes(window))
    assert window.tiles.tiles[Step.OUTLINES].shown.state is State.BLOCKED
    box = window.page.card.findChild(NoteBox)
    assert box is not None
    box.note.answers[0].act()
    assert _notes(window) == []


def test_a_panel_that_fits_on_no_sheet_is_told_on_every_step(qtbot: QtBot, window: Window) -> None:
    panel = Panel.of("wall", Contour.rectangle(0, 0, 3000, 2000))
    stock = window.desk.job.setup.stock
    window.desk.workbench.new(Job("wall", (JobPanel(panel),), setup=Setup(stock)))
    arrange(qtbot, window)
    plan = window.desk.job.plan
    assert plan is not None
    assert plan.sheets == ()
    for step in Step:
        window.go_to(step)
    tile = window.tiles.tiles[Step.SHEETS].shown
    assert (tile.figure, tile.state, tile.word) == ("no sheet", State.BLOCKED, "1 left out")
    assert window.board.is_empty  # the step is Cut file, which has nothing to write
    assert not window.cut_file.write_button.isEnabled()
    window.go_to(Step.SHEETS)
    (told,) = window.sheets.first_notes.notes()  # at the top of the card
    assert window.board.canvas.scene.caption()[1] == "nothing fits"
    assert window.sheets.main_button.text() == "Arrange on sheets"
    assert not window.sheets.again_button.isVisible()
    window.sheets.main_button.click()
    assert window.desk.arranging
    wait_for(qtbot, window, "arrange")
    assert window.page is window.sheets
    assert told.heading == "Not on any sheet"
    assert told.text.startswith("wall, 1 copy: its size of 3000 x 2000 mm fits on no sheet")


def test_where_no_panel_is_to_be_cut_sheets_says_why_nothing_can_be_arranged(
    qtbot: QtBot, window: Window, sample_panels: Path
) -> None:
    window.go_to(Step.SHEETS)
    assert window.sheets.scene_of_sheet.hint == ""
    read(qtbot, window, sample_panels / "clock-feet.svg")
    window.outlines.list.choose([p.name for p in window.desk.job.panels])
    qtbot.keyClicks(window.outlines.list, "0")
    window.go_to(Step.SHEETS)
    assert not window.sheets.main_button.isEnabled()
    assert window.sheets.scene_of_sheet.hint == (
        "No panel is to be cut: all have quantity 0. Give them one at Outlines."
    )
    shown = window.tiles.tiles[Step.OUTLINES].shown
    assert (shown.figure, shown.word) == ("0 panels", "none to cut")


def test_a_panel_left_out_beside_others_is_seen_without_scrolling(
    qtbot: QtBot, window: Window
) -> None:
    wall = JobPanel(Panel.of("wall", Contour.rectangle(0, 0, 3000, 2000)))
    foot = JobPanel(Panel.of("foot", Contour.rectangle(0, 0, 60, 40)))
    stock = window.desk.job.setup.stock
    window.desk.workbench.new(Job("wall", (wall, foot), setup=Setup(stock)))
    window.settings.search_seconds = 0.0
    arrange(qtbot, window)
    window.go_to(Step.SHEETS)
    window.resize(1280, 800)
    (box,) = [b for b in window.page.card.findChildren(NoteBox) if b.note.kind == "error"]
    assert box.note.text.startswith("wall, 1 copy: its size of 3000 x 2000 mm fits on no sheet")
    qtbot.waitUntil(lambda: not box.visibleRegion().isEmpty())
    assert box.visibleRegion().boundingRect().height() == box.height()
    assert window.sheets.main_button.text() == "Write cut file"  # what has a place can be cut


@pytest.mark.parametrize("step", [Step.KERF, Step.SHEETS])
def test_what_went_wrong_is_seen_without_scrolling(
    qtbot: QtBot, sheets: Window, step: Step
) -> None:
    sheets.go_to(step)
    wait_for(qtbot, sheets, "tune")
    sheets.resize(1280, 800)
    tile = sheets.tiles.tiles[Step.SHEETS]
    figure = tile.shown.figure
    sheets.desk.trouble(step, "Saving the job", OSError("no space"))
    (box,) = [b for b in sheets.page.card.findChildren(NoteBox) if b.note.kind == "error"]
    qtbot.waitUntil(lambda: not box.visibleRegion().isEmpty())
    assert box.visibleRegion().boundingRect().height() == box.height()
    # The plan is there as before, whatever could not be done.
    assert tile.shown.figure == figure
    assert figure.endswith("of 1 sheet")
    assert (tile.shown.state is State.BLOCKED) == (step is Step.SHEETS)


def test_of_many_panels_that_fit_nowhere_the_first_are_told() -> None:
    plan = Plan((), tuple(Unplaced(f"wall {n}", 2, "too long") for n in range(300)))
    told = left_out_notes(plan)
    assert [note.text for note in told] == [
        *(f"wall {n}, 2 copies: too long" for n in range(4)),
        "592 more panels lie on no sheet.",
    ]


def test_a_drawing_that_was_mended_is_no_trouble_any_more(
    qtbot: QtBot, window: Window, sample_panels: Path, tmp_path: Path
) -> None:
    drawing = tmp_path / "feet.svg"
    drawing.write_bytes(b"")
    said: list[str] = []
    window.desk.said.connect(said.append)
    read(qtbot, window, drawing)
    assert "The file is empty. Export the drawing again." in _notes(window)
    assert not any(said)  # nothing came of it that could be told
    drawing.write_bytes((sample_panels / "clock-feet.svg").read_bytes())
    read(qtbot, window, drawing)
    assert _notes(window) == []
    assert [text for text in said if text] == ["3 panels added."]


def test_quantity_is_typed_in_the_list_and_undone(
    qtbot: QtBot, window: Window, sample_panels: Path
) -> None:
    read(qtbot, window, sample_panels / "clock-case.dxf")
    window.outlines.list.choose(["case-back"])
    qtbot.keyClicks(window.outlines.list, "12")
    assert window.desk.job.panel("case-back").quantity == 12
    assert window.outlines.chosen_box.quantity.text() == "12"
    assert window.desk.workbench.undo_label == "Set quantity of case-back"
    qtbot.keyClick(window, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
    assert window.desk.job.panel("case-back").quantity == 1
    assert window.outlines.chosen_box.quantity.text() == "1"
    qtbot.keyClick(window, Qt.Key.Key_Y, Qt.KeyboardModifier.ControlModifier)
    assert window.desk.job.panel("case-back").quantity == 12


def test_several_panels_are_changed_as_one_step(
    qtbot: QtBot, window: Window, sample_panels: Path
) -> None:
    read(qtbot, window, sample_panels / "clock-case.dxf")
    window.outlines.list.choose(["case-back", "glass-ring"])
    qtbot.keyClick(window.outlines.list, Qt.Key.Key_Plus)
    window.outlines.chosen_box.mirror.pick(True)
    names = ("case-front", "glass-ring", "case-back")
    assert [window.desk.job.panel(n).quantity for n in names] == [1, 2, 2]
    assert [window.desk.job.panel(n).may_mirror for n in names] == [False, True, True]
    window.desk.undo()
    window.desk.undo()
    assert [window.desk.job.panel(n).quantity for n in names] == [1, 1, 1]


def test_clicking_a_panel_chooses_it_in_the_list(
    qtbot: QtBot, window: Window, sample_panels: Path
) -> None:
    read(qtbot, window, sample_panels / "clock-case.dxf")
    canvas = window.board.canvas
    qtbot.waitUntil(lambda: canvas.settled)
    place = window.outlines.scene()
    assert place is not None
    corner = window.outlines._scene.place_of_panel("case-back").topLeft()
    at = canvas.view.to_screen(corner.x() + 20, corner.y() + 20)
    qtbot.mouseClick(canvas, Qt.MouseButton.LeftButton, pos=at.toPoint())
    assert window.outlines.list.chosen() == ["case-back"]


def test_pressing_a_finding_zooms_to_its_place(
    qtbot: QtBot, window: Window, sample_panels: Path
) -> None:
    read(qtbot, window, sample_panels / "broken" / "gap-in-outline.dxf")
    canvas = window.board.canvas
    qtbot.waitUntil(lambda: canvas.settled)
    row = window.outlines.findings.rows()[0]
    scale = canvas.view.scale
    qtbot.mouseClick(row, Qt.MouseButton.LeftButton, pos=QPoint(40, 10))
    where = row.numbered.finding.where_mm
    assert where is not None
    spot = canvas.view.to_screen(*where)
    middle = canvas.drawing_area().center()
    assert canvas.view.scale > scale
    assert (spot.x(), spot.y()) == pytest.approx((middle.x(), middle.y()), abs=1.0)


def test_a_question_of_unit_is_answered_by_a_button(
    qtbot: QtBot, window: Window, sample_panels: Path
) -> None:
    read(qtbot, window, sample_panels / "label-plates.dxf")
    window.outlines.list.choose([window.desk.job.panels[0].name])
    qtbot.keyClicks(window.outlines.list, "3")
    size = window.desk.job.panels[0].panel.size_mm
    assert window.tiles.tiles[Step.OUTLINES].shown.word == "1 question"
    question = next(n for n in window.outlines._numbered if n.finding.is_question)
    centimetres = next(c for c in question.finding.choices if c.value == "cm")
    window.outlines.findings.answered.emit(question.number, centimetres, False)
    wait_for(qtbot, window, "import")
    first = window.desk.job.panels[0]
    assert first.panel.size_mm == pytest.approx((size[0] * 10, size[1] * 10))
    assert first.quantity == 3
    assert window.tiles.tiles[Step.OUTLINES].shown.state is State.DONE


def test_arranging_shows_the_plan_and_its_figures(
    qtbot: QtBot, window: Window, sample_panels: Path
) -> None:
    read(qtbot, window, sample_panels / "clock-case.dxf")
    arrange(qtbot, window)
    assert window.page is window.sheets
    plan = window.desk.job.plan
    assert plan is not None
    assert plan.placed_count == 3
    assert re.fullmatch(r"\d+\.\d %", window.sheets.figures.share.value())
    assert len(window.sheets.scene_of_sheet.placed) == 3
    assert window.tiles.tiles[Step.SHEETS].shown.state is State.DONE
    assert window.sheets.main_button.text() == "Write cut file"


def test_arranging_again_never_makes_the_plan_worse(
    qtbot: QtBot, window: Window, sample_panels: Path
) -> None:
    read(qtbot, window, sample_panels / "clock-feet.svg")
    arrange(qtbot, window)
    good = window.desk.job.plan
    assert good is not None
    window.settings.search_seconds = 0.0  # the first rows only: no better than what there is
    window.sheets.again_button.click()
    wait_for(qtbot, window, "arrange")
    assert window.desk.job.plan is good
    assert window.desk.workbench.undo_label == "Arrange panels"
    assert window.status.said().startswith("No better plan was found; the one there is stays")


def test_a_search_goes_on_from_the_plan_there_is(
    qtbot: QtBot, window: Window, sample_panels: Path
) -> None:
    read(qtbot, window, sample_panels / "clock-case.dxf", sample_panels / "clock-feet.svg")
    window.settings.search_seconds = 0.0
    arrange(qtbot, window)
    rows = window.desk.job.plan
    assert rows is not None
    window.settings.search_seconds = 0.5
    window.sheets.longer_button.click()
    wait_for(qtbot, window, "arrange")
    longer = window.desk.job.plan
    assert longer is not None
    request = request_of(window.desk.job, window.desk.panels)
    assert plan_rank(longer, [request]) <= plan_rank(rows, [request])


def test_a_changed_setting_drops_the_plan_and_undo_brings_it_back(
    qtbot: QtBot, window: Window, sample_panels: Path
) -> None:
    read(qtbot, window, sample_panels / "clock-feet.svg")
    arrange(qtbot, window)
    plan = window.desk.job.plan
    window.sheets.settings.gap.setFocus()
    window.sheets.settings.gap.selectAll()
    qtbot.keyClicks(window.sheets.settings.gap, "3,5")
    qtbot.keyClick(window.sheets.settings.gap, Qt.Key.Key_Return)
    assert window.desk.job.setup.gap_mm == 3.5
    assert window.desk.job.plan is None
    assert window.sheets.main_button.text() == "Arrange on sheets"
    window.desk.undo()
    assert window.desk.job.plan == plan


def test_settings_of_the_sheets_card(qtbot: QtBot, window: Window, sample_panels: Path) -> None:
    read(qtbot, window, sample_panels / "clock-feet.svg")
    window.go_to(Step.SHEETS)
    page = window.sheets.settings
    acrylic = next(s for s in window.desk.stocks if "acrylic" in s.name)
    page.stock.pick(acrylic)
    page.sheet_size.pick(acrylic.sizes[-1])
    for field, text in ((page.units, "4"), (page.margin, "7"), (page.kerf, "0,21")):
        field.selectAll()
        qtbot.keyClicks(field, text)
        qtbot.keyClick(field, Qt.Key.Key_Return)
    page.grain.pick(True)
    setup = window.desk.job.setup
    assert (setup.stock, setup.chosen_size) == (acrylic, acrylic.sizes[-1])
    assert (setup.units, setup.margin_mm, setup.grain_kept) == (4, 7.0, True)
    assert setup.used_kerf is not None
    assert setup.used_kerf.mean_mm == pytest.approx(0.21)
    assert window.settings.stock_name == acrylic.name


def test_the_unmeasured_kerf_is_asked_about_until_accepted(
    qtbot: QtBot, window: Window, sample_panels: Path
) -> None:
    read(qtbot, window, sample_panels / "clock-feet.svg")
    window.go_to(Step.SHEETS)
    (text,) = _notes(window)
    assert text.startswith("Nobody has measured the kerf of")
    box = window.page.card.findChild(NoteBox)
    assert box is not None
    assert [a.text for a in box.note.answers] == ["Measure it", "Go on"]
    box.note.answers[1].act()
    assert _notes(window) == []


def test_what_cannot_be_arranged_is_told_on_the_card(
    qtbot: QtBot, window: Window, sample_panels: Path
) -> None:
    read(qtbot, window, sample_panels / "clock-feet.svg")
    window.go_to(Step.SHEETS)
    window.sheets.settings.gap.selectAll()
    qtbot.keyClicks(window.sheets.settings.gap, "0")
    qtbot.keyClick(window.sheets.settings.gap, Qt.Key.Key_Return)
    arrange(qtbot, window)
    assert "is narrower than the kerf" in " ".join(_notes(window))
    assert window.tiles.tiles[Step.SHEETS].shown.state is State.BLOCKED


def test_save_and_open_again(
    qtbot: QtBot, window: Window, answers: Answers, sample_panels: Path, tmp_path: Path
) -> None:
    read(qtbot, window, sample_panels / "clock-feet.svg")
    assert window.isWindowModified()
    answers.paths = [tmp_path / "clock.lasernest"]
    qtbot.keyClick(window, Qt.Key.Key_S, Qt.KeyboardModifier.ControlModifier)
    wait_for_saves(qtbot, window)
    assert not window.isWindowModified()
    assert window.windowTitle() == "clock[*] – lasernest"
    job = window.desk.job
    window.desk.workbench.new()
    window.ask_job()
    assert window.desk.job == job
    assert window.settings.recent_jobs == [str(tmp_path / "clock.lasernest")]


def test_a_job_dropped_on_a_window_in_use_wants_another_window(
    qtbot: QtBot, window: Window, sample_panels: Path, tmp_path: Path
) -> None:
    read(qtbot, window, sample_panels / "clock-feet.svg")
    spy = QSignalSpy(window.another_wanted)
    window.take_files([tmp_path / "other.lasernest"])
    assert spy.count() == 1
    assert spy.at(0) == [tmp_path / "other.lasernest"]


def test_a_job_that_cannot_be_opened_is_told(window: Window, tmp_path: Path) -> None:
    path = tmp_path / "half.lasernest"
    path.write_text('{"format": 1, "jo')
    window.open_job(path)
    assert any("this is not a whole job file" in note for note in _notes(window))


@pytest.mark.parametrize(("key", "step"), [(f"{n}", s) for n, s in enumerate(Step, start=1)])
def test_steps_by_key(qtbot: QtBot, window: Window, key: str, step: Step) -> None:
    qtbot.keyClick(window, key, Qt.KeyboardModifier.ControlModifier)
    assert window.page.step is step
    assert window.tiles.tiles[step].isChecked()


def test_changing_the_job_while_arranging_stops_it(
    qtbot: QtBot, window: Window, sample_panels: Path
) -> None:
    read(qtbot, window, sample_panels / "clock-feet.svg")
    window.desk.arrange()
    window.outlines.list.choose([window.desk.job.panels[0].name])
    qtbot.keyClicks(window.outlines.list, "2")
    assert not window.desk.arranging
    assert window.status.said() == "The job changed, so arranging was stopped."


def test_while_the_first_plan_is_awaited_the_page_offers_to_stop(
    qtbot: QtBot, window: Window, sample_panels: Path
) -> None:
    read(qtbot, window, sample_panels / "clock-feet.svg")
    window.go_to(Step.SHEETS)
    assert "3 panels to arrange on sheets" in window.sheets.scene_of_sheet.hint
    window.desk.arrange()
    assert window.sheets.main_button.text() == "Stop, keep best"
    assert window.sheets.scene_of_sheet.hint == (
        "Arranging 3 panels; the first plan will show here."
    )
    wait_for(qtbot, window, "arrange")
    assert window.sheets.main_button.text() == "Write cut file"


def test_no_two_acts_share_a_key(window: Window) -> None:
    keys = [key for act in window.acts.acts if act.keys for key in act.keys.split(" | ")]
    assert sorted(keys) == sorted(set(keys))


def test_arranging_waits_for_drawings_that_are_being_read(
    qtbot: QtBot, window: Window, sample_panels: Path
) -> None:
    window.take_files([sample_panels / "clock-feet.svg"])
    window.desk.arrange()
    assert window.status.said() == "Arranging begins when the drawings are read."
    qtbot.waitUntil(lambda: window.desk.job.plan is not None, timeout=240_000)
    assert window.desk.troubles == ()


def test_what_could_not_be_arranged_is_forgotten_with_the_job(
    qtbot: QtBot, window: Window, sample_panels: Path
) -> None:
    arrange(qtbot, window)
    (trouble,) = window.desk.troubles
    assert trouble.sentence == "There are no panels to arrange. Add a drawing first."
    read(qtbot, window, sample_panels / "clock-feet.svg")
    assert window.desk.troubles == ()


@pytest.mark.parametrize("step", list(Step))
def test_going_to_a_page_shows_it_once(
    step: Step, window: Window, monkeypatch: pytest.MonkeyPatch
) -> None:
    window.go_to(next(other for other in Step if other is not step))
    page = window.pages[step]
    shown: list[bool] = []
    usual = page.refresh

    def counted() -> None:
        shown.append(page.shown)
        usual()

    monkeypatch.setattr(page, "refresh", counted)
    window.go_to(step)
    assert shown == [True]


def test_an_equal_job_is_not_held_against_the_last_corner_by_corner(
    qtbot: QtBot, window: Window, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The same job opened once more made every look at its panels take 0.05 s and more."""
    desk = window.desk
    desk.do(AddCase(CaseSpec(120.0, 80.0, 60.0, 3.0)))
    wait_for(qtbot, window, "joints")
    save_job(desk.job, tmp_path / "clock.lasernest")
    first = desk.job
    desk.workbench.new(load_job(tmp_path / "clock.lasernest"))
    wait_for(qtbot, window, "joints")
    assert desk.job.panels == first.panels
    assert desk.job.panels is not first.panels
    looks: list[str] = []
    monkeypatch.setattr(Contour, "__eq__", lambda one, other: looks.append("!") or one is other)
    assert desk.joined is not None
    assert desk.panels is desk.panels
    assert list(desk.panels) == [row.name for row in desk.job.panels]
    window._show_tiles()
    desk.workbench.new(replace(first))
    window._show_tiles()
    assert looks == []


def test_a_place_left_of_nought_is_told_with_a_true_minus(window: Window) -> None:
    window.status.show_pointer((-12.34, 5.0))
    assert "x −12.3  y 5.0 mm" in window.status._place.text()
