"""The job's machine: chosen, entered, changed, removed; what was written for another falls."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import ezdxf
import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from lasernest.domain.cutting import Corner
from lasernest.domain.stock import Machine
from lasernest.gui.lengths import lengths
from lasernest.gui.look.signs import State
from lasernest.gui.obstacles import why_not_cut
from lasernest.gui.parts.basics import Text
from lasernest.gui.parts.fields import Field
from lasernest.gui.parts.machine_box import MachineBox
from lasernest.gui.parts.machine_form import MachineForm
from lasernest.gui.tiles import Step
from lasernest.gui.window import Window
from lasernest.services.commands import RenameJob
from lasernest.services.machine_choice import SetMachine
from lasernest.shop.book import ShopBook
from tests.gui.helpers import arrange, wait_for

TAB, ENTER, ESCAPE = Qt.Key.Key_Tab, Qt.Key.Key_Return, Qt.Key.Key_Escape
USUAL = Machine()
SLOW = replace(USUAL, name="slow one", travel_mm_per_s=20.0, pierce_s=3.0)
OTHER_LAYERS = replace(
    USUAL,
    name="other",
    profile=replace(USUAL.profile, outer=replace(USUAL.profile.outer, layer="X")),
)


@pytest.fixture
def cut(qtbot: QtBot, sheets: Window, tmp_path: Path) -> Window:
    """The step Cut file with a plan, where a file is to be written."""
    sheets.go_to(Step.CUT_FILE)
    sheets.cut_file.choose_path(tmp_path / "feet.dxf")
    wait_for(qtbot, sheets, "till", "figures")
    return sheets


def box_of(window: Window) -> MachineBox:
    return window.cut_file.machine_box


def press(window: Window, *keys: Qt.Key, held: Qt.KeyboardModifier | None = None) -> None:
    for key in keys:
        QTest.keyClick(window.windowHandle(), key, held or Qt.KeyboardModifier.NoModifier)


def typed(window: Window, text: str) -> None:
    focused = window.focusWidget()
    assert isinstance(focused, Field), focused
    focused.selectAll()
    QTest.keyClicks(focused, text)


def give(qtbot: QtBot, window: Window) -> None:
    box_of(window).form.give()
    wait_for(qtbot, window, "shop book", "till", "times")


def enter(qtbot: QtBot, window: Window, machine: Machine) -> None:
    """Enter a machine by the form."""
    box_of(window).open_new()
    form = box_of(window).form
    form.name.set_words(machine.name)
    form.travel.set_number(machine.travel_mm_per_s)
    form.pierce.set_number(machine.pierce_s)
    form.origin.pick(machine.profile.origin)
    form.layers["outer"].set_words(machine.profile.outer.layer)
    form.bed_width.set_mm(machine.bed_width_mm)
    give(qtbot, window)


def write(qtbot: QtBot, window: Window) -> None:
    window.cut_file.write_button.click()
    wait_for(qtbot, window, "write", "till", "times")


def is_written(window: Window) -> bool:
    page = window.cut_file
    on_tile = window.tiles.tiles[Step.CUT_FILE].shown.state is State.DONE
    in_words = page.verdict.text() == "1 file written. The proof passed."
    assert on_tile == in_words
    return in_words


def said(window: Window) -> list[str]:
    return [note.text for note in box_of(window).notes.notes()]


def answer(window: Window, text: str) -> None:
    (note,) = box_of(window).notes.notes()
    (act,) = [a.act for a in note.answers if a.text == text]
    act()


def said_of(form: MachineForm) -> list[str]:
    return [
        text.text()
        for text in form.findChildren(Text)
        if text.property("kind") == "bad" and text.isVisible()
    ]


# --- a new one ---------------------------------------------------------------------------


def test_a_machine_is_entered_by_keys_alone(qtbot: QtBot, cut: Window) -> None:
    box = box_of(cut)
    assert box.choice.currentText() == "workshop laser"
    assert box.in_short.text() == "Bed 1300 × 900 mm, zero lower left"
    box.new_button.setFocus(Qt.FocusReason.TabFocusReason)
    press(cut, ENTER)
    form = box.form
    assert "common practice" in form.basis.text()
    for text in ("bench laser", "600", "400"):
        typed(cut, text)
        press(cut, ENTER)
    assert cut.focusWidget() is form.origin  # Enter does not pass by a choice
    QTest.keyClicks(form.origin, "upper")  # as a list of choices takes letters
    press(cut, TAB)
    for text in ("80", "500 mm/s²", "1,5", "25", "IN", "OUT", "FOLD", "LETTERS"):
        typed(cut, text)
        press(cut, TAB)
    typed(cut, "by the window")
    press(cut, ENTER, held=Qt.KeyboardModifier.ControlModifier)  # the form's main action
    wait_for(qtbot, cut, "shop book", "till")
    kept = ShopBook.open().machine("bench laser")
    profile = kept.profile
    assert (kept.bed_width_mm, kept.bed_height_mm) == (600.0, 400.0)
    assert (kept.travel_mm_per_s, kept.acceleration_mm_per_s2) == (80.0, 500.0)
    assert (kept.pierce_s, kept.mark_speed_mm_per_s) == (1.5, 25.0)
    layers = [s.layer for s in (profile.inner, profile.outer, profile.score, profile.engrave)]
    assert layers == ["IN", "OUT", "FOLD", "LETTERS"]
    assert (profile.origin, kept.note) == (Corner.UPPER_LEFT, "by the window")
    assert cut.desk.job.setup.machine_name == "bench laser"
    assert cut.desk.machines.chosen == kept
    assert cut.desk.fresh_job().setup.machine_name == "bench laser"
    assert box.choice.currentText() == "bench laser"
    assert box.in_short.text() == "Bed 600 × 400 mm, zero upper left"
    assert said(cut) == ["bench laser is in the shop book, and this job is cut on it."]
    assert form.isHidden()
    assert cut.focusWidget() is box.new_button


def test_taking_a_new_one_back_is_for_book_job_and_later_jobs(qtbot: QtBot, cut: Window) -> None:
    before = cut.desk.job
    lacking: list[str] = []
    cut.desk.shop_hands.changed.connect(lambda: lacking.append(cut.desk.machines.lacking))
    enter(qtbot, cut, SLOW)
    assert lacking == [""]  # it is known at once, not when the shop book is read again
    answer(cut, "Take it back")
    wait_for(qtbot, cut, "shop book", "till")
    assert cut.desk.job is before
    assert [m.name for m in ShopBook.open().machines()] == ["workshop laser"]
    assert cut.desk.fresh_job().setup.machine_name is None
    assert box_of(cut).choice.currentText() == "workshop laser"
    assert said(cut) == []


def test_wrong_values_are_told_beside_their_fields(qtbot: QtBot, cut: Window) -> None:
    box_of(cut).open_new()
    form = box_of(cut).form
    form.name.set_words("Workshop laser")
    form.bed_height.set_mm(None)
    form.layers["inner"].set_words("cut-outer")
    give(qtbot, cut)
    assert said_of(form) == [
        "There is a machine called workshop laser already. Choose another name.",
        "The height of the bed is missing.",
        "CUT-OUTER holds inner cuts already. Each kind of line needs a layer of its own.",
    ]
    assert cut.focusWidget() is form.name
    assert len(ShopBook.open().machines()) == 1
    typed(cut, "mine")
    assert len(said_of(form)) == 2  # what was mended is no longer told


def test_fields_are_in_inches_while_inches_are_shown(qtbot: QtBot, cut: Window) -> None:
    lengths.show_inches(True)
    try:
        box_of(cut).open_new()
        form = box_of(cut).form
        assert form.travel.text() == "7.874 in/s"
        assert form.acceleration.text() == "39.37 in/s²"
        form.name.set_words("mine")
        form.travel.setFocus()
        typed(cut, "10")
        give(qtbot, cut)
        assert ShopBook.open().machine("mine").travel_mm_per_s == pytest.approx(254.0)
    finally:
        lengths.show_inches(False)


def test_large_numbers_are_shown_without_an_exponent(cut: Window) -> None:
    box_of(cut).open_new()
    field = box_of(cut).form.acceleration
    field.set_number(25000.0)
    assert field.text() == "25000 mm/s²"


# --- chosen ------------------------------------------------------------------------------


def test_choosing_one_is_undone_like_anything(qtbot: QtBot, cut: Window) -> None:
    ShopBook.open().save_machine(SLOW)
    cut.desk.till.look()
    wait_for(qtbot, cut, "till")
    choice = box_of(cut).choice
    assert [choice.itemText(i) for i in range(choice.count())] == ["slow one", "workshop laser"]
    assert choice.currentText() == "workshop laser"  # the first one, not the first by name
    choice.pick("slow one")
    assert cut.desk.job.setup.machine_name == "slow one"
    assert cut.desk.workbench.undo_label == "Cut on slow one"
    cut.desk.undo()
    assert choice.currentText() == "workshop laser"
    assert cut.desk.job.setup.machine_name is None


def test_a_machine_that_is_gone_is_told_and_nothing_is_written(
    qtbot: QtBot, cut: Window, tmp_path: Path
) -> None:
    cut.desk.do(SetMachine("old laser"), Step.CUT_FILE)
    box, page = box_of(cut), cut.cut_file
    assert box.in_short.text() == (
        "old laser is not in the shop book. Choose another one: without a machine nobody knows "
        "layers and corner of zero, so nothing is written."
    )
    assert not page.write_button.isEnabled()
    page.write()  # by its key
    cut.desk.write_cut_files(tmp_path / "feet.dxf")  # by whatever else
    wait_for(qtbot, cut, "write")
    assert not list(tmp_path.glob("*.dxf"))
    assert any("old laser" in t.sentence for t in cut.desk.troubles)
    assert cut.desk.till.beam_s() is None
    shown = cut.tiles.tiles[Step.CUT_FILE].shown
    assert shown.state is not State.DONE
    cut.go_to(Step.SHEETS)
    figures = cut.sheets.figures
    why = "old laser is not in the shop book. Choose one at Cut file."
    assert (figures.time.value(), figures.material.value()) == ("–", "–")
    assert figures.time.toolTip() == figures.material.toolTip() == why
    cut.go_to(Step.CUT_FILE)
    box.choice.pick("workshop laser")
    assert not cut.desk.troubles
    assert page.write_button.isEnabled()
    wait_for(qtbot, cut, "figures")
    assert cut.desk.till.beam_s()


# --- what was written --------------------------------------------------------------------


def test_the_file_has_the_layers_and_the_zero_of_the_machine(
    qtbot: QtBot, cut: Window, tmp_path: Path
) -> None:
    upper = replace(OTHER_LAYERS, profile=replace(OTHER_LAYERS.profile, origin=Corner.UPPER_LEFT))
    enter(qtbot, cut, upper)
    write(qtbot, cut)
    assert is_written(cut)
    drawing = ezdxf.readfile(tmp_path / "feet.dxf")  # type: ignore[attr-defined]
    layers = {e.dxf.layer for e in drawing.modelspace()}
    assert "X" in layers
    assert "CUT-OUTER" not in layers
    plan = cut.desk.job.plan
    assert plan is not None
    height_mm = plan.sheets[0].sheet.height_mm
    low, high = drawing.header["$EXTMIN"], drawing.header["$EXTMAX"]
    # The upper left corner lies at 0, 0: all of the sheet is below it.
    assert (low[0], low[1], high[1]) == pytest.approx((0.0, -height_mm, 0.0), abs=1e-6)


def test_a_file_of_another_machine_does_not_count(qtbot: QtBot, cut: Window) -> None:
    write(qtbot, cut)
    assert is_written(cut)
    enter(qtbot, cut, OTHER_LAYERS)
    assert not is_written(cut)
    assert cut.cut_file.verdict.text().startswith("Not written yet.")
    assert cut.desk.written_of(cut.desk.job.plan) is None
    assert not cut.desk.till.is_exact
    cut.desk.undo()
    assert is_written(cut)  # it is the file of this machine still


def test_a_file_of_another_machine_is_not_written_over_unasked(
    qtbot: QtBot, cut: Window, tmp_path: Path
) -> None:
    cut.cut_file.path = None
    cut.cut_file.default_path = lambda: tmp_path / "usual.dxf"  # type: ignore[method-assign]
    write(qtbot, cut)
    written = (tmp_path / "usual.dxf").read_bytes()
    enter(qtbot, cut, OTHER_LAYERS)
    write(qtbot, cut)
    assert (tmp_path / "usual.dxf").read_bytes() == written
    assert any("already there" in n.text for n in cut.cut_file.notes.notes())


@pytest.mark.parametrize("change", ["outer", "origin", "bed"])
def test_a_changed_record_makes_the_file_fall(qtbot: QtBot, cut: Window, change: str) -> None:
    write(qtbot, cut)
    box_of(cut).open_change()
    form = box_of(cut).form
    assert form.heading.text() == "Change workshop laser"
    if change == "outer":
        form.layers["outer"].set_words("Y")
    elif change == "origin":
        form.origin.pick(Corner.LOWER_RIGHT)
    else:
        form.bed_width.set_mm(800.0)
    give(qtbot, cut)
    assert not is_written(cut)
    answer(cut, "Take it back")
    wait_for(qtbot, cut, "shop book", "till", "times")
    assert is_written(cut)


def test_what_another_window_changed_is_known_when_the_page_is_opened(
    qtbot: QtBot, cut: Window
) -> None:
    write(qtbot, cut)
    cut.go_to(Step.SHEETS)
    other = ShopBook.open()
    other.save_machine(replace(OTHER_LAYERS, name=USUAL.name), instead_of=other.machine())
    cut.go_to(Step.CUT_FILE)
    wait_for(qtbot, cut, "till")
    assert not is_written(cut)


def test_another_name_alone_keeps_the_file_and_the_job_follows(qtbot: QtBot, cut: Window) -> None:
    write(qtbot, cut)
    box_of(cut).open_change()
    box_of(cut).form.name.set_words("by the window")
    give(qtbot, cut)
    assert cut.desk.job.setup.machine_name == "by the window"
    assert cut.desk.machines.lacking == ""
    assert is_written(cut)
    cut.desk.do(RenameJob("feet"), Step.CUT_FILE)  # undo would take back this one
    answer(cut, "Take it back")
    wait_for(qtbot, cut, "shop book", "till")
    assert (cut.desk.job.setup.machine_name, cut.desk.job.name) == (None, "feet")
    assert is_written(cut)


def test_speeds_change_times_and_nothing_else(qtbot: QtBot, cut: Window) -> None:
    (about_s,) = cut.desk.till.beam_s() or ()
    write(qtbot, cut)
    time, cost_s = cut.cut_file.time.value(), cut.desk.till.beam_s()
    assert cost_s is not None
    enter(qtbot, cut, SLOW)
    assert is_written(cut)
    slower = cut.desk.till.beam_s()
    assert slower is not None
    assert cut.desk.till.is_exact
    pierces = int(cut.cut_file.pierces.value())
    assert slower[0] > cost_s[0] + pierces * (SLOW.pierce_s - USUAL.pierce_s)
    assert cut.cut_file.time.value() != time
    assert cut.cut_file.time.value() in cut.tiles.tiles[Step.CUT_FILE].shown.rests_on
    wait_for(qtbot, cut, "cut paths CUT_FILE")
    timeline = cut.cut_file.player.timeline
    assert timeline is not None
    assert timeline.total_s == pytest.approx(slower[0])
    cut.desk.undo()
    wait_for(qtbot, cut, "times")
    assert cut.cut_file.time.value() == time
    assert about_s < slower[0]


def test_the_played_cut_follows_a_changed_record(qtbot: QtBot, cut: Window) -> None:
    wait_for(qtbot, cut, "cut paths CUT_FILE")
    before = cut.cut_file.player.timeline
    assert before is not None
    box_of(cut).open_change()
    box_of(cut).form.pierce.set_number(9.0)
    give(qtbot, cut)
    wait_for(qtbot, cut, "cut paths CUT_FILE")
    after = cut.cut_file.player.timeline
    assert after is not None
    pierces = sum(path.kind.is_cut for path in after.paths)
    assert after.total_s == pytest.approx(before.total_s + pierces * (9.0 - USUAL.pierce_s))


def test_arranging_goes_on_when_another_machine_is_chosen(qtbot: QtBot, cut: Window) -> None:
    cut.desk.arrange(60.0)
    assert cut.desk.arranging
    cut.desk.do(SetMachine("workshop laser"), Step.CUT_FILE)
    assert cut.desk.arranging
    cut.desk.cancel()
    wait_for(qtbot, cut, "arrange")


def test_before_it_is_written_the_times_follow_too(qtbot: QtBot, cut: Window) -> None:
    (before,) = cut.desk.till.beam_s() or ()
    enter(qtbot, cut, SLOW)
    (after,) = cut.desk.till.beam_s() or ()
    assert after > before


def test_a_sheet_beyond_the_bed_is_told(qtbot: QtBot, cut: Window) -> None:
    enter(qtbot, cut, replace(USUAL, name="small", bed_width_mm=100.0))
    write(qtbot, cut)
    told = [n.text for n in cut.cut_file.notes.notes() if "bed of small is" in n.text]
    assert len(told) == 1
    assert told[0].endswith("Cut the sheet down, or choose another machine.")


def test_a_comb_of_another_machine_does_not_count(
    qtbot: QtBot, cut: Window, tmp_path: Path
) -> None:
    cut.go_to(Step.KERF)
    tuner = cut.kerf.tuner
    wait_for(qtbot, cut, "tune")
    tuner.write_comb(tmp_path / "comb.dxf")
    wait_for(qtbot, cut, "tune", "write comb")
    assert tuner.written is not None
    enter(qtbot, cut, OTHER_LAYERS)
    assert tuner.written is None


# --- removed -----------------------------------------------------------------------------


def test_the_jobs_machine_is_removed_and_brought_back(qtbot: QtBot, cut: Window) -> None:
    enter(qtbot, cut, SLOW)
    write(qtbot, cut)
    box_of(cut).open_change()
    box_of(cut).form.remove_button.click()
    wait_for(qtbot, cut, "shop book", "till")
    assert [m.name for m in ShopBook.open().machines()] == ["workshop laser"]
    assert said(cut) == ["slow one is out of the shop book."]
    assert "slow one is not in the shop book." in box_of(cut).in_short.text()
    assert not is_written(cut)
    assert cut.desk.fresh_job().setup.machine_name is None
    answer(cut, "Take it back")
    wait_for(qtbot, cut, "shop book", "till")
    assert is_written(cut)
    assert cut.desk.fresh_job().setup.machine_name == "slow one"


def test_the_last_machine_may_go_and_one_is_asked_for(qtbot: QtBot, cut: Window) -> None:
    box_of(cut).remove()
    wait_for(qtbot, cut, "shop book", "till")
    assert box_of(cut).in_short.text().startswith("The shop book lists no machine. Enter one:")
    assert not cut.cut_file.write_button.isEnabled()
    enter(qtbot, cut, SLOW)
    assert cut.cut_file.write_button.isEnabled()
    assert why_not_cut(cut.desk) == ""


def test_somebody_elses_change_is_told_and_can_be_overridden(qtbot: QtBot, cut: Window) -> None:
    box_of(cut).open_change()
    form = box_of(cut).form
    form.note.set_words("mine")
    other = ShopBook.open()
    other.save_machine(replace(USUAL, travel_mm_per_s=77.0), instead_of=other.machine())
    give(qtbot, cut)
    assert form.isVisible()
    assert form.trouble.text().endswith("Done keeps what stands here in place of it.")
    give(qtbot, cut)
    kept = ShopBook.open().machine()
    assert (kept.note, kept.travel_mm_per_s) == ("mine", 200.0)


def test_what_was_typed_before_escape_is_still_there(cut: Window) -> None:
    box_of(cut).open_new()
    form = box_of(cut).form
    typed(cut, "half")
    press(cut, ENTER)
    press(cut, ESCAPE)
    assert form.isHidden()
    box_of(cut).open_new()
    assert form.name.words() == "half"


# --- compared ----------------------------------------------------------------------------


def test_a_comparison_rests_on_the_speeds_of_the_machine(qtbot: QtBot, cut: Window) -> None:
    arrange(qtbot, cut)
    cut.show_compare()
    comparer = cut.compare.comparer
    comparer.compare()
    wait_for(qtbot, cut, "compare", "basis", "pictures")
    assert comparer.is_fresh
    cut.desk.machine_hands.save(
        SLOW, None, Step.CUT_FILE, done=lambda: None, refused=lambda *_: None
    )
    wait_for(qtbot, cut, "shop book", "till", "basis")
    assert comparer.is_stale
    cut.desk.undo()
    wait_for(qtbot, cut, "basis")
    assert comparer.is_fresh
