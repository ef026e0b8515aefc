"""The chosen joint drawn large, the case folded up beside it, and a case made here."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, QRectF, QSize, Qt
from PySide6.QtGui import QFontMetricsF, QImage, QPainter
from pytestqt.qtbot import QtBot

from lasernest.domain.contours import Contour
from lasernest.domain.joints import EdgeMeaning
from lasernest.domain.panels import Panel
from lasernest.gui.board.view import fitted
from lasernest.gui.joining.assembler import CaseLook
from lasernest.gui.look.signs import State
from lasernest.gui.look.theme import TextSize, theme
from lasernest.gui.tiles import Step
from lasernest.gui.window import Window
from lasernest.job import Job, Setup
from lasernest.joints.case import CaseSpec
from lasernest.services.joint_making import AddCase
from tests.gui.helpers import arrange, wait_for

WORK = ("joints", "fold", "stand", "propose", "preview")


def settle(qtbot: QtBot, window: Window) -> None:
    wait_for(qtbot, window, *WORK)
    qtbot.waitUntil(lambda: window.board.canvas.settled)


@pytest.fixture
def case(qtbot: QtBot, window: Window) -> Window:
    """A case of 200 by 120 by 80 mm on the desk, its page open."""
    stock = window.desk.job.setup.stock
    job = AddCase(CaseSpec(200.0, 120.0, 80.0, 3.0)).apply(Job(setup=Setup(stock)))
    window.desk.workbench.new(job)
    window.go_to(Step.JOINTS)
    settle(qtbot, window)
    return window


def picture(window: Window) -> QImage:
    return window.joints.drawing.case.canvas.grab().toImage()


def test_a_case_that_closes_is_said_to(case: Window) -> None:
    box = case.joints.drawing.case
    assert box.isVisible()
    assert box.report.text().startswith("It goes together: every loop closes")
    tile = case.tiles.tiles[Step.JOINTS].shown
    assert (tile.figure, tile.rests_on) == ("12 joints, press", "thickness 3.00 mm, nominal")
    assert tile.state is State.DONE


def test_a_panel_that_is_too_short_is_named_with_its_place(qtbot: QtBot, case: Window) -> None:
    job = case.desk.job
    short = replace(job.panel("lid"), panel=Panel.of("lid", Contour.rectangle(0, 0, 199, 120)))
    case.desk.workbench.new(job.with_panel("lid", short))
    settle(qtbot, case)
    page = case.joints
    assert page.drawing.case.report.text().startswith("It does not go together")
    found = [row.numbered for row in page.findings.rows()]
    open_loop = next(n for n in found if n.finding.code == "case-does-not-close")
    assert "lid does not fit the other panels" in open_loop.finding.message
    assert case.tiles.tiles[Step.JOINTS].shown.state is State.BLOCKED
    # The same number stands on the case.
    assert open_loop.number in {s.number for s in page.drawing.case.canvas._spots}


def test_the_case_is_turned_by_dragging_and_by_keys(qtbot: QtBot, case: Window) -> None:
    canvas = case.joints.drawing.case.canvas
    before, turn = picture(case), canvas.turn_deg
    middle = canvas.rect().center()
    qtbot.mousePress(canvas, Qt.MouseButton.LeftButton, pos=middle)
    for step in (10, 30):
        qtbot.mouseMove(canvas, middle + QPoint(step, 0))
    qtbot.mouseRelease(canvas, Qt.MouseButton.LeftButton, pos=middle + QPoint(30, 0))
    # Qt sends moves without buttons in this platform's tests, so keys settle the angle.
    qtbot.keyClick(canvas, Qt.Key.Key_Left)
    assert canvas.turn_deg != turn
    assert picture(case) != before
    tilt = canvas.tilt_deg
    qtbot.keyClick(canvas, Qt.Key.Key_Down)
    assert canvas.tilt_deg == tilt + 10.0
    qtbot.keyClick(canvas, Qt.Key.Key_Plus)
    assert canvas.nearness == 1.25
    qtbot.keyClick(canvas, Qt.Key.Key_0)
    assert (canvas.turn_deg, canvas.tilt_deg, canvas.nearness) == (-32.0, 24.0, 1.0)


def test_the_case_is_moved_apart_cut_open_and_partly_hidden(qtbot: QtBot, case: Window) -> None:
    box, assembler = case.joints.drawing.case, case.joints.assembler
    closed = assembler.view
    box.apart.setValue(50)
    settle(qtbot, case)
    assert assembler.look == CaseLook(apart=0.5)
    assert assembler.view is not closed
    box.axis.pick(0)
    box.kept.setValue(30)
    settle(qtbot, case)
    assert (assembler.look.axis, assembler.look.kept) == (0, 0.3)
    box.hide_panel("lid")
    settle(qtbot, case)
    assert assembler.view is not None
    assert "lid" not in {f.panel for f in assembler.view.standing.faces()}
    assert box.hide_button.text() == "1 hidden"
    box._reset()
    settle(qtbot, case)
    assert assembler.look == CaseLook(kept=0.3)


def test_a_joint_of_the_list_is_drawn_large_and_escape_shows_all_again(
    qtbot: QtBot, case: Window
) -> None:
    page = case.joints
    page.list.choose(0)
    settle(qtbot, case)
    assert case.board.canvas.scene is page.drawing.pair
    assert case.board.canvas.scene.caption() == (
        "1  floor = front · 21 fingers of 9.52 mm",
        "+0.05 mm, 3.00 mm deep",
    )
    # The panels of the joint are marked on the case.
    assert page.drawing.case.canvas._chosen == {"floor", "front"}
    qtbot.keyClick(case.board.canvas, Qt.Key.Key_PageDown)
    assert page.chosen == 1
    qtbot.keyClick(case.board.canvas, Qt.Key.Key_Escape)
    assert case.board.canvas.scene is page.drawing.edges
    assert page.chosen == 1
    qtbot.keyClick(case.board.canvas, Qt.Key.Key_Escape)
    assert page.chosen is None
    assert page.drawing.case.canvas._chosen == frozenset()


def test_a_grip_says_its_thousandths_under_the_pointer(qtbot: QtBot, case: Window) -> None:
    page = case.joints
    page.list.choose(0)
    settle(qtbot, case)
    pair, canvas = page.drawing.pair, case.board.canvas
    grip = pair._pair.grips[0]  # type: ignore[union-attr]
    row = pair._row_of(grip)
    at = (grip.gap_at[0] + row.dx_mm, grip.gap_at[1] + row.dy_mm)
    thing = pair.thing_at(*at, canvas.view)
    # 200 mm in 21 widths of 9.524 mm; half the interference of 0.05 mm goes to each side.
    assert pair.tip(thing) == "finger 9.549 mm in a gap of 9.499 mm: +0.050 mm"


def test_the_case_may_have_the_whole_board(case: Window) -> None:
    box = case.joints.drawing.case
    box.larger_button.click()
    board = case.board
    # Nothing is left that speaks of the drawing, or would act on it unseen.
    of_drawing = [board.canvas, board._left, board._right, board.legend, case.joints.drawing.switch]
    of_drawing += [board.fit_button, board.real_button, board.measure_button]
    assert not any(part.isVisible() for part in of_drawing)
    assert box.larger_button.text() == "Smaller"
    case.joints.choose_joint(2)  # marked on the case
    assert not any(part.isVisible() for part in of_drawing)
    box.larger_button.click()
    assert all(part.isVisible() for part in of_drawing)
    box.larger_button.click()
    case.joints.drawing.show_place(1)
    assert board.canvas.isVisible()
    assert box.larger_button.text() == "Larger"
    box.larger_button.click()
    case.go_to(Step.OUTLINES)
    assert board.canvas.isVisible()
    assert board.legend.isVisible()
    assert not box.isVisible()


def test_the_list_of_joints_uses_the_room_of_the_card(qtbot: QtBot, case: Window) -> None:
    page, row = case.joints, 44
    assert len(case.desk.job.joints) == 12
    case.resize(1280, 1100)
    qtbot.waitUntil(lambda: page.list.height() == 12 * row + 2)
    case.resize(1280, 800)
    qtbot.waitUntil(lambda: 5 * row + 2 < page.list.height() < 12 * row + 2)
    scrolled = page.card._scroll.verticalScrollBar()
    qtbot.waitUntil(lambda: scrolled.maximum() == 0)  # the list scrolls, not the card around it
    assert page.list.verticalScrollBar().maximum() > 0
    page.list.choose(11)
    qtbot.waitUntil(lambda: page.list.height() == 5 * row + 2)  # its settings take the room
    page.choose_none()
    qtbot.waitUntil(lambda: page.list.height() > 5 * row + 2)
    assert page.list.visualRect(page.list.joint_model.index(0)).top() <= 0


def test_the_written_file_says_what_the_beam_leaves_of_every_joint(
    qtbot: QtBot, case: Window, tmp_path: Path
) -> None:
    arrange(qtbot, case)
    case.desk.write_cut_files(tmp_path / "case.dxf")
    wait_for(qtbot, case, "write")
    figures = case.cut_file.joints.texts()
    # The unmeasured kerf is known to 0.05 mm: two of them, at 95 %, are 0.2 mm.
    assert figures[0] == "floor = front: +0.05 ± 0.20 mm, press"
    assert len(figures) == 4
    case.go_to(Step.JOINTS)
    case.joints.list.choose(0)
    assert case.joints.drawing.pair._measured == (
        "In the cut file: +0.05 ± 0.20 mm, worst finger +0.05 mm, press"
    )


def test_without_panels_a_plain_case_is_made_as_one_step(qtbot: QtBot, window: Window) -> None:
    window.go_to(Step.JOINTS)
    form = window.joints.form
    assert window.board.is_empty
    qtbot.waitUntil(lambda: form.canvas._case is not None, timeout=20_000)
    form.length_field.setFocus()
    form.length_field.selectAll()
    qtbot.keyClicks(form.length_field, "150")
    qtbot.keyClick(form.length_field, Qt.Key.Key_Return)
    form.sizes.pick(EdgeMeaning.INSIDE)
    form.lid.pick(False)
    form.across.setFocus()
    qtbot.keyClick(form.across, Qt.Key.Key_Up)
    qtbot.mouseClick(form.make_button, Qt.MouseButton.LeftButton)
    job = window.desk.job
    assert [p.name for p in job.panels] == [
        "floor", "front", "right", "back", "left", "divider-across-1",
    ]  # fmt: skip
    assert window.desk.workbench.undo_label == "Make a case"
    settle(qtbot, window)
    # The inner length is as typed: the outer one has two thicknesses of 3 mm more.
    x0, _, x1, _ = window.desk.panels["front"].bounds_mm()
    assert x1 - x0 == pytest.approx(156.0)
    assert window.joints.drawing.case.report.text().startswith("It goes together")
    window.desk.undo()
    assert window.desk.job.panels == ()
    assert window.board.is_empty
    wait_for(qtbot, window, *WORK)


def test_a_case_that_cannot_be_is_refused_beside_the_form(qtbot: QtBot, window: Window) -> None:
    window.go_to(Step.JOINTS)
    form = window.joints.form
    form.height_field.setFocus()
    form.height_field.selectAll()
    qtbot.keyClicks(form.height_field, "8")
    qtbot.keyClick(form.height_field, Qt.Key.Key_Return)
    assert form.problem.text() == (
        "A case with a height of 8 mm is too small for panels of 3.00 mm. Make it 15.00 mm or "
        "more, five times the thickness."
    )
    assert not form.make_button.isEnabled()
    wait_for(qtbot, window, *WORK)


def test_tags_of_small_panels_lie_apart(case: Window) -> None:
    """Twelve joints put four tags on each panel; drawn small they would cover each other."""
    scene, view = case.joints.drawing.edges, case.board.canvas.view
    large = replace(view, scale=view.scale * 3.0)
    for seen, count in ((large, 4), (view, 1)):
        for placed in scene.all_placed():
            tags = list(scene.taken_px(placed, seen))
            assert count <= len(tags) <= 4
            assert not [(a, b) for i, a in enumerate(tags) for b in tags[:i] if a.intersects(b)]


@pytest.mark.parametrize("size", [QSize(220, 200), QSize(560, 560)])
def test_words_around_a_joint_do_not_lie_over_each_other(
    case: Window, monkeypatch: pytest.MonkeyPatch, size: QSize
) -> None:
    case.joints.list.choose(0)
    scene = case.joints.drawing.pair
    assert scene._pair is not None
    assert len(scene._pair.rows) > 1
    said: list[tuple[QRectF, str]] = []

    def note(
        _painter: QPainter, rect: QRectF, text: str, *, right: bool = False, **_more: object
    ) -> None:
        strong = bool(_more)
        metrics = QFontMetricsF(theme.font(TextSize.BODY if strong else TextSize.SMALL))
        box = QRectF(rect)
        wide = min(metrics.horizontalAdvance(text), rect.width())
        if right:
            box.setLeft(box.right() - wide)
        box.setWidth(wide)
        said.append((box, text))

    monkeypatch.setattr("lasernest.gui.joining.pair_scene.caption", note)
    view = fitted(scene.bounds_mm(), QRectF(44, 44, size.width() - 88, size.height() - 88))
    picture = QImage(size, QImage.Format.Format_RGB32)
    painter = QPainter(picture)
    for _ in scene.draw(painter, view, scene.bounds_mm()):
        pass
    painter.end()
    rows = [
        view.rect_to_screen(scene._frame(row).translated(row.dx_mm, row.dy_mm))
        for row in scene._pair.rows
    ]
    assert {"floor", "front"} <= {text for _, text in said}
    for (box, text), (other, _) in combinations(said, 2):
        assert not box.intersects(other), text
    for box, text in said:
        assert not any(box.intersects(row.adjusted(0, 1, 0, -1)) for row in rows), text
    assert any(" to " in text for _, text in said) == (size.height() > 300)


def test_the_larger_case_begins_where_the_heading_of_the_board_does(
    qtbot: QtBot, case: Window
) -> None:
    box, board = case.joints.drawing.case, case.board
    left = board._left.mapTo(board, QPoint(0, 0)).x()
    box.larger_button.click()
    assert box.larger_button.text() == "Smaller"
    qtbot.waitUntil(lambda: box._title.mapTo(board, QPoint(0, 0)).x() == left)
    box.larger_button.click()
    assert box.larger_button.text() == "Larger"


@pytest.mark.parametrize("scale", [1.0, 2.0])
def test_both_names_of_a_joint_drawn_large_are_seen_whole(
    case: Window, monkeypatch: pytest.MonkeyPatch, scale: float
) -> None:
    said: dict[str, QRectF] = {}
    monkeypatch.setattr(
        "lasernest.gui.joining.pair_scene.caption",
        lambda _painter, rect, text, **_more: said.update({text: QRectF(rect)}),
    )
    case.joints.list.choose(0)
    theme.choose(text_scale=scale)
    scene = case.joints.drawing.pair
    whole = QRectF(0, 0, 560, 300)
    # As the canvas fits a scene; low enough that its height is what counts.
    above, below = 16 + scene.headroom_px(), 16 + scene.padding_px()
    view = fitted(scene.bounds_mm(), whole.adjusted(24, above, -24, -below))
    picture = QImage(560, 300, QImage.Format.Format_RGB32)
    painter = QPainter(picture)
    for _ in scene.draw(painter, view, scene.bounds_mm()):
        pass
    painter.end()
    for name in ("front", "floor"):
        assert whole.contains(said[name]), name
