"""Other languages: texts are collected, translated by a file, and English where it lacks them."""

from __future__ import annotations

import importlib.util
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType

import pytest
from PySide6.QtCore import QCoreApplication, QTranslator
from pytestqt.qtbot import QtBot

from lasernest.folders import data_folder
from lasernest.gui.languages import ENGLISH, SYSTEM, choose, languages, read_texts, speak
from lasernest.gui.settings import Settings
from lasernest.gui.tiles import Step
from lasernest.gui.window import Window
from lasernest.resources import resource
from lasernest.services.workbench import Workbench


@pytest.fixture
def collector() -> ModuleType:
    path = resource("translations") / "collect_texts.py"
    spec = importlib.util.spec_from_file_location("collect_texts", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture
def toy(collector: ModuleType) -> Iterator[QTranslator]:
    """A toy language in the maker's folder: some texts backwards or renamed."""
    folder = data_folder() / "languages"
    folder.mkdir(parents=True)
    known = {
        "Arrange on sheets": "Auf Platten anordnen",
        "Outlines": "Umrisse",
        "Units to make": "Stückzahl",
        "sheet {n} of {all}": "von {all} Platten die {n}.",
        "Undo": "Zurück",
    }
    text = collector.ts_file("de", collector.all_texts(), known)
    (folder / "lasernest_de.ts").write_text(text, encoding="utf-8")
    translation = speak("de")
    assert translation is not None
    yield translation
    QCoreApplication.removeTranslator(translation)


def test_a_translation_changes_labels_tiles_and_menu(qtbot: QtBot, toy: QTranslator) -> None:
    window = Window(Workbench(), Settings(tour_seen=True))
    qtbot.addWidget(window)
    window.show()
    assert window.outlines.arrange_button.text() == "Auf Platten anordnen"
    assert window.sheets.settings.units.accessibleName() == "Stückzahl"
    assert window.tiles.tiles[Step.OUTLINES].accessibleName().startswith("Umrisse: ")
    assert window.acts.actions["undo"].text() == "Zurück"
    assert window.outlines.open_button.text() == "Open drawings…"  # not translated yet
    assert window.close()


def test_places_in_a_text_may_be_ordered_anew(toy: QTranslator) -> None:
    from lasernest.gui.words import tr

    assert tr("sheet {n} of {all}", n=1, all=3) == "von 3 Platten die 1."


def test_every_text_is_collected_once_with_its_module(collector: ModuleType) -> None:
    texts = collector.all_texts()
    assert texts["Steps of the job"] == "gui/tiles.py"
    assert texts["panels"].startswith("gui/")
    assert "press" in texts
    root = ET.fromstring(collector.ts_file("xx", texts, {}))
    sources = [node.text for node in root.iter("source")]
    assert len(sources) == len(set(sources)) == len(texts)
    assert len(sources) > 500


def test_what_is_translated_stays_when_texts_are_collected_again(
    collector: ModuleType, tmp_path: Path
) -> None:
    path = tmp_path / "lasernest_de.ts"
    path.write_text(collector.ts_file("de", {"A & B": "x.py", "C": "x.py"}, {"A & B": "Ä < B"}))
    assert read_texts(path) == {"A & B": "Ä < B"}
    again = collector.ts_file("de", {"A & B": "x.py", "D": "x.py"}, read_texts(path))
    path.write_text(again)
    assert read_texts(path) == {"A & B": "Ä < B"}
    assert "<source>C</source>" not in again


def test_a_damaged_or_missing_translation_leaves_english(
    tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    path = tmp_path / "lasernest_de.ts"
    path.write_text("<TS><context><message><source>A</source><translation>B</transl")
    assert read_texts(path) == {"A": "B"}  # what was whole before the damage
    assert "is damaged" in caplog.text
    assert read_texts(tmp_path / "none.ts") == {}
    assert choose("nothing") == ENGLISH
    assert speak("nothing") is None


def test_the_system_s_language_is_taken_where_there_is_one(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    folder = data_folder() / "languages"
    folder.mkdir(parents=True)
    (folder / "lasernest_pt.ts").write_text("<TS/>")
    assert list(languages()) == ["pt"]

    class Locale:
        @staticmethod
        def system() -> Locale:
            return Locale()

        def name(self) -> str:
            return "pt_BR"

    monkeypatch.setattr("lasernest.gui.languages.QLocale", Locale)
    assert choose(SYSTEM) == "pt"
    assert choose(ENGLISH) == ENGLISH
