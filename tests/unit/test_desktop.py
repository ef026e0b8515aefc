"""What the desktop is told of the program: entry, icon, file type, commands.

Sources: freedesktop.org Desktop Entry Specification 1.5 and Shared MIME-info
Database 0.21: keys that must be there, and how types and patterns are named.
"""

from __future__ import annotations

import configparser
import importlib
import tomllib
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest

import lasernest
from lasernest.job import SUFFIX
from lasernest.resources import resource

_TOP = Path(lasernest.__file__).parent.parent
_MIME = "{http://www.freedesktop.org/standards/shared-mime-info}"


@pytest.fixture
def project() -> dict[str, object]:
    with (_TOP / "pyproject.toml").open("rb") as file:
        return tomllib.load(file)


def _entry() -> configparser.SectionProxy:
    reader = configparser.ConfigParser(interpolation=None)
    reader.optionxform = str  # type: ignore[assignment, method-assign]
    reader.read(resource("desktop/lasernest.desktop"), encoding="utf-8")
    return reader["Desktop Entry"]


def test_the_desktop_entry_starts_the_window_with_files(project: dict[str, object]) -> None:
    entry = _entry()
    assert entry["Type"] == "Application"
    assert entry["Exec"].split() == ["lasernest-window", "%F"]
    assert entry["Exec"].split()[0] in project["project"]["gui-scripts"]  # type: ignore[index]
    assert entry["MimeType"].endswith(";")
    assert "application/x-lasernest-job" in entry["MimeType"].split(";")
    assert resource(f"desktop/{entry['Icon']}.svg").is_file()


def test_the_file_type_is_that_of_job_files() -> None:
    root = ET.parse(resource("desktop/lasernest-mime.xml")).getroot()
    kind = root.find(f"{_MIME}mime-type")
    assert kind is not None
    assert kind.get("type") in _entry()["MimeType"].split(";")
    pattern = kind.find(f"{_MIME}glob")
    assert pattern is not None
    assert pattern.get("pattern") == f"*{SUFFIX}"


def test_installing_puts_entry_icon_and_type_where_desktops_look(
    project: dict[str, object],
) -> None:
    shared = project["tool"]["hatch"]["build"]["targets"]["wheel"]["shared-data"]  # type: ignore[index]
    assert all((_TOP / source).is_file() for source in shared)
    assert set(shared.values()) == {
        "share/applications/lasernest.desktop",
        "share/icons/hicolor/scalable/apps/lasernest.svg",
        "share/mime/packages/lasernest.xml",
    }


def test_every_command_names_a_function_that_is_there(project: dict[str, object]) -> None:
    told = project["project"]
    for name, target in {**told["scripts"], **told["gui-scripts"]}.items():  # type: ignore[index]
        module, _, function = target.partition(":")
        if module.startswith("lasernest.gui"):
            pytest.importorskip("PySide6", reason=f"{name} needs the window's library")
        assert callable(getattr(importlib.import_module(module), function)), name


def test_the_packing_recipe_names_files_that_are_there() -> None:
    recipe = resource("frozen/lasernest.spec").read_text(encoding="utf-8")
    compile(recipe, "lasernest.spec", "exec")
    for name in ("command.py", "window.py"):
        assert f'"{name}"' in recipe
        assert resource(f"frozen/{name}").is_file()
