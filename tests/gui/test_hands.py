"""Panels moved by hand on a sheet: with the pointer, with keys, from the menu."""

from __future__ import annotations

from dataclasses import replace

import pytest
from PySide6.QtCore import QEvent, QPoint, QPointF, Qt
from PySide6.QtGui import QContextMenuEvent, QMouseEvent
from PySide6.QtWidgets import QWidget
from pytestqt.qtbot import QtBot

from lasernest.domain.plan import Placement, Plan
from lasernest.gui.parts.entries import Entry
from lasernest.gui.tiles import Step
from lasernest.gui.window import Window
from lasernest.nesting import plan_problems
from lasernest.services.commands import KeepPlan, SetQuantity, Together
from lasernest.services.planning import request_of
from tests.gui.helpers import arrange

_LEFT = Qt.MouseButton.LeftButton


def _middle(window: Window, index: int) -> QPoint:
    placed = window.sheets.scene_of_sheet.placed[index]
    # A foot is a plate with holes: its name stands on its face.
    spot = next(
        placed.bounds.topLeft()
        + QPointF(placed.bounds.width() * i / 20, placed.bounds.height() * j / 20)
        for i in range(3, 17)
        for j in range(3, 17)
        if placed.holds(
            placed.bounds.left() + placed.bounds.width() * i / 20,
            placed.bounds.top() + placed.bounds.height() * j / 20,
        )
    )
    return window.board.canvas.view.to_screen(spot.x(), spot.y()).toPoint()


def _drag(
    qtbot: QtBot,
    window: Window,
    start: QPoint,
    by: QPoint,
    *,
    modifiers: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier,
    drop: bool = True,
) -> None:
    canvas = window.board.canvas
    qtbot.mousePress(canvas, _LEFT, modifiers, start)
    for share in (0.3, 0.6, 1.0):
        at = start + (QPointF(by) * share).toPoint()
        event_at = QPointF(at)
        move = QMouseEvent(
            QEvent.Type.MouseMove,
            event_at,
            QPointF(canvas.mapToGlobal(at)),
            Qt.MouseButton.NoButton,
            _LEFT,
            modifiers,
        )
        canvas.mouseMoveEvent(move)
    if drop:
        qtbot.mouseRelease(canvas, _LEFT, modifiers, start + by)


def _problems(window: Window) -> tuple[str, ...]:
    job = window.desk.job
    assert job.plan is not None
    return plan_problems(request_of(job, window.desk.panels), job.plan)


def _placement(window: Window, index: int) -> Placement:
    plan = window.desk.job.plan
    assert plan is not None
    return plan.sheets[0].placements[index]


def test_a_panel_is_dragged_and_undo_brings_it_back(qtbot: QtBot, sheets: Window) -> None:
    before = _placement(sheets, 0)
    _drag(
        qtbot, sheets, _middle(sheets, 0), QPoint(0, -90), modifiers=Qt.KeyboardModifier.AltModifier
    )
    after = _placement(sheets, 0)
    scale = sheets.board.canvas.view.scale
    assert after.pose.y_mm - before.pose.y_mm == pytest.approx(90 / scale, abs=0.6 / scale)
    assert after.pose.x_mm == pytest.approx(before.pose.x_mm, abs=0.6 / scale)
    assert sheets.desk.workbench.undo_label == f"Move {before.panel_name}"
    assert _problems(sheets) == ()
    sheets.desk.undo()
    assert _placement(sheets, 0) == before


def test_a_panel_near_another_snaps_to_the_gap(qtbot: QtBot, sheets: Window) -> None:
    first, second = sheets.sheets.scene_of_sheet.placed[:2]
    scale = sheets.board.canvas.view.scale
    gap_mm = second.bounds.left() - first.bounds.right()
    # Four pixels short of touching by the gap: the gap attracts from ten.
    _drag(qtbot, sheets, _middle(sheets, 0), QPoint(round((gap_mm - 2.0) * scale) - 4, 0))
    moved = sheets.sheets.scene_of_sheet.placed[0]
    assert second.bounds.left() - moved.bounds.right() == pytest.approx(2.0, abs=1e-6)
    assert _problems(sheets) == ()


