"""Settings: each is in force at once, kept, found by typing, and set back."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot

from lasernest import folders
from lasernest.cli.main import main as cli_main
from lasernest.folders import data_folder
from lasernest.gui import main as gui_main
from lasernest.gui import windows
from lasernest.gui.lengths import lengths
from lasernest.gui.look.theme import Brightness, theme
from lasernest.gui.parts.fields import Field
from lasernest.gui.settings import FILE_NAME, Settings, load_settings, save_settings
from lasernest.gui.settings_view import SettingsView
from lasernest.gui.tiles import Step
from lasernest.gui.window import Window
from tests.gui.helpers import read


@pytest.fixture
def view(window: Window) -> SettingsView:
    window.stage.show_settings()
    return window.stage.settings_view


def _type(qtbot: QtBot, field: Field, text: str) -> None:
    field.setFocus()
    field.selectAll()
    qtbot.keyClicks(field, text)
    qtbot.keyClick(field, Qt.Key.Key_Return)


def _kept() -> dict[str, object]:
    kept: dict[str, object] = json.loads((data_folder() / FILE_NAME).read_text(encoding="utf-8"))
    return kept


def test_looks_are_in_force_and_kept_at_once(view: SettingsView) -> None:
    view.brightness.pick(Brightness.DARK)
    view.contrast.pick(True)
    view.text_scale.pick(1.3)
    assert theme.palette.name == "dark, high contrast"
    assert theme.pixels(10) == 13
    assert _kept()["brightness"] == "DARK"
    again = load_settings()
    assert (again.brightness, again.high_contrast, again.text_scale) == ("DARK", True, 1.3)


def test_inches_are_shown_everywhere_at_once(window: Window, view: SettingsView) -> None:
    view.unit.pick(True)
    assert lengths.inches
    assert view.gap.text() == "0.079 in"
    assert window.sheets.settings.gap.text() == "0.079 in"
    assert window.tiles.tiles[window.kerf.step].shown.figure.endswith(" in")
    window.go_to(Step.SHEETS)
    assert window.sheets.settings.sheet_size.itemText(0).endswith(" in")


def test_usual_gap_and_margin_are_what_a_new_job_begins_with(
    qtbot: QtBot, window: Window, view: SettingsView, sample_panels: Path
) -> None:
    _type(qtbot, view.gap, "3,5")
    _type(qtbot, view.margin, "1/4in")
    assert window.desk.job.setup.gap_mm == pytest.approx(3.5)
    assert window.desk.job.setup.margin_mm == pytest.approx(6.35)
    assert window.desk.workbench.is_saved
    read(qtbot, window, sample_panels / "clock-feet.svg")
    _type(qtbot, view.gap, "1")
    assert window.desk.job.setup.gap_mm == pytest.approx(3.5)
    assert _kept()["gap_mm"] == 1.0


def test_a_measured_bar_makes_real_size_true(
    qtbot: QtBot, window: Window, view: SettingsView
) -> None:
    by_the_screen = window.board.canvas.real_scale()
    _type(qtbot, view.bar, "75")
    assert window.board.canvas.real_scale() == pytest.approx(4.0)  # 300 px over 75 mm
    assert load_settings().screen_px_per_mm == pytest.approx(4.0)
    _type(qtbot, view.bar, "")
    view.bar.clear()
    view.bar.setModified(True)
    assert view.bar.settle()
    assert window.board.canvas.real_scale() == pytest.approx(by_the_screen)


def test_keeping_while_working_can_be_left_to_closing(
    qtbot: QtBot, window: Window, view: SettingsView, sample_panels: Path
) -> None:
    window.keeper._timer.setInterval(1)
    view.keeping.pick(False)
    read(qtbot, window, sample_panels / "clock-feet.svg")
    assert not window.keeper._timer.isActive()
    assert not window.keeper.file.exists()
    view.keeping.pick(True)
    window.desk.job_changed.emit()
    qtbot.waitUntil(window.keeper.file.exists)


def test_settings_are_found_by_typing(qtbot: QtBot, view: SettingsView) -> None:
    assert len(view.shown()) == len(view.entries)
    qtbot.keyClicks(view.field, "ruler")
    assert view.shown() == ["Length of this bar on your screen"]
    qtbot.keyClicks(view.field, "xyz")
    assert view.shown() == []
    assert view.none.isVisible()
    qtbot.keyClick(view.field, Qt.Key.Key_Escape)
    assert len(view.shown()) == len(view.entries)


def test_the_command_search_leads_to_a_setting(qtbot: QtBot, window: Window) -> None:
    window.search.open()
    qtbot.keyClicks(window.search.field, "usual gap")
    qtbot.keyClick(window.search.field, Qt.Key.Key_Return)
    assert window.stage.currentWidget() is window.stage.settings_view
    assert window.stage.settings_view.gap.hasFocus()
    qtbot.keyClick(window.stage.settings_view.gap, Qt.Key.Key_Escape)
    assert window.stage.currentWidget() is window.board


def test_back_to_the_defaults_leaves_what_the_window_remembers(
    qtbot: QtBot, window: Window, view: SettingsView
) -> None:
    window.settings.note_recent(Path("/x/job.lasernest"))
    view.unit.pick(True)
    view.brightness.pick(Brightness.DARK)
    _type(qtbot, view.seconds, "60")
    assert window.settings.search_seconds == 60.0
    qtbot.mouseClick(view.defaults, Qt.MouseButton.LeftButton)
    assert not lengths.inches
    assert theme.brightness is Brightness.SYSTEM
    assert window.settings.search_seconds == Settings().search_seconds
    assert window.settings.recent_jobs == [str(Path("/x/job.lasernest"))]


def test_every_setting_has_a_name_and_a_sentence(view: SettingsView) -> None:
    for entry in view.entries:
        assert view.control_of(entry).accessibleName() == entry.name
        assert entry.explain.endswith(".")


def test_settings_of_a_newer_or_damaged_file_fall_back(tmp_path: Path) -> None:
    path = tmp_path / "window.json"
    save_settings(Settings(gap_mm=4.0), path)
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace('"text_scale": 1.0', '"text_scale": "big", "unheard_of": 3'))
    assert load_settings(path) == Settings(gap_mm=4.0)
    path.write_text("{")
    assert load_settings(path) == Settings()


def test_the_window_starts_with_a_throwaway_profile(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    opened: list[tuple[Path, list[Path]]] = []

    def run(paths: list[Path]) -> int:
        opened.append((data_folder(), list(paths)))
        return 0

    monkeypatch.setattr(windows, "run", run)
    with pytest.raises(SystemExit) as ended:
        gui_main.main(["--profile", str(tmp_path / "try"), "a.dxf"])
    assert ended.value.code == 0
    assert opened == [(tmp_path / "try", [Path("a.dxf")])]


def test_the_command_line_takes_a_profile(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(folders.HOME_VARIABLE, str(tmp_path / "usual"))
    with pytest.raises(SystemExit) as ended:
        cli_main(["--profile", str(tmp_path / "try"), "stock", "list", "--json"])
    assert ended.value.code in (0, None)
    assert capsys.readouterr().out.startswith("{")
    assert (tmp_path / "try").is_dir()
    assert not (tmp_path / "usual").exists()
