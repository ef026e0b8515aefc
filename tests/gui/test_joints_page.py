"""The Joints page by what a maker does: pick edges with mouse and keys, propose, change, undo."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, Qt
from pytestqt.qtbot import QtBot

from lasernest.domain.contours import Contour
from lasernest.domain.joints import EdgeMeaning, JointKind
from lasernest.domain.panels import Panel
from lasernest.domain.stock import Fit
from lasernest.gui.look.signs import State
from lasernest.gui.tiles import Step
from lasernest.gui.window import Window
from lasernest.job import Job, JobPanel, Setup, load_job
from tests.gui.helpers import wait_for

WORK = ("joints", "fold", "stand", "propose")


def tray(window: Window, *panels: Panel) -> None:
    """Put panels on the desk and go to the page."""
    made = panels or (
        Panel.of("floor", Contour.rectangle(0, 0, 120, 80)),
        Panel.of("front", Contour.rectangle(0, -60, 120, 50)),
        Panel.of("side", Contour.rectangle(140, 0, 80, 50)),
    )
    stock = window.desk.job.setup.stock
    window.desk.workbench.new(Job("tray", tuple(JobPanel(p) for p in made), setup=Setup(stock)))
    window.go_to(Step.JOINTS)


def settle(qtbot: QtBot, window: Window) -> None:
    wait_for(qtbot, window, *WORK)
    qtbot.waitUntil(lambda: window.board.canvas.settled)


def spot(window: Window, panel: str, x_mm: float, y_mm: float) -> QPoint:
    """Where a point of a panel's drawing is on the canvas."""
    shift = window.joints.drawing.edges.offset(panel)
    assert shift is not None
    canvas = window.board.canvas
    return canvas.view.to_screen(x_mm + shift.x(), y_mm + shift.y()).toPoint()


def press(qtbot: QtBot, window: Window, panel: str, x_mm: float, y_mm: float) -> None:
    settle(qtbot, window)
    canvas = window.board.canvas
    at = spot(window, panel, x_mm, y_mm)
    qtbot.mouseMove(canvas, at)
    qtbot.mouseClick(canvas, Qt.MouseButton.LeftButton, pos=at)


def key(qtbot: QtBot, window: Window, *keys: Qt.Key, **how: object) -> None:
    for one in keys:
        qtbot.keyClick(window.board.canvas, one, **how)  # type: ignore[arg-type]


def test_without_panels_the_page_says_what_comes_first(window: Window) -> None:
    window.go_to(Step.JOINTS)
    assert window.board.is_empty
    assert window.tiles.tiles[Step.JOINTS].shown.figure == "none"