def test_a_collision_is_shown_and_not_kept(qtbot: QtBot, sheets: Window) -> None:
    before = _placement(sheets, 0)
    scene = sheets.sheets.scene_of_sheet
    by = scene.placed[1].bounds.center() - scene.placed[0].bounds.center()
    step = QPointF(by.x() * sheets.board.canvas.view.scale, 0).toPoint()
    _drag(qtbot, sheets, _middle(sheets, 0), step, drop=False)
    assert scene._touch is not None
    assert scene._touch.others == {scene.placed[1].key}
    assert scene.caption()[1].endswith("too near")
    qtbot.mouseRelease(sheets.board.canvas, _LEFT, pos=_middle(sheets, 1))
    assert _placement(sheets, 0) == before
    assert "would overlap" in sheets.status.said()


def test_escape_gives_a_drag_up(qtbot: QtBot, sheets: Window) -> None:
    before = _placement(sheets, 0)
    _drag(qtbot, sheets, _middle(sheets, 0), QPoint(0, -60), drop=False)
    qtbot.keyClick(sheets.board.canvas, Qt.Key.Key_Escape)
    qtbot.mouseRelease(sheets.board.canvas, _LEFT)
    assert _placement(sheets, 0) == before


def test_keys_do_what_dragging_does(qtbot: QtBot, sheets: Window) -> None:
    canvas = sheets.board.canvas
    before = _placement(sheets, 0)
    qtbot.keyClick(canvas, Qt.Key.Key_Space)
    assert sheets.sheets.scene_of_sheet.chosen == {(before.panel_name, 1)}
    for _ in range(3):
        qtbot.keyClick(canvas, Qt.Key.Key_Up)
    qtbot.keyClick(canvas, Qt.Key.Key_Right, Qt.KeyboardModifier.ShiftModifier)
    qtbot.keyClick(canvas, Qt.Key.Key_Left, Qt.KeyboardModifier.ControlModifier)
    after = _placement(sheets, 0)
    assert after.pose.x_mm - before.pose.x_mm == pytest.approx(9.9)
    assert after.pose.y_mm - before.pose.y_mm == pytest.approx(3.0)
    sheets.desk.undo()  # nudges of one panel are one step
    assert _placement(sheets, 0) == before


def test_a_nudge_stops_at_the_margin(qtbot: QtBot, sheets: Window) -> None:
    canvas = sheets.board.canvas
    qtbot.keyClick(canvas, Qt.Key.Key_Space)
    for _ in range(8):
        qtbot.keyClick(canvas, Qt.Key.Key_Left, Qt.KeyboardModifier.ShiftModifier)
    left = sheets.sheets.scene_of_sheet.placed[0].bounds.left()
    assert left == pytest.approx(sheets.desk.job.setup.margin_mm, abs=0.01)
    assert "too near to the edge" in sheets.status.said()
    assert _problems(sheets) == ()


def test_a_place_is_typed_on_the_card(qtbot: QtBot, sheets: Window) -> None:
    qtbot.keyClick(sheets.board.canvas, Qt.Key.Key_Space)
    box = sheets.sheets.placed
    assert box.isVisible()
    box.lower_edge.setFocus()
    box.lower_edge.selectAll()
    qtbot.keyClicks(box.lower_edge, "33,25")
    qtbot.keyClick(box.lower_edge, Qt.Key.Key_Return)
    assert sheets.sheets.scene_of_sheet.placed[0].bounds.top() == pytest.approx(33.25)
    box.left_edge.selectAll()
    qtbot.keyClicks(box.left_edge, "1")
    qtbot.keyClick(box.left_edge, Qt.Key.Key_Return)
    assert "too near to the edge" in sheets.status.said()


def test_pinned_panels_stay_when_the_rest_is_arranged(qtbot: QtBot, sheets: Window) -> None:
    canvas = sheets.board.canvas
    qtbot.keyClick(canvas, Qt.Key.Key_Space)
    qtbot.keyClick(canvas, Qt.Key.Key_P)
    pinned = _placement(sheets, 0)
    assert pinned.pinned
    assert sheets.sheets.again_button.text() == "Arrange the rest"
    arrange(qtbot, sheets)
    plan = sheets.desk.job.plan
    assert plan is not None
    assert pinned in plan.sheets[0].placements
    assert _problems(sheets) == ()


