"""The window's tests: offscreen, dressed in the theme, in millimetres."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from lasernest.domain.contours import Pose
from lasernest.domain.plan import Placement, Plan, Sheet, SheetPlan
from lasernest.gui.asking import Asking
from lasernest.gui.lengths import lengths
from lasernest.gui.look.theme import Brightness, theme
from lasernest.gui.settings import Settings
from lasernest.gui.tiles import Step
from lasernest.gui.window import Window
from lasernest.services.commands import KeepPlan
from lasernest.services.workbench import Workbench
from tests.gui.helpers import read

PATIENCE_MS = 120_000
"""On a busy machine anything may take long; what never comes fails then."""

_dressed = False


class PatientBot(QtBot):
    """Waits longer than five seconds where a test names no time, and at least that where it does.

    Waiting ends as soon as the awaited thing is there, so a quiet machine loses nothing.
    """

    def waitUntil(  # noqa: N802 - Qt's way of naming
        self, callback: Callable[[], bool | None], *, timeout: int = PATIENCE_MS
    ) -> None:
        super().waitUntil(callback, timeout=max(timeout, PATIENCE_MS))

    def waitSignal(  # noqa: N802 - Qt's way of naming
        self, signal: Any, *, timeout: int = PATIENCE_MS, **wishes: Any
    ) -> Any:
        return super().waitSignal(signal, timeout=max(timeout, PATIENCE_MS), **wishes)


@pytest.fixture
def qtbot(qapp: QApplication, request: pytest.FixtureRequest) -> QtBot:
    """As the plugin's, with more patience."""
    return PatientBot(request)


@pytest.fixture(autouse=True)
def documents(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The maker's documents, a folder of the test's own."""
    folder = tmp_path_factory.mktemp("documents")
    monkeypatch.setattr("lasernest.gui.parts.place.documents_folder", lambda: folder)
    return folder


@pytest.fixture(autouse=True)
def _dressed_window(qapp: QApplication) -> Iterator[None]:
    global _dressed  # noqa: PLW0603 - fonts are loaded once for the whole run
    if not _dressed:
        theme.install(qapp)
        _dressed = True
    yield
    if theme.text_scale != 1.0 or theme.high_contrast or theme.brightness is not Brightness.SYSTEM:
        theme.choose(brightness=Brightness.SYSTEM, high_contrast=False, text_scale=1.0)
    lengths.show_inches(False)
    lengths.screen_px_per_mm = 0.0


class Answers(Asking):
    """Answers for file dialogs, given by the test."""

    def __init__(self) -> None:
        self.paths: list[Path] = []
        self.shown: list[Path] = []
        """Folders that were shown."""

    def drawings(self, folder: Path) -> list[Path]:
        return self.paths

    def job(self, folder: Path) -> Path | None:
        return self.paths[0] if self.paths else None

    def save_job(self, usual: Path) -> Path | None:
        return self.paths[0] if self.paths else None

    def cut_file(self, usual: Path) -> Path | None:
        return self.paths[0] if self.paths else None

    def comparison(self, usual: Path) -> Path | None:
        return self.paths[0] if self.paths else None

    def picture(self, usual: Path) -> Path | None:
        return self.paths[0] if self.paths else None

    def template(self, usual: Path) -> tuple[Path, str] | None:
        return (self.paths[0], "letter") if self.paths else None

    def job_sheet(self, usual: Path) -> tuple[Path, str] | None:
        return (self.paths[0], "letter") if self.paths else None

    def show_folder(self, folder: Path) -> bool:
        self.shown.append(folder)
        return True


@pytest.fixture
def answers() -> Answers:
    return Answers()


@pytest.fixture
def window(qtbot: QtBot, answers: Answers) -> Iterator[Window]:
    """An empty window with its shop book open."""
    made = Window(Workbench(), Settings(search_seconds=1.0), answers)
    qtbot.addWidget(made)
    made.show()
    with qtbot.waitSignal(made.desk.stocks_changed):
        made.desk.open_shop()
    yield made
    assert made.close()
    assert made.desk.tasks.running == []


@pytest.fixture
def sheets(qtbot: QtBot, window: Window, sample_panels: Path) -> Window:
    """The step Sheets with three feet far apart on the sheet."""
    read(qtbot, window, sample_panels / "clock-feet.svg")
    job = window.desk.job
    size = job.setup.chosen_size
    assert size is not None
    stock = job.setup.stock
    assert stock is not None
    sheet = Sheet(
        size.width_mm,
        size.height_mm,
        job.setup.margin_mm,
        available=size.count,
        price=size.price,
        label=stock.name,
        stock_name=stock.name,
    )
    placements = []
    for n, panel in enumerate(job.panels):
        x0, y0, _, _ = panel.panel.bounds_mm()
        placements.append(Placement(panel.name, 1, Pose(40 - x0 + 150 * n, 120 - y0)))
    window.desk.do(KeepPlan(Plan((SheetPlan(sheet, tuple(placements)),))))
    window.go_to(Step.SHEETS)
    qtbot.waitUntil(lambda: window.board.canvas.settled)
    return window
