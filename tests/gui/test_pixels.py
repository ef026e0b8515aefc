"""The main pages look as they did, whatever the font; and the check can fail."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtCore import QPoint, QRect
from PySide6.QtWidgets import QWidget
from pytestqt.qtbot import QtBot

from lasernest.domain.contours import Pose
from lasernest.domain.plan import Placement, Plan, Sheet, SheetPlan
from lasernest.gui.look.theme import Brightness, theme
from lasernest.gui.tiles import Step
from lasernest.gui.window import Window
from lasernest.services.commands import KeepPlan, SetSheetSize
from tests.gui.helpers import read, wait_for
from tests.gui.pixel_kit import Grid, cells_of, grid_of, share_changed, stored

BOARD_LIMIT, CARD_LIMIT, TILES_LIMIT = 0.06, 0.30, 0.30
"""How much of a part may differ: fonts and a row more on a card stay below; a
blank one does not.
Tiles are all text."""


@pytest.fixture
def case(qtbot: QtBot, window: Window, sample_panels: Path) -> Window:
    """The clock case, its three panels laid on a sheet by hand."""
    theme.choose(brightness=Brightness.LIGHT)
    window.settings.tour_seen = True
    window.resize(1280, 800)
    read(qtbot, window, sample_panels / "clock-case.dxf")
    stock = window.desk.job.setup.stock
    assert stock is not None
    window.desk.do(SetSheetSize(stock.sizes[0]))
    _lay(window, 10.0)
    wait_for(qtbot, window, "figures", "joints")
    return window


def _lay(window: Window, first_x_mm: float) -> None:
    setup = window.desk.job.setup
    assert setup.chosen_size is not None
    size = setup.chosen_size
    placements, x_mm = [], first_x_mm
    for row in window.desk.job.panels:
        low_x, low_y, high_x, _ = row.panel.bounds_mm()
        placements.append(Placement(row.name, 1, Pose(x_mm - low_x, 10.0 - low_y)))
        x_mm += high_x - low_x + 5.0
    sheet = Sheet(size.width_mm, size.height_mm, setup.margin_mm)
    window.desk.do(KeepPlan(Plan((SheetPlan(sheet, tuple(placements)),))))


def _seen(qtbot: QtBot, window: Window) -> Grid:
    canvas = window.board.canvas
    while True:
        qtbot.waitUntil(lambda: canvas.settled, timeout=20_000)
        image = window.grab().toImage()
        # Grabbing lays out what was not laid out yet: then the canvas has another size, and
        # on a busy machine its new picture is only begun.
        if canvas.settled:
            return grid_of(image)


def _part(window: Window, widget: QWidget) -> tuple[slice, slice]:
    place = QRect(widget.mapTo(window, QPoint(0, 0)), widget.size())
    return cells_of(place, window.rect())


def _changes(window: Window, name: str, now: Grid) -> dict[str, float]:
    before = stored(name, now)
    return {
        "board": share_changed(before, now, _part(window, window.stage)),
        "card": share_changed(before, now, _part(window, window.page.card)),
        "tiles": share_changed(before, now, _part(window, window.tiles)),
    }


def _alike(changes: dict[str, float]) -> bool:
    return (
        changes["board"] <= BOARD_LIMIT
        and changes["card"] <= CARD_LIMIT
        and changes["tiles"] <= TILES_LIMIT
    )


def _go(step: Step) -> Callable[[Window], None]:
    return lambda window: window.go_to(step)


PAGES: dict[str, Callable[[Window], None]] = {
    "outlines": _go(Step.OUTLINES),
    "joints": _go(Step.JOINTS),
    "kerf": _go(Step.KERF),
    "sheets": _go(Step.SHEETS),
    "cut-file": _go(Step.CUT_FILE),
    "guide": lambda window: window.show_guide("kerf-and-fit"),
    "settings": lambda window: window.stage.show_settings(),
}


@pytest.mark.parametrize("name", PAGES)
def test_a_page_looks_as_it_did(qtbot: QtBot, case: Window, name: str) -> None:
    PAGES[name](case)
    wait_for(qtbot, case, "tune", "fold", "stand", "cut")
    changes = _changes(case, name, _seen(qtbot, case))
    assert _alike(changes), changes


def test_the_check_sees_a_blank_board_a_moved_card_and_a_moved_panel(
    qtbot: QtBot, case: Window
) -> None:
    case.go_to(Step.SHEETS)
    now = _seen(qtbot, case)
    assert _alike(_changes(case, "sheets", now))

    blank = now.copy()
    blank[_part(case, case.stage)] = blank[_part(case, case.stage)].max()
    assert _changes(case, "sheets", blank)["board"] > BOARD_LIMIT

    bare = now.copy()
    bare[_part(case, case.page.card)] = now[_part(case, case.page.card)].max()
    assert _changes(case, "sheets", bare)["card"] > CARD_LIMIT

    moved = np.roll(now, 3, axis=1)
    assert not _alike(_changes(case, "sheets", moved))

    _lay(case, 110.0)
    wait_for(qtbot, case, "figures")
    assert _changes(case, "sheets", _seen(qtbot, case))["board"] > BOARD_LIMIT


def test_the_check_lets_other_type_pass(qtbot: QtBot, case: Window) -> None:
    case.go_to(Step.SHEETS)
    _seen(qtbot, case)
    theme._family = "DejaVu Sans"
    try:
        theme.refresh()
        assert _alike(_changes(case, "sheets", _seen(qtbot, case)))
    finally:
        theme._family = "Inter"
        theme.refresh()


def test_a_dark_window_is_dark_and_no_page_of_it_is_blank(qtbot: QtBot, case: Window) -> None:
    theme.choose(brightness=Brightness.DARK)
    for name, go in PAGES.items():
        go(case)
        grid = _seen(qtbot, case)
        assert grid.mean() < 80.0, name
        assert len(np.unique(grid[_part(case, case.stage)])) >= 2, name
        assert (grid[_part(case, case.page.card)] > grid.min()).any(), name
