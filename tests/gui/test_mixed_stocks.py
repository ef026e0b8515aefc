"""A job of two stocks in the window: each sheet, figure and setting is of its own stock."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtWidgets import QWidget
from pytestqt.qtbot import QtBot

from lasernest.domain.cutting import PathKind
from lasernest.domain.stock import Kerf, Stock
from lasernest.gui.board.progress_plot import progress_of
from lasernest.gui.look.signs import State
from lasernest.gui.parts.panel_rows import PanelSort
from lasernest.gui.tiles import Step
from lasernest.gui.window import Window
from lasernest.services.commands import AddJoint, ChooseStock, SetKerf
from lasernest.services.joining import parse_joint
from tests.gui.helpers import arrange, read, wait_for

BIRCH, CAST = "birch plywood 3 mm", "cast acrylic 3 mm"


def stock(window: Window, name: str) -> Stock:
    return next(s for s in window.desk.stocks if s.name == name)


@pytest.fixture
def plain(qtbot: QtBot, window: Window, sample_panels: Path) -> Window:
    """Clock feet, all of birch."""
    read(qtbot, window, sample_panels / "clock-feet.svg")
    window.desk.do(ChooseStock(stock(window, BIRCH)), Step.SHEETS)
    return window


@pytest.fixture
def mixed(plain: Window) -> Window:
    """The last panel is cut from acrylic."""
    plain.go_to(Step.OUTLINES)
    plain.outlines.list.choose([plain.desk.job.panels[-1].name])
    plain.outlines.chosen_box.stock.pick(CAST)
    return plain


def rows(window: Window) -> list[str]:
    facts = window.outlines.list.panel_model.facts
    return [facts.row(panel) for panel in window.desk.job.panels]


def test_nothing_is_new_with_one_stock(qtbot: QtBot, plain: Window) -> None:
    assert not any(BIRCH in row for row in rows(plain))
    assert plain.outlines.stock_line.text().startswith(f"All from {BIRCH}")
    assert plain.outlines.finder.sort.findText(PanelSort.STOCK.value) == -1
    for step, picker in ((Step.SHEETS, plain.sheets.settings.picker),
                         (Step.KERF, plain.kerf.picker)):  # fmt: skip
        plain.go_to(step)
        assert picker.isHidden()
    assert "stocks" not in plain.sheets.tile().rests_on


def test_a_panel_takes_another_stock_as_one_named_step(mixed: Window) -> None:
    job = mixed.desk.job
    last = job.panels[-1].name
    assert [p.stock_name for p in job.panels] == ["", *[""] * (len(job.panels) - 2), CAST]
    assert mixed.desk.workbench.undo_label == f"Set stock of {last}"
    assert rows(mixed)[-1].startswith(f"{CAST} · ")
    assert mixed.outlines.stock_line.text() == f"From 2 stocks: {BIRCH}, {CAST}"
    # found and sorted by it
    mixed.outlines.finder.field.setText("acrylic")
    model = mixed.outlines.list.panel_model
    assert [model.panel(i).name for i in range(model.rowCount())] == [last]
    mixed.outlines.finder.field.clear()
    mixed.outlines.finder.sort.pick(PanelSort.STOCK)
    assert model.panel(model.rowCount() - 1).name == last
    mixed.desk.undo()
    assert {p.stock_name for p in mixed.desk.job.panels} == {""}


def test_many_panels_at_once(plain: Window) -> None:
    names = [p.name for p in plain.desk.job.panels]
    plain.go_to(Step.OUTLINES)
    plain.outlines.list.choose(names)
    plain.outlines.hands.set_stock(CAST)
    # Where all of them leave, the job itself is cut from it.
    assert plain.desk.workbench.undo_label == f"Set stock of {len(names)} panels"
    assert [s.name for s in plain.desk.job.setup.stocks] == [CAST]
    assert plain.outlines.stock_line.text().startswith(f"All from {CAST}")


def test_the_card_speaks_of_the_stock_of_the_sheet_that_is_shown(
    qtbot: QtBot, mixed: Window
) -> None:
    mixed.go_to(Step.SHEETS)
    assert mixed.sheets.tile().rests_on == "2 stocks"
    arrange(qtbot, mixed)
    page, plan = mixed.sheets, mixed.desk.job.plan
    assert plan is not None
    assert [one.sheet.stock_name for one in plan.sheets] == [BIRCH, CAST]
    assert list(page.settings.picker.buttons) == [BIRCH, CAST]
    assert page.tile().figure == "2 sheets of 2 stocks"
    assert page.scene_of_sheet.caption()[0].startswith(BIRCH)
    small = [w.accessibleName() for w in page.strip.findChildren(QWidget)
             if w.accessibleName().startswith("Sheet ")]  # fmt: skip
    assert sorted(small)[1].endswith(f", 1 panel, {CAST}")
    page.show_sheet(1)
    assert page.scene_of_sheet.caption()[0].startswith(CAST)
    assert page.settings.stock.value().name == CAST
    acrylic = stock(mixed, CAST)
    page.settings.kerf.committed.emit(0.31)
    assert mixed.desk.job.setup.for_stock(CAST).used_kerf == Kerf.same(0.31)
    assert mixed.desk.job.setup.used_kerf == stock(mixed, BIRCH).kerf
    page.settings.sheet_size.pick(acrylic.sizes[1])
    assert mixed.desk.job.setup.for_stock(CAST).chosen_size == acrylic.sizes[1]
    page.settings.picker.buttons[BIRCH].click()
    assert page.settings.stock.value().name == BIRCH
    assert page.settings.kerf.value_mm() == pytest.approx(stock(mixed, BIRCH).kerf.mean_mm)
    # Another one for the acrylic: its panels go with it, and the birch stays.
    page.settings.picker.buttons[CAST].click()
    other = stock(mixed, "cast acrylic 5 mm")
    page.settings.stock.pick(other)
    assert [s.name for s in mixed.desk.job.setup.stocks] == [BIRCH, other.name]
    assert mixed.desk.job.panels[-1].stock_name == other.name
    assert page.settings.stock.value() == other
    assert mixed.desk.settings.stock_name != other.name


def test_both_kerfs_are_asked_for_and_told(qtbot: QtBot, mixed: Window) -> None:
    mixed.go_to(Step.SHEETS)
    asked = [note.text for note in mixed.sheets._notes() if "Nobody has measured" in note.text]
    assert [name in text for name, text in zip((BIRCH, CAST), asked, strict=True)] == [True, True]
    tile = mixed.kerf.tile()
    assert (tile.state, tile.rests_on) == (State.QUESTION, "2 stocks, 2 unmeasured")
    assert tile.figure == "0.18 mm · 0.20 mm"
    mixed.desk.do(SetKerf(Kerf.same(0.25), CAST), Step.SHEETS)
    assert mixed.kerf.tile().rests_on == "2 stocks, 1 unmeasured"
    # Measuring begins with the stock that was asked for.
    note = next(n for n in mixed.sheets._notes() if BIRCH in n.text)
    note.answers[0].act()
    assert mixed.kerf.stock.value().name == BIRCH
    wait_for(qtbot, mixed, "tune")
    mixed.kerf.picker.buttons[CAST].click()
    wait_for(qtbot, mixed, "tune")
    assert mixed.kerf.tuner.view is not None
    assert mixed.kerf.tuner.view.stock.name == CAST
    assert CAST in mixed.kerf.target().name


def test_files_player_and_times_are_of_each_stock(
    qtbot: QtBot, mixed: Window, tmp_path: Path
) -> None:
    mixed.desk.do(SetKerf(Kerf.same(0.3), CAST), Step.SHEETS)
    arrange(qtbot, mixed)
    mixed.go_to(Step.CUT_FILE)
    page, desk = mixed.cut_file, mixed.desk
    page.show_sheet(1)
    assert CAST in page.scene_of_sheet.caption()[0]
    wait_for(qtbot, mixed, "cut paths CUT_FILE")
    timeline = page.player.timeline
    assert timeline is not None
    # The spacer is a ring of 36 mm: its path is that circle, larger by the kerf of the acrylic.
    (outer,) = [p for p in timeline.cut.paths if p.kind is PathKind.CUT_OUTER]
    assert outer.path.length_mm == pytest.approx(math.pi * (36 + 0.3))
    cut = timeline.cut.cut_length_mm
    before = desk.till.beam_s()
    assert before is not None
    mixed.desk.write_cut_files(tmp_path / "cut.dxf")
    wait_for(qtbot, mixed, "write")
    assert desk.written is not None
    assert desk.written.proof.passed
    assert desk.written.files[1].cut.cut_length_mm == pytest.approx(cut)
    speeds = [stock(mixed, name).cut_speed_mm_per_s for name in (BIRCH, CAST)]
    for entry, speed in zip(desk.written.files, speeds, strict=True):
        assert entry.time.cutting_s == pytest.approx(entry.cut.cut_length_mm / speed)
    assert desk.till.beam_s() == tuple(entry.time_s for entry in desk.written.files)
    assert desk.till.beam_s() == pytest.approx(before, rel=0.2)


def test_a_panel_goes_to_no_sheet_of_another_stock(qtbot: QtBot, mixed: Window) -> None:
    arrange(qtbot, mixed)
    mixed.go_to(Step.SHEETS)
    page = mixed.sheets
    page.show_sheet(0)
    page.scene_of_sheet.choose(frozenset({page.scene_of_sheet.placed[0].key}))
    assert 1 not in page.hands.targets()
    plan = mixed.desk.job.plan
    page.hands.to_sheet(1)
    assert mixed.desk.job.plan == plan
    page.hands.to_sheet(2)
    moved = mixed.desk.job.plan
    assert moved is not None
    # A new sheet comes after the others of its stock, and is shown.
    assert [one.sheet.stock_name for one in moved.sheets] == [BIRCH, BIRCH, CAST]
    assert page.index == 1


def test_a_material_that_must_not_be_cut_blocks_the_file(qtbot: QtBot, mixed: Window) -> None:
    pvc = replace(stock(mixed, CAST), name="white 3", material="PVC")
    mixed.desk.do(ChooseStock(pvc, CAST), Step.SHEETS)
    arrange(qtbot, mixed)
    mixed.go_to(Step.CUT_FILE)
    assert mixed.cut_file.tile().state is State.BLOCKED
    assert not mixed.cut_file.write_button.isEnabled()
    assert any("PVC must not be cut" in n.text for n in mixed.cut_file._notes())


def test_progress_counts_a_last_sheet_for_each_stock(qtbot: QtBot, mixed: Window) -> None:
    arrange(qtbot, mixed)
    plan = mixed.desk.job.plan
    assert plan is not None
    end = progress_of(plan)[-1][1]
    # Two sheets, none of them full.
    assert 0.0 < end < 2.0
    lengths_mm = [f.used_length_mm for f in mixed.desk.figures.sheets]  # type: ignore[union-attr]
    widths_mm = [one.sheet.width_mm for one in plan.sheets]
    margins_mm = [one.sheet.margin_mm for one in plan.sheets]
    used = sum(lengths_mm) - sum(margins_mm)
    assert end == pytest.approx(2.0 * used / sum(widths_mm), abs=0.03)


def test_a_booking_names_both_stocks(qtbot: QtBot, mixed: Window) -> None:
    arrange(qtbot, mixed)
    mixed.go_to(Step.CUT_FILE)
    mixed.desk.shelf.book()
    qtbot.waitUntil(lambda: mixed.desk.shelf.booking is not None, timeout=60_000)
    booking = mixed.desk.shelf.booking
    assert booking is not None
    assert [use.stock_name for use in booking.sheets] == [BIRCH, CAST]
    assert f" {BIRCH}, 1 sheet of " in mixed.cut_file.booking.text.text()
    assert {offcut.stock_name for offcut in booking.offcuts_kept} == {BIRCH, CAST}
    # The shelf shows what is kept of the stock in view.
    wait_for(qtbot, mixed, "shelf", "shop")
    mixed.go_to(Step.SHEETS)
    mixed.sheets.show_sheet(1)
    (kept,) = [o.label for o in booking.offcuts_kept if o.stock_name == CAST]
    field = mixed.sheets.settings.offcuts.choice
    offered = [field.itemText(i) for i in range(field.count())]
    assert [text.startswith(f"{kept},") for text in offered] == [False, True]
    field.activated.emit(1)
    assert [o.label for o in mixed.desk.job.setup.for_stock(CAST).offcuts] == [kept]
    assert mixed.desk.job.setup.offcuts == ()


def test_a_joint_between_the_stocks_tells_both_thicknesses(mixed: Window) -> None:
    panels = [p.panel for p in mixed.desk.job.panels]
    (a, b), names = [p.bounds_mm() for p in panels[:2]], [p.name for p in panels]
    joint = parse_joint(
        f"{names[0]}@{(a[0] + a[2]) / 2},{a[1]}={names[1]}@{(b[0] + b[2]) / 2},{b[1]}", panels
    )
    thick = stock(mixed, "cast acrylic 5 mm")
    mixed.desk.do(ChooseStock(thick, CAST), Step.SHEETS)
    mixed.desk.do(AddJoint(joint), Step.JOINTS)
    mixed.go_to(Step.JOINTS)
    assert mixed.joints.tile().rests_on == "thickness 3.00 · 5.00 mm"
    words = mixed.joints.rules._other_stocks.text()
    assert words.startswith("cast acrylic 5 mm: 5.00 mm, nominal. Where two stocks meet")
