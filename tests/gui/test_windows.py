"""Several windows, each with a job of its own; closing while work runs loses nothing."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtCore import QMimeData, QPointF, Qt, QUrl
from PySide6.QtGui import QDropEvent
from pytestqt.qtbot import QtBot

from lasernest.domain.rates import Rates
from lasernest.gui.settings import Settings, load_settings
from lasernest.gui.tiles import Step
from lasernest.gui.window import Window
from lasernest.gui.windows import Windows
from lasernest.job import load_job
from lasernest.services import autosave
from lasernest.services.plan_commands import key_of
from tests.gui.conftest import Answers
from tests.gui.helpers import arrange, read, wait_for, wait_for_saves


@pytest.fixture
def windows(qtbot: QtBot) -> Iterator[Windows]:
    made = Windows(Settings(search_seconds=30.0, tour_seen=True))
    yield made
    for window in list(made.open):
        assert window.close()


def _add(qtbot: QtBot, windows: Windows, path: Path | None = None) -> Window:
    window = windows.add(path)
    wait_for(qtbot, window, "shop")
    qtbot.waitUntil(lambda: bool(window.desk.stocks), timeout=30_000)
    return window


def _drop(window: Window, *paths: Path) -> None:
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(p)) for p in paths])
    window.dropEvent(
        QDropEvent(
            QPointF(200, 200),
            Qt.DropAction.CopyAction,
            data,
            Qt.MouseButton.LeftButton,
            Qt.KeyboardModifier.NoModifier,
        )
    )


def test_a_second_window_has_a_job_of_its_own(
    qtbot: QtBot, windows: Windows, sample_panels: Path
) -> None:
    first = _add(qtbot, windows)
    read(qtbot, first, sample_panels / "clock-feet.svg")
    qtbot.keyClick(first, Qt.Key.Key_N, Qt.KeyboardModifier.ControlModifier)
    assert len(windows.open) == 2
    second = windows.open[1]
    qtbot.waitUntil(lambda: bool(second.desk.stocks), timeout=30_000)
    assert second.desk.job.panels == ()
    assert second.pos() != first.pos()
    read(qtbot, second, sample_panels / "drawer-pulls.dxf")
    assert [p.name for p in first.desk.job.panels] != [p.name for p in second.desk.job.panels]
    first.desk.undo()
    assert first.desk.job.panels == ()
    assert second.desk.job.panels


def test_the_sample_opens_in_another_window_when_this_one_is_used(
    qtbot: QtBot, windows: Windows, sample_panels: Path
) -> None:
    first = _add(qtbot, windows)
    read(qtbot, first, sample_panels / "clock-feet.svg")
    first.open_sample()
    assert len(windows.open) == 2
    wait_for(qtbot, windows.open[1], "import")
    assert windows.open[1].desk.job.name == "seed cabinet (demo)"
    assert first.desk.job.name != "seed cabinet (demo)"


def test_closing_while_arranging_keeps_the_job_and_ends_the_work(
    qtbot: QtBot, windows: Windows, sample_panels: Path
) -> None:
    window = _add(qtbot, windows)
    read(qtbot, window, sample_panels / "clock-case.dxf")
    job, tasks = window.desk.job, window.desk.tasks
    window.desk.arrange()
    assert window.desk.arranging
    assert window.close()
    assert tasks.running == []
    assert windows.open == []
    kept = autosave.kept_jobs()
    assert len(kept) == 1
    assert autosave.load(kept[0]).panels == job.panels
    again = _add(qtbot, windows)
    qtbot.waitUntil(lambda: len(again.keeper.offers) == 1)


def test_the_title_marks_what_is_not_saved(
    qtbot: QtBot, windows: Windows, sample_panels: Path, tmp_path: Path
) -> None:
    window = _add(qtbot, windows)
    window.asking = answers = Answers()
    assert not window.isWindowModified()
    read(qtbot, window, sample_panels / "clock-feet.svg")
    assert window.isWindowModified()
    answers.paths = [tmp_path / "feet"]
    qtbot.keyClick(window, Qt.Key.Key_S, Qt.KeyboardModifier.ControlModifier)
    wait_for_saves(qtbot, window)
    assert not window.isWindowModified()
    assert window.windowTitle() == "feet[*] – lasernest"
    first = load_job(tmp_path / "feet.lasernest")
    window.outlines.list.choose([window.desk.job.panels[0].name])
    qtbot.keyClicks(window.outlines.list, "7")
    assert window.isWindowModified()
    answers.paths = [tmp_path / "other.lasernest"]
    both = Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.ShiftModifier
    qtbot.keyClick(window, Qt.Key.Key_S, both)
    wait_for_saves(qtbot, window)
    assert not window.isWindowModified()
    assert window.windowTitle() == "other[*] – lasernest"
    assert load_job(tmp_path / "feet.lasernest") == first
    assert load_job(tmp_path / "other.lasernest").panels[0].quantity == 7
    assert load_settings().recent_jobs[:1] == [] or window.settings.recent_jobs[0].endswith(
        "other.lasernest"
    )


def test_a_job_that_is_open_comes_to_the_front_instead(
    qtbot: QtBot, windows: Windows, sample_panels: Path, tmp_path: Path
) -> None:
    window = _add(qtbot, windows)
    read(qtbot, window, sample_panels / "clock-feet.svg")
    path = tmp_path / "feet.lasernest"
    window.desk.workbench.save(path)
    assert windows.add(path) is window
    assert len(windows.open) == 1


def test_a_dropped_folder_brings_all_its_drawings(
    qtbot: QtBot, windows: Windows, sample_panels: Path, tmp_path: Path
) -> None:
    window = _add(qtbot, windows)
    folder = tmp_path / "case"
    folder.mkdir()
    for name in ("clock-case.dxf", "clock-feet.svg"):
        (folder / name).write_bytes((sample_panels / name).read_bytes())
    (folder / "notes.txt").write_text("not a drawing")
    _drop(window, folder)
    wait_for(qtbot, window, "import")
    assert [Path(s.path).name for s in window.desk.job.sources] == [
        "clock-case.dxf",
        "clock-feet.svg",
    ]


def test_what_one_window_puts_into_the_shop_book_the_others_offer(
    qtbot: QtBot, windows: Windows
) -> None:
    first, second = _add(qtbot, windows), _add(qtbot, windows)
    for window in (first, second):
        window.go_to(Step.SHEETS)
    half_typed = second.sheets.settings.stock_box
    half_typed.new_button.click()
    half_typed.form.thickness.setText("3,6")
    half_typed.form.thickness.setModified(True)
    stock = replace(first.desk.stocks[0], name="cork 4 mm")
    first.desk.shop_hands.save_stock(
        stock, None, Step.SHEETS, done=lambda: None, refused=lambda *_why: None
    )
    qtbot.waitUntil(lambda: stock in second.desk.stocks, timeout=20_000)
    assert "cork 4 mm" in [second.sheets.settings.stock.itemText(i) for i in range(99)]
    assert half_typed.form.thickness.text() == "3,6"  # it goes on with what it was doing
    assert second.desk.job.setup.stock != stock
    second.desk.till.set_rates(Rates(machine_per_h=12.0, wage_per_h=30.0))
    wait_for(qtbot, second, "rates")
    assert second.desk.till.rates is not None
    qtbot.waitUntil(lambda: first.desk.till.rates == second.desk.till.rates, timeout=20_000)


def test_a_folder_that_may_not_be_opened_says_so(
    qtbot: QtBot, windows: Windows, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def closed(_folder: Path) -> Iterator[Path]:
        raise PermissionError(13, "Permission denied")

    window = _add(qtbot, windows)
    (tmp_path / "closed").mkdir()
    with monkeypatch.context() as patch:
        patch.setattr(Path, "iterdir", closed)
        _drop(window, tmp_path / "closed")
    (told,) = window.desk.troubles
    assert told.sentence.startswith("closed: the folder cannot be looked into: Permission denied.")
    assert window.tiles.tiles[Step.OUTLINES].shown.word == "problem"


def test_a_folder_without_drawings_says_so(qtbot: QtBot, windows: Windows, tmp_path: Path) -> None:
    window = _add(qtbot, windows)
    (tmp_path / "empty").mkdir()
    _drop(window, tmp_path / "empty")
    assert window.status.said() == "There is no DXF or SVG file in empty."
    assert window.desk.job.panels == ()


def test_spoiled_panels_are_cut_again_in_a_window_of_their_own(
    qtbot: QtBot, windows: Windows, sample_panels: Path
) -> None:
    first = _add(qtbot, windows)
    first.settings.search_seconds = 0.0
    read(qtbot, first, sample_panels / "clock-feet.svg")
    arrange(qtbot, first)
    first.sheets.recut_chosen()  # nothing is chosen yet
    assert len(windows.open) == 1
    assert first.status.said().startswith("no panel was chosen")
    before = first.desk.job
    assert before.plan is not None
    spoiled = before.plan.sheets[0].placements[0]
    keys = frozenset({key_of(spoiled)})
    first.sheets.scene_of_sheet.choose(keys)
    entries = {e.text: e for e in first.sheets._entries(keys)}
    again = entries["Cut again…"].run
    assert again is not None
    again()
    second = windows.open[1]
    wait_for(qtbot, second, "arrange")
    plan = second.desk.job.plan
    assert plan is not None
    placed = [p.panel_name for s in plan.sheets for p in s.placements]
    assert placed == [spoiled.panel_name]
    assert second.desk.job.name == f"{before.name} recut"
    assert second.isWindowModified()
    assert first.desk.job is before


def test_a_window_opens_without_what_it_does_not_need_yet() -> None:
    """Readers, geometry and search take a second to load; a window loads them once it is up."""
    heavy = ("ezdxf", "shapely", "numpy", "numba", "pyclipper", "jinja2")
    code = f"import sys, lasernest.gui.windows; print(*(set({heavy}) & set(sys.modules)))"
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=120
    )
    assert done.stdout == "\n"