def test_two_edges_picked_with_the_mouse_are_joined_undone_and_done_again(
    qtbot: QtBot, window: Window
) -> None:
    tray(window)
    press(qtbot, window, "floor", 60, 0)
    first = window.joints.drawing.edges.first
    assert first is not None
    assert (first.edge.panel, first.edge.length_mm) == ("floor", 120.0)
    assert window.board.canvas.scene.caption()[0].startswith("floor, 120.00 mm")
    press(qtbot, window, "front", 60, -10)
    (joint,) = window.desk.job.joints
    assert (joint.a.panel, joint.b.panel, joint.kind) == ("floor", "front", JointKind.FINGER)
    assert window.joints.chosen == 0
    assert window.desk.workbench.undo_label == "Join floor and front"
    settle(qtbot, window)
    # 120 mm in odd fingers of about three thicknesses of 3 mm: floor(120 / 9) is 13.
    assert window.joints.list.joint_model.rows[0].figures.startswith("13 fingers of 9.23 mm")
    assert len(window.desk.panels["floor"].outer.vertices) > 4
    qtbot.keyClick(window, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
    assert window.desk.job.joints == ()
    assert window.joints.chosen is None
    settle(qtbot, window)
    assert len(window.desk.panels["floor"].outer.vertices) == 4
    qtbot.keyClick(window, Qt.Key.Key_Y, Qt.KeyboardModifier.ControlModifier)
    assert window.desk.job.joints == (joint,)


def test_an_edge_is_not_joined_to_its_own_panel_and_escape_lets_go(
    qtbot: QtBot, window: Window
) -> None:
    tray(window)
    press(qtbot, window, "floor", 60, 0)
    press(qtbot, window, "floor", 60, 80)
    assert window.desk.job.joints == ()
    assert window.joints.drawing.edges.first is not None
    key(qtbot, window, Qt.Key.Key_Escape)
    assert window.joints.drawing.edges.first is None


def test_keys_walk_through_panels_and_edges_and_pick(qtbot: QtBot, window: Window) -> None:
    tray(window)
    settle(qtbot, window)
    window.board.focus_canvas()
    # Edges run anticlockwise: bottom, right, top, left.
    key(qtbot, window, Qt.Key.Key_Down)
    assert window.joints.drawing.edges.hovered.edge.middle == (60.0, 0.0)
    key(qtbot, window, Qt.Key.Key_Return)
    key(qtbot, window, Qt.Key.Key_Down)
    assert window.joints.drawing.edges.hovered.edge.panel == "front"
    key(qtbot, window, Qt.Key.Key_Right, Qt.Key.Key_Right)
    assert window.joints.drawing.edges.hovered.edge.middle == (60.0, -10.0)
    key(qtbot, window, Qt.Key.Key_Return)
    (joint,) = window.desk.job.joints
    assert (joint.a.middle, joint.b.middle) == ((60.0, 0.0), (60.0, -10.0))


def test_tab_goes_through_the_panels_while_keys_pick_and_leaves_after_the_last(
    qtbot: QtBot, window: Window
) -> None:
    tray(window)
    settle(qtbot, window)
    window.board.focus_canvas()
    key(qtbot, window, Qt.Key.Key_Down)
    for name in ("front", "side"):
        assert window.joints.drawing.edges.tab(forward=True)
        assert window.joints.drawing.edges.hovered.edge.panel == name
    assert not window.joints.drawing.edges.tab(forward=True)
    assert window.joints.drawing.edges.hovered is None


def test_tabs_go_through_the_face_that_is_pressed(qtbot: QtBot, window: Window) -> None:
    tray(window)
    window.joints.kind.pick(JointKind.SLOT)
    press(qtbot, window, "side", 180, 50)
    press(qtbot, window, "floor", 60, 38)
    (joint,) = window.desk.job.joints
    assert joint.kind is JointKind.SLOT
    # The edge of 80 mm spans the floor across its depth of 80 mm, at the place pressed.
    assert joint.b.start == pytest.approx((60.0, 0.0), abs=0.6)
    assert joint.b.end == pytest.approx((60.0, 80.0), abs=0.6)
    settle(qtbot, window)
    laid = window.joints.list.joint_model.rows[0].laid
    assert laid is not None
    assert len(window.desk.panels["floor"].inner) == laid.fingers > 0


def test_a_line_on_a_face_is_moved_and_picked_with_keys(qtbot: QtBot, window: Window) -> None:
    tray(window)
    window.joints.kind.pick(JointKind.NUT)
    press(qtbot, window, "side", 180, 50)
    key(qtbot, window, Qt.Key.Key_Down)
    line = window.joints.drawing.edges.face_line
    assert line is not None
    assert (line.panel, line.start) == ("floor", (60.0, 0.0))
    shift = Qt.KeyboardModifier.ShiftModifier
    key(qtbot, window, Qt.Key.Key_Right, Qt.Key.Key_Right, modifier=shift)
    key(qtbot, window, Qt.Key.Key_Return)
    (joint,) = window.desk.job.joints
    assert (joint.kind, joint.b.start) == (JointKind.NUT, (62.0, 0.0))
    settle(qtbot, window)
    assert window.joints.box.screws.value() == "M3 × 12"


def test_proposals_are_shown_and_accepted_one_or_all(qtbot: QtBot, window: Window) -> None:
    tray(window)
    page = window.joints
    assert page.main_button.text() == "Propose joints"
    qtbot.mouseClick(page.main_button, Qt.MouseButton.LeftButton)
    settle(qtbot, window)
    pairs = {frozenset((j.a.panel, j.b.panel)) for j in page.assembler.proposals}
    assert frozenset(("floor", "front")) in pairs
    count = len(page.assembler.proposals)
    assert count >= 2
    assert page.main_button.text() == f"Accept all {count}"
    page.drawing.edges.proposal_clicked.emit(0)
    assert len(window.desk.job.joints) == 1
    assert len(page.assembler.proposals) == count - 1
    page.main_button.click()
    assert len(window.desk.job.joints) == count
    assert page.assembler.proposals == ()
    window.desk.undo()
    window.desk.undo()
    assert window.desk.job.joints == ()


def test_the_question_is_asked_once_and_its_answer_moves_the_edges(
    qtbot: QtBot, window: Window
) -> None:
    tray(window)
    press(qtbot, window, "floor", 60, 0)
    press(qtbot, window, "front", 60, -10)
    settle(qtbot, window)
    assert window.joints.rules.meaning.property("kind") == "question"
    assert window.tiles.tiles[Step.JOINTS].shown.word == "1 question"
    outside = window.desk.panels["floor"].bounds_mm()
    window.joints.rules.meaning.pictures[EdgeMeaning.INSIDE].click()
    assert window.desk.job.joint_rules.meaning is EdgeMeaning.INSIDE
    assert window.desk.workbench.undo_label == "Drawn edges are the inside"
    settle(qtbot, window)
    assert window.joints.rules.meaning.property("kind") == ""
    inside = window.desk.panels["floor"].bounds_mm()
    # Fingers now stand out by the thickness of the mate.
    assert inside[1] == pytest.approx(outside[1] - 3.0)


def test_fit_interference_and_thickness_are_set_and_say_what_they_rest_on(
    qtbot: QtBot, window: Window
) -> None:
    tray(window)
    rules = window.joints.rules
    rules.fit.pick(Fit.SLIP)
    assert window.desk.job.joint_rules.fit is Fit.SLIP
    rules.interference.setFocus()
    rules.interference.selectAll()
    qtbot.keyClicks(rules.interference, "-0,07")
    qtbot.keyClick(rules.interference, Qt.Key.Key_Return)
    assert window.desk.job.joint_rules.interference_mm == pytest.approx(-0.07)
    assert rules._rests_on.text() == "Given for this job"
    rules.interference.selectAll()
    qtbot.keyClick(rules.interference, Qt.Key.Key_Delete)
    qtbot.keyClick(rules.interference, Qt.Key.Key_Return)
    assert window.desk.job.joint_rules.interference_mm is None
    assert rules._rests_on.text() == "A starting value for plywood"
    assert rules._thick_on.text() == "Nominal, not measured (birch plywood 3 mm)"


def test_a_joint_is_changed_and_removed(qtbot: QtBot, window: Window) -> None:
    tray(window)
    press(qtbot, window, "floor", 60, 0)
    press(qtbot, window, "front", 60, -10)
    settle(qtbot, window)
    box = window.joints.box
    box.width_field.setFocus()
    box.width_field.selectAll()
    qtbot.keyClicks(box.width_field, "15")
    qtbot.keyClick(box.width_field, Qt.Key.Key_Return)
    settle(qtbot, window)
    # floor(120 / 15) is 8, one less is odd: 7 of 17.14 mm, more than five thicknesses, so 9.
    assert window.joints.list.joint_model.rows[0].figures.startswith("9 fingers of 13.33 mm")
    assert window.desk.workbench.undo_label == "Change joint 1"
    assert box.expected.value().startswith("+0.05 ± ")
    assert box.share.value().endswith("% press")
    qtbot.keyClick(window.joints.list, Qt.Key.Key_Delete)
    assert window.desk.job.joints == ()
    window.desk.undo()
    assert window.desk.job.joints[0].target_width_mm == 15.0


def test_findings_are_numbered_and_zoomed_to(qtbot: QtBot, window: Window) -> None:
    floor = Panel.of("floor", Contour.rectangle(0, 0, 120, 80), [Contour.circle(60, 4, 1.5)])
    tray(window, floor, Panel.of("front", Contour.rectangle(0, -60, 110, 50)))
    press(qtbot, window, "floor", 30, 0)
    press(qtbot, window, "front", 60, -10)
    settle(qtbot, window)
    rows = window.joints.findings.rows()
    codes = [row.numbered.finding.code for row in rows]
    assert "mate-length" in codes
    assert codes[0] in ("gap-opens-hole", "hole-under-finger", "hole-near-joint")
    before = window.board.canvas.view.scale
    rows[0].pressed.emit(1)
    assert window.board.canvas.view.scale > before


def test_joints_are_saved_and_opened_again(qtbot: QtBot, window: Window, tmp_path: Path) -> None:
    tray(window)
    press(qtbot, window, "floor", 60, 0)
    press(qtbot, window, "front", 60, -10)
    window.joints.rules.meaning.pictures[EdgeMeaning.CENTRE].click()
    job = window.desk.job
    path = window.desk.workbench.save(tmp_path / "tray.lasernest")
    assert load_job(path) == job
    window.desk.workbench.new()
    window.open_job(path)
    window.go_to(Step.JOINTS)
    settle(qtbot, window)
    assert window.tiles.tiles[Step.JOINTS].shown.figure == "1 joint, press"
    assert window.tiles.tiles[Step.JOINTS].shown.state in (State.DONE, State.QUESTION)
