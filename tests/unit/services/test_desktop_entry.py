"""Entry, icon and file type in the user's desktop.

Sources: Desktop Entry Specification 1.5, "The Exec key"; Shared MIME-info Database 0.21,
the file `globs2` that its tool makes.
"""

from __future__ import annotations

import configparser
import re
import shutil
import sys
from pathlib import Path

import pytest

from lasernest.errors import NotFoundError, UnwritableFileError, UsageError
from lasernest.services import desktop_entry

pytestmark = pytest.mark.skipif(sys.platform in ("win32", "darwin"), reason="no such desktop")

PLACES = (
    "applications/lasernest.desktop",
    "icons/hicolor/scalable/apps/lasernest.svg",
    "mime/packages/lasernest.xml",
)


@pytest.fixture
def share(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The user's share folder of this test."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "share"))
    return tmp_path / "share"


def _told_to_start(entry: Path) -> list[str]:
    """The words of Exec as a desktop reads them: a string's escapes, then quotes, then `%%`."""
    reader = configparser.ConfigParser(interpolation=None)
    reader.optionxform = str  # type: ignore[assignment, method-assign]
    reader.read(entry, encoding="utf-8")
    value = reader["Desktop Entry"]["Exec"].replace("\\\\", "\\")
    words = re.findall(r'"((?:[^"\\]|\\.)*)"|(\S+)', value)
    return [
        re.sub(r"\\(.)", r"\1", quoted).replace("%%", "%") if quoted else plain
        for quoted, plain in words
    ]


@pytest.mark.parametrize("folder", ["plain", "with space", 'a "b" $c `d` 100%', "back\\slash"])
def test_the_entry_starts_this_very_program(share: Path, tmp_path: Path, folder: str) -> None:
    program = tmp_path / folder / "lasernest-window"
    files = desktop_entry.install(program)
    assert [file.relative_to(share).as_posix() for file in files] == list(PLACES)
    assert _told_to_start(files[0]) == [str(program), "%F"]


def test_what_was_installed_goes_again_and_nothing_else(share: Path, tmp_path: Path) -> None:
    other = share / "applications" / "other.desktop"
    other.parent.mkdir(parents=True)
    other.write_text("mine")
    files = desktop_entry.install(tmp_path / "lasernest-window")
    assert set(desktop_entry.remove()) == set(files)
    assert not any(file.exists() for file in files)
    assert other.read_text() == "mine"
    assert desktop_entry.remove() == ()


@pytest.mark.skipif(shutil.which("update-mime-database") is None, reason="the tool is not here")
def test_the_desktop_knows_the_type_of_job_files(share: Path, tmp_path: Path) -> None:
    desktop_entry.install(tmp_path / "lasernest-window")
    globs = share / "mime" / "globs2"
    assert "50:application/x-lasernest-job:*.lasernest" in globs.read_text().splitlines()
    desktop_entry.remove()
    assert not globs.exists() or "lasernest" not in globs.read_text()


def test_what_cannot_be_done_is_said(
    share: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    share.write_text("a file where a folder should be")
    with pytest.raises(UnwritableFileError, match="the folder cannot be made"):
        desktop_entry.install(tmp_path / "lasernest-window")
    monkeypatch.setattr(sys, "executable", str(tmp_path / "python"))
    monkeypatch.setattr(shutil, "which", lambda _name: None)
    with pytest.raises(NotFoundError, match="the command lasernest-window is not installed"):
        desktop_entry.install()
    monkeypatch.setattr(sys, "platform", "win32")
    with pytest.raises(UsageError, match="this system has no desktop entries"):
        desktop_entry.install()