def test_turning_asks_the_grain(qtbot: QtBot, sheets: Window) -> None:
    canvas = sheets.board.canvas
    qtbot.keyClick(canvas, Qt.Key.Key_Space)
    qtbot.keyClick(canvas, Qt.Key.Key_R)
    assert _placement(sheets, 0).pose.turn_deg == 180.0
    assert _problems(sheets) == ()


def test_the_context_menu_names_what_can_be_done(
    sheets: Window, monkeypatch: pytest.MonkeyPatch
) -> None:
    scene = sheets.sheets.scene_of_sheet
    texts = [e.text for e in scene.menu(scene.placed[0].key)]
    assert texts == [
        "Pin here",
        "Turn by 180°",
        "Move to",
        "",
        "Lock this sheet",
        "Show the swept kerf",
        "Play the cut from here",
        "Cut again…",
        "",
        "Save a picture",
        "Paper template",
    ]
    lock = next(e for e in scene.menu(None) if e.text == "Lock this sheet")
    assert lock.run is not None
    lock.run()
    plan = sheets.desk.job.plan
    assert plan is not None
    assert plan.sheets[0].locked
    assert scene.caption()[1] == "sheet 1 of 1 · locked"
    opened: list[list[str]] = []
    monkeypatch.setattr(
        "lasernest.gui.board.canvas.open_menu",
        lambda _canvas, entries, _at: opened.append([e.text for e in entries]),
    )
    canvas = sheets.board.canvas
    at = _middle(sheets, 1)
    event = QContextMenuEvent(QContextMenuEvent.Reason.Mouse, at, canvas.mapToGlobal(at))
    canvas.contextMenuEvent(event)
    assert opened[0][:3] == [
        "Unlock this sheet",
        "Show the swept kerf",
        "Play the cut from here",
    ]
    assert scene.chosen == {scene.placed[1].key}


def test_a_panel_goes_to_another_sheet(qtbot: QtBot, sheets: Window) -> None:
    plan = sheets.desk.job.plan
    assert plan is not None
    (sheet,) = plan.sheets
    first, rest = sheet.placements[:1], sheet.placements[1:]
    two = Plan((replace(sheet, placements=first), replace(sheet, placements=rest)))
    sheets.desk.do(KeepPlan(two))
    scene = sheets.sheets.scene_of_sheet
    scene.choose(frozenset({scene.placed[0].key}))
    entries = {e.text: e for e in scene.menu(scene.placed[0].key)}
    target: Entry = entries["Move to"].entries[0]
    assert target.text == "Sheet 2"
    assert target.run is not None
    target.run()
    plan = sheets.desk.job.plan
    assert plan is not None
    assert len(plan.sheets) == 1  # the first one is empty now and gone
    assert sheets.sheets.index == 0
    assert len(plan.sheets[0].placements) == 3
    assert _problems(sheets) == ()


def test_a_panel_goes_to_a_new_sheet(sheets: Window) -> None:
    scene = sheets.sheets.scene_of_sheet
    key = scene.placed[0].key
    scene.choose(frozenset({key}))
    entries = {e.text: e for e in scene.menu(key)}
    (target,) = entries["Move to"].entries
    assert target.text == "A new sheet"
    assert target.run is not None
    target.run()
    plan = sheets.desk.job.plan
    assert plan is not None
    assert [len(s.placements) for s in plan.sheets] == [2, 1]
    assert sheets.sheets.index == 1
    assert _problems(sheets) == ()
    assert sheets.desk.workbench.undo_label == f"Move {key[0]} to sheet 2"


def test_panels_are_let_go_over_the_small_plan_of_another_sheet(
    qtbot: QtBot, sheets: Window
) -> None:
    scene = sheets.sheets.scene_of_sheet
    names = [placed.key[0] for placed in scene.placed]
    scene.choose(frozenset({scene.placed[2].key}))
    sheets.sheets.hands.to_sheet(1)
    sheets.sheets.show_sheet(0)
    qtbot.waitUntil(lambda: sheets.strip.isVisible() and sheets.board.canvas.settled)
    qtbot.keyClick(sheets.board.canvas, Qt.Key.Key_A, Qt.KeyboardModifier.ControlModifier)
    assert len(scene.chosen) == 2
    scene.choose(frozenset({scene.placed[0].key}))
    small = next(
        w for w in sheets.strip.findChildren(QWidget) if w.accessibleName().startswith("Sheet 2")
    )
    at = sheets.board.canvas.mapFromGlobal(small.mapToGlobal(small.rect().center()))
    start = _middle(sheets, 0)
    _drag(qtbot, sheets, start, at - start, drop=False)
    assert scene.caption()[1] == "let go to put it on sheet 2"
    qtbot.mouseRelease(sheets.board.canvas, _LEFT, pos=at)
    plan = sheets.desk.job.plan
    assert plan is not None
    assert [[p.panel_name for p in s.placements] for s in plan.sheets] == [
        [names[1]],
        [names[2], names[0]],
    ]
    assert _problems(sheets) == ()
    sheets.desk.undo()
    plan = sheets.desk.job.plan
    assert plan is not None
    assert [len(s.placements) for s in plan.sheets] == [2, 1]


