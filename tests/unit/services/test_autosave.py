"""Jobs kept while they are worked on."""

from __future__ import annotations

import os
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from lasernest.domain.contours import Contour
from lasernest.domain.panels import Panel
from lasernest.errors import UnreadableFileError
from lasernest.job import Job, JobPanel
from lasernest.services import autosave

JOB = Job("clock", (JobPanel(Panel.of("lid", Contour.rectangle(0, 0, 100, 60)), 3),))


def test_a_kept_job_is_found_and_comes_back_whole(tmp_path: Path) -> None:
    assert autosave.kept_jobs() == ()
    file = autosave.new_file()
    autosave.keep(JOB, tmp_path / "clock.lasernest", file)
    (kept,) = autosave.kept_jobs()
    assert (kept.name, kept.path, kept.file) == ("clock", tmp_path / "clock.lasernest", file)
    assert datetime.now() - kept.at < timedelta(seconds=60)
    assert autosave.load(kept) == JOB
    autosave.forget(file)
    assert autosave.kept_jobs() == ()


def test_the_newest_comes_first_and_a_damaged_one_hides_nothing(tmp_path: Path) -> None:
    for name, at in (("old", "2026-01-01T10:00:00"), ("new", "2026-02-01T10:00:00")):
        file = autosave.new_file()
        autosave.keep(JOB, None, file)
        head, _, rest = file.read_bytes().partition(b"\n")
        text = head.decode().replace('"clock"', f'"{name}"')
        text = text[: text.index('"at"')] + f'"at": "{at}"}}'
        file.write_bytes(text.encode() + b"\n" + rest)
    autosave.new_file().write_bytes(b'{"name": "half')
    assert [k.name for k in autosave.kept_jobs()] == ["new", "old"]


def test_half_a_file_is_told_and_not_opened(tmp_path: Path) -> None:
    file = autosave.new_file()
    autosave.keep(JOB, None, file)
    file.write_bytes(file.read_bytes()[:-200])
    (kept,) = autosave.kept_jobs()
    with pytest.raises(UnreadableFileError, match="this is not a whole job file"):
        autosave.load(kept)
    file.unlink()
    with pytest.raises(UnreadableFileError, match="the kept job cannot be read"):
        autosave.load(kept)


def test_what_was_let_go_stays_a_month(tmp_path: Path) -> None:
    file = autosave.new_file()
    autosave.keep(JOB, None, file)
    autosave.let_go(file)
    assert autosave.kept_jobs() == ()
    (gone,) = autosave.folder().glob("*.gone")
    autosave.clear_old()
    assert gone.exists()
    old = datetime.now() - timedelta(days=31)
    os.utime(gone, (old.timestamp(), old.timestamp()))
    autosave.clear_old()
    assert not gone.exists()


def test_a_folder_that_cannot_be_made_is_told_in_a_sentence(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "home").write_text("a file")
    monkeypatch.setenv("LASERNEST_HOME", str(tmp_path / "home"))
    sentence = autosave.safely(JOB, None, autosave.new_file())
    assert sentence.startswith("unsaved: the folder cannot be made: ")
