"""The strip of small plans: what can be done with a sheet is offered there, too."""

from __future__ import annotations

from dataclasses import replace

import pytest
from PySide6.QtGui import QContextMenuEvent
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from lasernest.gui.tiles import Step
from lasernest.gui.window import Window
from lasernest.services.commands import KeepPlan

POINTER, KEYS = QContextMenuEvent.Reason.Mouse, QContextMenuEvent.Reason.Keyboard


@pytest.mark.parametrize("step", [Step.SHEETS, Step.CUT_FILE])
@pytest.mark.parametrize("reason", [POINTER, KEYS])
def test_a_small_plan_offers_what_can_be_done_with_its_sheet(
    qtbot: QtBot,
    sheets: Window,
    monkeypatch: pytest.MonkeyPatch,
    step: Step,
    reason: QContextMenuEvent.Reason,
) -> None:
    plan = sheets.desk.job.plan
    assert plan is not None
    (only,) = plan.sheets
    empty = replace(only, placements=())
    sheets.desk.do(KeepPlan(replace(plan, sheets=(only, empty))))
    sheets.go_to(step)
    strip = sheets.strip
    qtbot.waitUntil(strip.isVisible)
    page = sheets.pages[step]
    if reason is KEYS:
        strip.choose(1)
    first, second = strip._small
    qtbot.waitUntil(lambda: second.x() > first.x())
    opened: list[list[str]] = []
    monkeypatch.setattr(
        f"{type(page).__module__}.open_menu",
        lambda _parent, entries, _at: opened.append([entry.text for entry in entries]),
    )
    at = second.mapToGlobal(second.rect().center())
    asked = second if reason is POINTER else strip
    QApplication.sendEvent(asked, QContextMenuEvent(reason, asked.mapFromGlobal(at), at))
    assert page.index == 1  # type: ignore[attr-defined]
    (texts,) = opened
    assert ("Lock this sheet" in texts) == (step is Step.SHEETS)
    assert "Save a picture" in texts