def test_a_locked_sheet_refuses_to_be_changed(qtbot: QtBot, sheets: Window) -> None:
    before = sheets.desk.job.plan
    assert before is not None
    sheets.sheets.hands.lock()
    qtbot.keyClick(sheets.board.canvas, Qt.Key.Key_Space)
    qtbot.keyClick(sheets.board.canvas, Qt.Key.Key_Up)
    assert sheets.status.said() == "Sheet 1 is locked; unlock it to move its panels."
    qtbot.keyClick(sheets.board.canvas, Qt.Key.Key_R)
    sheets.sheets.hands.to_sheet(1)
    after = sheets.desk.job.plan
    assert after is not None
    assert after.sheets[0].placements == before.sheets[0].placements
    assert sheets.desk.workbench.undo_label == "Lock sheet 1"


def test_nothing_is_moved_while_arranging(qtbot: QtBot, sheets: Window) -> None:
    names = [p.name for p in sheets.desk.job.panels]
    sheets.desk.do(Together("More", tuple(SetQuantity(n, 20) for n in names)))
    sheets.desk.arrange(5.0)
    assert sheets.sheets.hands.sheet() is None
    assert sheets.sheets.scene_of_sheet.menu(None) == []
    sheets.desk.cancel()
    qtbot.waitUntil(lambda: not sheets.desk.arranging, timeout=60_000)


def test_the_menu_that_keys_open_stands_at_the_chosen_panel(sheets: Window) -> None:
    scene, canvas = sheets.sheets.scene_of_sheet, sheets.board.canvas
    assert not scene.chosen_mm().isValid()
    scene.choose(frozenset({scene.placed[1].key}))
    assert scene.chosen_mm() == scene.placed[1].bounds
    scene.choose(frozenset(p.key for p in scene.placed))
    assert scene.chosen_mm().contains(scene.placed[0].bounds)
    assert canvas.view.rect_to_screen(scene.chosen_mm()).isValid()


def test_who_comes_with_keys_is_told_that_space_chooses_panels(
    qtbot: QtBot, sheets: Window
) -> None:
    canvas, told = sheets.board.canvas, sheets.board._right

    def reach(reason: Qt.FocusReason) -> None:
        canvas.clearFocus()
        canvas.setFocus(reason)
        qtbot.waitUntil(canvas.hasFocus)

    reach(Qt.FocusReason.MouseFocusReason)
    assert told.text() == "sheet 1 of 1"
    reach(Qt.FocusReason.TabFocusReason)
    assert told.text() == "Space: choose a panel · sheet 1 of 1"
    assert canvas.accessibleDescription() == "Space: choose a panel"
    qtbot.keyClick(canvas, Qt.Key.Key_Space)
    assert len(sheets.sheets.scene_of_sheet.chosen) == 1
    assert told.text() == "Space: the next panel · sheet 1 of 1"
    canvas.clearFocus()
    assert told.text() == "sheet 1 of 1"
    sheets.go_to(Step.OUTLINES)
    assert canvas.accessibleDescription() == ""


def test_the_fields_of_a_chosen_panel_come_into_sight(qtbot: QtBot, sheets: Window) -> None:
    sheets.resize(1024, 620)
    scene, placed = sheets.sheets.scene_of_sheet, sheets.sheets.placed
    view = sheets.sheets.card._scroll.viewport()
    scene.choose(frozenset({scene.placed[0].key}))

    def whole() -> None:
        top = placed.mapTo(view, QPoint(0, 0)).y()
        assert top >= 0
        assert top + placed.height() <= view.height()

    qtbot.waitUntil(whole)
