"""Saving goes on in the background, on a disk that is as slow as the test wants."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from lasernest import files
from lasernest.errors import UnwritableFileError, Where
from lasernest.gui import filing, keeper
from lasernest.gui.job_hold import is_held_here, lock_file_of
from lasernest.gui.settings import Settings
from lasernest.gui.window import Window
from lasernest.gui.windows import Windows
from lasernest.job import Job, Setup, load_job, save_job
from lasernest.services import autosave
from lasernest.services.commands import SetUnits
from tests.gui.conftest import PATIENCE_MS, Answers
from tests.gui.helpers import save, wait_for, wait_for_saves


class SlowDisk:
    """Writes job files only when the test lets it."""

    def __init__(self) -> None:
        self.begun = 0
        self.fails = False
        self._goes_on = threading.Event()

    def save_job(self, job: Job, path: Path) -> str:
        self.begun += 1
        assert self._goes_on.wait(PATIENCE_MS / 1000)
        if self.fails:
            raise UnwritableFileError(
                "the file cannot be written: No space left on device", where=Where(file=path)
            )
        return save_job(job, path)

    def go_on(self) -> None:
        self._goes_on.set()


@pytest.fixture
def disk(monkeypatch: pytest.MonkeyPatch) -> Iterator[SlowDisk]:
    """A disk on which saving hangs until it is told to go on."""
    slow = SlowDisk()
    monkeypatch.setattr(filing, "save_job", slow.save_job)
    yield slow
    slow.go_on()


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """A job file."""
    path = tmp_path / "drawer.lasernest"
    save_job(Job("drawer", setup=Setup(units=1)), path)
    return path


def units_in(path: Path) -> int:
    return load_job(path).setup.units


def begin(qtbot: QtBot, window: Window, disk: SlowDisk, *, units: int) -> None:
    """Change the job, save it, and wait until the disk is asked to write."""
    window.desk.do(SetUnits(units))
    begun = disk.begun
    window.save()
    qtbot.waitUntil(lambda: disk.begun == begun + 1)


def test_the_job_is_saved_as_it_was_when_that_was_asked_for(
    qtbot: QtBot, window: Window, path: Path, disk: SlowDisk
) -> None:
    window.open_job(path)
    begin(qtbot, window, disk, units=3)
    assert window.isWindowModified()  # nothing is saved before it is
    assert units_in(path) == 1
    window.desk.do(SetUnits(4))
    disk.go_on()
    wait_for_saves(qtbot, window)
    assert units_in(path) == 3
    assert window.isWindowModified()
    assert window.status.said() == "drawer.lasernest saved."
    window.desk.undo()
    assert not window.isWindowModified()
    window.desk.redo()
    assert save(qtbot, window)  # what it wrote itself is no change behind its back
    assert units_in(path) == 4
    assert not window.isWindowModified()


def test_what_takes_long_is_told(
    qtbot: QtBot,
    window: Window,
    path: Path,
    disk: SlowDisk,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(filing, "TELL_AFTER_MS", 1)
    window.open_job(path)
    begin(qtbot, window, disk, units=3)
    qtbot.waitUntil(lambda: window.status.said() == "Saving drawer.lasernest…")
    window.desk.cancel()  # for other work: what is being written is not broken off
    window.desk.stop()
    disk.go_on()
    wait_for_saves(qtbot, window)
    assert window.status.said() == "drawer.lasernest saved."
    assert units_in(path) == 3
    assert not window.isWindowModified()


def test_one_save_follows_the_other(
    qtbot: QtBot, window: Window, answers: Answers, path: Path, disk: SlowDisk
) -> None:
    window.open_job(path)
    begin(qtbot, window, disk, units=3)
    window.save()  # of the same job, which is being saved already
    window.desk.do(SetUnits(4))
    window.save()
    window.save()
    window.desk.do(SetUnits(5))
    answers.paths = [path.with_name("other.lasernest")]
    window.save_as()
    window.desk.do(SetUnits(6))
    window.save()  # where the job belongs by then
    window.desk.do(SetUnits(7))
    disk.go_on()
    wait_for_saves(qtbot, window)
    assert disk.begun == 4
    assert units_in(path) == 4
    assert units_in(answers.paths[0]) == 6
    assert window.desk.workbench.path == answers.paths[0]
    assert window.filing.question is None
    assert window.isWindowModified()
    window.desk.undo()
    assert not window.isWindowModified()


def test_what_cannot_be_saved_is_told_and_can_be_saved_again(
    qtbot: QtBot, window: Window, answers: Answers, path: Path, disk: SlowDisk
) -> None:
    window.open_job(path)
    disk.fails = True
    answers.paths = [path.with_name("other.lasernest")]
    window.desk.do(SetUnits(3))
    window.save_as()
    qtbot.waitUntil(lambda: disk.begun == 1)
    window.desk.do(SetUnits(4))
    assert is_held_here(answers.paths[0])  # while it is being written
    disk.go_on()
    wait_for_saves(qtbot, window)
    (trouble,) = window.desk.troubles
    assert trouble.what == "Saving the job"
    assert "the file cannot be written: No space left on device" in trouble.sentence
    assert window.isWindowModified()
    assert window.desk.workbench.path == path
    assert is_held_here(path)
    assert not is_held_here(answers.paths[0])
    assert not lock_file_of(answers.paths[0]).exists()
    disk.fails = False
    assert save(qtbot, window)
    assert units_in(path) == 4
    assert not window.isWindowModified()


def test_a_name_that_could_not_be_saved_is_not_asked_for_again(
    qtbot: QtBot, window: Window, answers: Answers, tmp_path: Path, disk: SlowDisk
) -> None:
    disk.fails = True
    answers.paths = [tmp_path / "new.lasernest"]
    begin(qtbot, window, disk, units=3)  # the job has no file yet
    window.desk.do(SetUnits(4))
    window.save()
    answers.paths = []
    disk.go_on()
    wait_for_saves(qtbot, window)
    assert disk.begun == 1
    assert len(window.desk.troubles) == 1
    assert window.desk.workbench.path is None


def test_a_write_that_breaks_off_leaves_the_old_file_whole(
    qtbot: QtBot, window: Window, path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(_handle: int) -> None:
        raise OSError(28, "No space left on device")

    window.open_job(path)
    window.desk.do(SetUnits(3))
    monkeypatch.setattr(files.os, "fsync", full)
    assert not save(qtbot, window)
    (trouble,) = window.desk.troubles
    assert "the file cannot be written: No space left on device" in trouble.sentence
    assert units_in(path) == 1
    assert set(path.parent.iterdir()) == {path, lock_file_of(path)}


def test_a_window_that_is_closed_waits_for_its_save(
    qtbot: QtBot, path: Path, disk: SlowDisk
) -> None:
    windows = Windows(Settings(tour_seen=True))
    window = windows.add(path)
    wait_for(qtbot, window, "shop")
    begin(qtbot, window, disk, units=3)
    window.keeper.keep()
    wait_for(qtbot, window, "keep")
    assert not window.close()
    assert window.status.said() == (
        "The window closes when the job is saved. To leave at once, close it again."
    )
    disk.go_on()
    qtbot.waitUntil(lambda: windows.open == [])
    assert units_in(path) == 3
    assert autosave.kept_jobs() == ()
    assert not lock_file_of(path).exists()


def test_a_window_stays_when_its_save_failed(
    qtbot: QtBot, window: Window, path: Path, disk: SlowDisk
) -> None:
    window.open_job(path)
    disk.fails = True
    begin(qtbot, window, disk, units=3)
    assert not window.close()
    disk.go_on()
    wait_for_saves(qtbot, window)
    assert window.isVisible()
    (trouble,) = window.desk.troubles
    assert trouble.what == "Saving the job"
    assert window.status.said() == ""  # neither that it is saved nor that it closes then


def test_a_window_stays_for_a_question(
    qtbot: QtBot, window: Window, path: Path, disk: SlowDisk
) -> None:
    window.open_job(path)
    window.desk.do(SetUnits(3))
    save_job(Job("drawer", setup=Setup(units=7)), path)
    window.save()
    assert not window.close()
    wait_for_saves(qtbot, window)
    assert window.isVisible()
    assert window.filing.question is not None
    assert window.status.said() == ""
    assert units_in(path) == 7


def test_who_does_not_wait_finds_the_job_at_the_next_start(
    qtbot: QtBot, path: Path, disk: SlowDisk, monkeypatch: pytest.MonkeyPatch
) -> None:
    windows = Windows(Settings(tour_seen=True))
    window = windows.add(path)
    wait_for(qtbot, window, "shop")
    begin(qtbot, window, disk, units=3)
    window.desk.do(SetUnits(4))
    window.save()
    assert not window.close()
    real = window.desk.tasks.close
    monkeypatch.setattr(window.desk.tasks, "close", lambda: real(0.1))  # the disk does not answer
    assert window.close()
    assert windows.open == []
    (kept,) = autosave.kept_jobs()
    assert autosave.load(kept).setup.units == 4
    assert kept.path == path
    with qtbot.waitSignal(window.desk.tasks.ended):
        disk.go_on()
    assert window.desk.tasks.running == []
    assert not is_held_here(path)
    assert not window.isVisible()


def test_a_job_that_was_changed_while_it_was_saved_is_kept_with_what_its_file_holds(
    qtbot: QtBot, window: Window, path: Path, disk: SlowDisk, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(keeper, "AFTER_MS", 1)
    window.open_job(path)
    before = window.desk.workbench.digest
    begin(qtbot, window, disk, units=3)
    window.desk.do(SetUnits(4))

    def kept(digest: str) -> bool:
        jobs = [k for k in autosave.kept_jobs() if k.digest == digest]
        return bool(jobs) and autosave.load(jobs[0]).setup.units == 4

    qtbot.waitUntil(lambda: kept(before))
    disk.go_on()
    wait_for_saves(qtbot, window)
    assert window.desk.workbench.digest != before
    qtbot.waitUntil(lambda: kept(window.desk.workbench.digest))


def test_a_blank_window_opens_nothing_while_it_saves(
    qtbot: QtBot, window: Window, answers: Answers, path: Path, disk: SlowDisk
) -> None:
    answers.paths = [path.with_name("blank.lasernest")]
    window.save()
    qtbot.waitUntil(lambda: disk.begun == 1)
    with qtbot.waitSignal(window.another_wanted) as asked:
        window.take_files([path])
    assert asked.args == [path]
    disk.go_on()
    wait_for_saves(qtbot, window)
    assert window.desk.workbench.path == answers.paths[0]


def test_a_job_that_took_the_place_of_another_is_not_taken_for_it(
    qtbot: QtBot, window: Window, answers: Answers, path: Path, disk: SlowDisk
) -> None:
    answers.paths = [path.with_name("blank.lasernest")]
    window.save()
    qtbot.waitUntil(lambda: disk.begun == 1)
    window.open_job(path)
    window.desk.do(SetUnits(3))
    disk.go_on()
    wait_for_saves(qtbot, window)
    assert window.desk.workbench.path == path
    assert window.isWindowModified()
    assert not is_held_here(answers.paths[0])
    assert save(qtbot, window)
    assert units_in(path) == 3


def test_two_windows_that_save_under_one_name_do_not_write_over_each_other(
    qtbot: QtBot, tmp_path: Path, disk: SlowDisk
) -> None:
    windows = Windows(Settings(tour_seen=True))
    first, second = windows.add(), windows.add()
    answers = Answers()
    answers.paths = [tmp_path / "drawer.lasernest"]
    for window in (first, second):
        wait_for(qtbot, window, "shop")
        window.asking = answers
    begin(qtbot, first, disk, units=3)
    second.desk.do(SetUnits(9))
    second.save()
    wait_for_saves(qtbot, second)
    assert second.filing.question is not None
    assert second.filing.question.text.startswith("drawer.lasernest is open in another window.")
    disk.go_on()
    wait_for_saves(qtbot, first)
    assert disk.begun == 1
    assert units_in(tmp_path / "drawer.lasernest") == 3
    for window in (second, first):
        assert window.close()
