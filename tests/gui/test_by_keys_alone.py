"""The everyday jobs with keys alone: keys go to the window as the system sends them.

Source: WCAG 2.2, success criteria 2.1.1 (keyboard) and 2.4.7 (focus visible).
"""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from lasernest.gui.tiles import Step
from lasernest.gui.window import Window
from tests.gui.conftest import Answers
from tests.gui.helpers import wait_for

_CTRL = Qt.KeyboardModifier.ControlModifier


def _press(window: Window, key: Qt.Key, held: Qt.KeyboardModifier | None = None) -> None:
    QTest.keyClick(window.windowHandle(), key, held or Qt.KeyboardModifier.NoModifier)


def test_open_arrange_and_write_are_three_times_the_main_action(
    qtbot: QtBot, window: Window, answers: Answers, sample_panels: Path
) -> None:
    answers.paths = [sample_panels / "clock-feet.svg"]
    _press(window, Qt.Key.Key_Return, _CTRL)
    wait_for(qtbot, window, "import")
    assert len(window.desk.job.panels) == 3
    _press(window, Qt.Key.Key_Return, _CTRL)
    wait_for(qtbot, window, "arrange")
    assert window.desk.job.plan is not None
    _press(window, Qt.Key.Key_Return, _CTRL)
    wait_for(qtbot, window, "write")
    written = window.desk.written
    assert written is not None
    assert written.proof.passed


def test_the_drawing_shows_a_ring_after_keys_and_none_after_the_pointer(
    qtbot: QtBot, window: Window, answers: Answers, sample_panels: Path
) -> None:
    answers.paths = [sample_panels / "clock-feet.svg"]
    _press(window, Qt.Key.Key_Return)  # Open drawings has the keys in an empty window
    wait_for(qtbot, window, "import")
    canvas = window.board.canvas
    assert window.focusWidget() is canvas
    assert canvas.reached_by_key

    window.show_compare()
    _press(window, Qt.Key.Key_Escape)
    assert window.focusWidget() is canvas
    assert canvas.reached_by_key

    window.go_to(Step.OUTLINES)
    middle = canvas.mapTo(window, canvas.rect().center())
    QTest.mouseClick(window.windowHandle(), Qt.MouseButton.LeftButton, pos=middle)
    window.go_to(Step.SHEETS)
    assert window.focusWidget() is canvas
    assert not canvas.reached_by_key


def test_the_main_action_takes_first_what_is_being_typed(qtbot: QtBot, window: Window) -> None:
    window.go_to(Step.KERF)
    qtbot.waitUntil(lambda: window.kerf.tuner.view is not None)
    for name, text in (("gap x", "1.95"), ("gap y", "1,93"), ("plug", "19.82"), ("hole", "20.18")):
        window.kerf.fields[name].setFocus(Qt.FocusReason.TabFocusReason)
        QTest.keyClicks(window.kerf.fields[name], text)  # the last is not taken yet
    _press(window, Qt.Key.Key_Return, _CTRL)
    qtbot.waitUntil(lambda: (s := window.desk.job.setup.stock) is not None and s.kerf.measured)


def test_the_main_action_waits_for_what_cannot_be_used(qtbot: QtBot, sheets: Window) -> None:
    gap = sheets.sheets.settings.gap
    gap.setFocus(Qt.FocusReason.TabFocusReason)
    QTest.keyClicks(gap, "two")
    _press(sheets, Qt.Key.Key_Return, _CTRL)
    assert gap.is_wrong
    assert sheets.focusWidget() is gap
    assert sheets.page is sheets.sheets
