"""Nobody's work is written over unasked: other windows, other programs, changes on disk."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import QSysInfo
from PySide6.QtWidgets import QAbstractButton
from pytestqt.qtbot import QtBot

from lasernest.gui import filing
from lasernest.gui.job_hold import lock_file_of
from lasernest.gui.settings import Settings
from lasernest.gui.tiles import Step
from lasernest.gui.window import Window
from lasernest.gui.windows import Windows
from lasernest.job import Job, Setup, load_job, save_job
from lasernest.services import autosave
from lasernest.services.commands import SetUnits
from tests.gui.conftest import Answers
from tests.gui.helpers import save, save_as, wait_for, wait_for_saves

OTHER = """
import sys
from pathlib import Path
from lasernest.gui.job_hold import JobHold
hold = JobHold()
print(hold.take(Path(sys.argv[1])), flush=True)
sys.stdin.readline()
"""
"""Another program that holds a job file until it is told to end, or killed."""


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """A job file."""
    path = tmp_path / "drawer.lasernest"
    save_job(Job("drawer", setup=Setup(units=1)), path)
    return path


@pytest.fixture
def other(path: Path) -> Iterator[subprocess.Popen[str]]:
    """Another program that has it open."""
    with subprocess.Popen(
        [sys.executable, "-c", OTHER, str(path)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    ) as running:
        assert running.stdout is not None
        assert running.stdout.readline().strip() == "None"  # nobody held it before
        yield running
        running.kill()


def answer(qtbot: QtBot, window: Window, text: str) -> None:
    """Press an answer of what is asked, and wait for what it saves."""
    question = window.filing.question
    assert question is not None
    next(a for a in question.answers if a.text == text).act()
    wait_for_saves(qtbot, window)


def texts(window: Window) -> list[str]:
    return [note.text for note in window.question.notes()]


def test_a_job_saved_by_another_program_is_not_written_over(
    qtbot: QtBot, window: Window, answers: Answers, path: Path, tmp_path: Path
) -> None:
    window.open_job(path)
    window.desk.do(SetUnits(3))
    save_job(Job("drawer", setup=Setup(units=7)), path)
    assert not save(qtbot, window)
    (asked,) = texts(window)
    assert asked == "drawer.lasernest was changed on disk since it was opened or saved here."
    assert load_job(path).setup.units == 7
    assert window.isWindowModified()
    answer(qtbot, window, "Not now")
    assert texts(window) == []
    assert not save(qtbot, window)
    answers.paths = [tmp_path / "mine.lasernest"]
    answer(qtbot, window, "Save under another name…")
    assert load_job(tmp_path / "mine.lasernest").setup.units == 3
    assert load_job(path).setup.units == 7
    assert texts(window) == []


def test_a_large_job_is_read_in_the_background(
    qtbot: QtBot, window: Window, path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(filing, "_AT_ONCE_BYTES", 10)
    wanted: list[Path] = []
    window.another_wanted.connect(wanted.append)
    window.open_job(path)
    assert window.desk.workbench.path is None
    window.desk.do(SetUnits(5))  # the maker begins something else meanwhile
    wait_for(qtbot, window, "import")
    assert window.desk.job.setup.units == 5
    assert wanted == [path]
    window.desk.undo()
    window.go_to(Step.SHEETS)
    window.open_job(path)
    wait_for(qtbot, window, "import")
    assert window.desk.workbench.path == path
    assert window.page.step is Step.OUTLINES
    assert not window.isWindowModified()
    window.desk.workbench.new()
    window.open_job(path)
    window.desk.workbench.new(window.desk.fresh_job())  # the shop book was opened meanwhile
    wait_for(qtbot, window, "import")
    assert window.desk.workbench.path == path
    assert wanted == [path]
    path.write_text("{}")
    window.open_job(path)  # small now
    monkeypatch.setattr(filing, "_AT_ONCE_BYTES", 0)
    window.desk.settle_all(Step.OUTLINES)
    window.open_job(path)
    wait_for(qtbot, window, "import")
    (trouble,) = window.desk.troubles
    assert trouble.what == "Opening the job"
    assert "this is not a job file" in trouble.sentence
    assert window.desk.job.name == "drawer"


def test_what_is_on_disk_is_taken_and_undone(qtbot: QtBot, window: Window, path: Path) -> None:
    window.open_job(path)
    window.desk.do(SetUnits(3))
    save_job(Job("drawer", setup=Setup(units=7)), path)
    assert not save(qtbot, window)
    answer(qtbot, window, "Take what is on disk")
    assert window.desk.job.setup.units == 7
    assert not window.isWindowModified()
    assert texts(window) == []
    window.desk.undo()
    assert window.desk.job.setup.units == 3
    assert save(qtbot, window)  # nothing was changed behind it since
    assert load_job(path).setup.units == 3


def test_saved_over_on_purpose(qtbot: QtBot, window: Window, path: Path) -> None:
    window.open_job(path)
    window.desk.do(SetUnits(3))
    save_job(Job("drawer", setup=Setup(units=7)), path)
    save(qtbot, window)
    answer(qtbot, window, "Save over it")
    assert load_job(path).setup.units == 3
    window.desk.do(SetUnits(4))
    assert save(qtbot, window)
    assert load_job(path).setup.units == 4


def test_a_file_that_was_only_touched_or_removed_is_simply_saved(
    qtbot: QtBot, window: Window, path: Path
) -> None:
    window.open_job(path)
    path.touch()
    window.desk.do(SetUnits(3))
    assert save(qtbot, window)
    path.unlink()
    window.desk.do(SetUnits(4))
    assert save(qtbot, window)
    assert load_job(path).setup.units == 4


def test_a_job_that_another_program_has_open(
    qtbot: QtBot, window: Window, answers: Answers, path: Path, other: subprocess.Popen[str]
) -> None:
    window.open_job(path)
    (told,) = texts(window)
    assert told.startswith("drawer.lasernest is open in another window too.")
    answer(qtbot, window, "Dismiss")
    window.desk.do(SetUnits(3))
    assert not save(qtbot, window)
    assert load_job(path).setup.units == 1
    answer(qtbot, window, "Save over it")
    assert load_job(path).setup.units == 3
    window.desk.do(SetUnits(4))
    assert save(qtbot, window)  # whom it writes over was accepted


def test_a_program_that_was_killed_holds_nothing(
    qtbot: QtBot, window: Window, path: Path, other: subprocess.Popen[str]
) -> None:
    other.kill()
    other.wait()
    assert lock_file_of(path).exists()  # it had no time to take it away
    window.open_job(path)
    assert texts(window) == []
    window.desk.do(SetUnits(3))
    assert save(qtbot, window)


def test_another_host_is_named_and_asked_about(window: Window, path: Path) -> None:
    # The form of Qt's lock files: process, program, host, then ids of machine and boot.
    lock_file_of(path).write_text("4711\nlasernest\nbench-pc\n\n\n")
    window.open_job(path)
    (told,) = texts(window)
    assert told.startswith("drawer.lasernest is open in another window on bench-pc too.")


def test_a_lock_with_our_own_number_is_left_from_a_crash(window: Window, path: Path) -> None:
    import os

    host = QSysInfo.machineHostName()
    lock_file_of(path).write_text(f"{os.getpid()}\nlasernest\n{host}\n\n\n")
    window.open_job(path)
    assert texts(window) == []


def test_the_hold_goes_with_the_job(
    qtbot: QtBot, window: Window, answers: Answers, path: Path
) -> None:
    window.open_job(path)
    assert lock_file_of(path).exists()
    new = path.with_name("new.lasernest")
    answers.paths = [new]
    assert save_as(qtbot, window)
    assert not lock_file_of(path).exists()
    assert lock_file_of(new).exists()
    window.desk.workbench.new()
    assert not lock_file_of(new).exists()


def test_a_name_without_its_ending_does_not_hide_a_job(
    qtbot: QtBot, window: Window, answers: Answers, path: Path
) -> None:
    answers.paths = [path.with_suffix("")]
    window.desk.do(SetUnits(3))
    assert not save_as(qtbot, window)
    assert texts(window) == ["There is a job drawer.lasernest already."]
    assert load_job(path).setup.units == 1


def test_the_keys_go_to_what_is_asked_about_saving_and_come_back(
    qtbot: QtBot, window: Window, answers: Answers, path: Path, other: subprocess.Popen[str]
) -> None:
    window.show()
    window.open_job(path)
    answer(qtbot, window, "Dismiss")
    window.desk.do(SetUnits(3))
    window.go_to(Step.SHEETS)
    had_keys = window.focusWidget()
    assert had_keys is not None

    def asked_by_keys() -> str:
        focused = window.focusWidget()
        within = window.question.isAncestorOf(focused) if focused is not None else False
        return focused.text() if within and isinstance(focused, QAbstractButton) else ""

    for _ in range(2):  # asked once more, they stay there
        assert not save(qtbot, window)
        qtbot.waitUntil(lambda: asked_by_keys() != "")
        # What Enter does unread keeps everything that is on disk.
        assert asked_by_keys() == "Save under another name…"
    answer(qtbot, window, "Not now")
    assert window.focusWidget() is had_keys
    assert load_job(path).setup.units == 1


def test_the_same_question_about_another_folder_saves_there(
    qtbot: QtBot, window: Window, answers: Answers, path: Path, tmp_path: Path
) -> None:
    window.desk.do(SetUnits(3))
    folder = tmp_path / "second"
    folder.mkdir()
    twin = folder / path.name
    save_job(Job("drawer", setup=Setup(units=2)), twin)
    answers.paths = [path.with_suffix("")]
    assert not save_as(qtbot, window)
    answers.paths = [twin.with_suffix("")]
    assert not save_as(qtbot, window)  # the note reads as before
    (over,) = [
        one
        for one in window.question.findChildren(QAbstractButton)
        if one.text() == "Save over it" and not one.isHidden()
    ]
    over.click()
    wait_for_saves(qtbot, window)
    assert load_job(path).setup.units == 1
    assert load_job(twin).setup.units == 3


def test_windows_of_one_program(qtbot: QtBot, path: Path) -> None:
    windows = Windows(Settings(tour_seen=True))
    first, second = windows.add(path), windows.add()
    wait_for(qtbot, first, "shop")
    wait_for(qtbot, second, "shop")
    second.take_files([path])  # a blank window would open it, but the first one has it
    assert second.desk.workbench.path is None
    assert len(windows.open) == 2
    first.desk.do(SetUnits(5))
    assert save(qtbot, first)
    answers = Answers()
    answers.paths = [path]
    second.asking = answers
    second.desk.do(SetUnits(9))
    assert not save_as(qtbot, second)
    assert texts(second)[0].startswith("drawer.lasernest is open in another window.")
    assert load_job(path).setup.units == 5
    for window in (second, first):
        assert window.close()
    assert not lock_file_of(path).exists()


def test_a_kept_job_remembers_what_its_file_held(qtbot: QtBot, window: Window, path: Path) -> None:
    window.open_job(path)
    window.desk.do(SetUnits(3))
    digest = window.desk.workbench.digest
    autosave.keep(window.desk.job, path, window.keeper.file, digest=digest)
    (kept,) = autosave.kept_jobs()
    window.desk.workbench.new()
    window.keeper.take(kept)
    save_job(Job("drawer", setup=Setup(units=7)), path)
    assert not save(qtbot, window)
    assert load_job(path).setup.units == 7
