"""Tab goes as the window is laid out, and the keys are never lost with a part that goes.

Source: WCAG 2.2, success criteria 2.4.3 (focus order), 2.4.7 (focus visible), 3.2.2 (no
change of context that was not asked for).
"""

from __future__ import annotations

from pathlib import Path

import ezdxf
import pytest
from PySide6.QtCore import QEvent, QPoint, Qt
from PySide6.QtGui import QContextMenuEvent, QFocusEvent
from PySide6.QtWidgets import QApplication, QCheckBox, QPushButton
from pytestqt.qtbot import QtBot

from lasernest.gui.tiles import Step
from lasernest.gui.window import Window
from tests.gui.helpers import read, wait_for


def _texts(window: Window, count: int) -> list[str]:
    """The texts of the buttons that Tab comes by, from where the keys are."""
    seen = []
    for _ in range(count):
        window.focusNextPrevChild(True)
        focused = window.focusWidget()
        seen.append(focused.text() if isinstance(focused, QPushButton) else "")
    return seen


def test_parts_made_later_are_reached_where_they_stand(window: Window) -> None:
    first = window.focusWidget()  # a blank window offers its first step
    assert isinstance(first, QPushButton)
    assert first.text() == "Open drawings…"
    # The notes on the card were made after everything else.
    assert _texts(window, 4) == ["Try the sample job", "Show me round", "Not now", "Open drawings…"]
    window.focusNextPrevChild(False)
    focused = window.focusWidget()
    assert isinstance(focused, QPushButton)
    assert focused.text() == "Not now"


def test_enter_presses_a_button_as_space_does(qtbot: QtBot, window: Window) -> None:
    told: list[str] = []
    window.outlines.open_button.clicked.connect(lambda: told.append("pressed"))
    window.outlines.open_button.setFocus(Qt.FocusReason.TabFocusReason)
    for key in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space):
        qtbot.keyClick(window.outlines.open_button, key)
    assert told == ["pressed"] * 3
    window.tiles.tiles[Step.SHEETS].setFocus(Qt.FocusReason.TabFocusReason)
    qtbot.keyClick(window.tiles.tiles[Step.SHEETS], Qt.Key.Key_Return)
    assert window.page is window.sheets


def test_the_open_step_is_the_stop_among_the_tiles(qtbot: QtBot, window: Window) -> None:
    for step in (Step.JOINTS, Step.CUT_FILE, Step.OUTLINES):
        window.go_to(step)
        window.tiles.tiles[step].setFocus(Qt.FocusReason.TabFocusReason)
        window.focusNextPrevChild(True)
        assert window.focusWidget() is window.menu_tile
        window.focusNextPrevChild(False)
        assert window.focusWidget() is window.tiles.tiles[step]


def _inch_box(path: Path) -> Path:
    """A drawing without a unit that may be millimetres, centimetres or inches."""
    drawing = ezdxf.new("R2010")
    drawing.header["$INSUNITS"] = 0
    space = drawing.modelspace()
    for n in range(4):
        corners = [(6 * n, 0), (6 * n + 5, 0), (6 * n + 5, 3), (6 * n, 3)]
        space.add_lwpolyline(corners, close=True)
    drawing.saveas(path)
    return path


def test_an_answered_question_hands_the_keys_to_the_next_one(
    qtbot: QtBot, window: Window, tmp_path: Path
) -> None:
    window.resize(1280, 700)
    read(qtbot, window, _inch_box(tmp_path / "one.dxf"), _inch_box(tmp_path / "two.dxf"))
    outlines = window.outlines

    def answers() -> list[QPushButton]:
        buttons = outlines.findings.findChildren(QPushButton)
        return [b for b in buttons if b.isVisible() and b.text() == "inches"]

    for tick in outlines.findings.findChildren(QCheckBox):
        tick.setChecked(False)
    qtbot.waitUntil(lambda: len(answers()) == 2)
    assert "The whole drawing is 584.2 × 76.2 mm then" in answers()[0].toolTip()
    answers()[0].setFocus(Qt.FocusReason.TabFocusReason)
    qtbot.keyClick(answers()[0], Qt.Key.Key_Return)
    wait_for(qtbot, window, "import")
    qtbot.waitUntil(lambda: len(answers()) == 1)
    left = answers()[0]
    qtbot.waitUntil(left.hasFocus)
    qtbot.keyClick(left, Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: answers() == [])
    # Nothing is asked any more: the keys stay on the card.
    qtbot.waitUntil(
        lambda: (
            (focused := window.focusWidget()) is not None
            and focused.isVisible()
            and outlines.card.isAncestorOf(focused)
        )
    )


@pytest.mark.parametrize("step", list(Step))
def test_a_page_that_is_opened_has_the_keys_in_sight(window: Window, step: Step) -> None:
    window.go_to(Step.KERF if step is Step.OUTLINES else Step.OUTLINES)
    window.go_to(step)
    QApplication.sendPostedEvents()
    focused = window.focusWidget()
    assert focused is not None
    assert focused.isVisible()
    assert not focused.visibleRegion().isEmpty()


def test_keys_go_on_from_a_button_that_is_switched_off(qtbot: QtBot, window: Window) -> None:
    window.go_to(Step.SHEETS)
    button_ = window.sheets.compare_button
    button_.setFocus(Qt.FocusReason.TabFocusReason)
    at = button_.mapTo(window, QPoint(0, 0)).y()
    button_.setEnabled(False)
    qtbot.waitUntil(lambda: (now := window.focusWidget()) not in (None, window) and now.isEnabled())
    now = window.focusWidget()
    assert now is not None
    assert window.sheets.card.isAncestorOf(now)
    assert abs(now.mapTo(window, QPoint(0, 0)).y() - at) < 100


def test_shift_f10_opens_the_context_menu_of_what_has_the_keys(
    qtbot: QtBot, sheets: Window
) -> None:
    asked: list[object] = []
    canvas = sheets.board.canvas
    canvas.contextMenuEvent = asked.append  # type: ignore[method-assign]
    canvas.setFocus()
    sheets.open_context_menu()
    (event,) = asked
    assert isinstance(event, QContextMenuEvent)
    assert event.reason() is QContextMenuEvent.Reason.Keyboard


def test_a_menu_that_closes_leaves_the_ring_as_it_was(qtbot: QtBot, sheets: Window) -> None:
    canvas = sheets.board.canvas
    for by_key, reason in (
        (True, Qt.FocusReason.TabFocusReason),
        (False, Qt.FocusReason.MouseFocusReason),
    ):
        canvas.focusInEvent(QFocusEvent(QEvent.Type.FocusIn, reason))
        popup = Qt.FocusReason.PopupFocusReason
        canvas.focusInEvent(QFocusEvent(QEvent.Type.FocusIn, popup))
        assert canvas.reached_by_key is by_key


def test_the_key_of_the_open_step_leads_back_to_its_drawing(sheets: Window) -> None:
    sheets.sheets.compare_button.setFocus(Qt.FocusReason.TabFocusReason)
    sheets.acts.actions["go SHEETS"].trigger()
    assert sheets.focusWidget() is sheets.board.canvas
