"""Tuning in the window: comb, readings, feels, use for this stock."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QImage, QPainter
from pytestqt.qtbot import QtBot

from lasernest.domain.readings import Feel, Method, Rung
from lasernest.domain.records import CutSettings
from lasernest.gui.board.how_to import HowTo, Places, draw_how_to
from lasernest.gui.look.signs import State
from lasernest.gui.parts.notes import Note, NoteBox
from lasernest.gui.tiles import Step
from lasernest.gui.window import Window
from lasernest.kerf.thickness import places_mm
from lasernest.services.commands import ChooseStock
from tests.gui.conftest import Answers
from tests.gui.helpers import wait_for


@pytest.fixture
def tuning(qtbot: QtBot, window: Window) -> Window:
    """A window at the step Kerf and fit, with its comb drawn."""
    window.go_to(Step.KERF)
    wait_for(qtbot, window, "tune")
    assert window.kerf.tuner.view is not None
    return window


def _type(qtbot: QtBot, window: Window, name: str, text: str) -> None:
    field = window.kerf.fields[name]
    field.setFocus()
    field.selectAll()
    qtbot.keyClicks(field, text)
    qtbot.keyClick(field, Qt.Key.Key_Return)


def test_comb_readings_accept_are_three_actions(
    qtbot: QtBot, tuning: Window, documents: Path
) -> None:
    page = tuning.kerf
    page.write_button.click()  # 1: make the comb
    wait_for(qtbot, tuning, "write comb")
    assert tuning.focusWidget() is page.fields["gap x"]  # what comes next
    assert (documents / "birch plywood 3 mm comb.dxf").exists()
    assert page.place.file.text() == "birch plywood 3 mm comb.dxf"
    assert page.tuner.written is not None
    assert page.tuner.written.proof.passed
    for name, text in (
        ("gap x", "1,98"),
        ("gap y", "1.98"),
        ("plug", "19.82"),
        ("hole", "20.18"),
    ):  # 2: enter readings
        _type(qtbot, tuning, name, text)
    wait_for(qtbot, tuning, "tune")
    # Ten strips lose eleven cuts: 1.98 / 11 = 0.180; plug and hole: (20.18 - 19.82) / 2.
    assert page.kerf.value().startswith("0.180 ± 0.00")
    assert page.use_button.isVisible()
    page.use_button.click()  # 3: accept
    wait_for(qtbot, tuning, "use", "tune")
    stock = tuning.desk.job.setup.stock
    assert stock is not None
    assert stock.kerf.measured
    assert stock.kerf.mean_mm == pytest.approx(0.180, abs=0.0005)
    assert tuning.tiles.tiles[Step.KERF].shown.state is State.DONE
    assert tuning.desk.workbench.shop.stock(stock.name).kerf == stock.kerf
    (record,) = tuning.desk.workbench.shop.records(stock.name)
    assert [r.method for r in record.readings] == [Method.FRAME, Method.FRAME, Method.PAIR]


def test_a_kerf_that_hardly_changes_keeps_the_plan_and_says_so(
    qtbot: QtBot, sheets: Window
) -> None:
    before = sheets.desk.job.plan
    assert before is not None
    sheets.go_to(Step.KERF)
    wait_for(qtbot, sheets, "tune")
    _type(qtbot, sheets, "gap x", "1.98")
    wait_for(qtbot, sheets, "tune")
    sheets.kerf.use_button.click()
    wait_for(qtbot, sheets, "use", "tune")
    assert sheets.desk.job.plan == before
    assert sheets.desk.job.setup.used_kerf is not None
    assert sheets.desk.job.setup.used_kerf.measured
    assert sheets.status.said() == (
        "birch plywood 3 mm uses it from now on, in this job and the next. "
        "The plan keeps gap and margin with it, so it stays."
    )
    sheets.desk.undo()
    assert sheets.desk.job.plan is before
    assert not sheets.desk.job.setup.used_kerf.measured


def test_a_comb_is_never_written_over(qtbot: QtBot, tuning: Window, documents: Path) -> None:
    (documents / "birch plywood 3 mm comb.dxf").write_text("cut last week")
    tuning.kerf.write_button.click()
    wait_for(qtbot, tuning, "write comb")
    assert (documents / "birch plywood 3 mm comb.dxf").read_text() == "cut last week"
    assert (documents / "birch plywood 3 mm comb 2.dxf").exists()


def test_the_combs_place_is_chosen_with_the_systems_dialog(
    qtbot: QtBot, tuning: Window, answers: Answers, tmp_path: Path
) -> None:
    answers.paths = [tmp_path / "first"]
    tuning.kerf.place.change_button.click()
    assert tuning.kerf.place.path == tmp_path / "first.dxf"
    tuning.kerf.write_button.click()
    wait_for(qtbot, tuning, "write comb")
    assert (tmp_path / "first.dxf").exists()
    tuning.kerf.place.open_button.click()
    assert answers.shown == [tmp_path]


def test_a_cleared_field_takes_its_reading_out(qtbot: QtBot, tuning: Window) -> None:
    _type(qtbot, tuning, "gap x", "2.0")
    assert "gap x" in tuning.kerf.tuner.draft.readings
    field = tuning.kerf.fields["gap x"]
    field.clear()
    field.setModified(True)
    qtbot.keyClick(field, Qt.Key.Key_Return)
    assert tuning.kerf.tuner.draft.is_empty
    wait_for(qtbot, tuning, "tune")


def test_feels_by_key_move_the_press_fit(qtbot: QtBot, tuning: Window) -> None:
    board = tuning.kerf.drawing
    board.setFocus()
    for key in "11223344566":
        qtbot.keyClick(board, Qt.Key.Key_Right)
        qtbot.keyClicks(board, key)
    wait_for(qtbot, tuning, "tune")
    felt = tuning.kerf.tuner.draft.felt
    assert felt[Rung.SLOT, 0] is Feel.FALLS
    assert felt[Rung.SLOT, 10] is Feel.REFUSES
    assert len(felt) == 11
    assert tuning.kerf.press.value() != "not felt yet"
    qtbot.keyClicks(board, "0")
    assert (Rung.SLOT, 10) not in tuning.kerf.tuner.draft.felt
    wait_for(qtbot, tuning, "tune")


def test_a_slip_is_told(qtbot: QtBot, tuning: Window) -> None:
    _type(qtbot, tuning, "gap x", "0.08in")  # 2.03 mm: inches are understood
    wait_for(qtbot, tuning, "tune")
    assert tuning.kerf.kerf.value().startswith("0.185 ±")
    _type(qtbot, tuning, "plug", "20.18")
    _type(qtbot, tuning, "hole", "19.82")
    wait_for(qtbot, tuning, "tune")
    notes = [b.note.text for b in tuning.kerf.card.findChildren(NoteBox)]
    assert any("Plug and hole seem to be swapped." in text for text in notes)


def test_another_reading_is_asked_for_in_place(qtbot: QtBot, tuning: Window) -> None:
    page = tuning.kerf
    page.more_button.click()
    form = page.form
    assert form.isVisible()
    form.add_button.click()
    assert form._wrong.text() == "Length before is missing."
    form.fields["BEFORE"].set_mm(100.0)  # type: ignore[union-attr]
    form.fields["AFTER"].set_mm(98.2)  # type: ignore[union-attr]
    form.fields["PIECES"].set_value(11)  # type: ignore[union-attr]
    form.add_button.click()
    wait_for(qtbot, tuning, "tune")
    assert not form.isVisible()
    # Ten cuts between eleven pieces: (100 - 98.2) / 10.
    assert page.kerf.value().startswith("0.180 ±")


def test_thickness_at_several_places(qtbot: QtBot, tuning: Window) -> None:
    field = tuning.kerf.thickness
    field.setFocus()
    qtbot.keyClicks(field, "3.02 3,04 3.06 3.04")
    qtbot.keyClick(field, Qt.Key.Key_Return)
    wait_for(qtbot, tuning, "tune")
    assert tuning.kerf.thickness_text.value().startswith("3.04 ±")
    qtbot.keyClicks(field, " x")
    qtbot.keyClick(field, Qt.Key.Key_Return)
    assert field.is_wrong
    assert field.toolTip() == "'x' is not a length. Write it like 3, 3mm, 3.2in or 1/8in."


def test_a_kerf_given_for_the_job_is_told_and_can_go(qtbot: QtBot, tuning: Window) -> None:
    tuning.sheets.settings.kerf.committed.emit(0.25)
    notes = [b.note for b in tuning.kerf.card.findChildren(NoteBox) if b.isVisibleTo(tuning)]
    (note,) = [n for n in notes if "was given a kerf of 0.250 mm" in n.text]
    assert tuning.tiles.tiles[Step.KERF].shown.rests_on == "given for this job"
    note.answers[0].act()
    assert tuning.desk.job.setup.kerf is None


def test_eight_places_are_read_one_after_the_other(qtbot: QtBot, tuning: Window) -> None:
    page = tuning.kerf
    page.places_button.click()
    form, drawing = page.places, page.drawing
    # The readings of trade-facts 4.2, an example of EN 324-1: 3.00625.
    for number, text in enumerate(("3.02", "2,98", "3.05", "3.01", "2.97", "3.03", "3.00", "2.99")):
        assert form.place() == number
        assert drawing._subject is HowTo.THICKNESS
        assert drawing._places.next == number
        qtbot.keyClicks(form.fields[number], text)
        qtbot.keyClick(form.fields[number], Qt.Key.Key_Return)
    wait_for(qtbot, tuning, "tune")
    assert form.done_button.hasFocus()
    assert page.thickness_text.value().startswith("3.01 ±")
    assert page.thickness_text.toolTip().startswith("From 2.97 mm to 3.05 mm over 8 places")
    form.done_button.click()
    assert not form.isVisible()
    page.use_button.click()
    wait_for(qtbot, tuning, "use", "tune")
    stock = tuning.desk.job.setup.stock
    assert stock is not None
    assert stock.measured_thickness_mm == pytest.approx(3.006)
    assert tuning.desk.workbench.shop.records(stock.name) == ()


def test_a_wrong_place_is_not_left(qtbot: QtBot, tuning: Window) -> None:
    tuning.kerf.places_button.click()
    form = tuning.kerf.places
    qtbot.keyClicks(form.fields[0], "thick")
    qtbot.keyClick(form.fields[0], Qt.Key.Key_Return)
    assert form.place() == 0
    assert form.fields[0].is_wrong


def test_the_record_keeps_how_the_piece_was_cut(qtbot: QtBot, tuning: Window) -> None:
    page = tuning.kerf
    page.cut_button.click()
    form = page.cut_form
    assert form.speed.text() == "14 mm/s"
    for field, text in (
        (form.machine, "the big one"),
        (form.lens, "50 mm"),
        (form.speed, "14,5"),
        (form.power, "60 %"),
        (form.passes, "2"),
        (form.note, "after cleaning"),
    ):
        field.selectAll()
        qtbot.keyClicks(field, text)
        qtbot.keyClick(field, Qt.Key.Key_Return)
    _type(qtbot, tuning, "gap x", "1.98")
    wait_for(qtbot, tuning, "tune")
    page.use_button.click()
    wait_for(qtbot, tuning, "use", "tune")
    (record,) = tuning.desk.workbench.shop.records("birch plywood 3 mm")
    assert record.settings == CutSettings("the big one", "50 mm", 14.5, 0.6, 2)
    assert record.note == "after cleaning"
    qtbot.keyClicks(form.power, "200")
    qtbot.keyClick(form.power, Qt.Key.Key_Return)
    assert form.power.toolTip() == "This must be from 1 to 100 %."


@pytest.mark.parametrize("subject", list(HowTo))
def test_each_field_and_figure_is_drawn(subject: HowTo) -> None:
    image = QImage(300, 260, QImage.Format.Format_ARGB32)
    image.fill(Qt.GlobalColor.white)
    painter = QPainter(image)
    places = Places(600.0, 400.0, places_mm(600.0, 400.0), (3.0,), 1)
    draw_how_to(painter, QRectF(0, 0, 300, 260), subject, places)
    painter.end()
    drawn = [
        image.pixelColor(x, y).rgb() != 0xFFFFFFFF
        for x in range(0, 300, 4)
        for y in range(0, 200, 4)
    ]
    assert sum(drawn) > 100


def _told_of(qtbot: QtBot, window: Window, name: str, material: str) -> Note:
    """The one note about a material, once a stock of it is chosen."""
    stock = window.desk.job.setup.stock
    assert stock is not None
    window.desk.do(ChooseStock(replace(stock, name=name, material=material)))
    wait_for(qtbot, window, "tune")
    (note,) = window.kerf.first_notes.notes()
    return note


def test_no_comb_is_offered_for_what_must_not_be_cut(
    qtbot: QtBot, tuning: Window, documents: Path
) -> None:
    page = tuning.kerf
    told = _told_of(qtbot, tuning, "foam board", "PVC foam")
    assert told.text.startswith("PVC foam must not be cut with a laser. It holds chlorine")
    assert not page.write_button.isEnabled()
    page.write()  # by its command
    wait_for(qtbot, tuning, "write comb")
    assert list(documents.glob("*.dxf")) == []
    page.tuner.set_thickness((3.0, 3.1))
    assert page.again_button.isVisible()
    assert not page.again_button.isEnabled()


def test_a_comb_of_a_doubtful_material_waits_for_an_answer(
    qtbot: QtBot, tuning: Window, documents: Path
) -> None:
    page = tuning.kerf
    asked = _told_of(qtbot, tuning, "clear sheet", "polycarbonate")
    assert asked.text.startswith("Polycarbonate: It chars and catches fire easily")
    asked.answers[0].act()
    assert page.first_notes.notes() == []
    page.write()
    wait_for(qtbot, tuning, "write comb")
    assert [path.name for path in documents.glob("*.dxf")] == ["clear sheet comb.dxf"]
