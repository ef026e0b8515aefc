"""The main job with its long work in helper processes, as the window's own entry sets it up."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from pypdf import PageObject, PdfReader
from pytestqt.qtbot import QtBot

from lasernest.gui.tiles import Step
from lasernest.gui.window import Window
from lasernest.services.apart import helpers
from tests.gui.helpers import arrange, read, wait_for


@pytest.fixture
def _apart() -> Iterator[None]:
    helpers.enable()
    yield
    helpers.close()


def _fonts(page: PageObject) -> list[Any]:
    """Fonts of a page, as pypdf reads them."""
    return [font.get_object() for font in page["/Resources"]["/Font"].values()]


@pytest.mark.usefixtures("_apart")
def test_the_main_job_is_the_same_with_helpers(
    qtbot: QtBot, window: Window, sample_panels: Path, tmp_path: Path
) -> None:
    read(qtbot, window, sample_panels / "clock-feet.svg")
    assert [p.name for p in window.desk.job.panels]
    offered = []
    window.desk.plan_changed.connect(lambda: offered.append(window.desk.shown_plan))
    arrange(qtbot, window)
    plan = window.desk.job.plan
    assert plan is not None
    assert plan.placed_count == 3
    assert any(shown is not None and shown is not plan for shown in offered)  # seen while it ran
    assert window.desk.figures is not None
    # A search that finds nothing better keeps the very plan there is.
    window.desk.arrange(0.2, go_on=True)
    wait_for(qtbot, window, "arrange")
    again = window.desk.job.plan
    assert again is plan or (again is not None and again != plan)
    window.cut_file.choose_path(tmp_path / "feet.dxf")
    window.cut_file.write()
    wait_for(qtbot, window, "write")
    assert not window.desk.troubles
    assert (tmp_path / "feet.dxf").read_bytes().startswith(b"  0")
    assert window.cut_file.verdict.text() == "1 file written. The proof passed."
    window.go_to(Step.SHEETS)
    window.picture_saver.save(window.page.pictures()[0], tmp_path / "feet.pdf", Step.SHEETS)
    qtbot.waitUntil(lambda: not window.picture_saver.busy, timeout=60_000)
    (page,) = PdfReader(tmp_path / "feet.pdf").pages
    words = page.extract_text().split()  # figures of equal width have no letters of their own
    assert {"clock-feet", "plywood", "mm"} <= set(words)
    assert {font["/BaseFont"] for font in _fonts(page)} == {"/Inter-Regular", "/Inter-SemiBold"}
    window.sheets.player.bar.toggle()
    qtbot.waitUntil(lambda: window.sheets.player.timeline is not None, timeout=60_000)
    window.sheets.player.bar.put_away()


@pytest.mark.usefixtures("_apart")
def test_stop_keeps_the_best_of_a_helper_and_closing_ends_it(
    qtbot: QtBot, window: Window, sample_panels: Path
) -> None:
    read(qtbot, window, sample_panels / "clock-feet.svg")
    window.desk.arrange(120.0)
    qtbot.waitUntil(lambda: window.desk.planner.live_plan is not None, timeout=120_000)
    task = window.desk.tasks.task("arrange")
    assert task is not None
    task.stop()
    wait_for(qtbot, window, "arrange")
    assert window.desk.job.plan is not None
    window.desk.arrange(120.0)  # the window is closed while this runs
    qtbot.waitUntil(lambda: window.desk.tasks.task("arrange") is not None)


@pytest.mark.usefixtures("_apart")
def test_what_is_wrong_with_a_drawing_is_told_by_a_helper_too(
    qtbot: QtBot, window: Window, tmp_path: Path
) -> None:
    broken = tmp_path / "broken.dxf"
    broken.write_text("not a drawing")
    read(qtbot, window, broken)
    assert [t.what for t in window.desk.troubles] == ["broken.dxf"]
    assert window.desk.troubles[0].sentence.startswith("broken.dxf")
