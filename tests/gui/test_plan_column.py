"""The plans above a comparison: drawn once, and a large one when all else is shown."""

from __future__ import annotations

import pytest
from PySide6.QtGui import QImage
from pytestqt.qtbot import QtBot

from lasernest.domain.contours import Contour, Pose
from lasernest.domain.panels import Panel
from lasernest.domain.plan import Placement, Sheet, SheetPlan
from lasernest.gui.compare import plan_column
from lasernest.gui.compare.plan_column import PlanView

_PANELS = {"tile": Panel.of("tile", Contour.rectangle(0, 0, 8, 8))}


def _plan(count: int) -> SheetPlan:
    places = [Pose(5.0 + 10.0 * (k % 20), 5.0 + 10.0 * (k // 20)) for k in range(count)]
    placed = tuple(Placement("tile", k, pose) for k, pose in enumerate(places, start=1))
    return SheetPlan(Sheet(210.0, 160.0, 0.0), placed)


@pytest.fixture
def drawn(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """How many panels each small plan that was drawn has."""
    drawn: list[int] = []
    draw = plan_column.small_plan

    def noted(plan: SheetPlan, *rest: object) -> object:
        drawn.append(len(plan.placements))
        return draw(plan, *rest)  # type: ignore[arg-type]

    monkeypatch.setattr(plan_column, "small_plan", noted)
    return drawn


def _colours(image: QImage) -> set[str]:
    """Of a row of pixels through the middle of the panels."""
    return {image.pixelColor(x, image.height() // 2).name() for x in range(image.width())}


def test_a_plan_shown_again_is_not_drawn_again(qtbot: QtBot, drawn: list[int]) -> None:
    view = PlanView()
    qtbot.addWidget(view)
    view.resize(420, 320)
    with qtbot.waitExposed(view):
        view.show()
    small, other = _plan(20), _plan(30)
    view.show_plan(small, _PANELS, None)
    view.grab()
    view.show_plan(small, _PANELS, None)
    view.grab()
    assert drawn == [20]
    view.show_plan(other, _PANELS, None)
    view.grab()
    view.show_plan(small, _PANELS, None)
    view.grab()
    assert drawn == [20, 30, 20]


def test_a_large_plan_is_drawn_in_a_stretch_of_its_own(qtbot: QtBot, drawn: list[int]) -> None:
    view = PlanView()
    qtbot.addWidget(view)
    view.resize(420, 320)
    with qtbot.waitExposed(view):
        view.show()
    empty = _colours(view.grab().toImage())
    view.show_plan(_plan(300), _PANELS, None)
    view.repaint()
    assert drawn == []  # painted, and no plan drawn yet
    qtbot.waitUntil(lambda: drawn == [300])
    assert len(_colours(view.grab().toImage())) > len(empty)
    assert drawn == [300]
