"""Unsaved jobs are kept, and come back after a crash."""

from __future__ import annotations

import itertools
import os
import signal
import subprocess
import sys
import threading
import time
from datetime import datetime
from pathlib import Path

import pytest
from PySide6.QtWidgets import QPushButton
from pytestqt.qtbot import QtBot

from lasernest.gui import keeper
from lasernest.gui.parts.notes import NoteBox
from lasernest.gui.settings import Settings
from lasernest.gui.window import Window
from lasernest.job import Job
from lasernest.services import autosave
from lasernest.services.commands import SetUnits
from lasernest.services.workbench import Workbench
from tests.conftest import REPOSITORY
from tests.gui.conftest import Answers
from tests.gui.helpers import read, save, wait_for

_CRASHING = """
import sys
from pathlib import Path
from PySide6.QtWidgets import QApplication
from lasernest.gui.look.theme import theme
from lasernest.gui.settings import Settings
from lasernest.gui.window import Window
from lasernest.services.workbench import Workbench

app = QApplication([])
theme.install(app)
window = Window(Workbench(), Settings())
window.take_files([Path(sys.argv[1])])
app.exec()
"""


def _kept(qtbot: QtBot, window: Window) -> None:
    qtbot.waitUntil(window.keeper.file.exists, timeout=20_000)
    wait_for(qtbot, window, "keep")


def _offers(window: Window) -> list[NoteBox]:
    boxes = window.outlines.card.findChildren(NoteBox)
    return [b for b in boxes if not b.isHidden() and "was not saved" in b.note.text]


def test_a_change_is_kept_and_goes_when_it_is_saved(
    qtbot: QtBot, window: Window, sample_panels: Path, answers: Answers, tmp_path: Path
) -> None:
    read(qtbot, window, sample_panels / "clock-feet.svg")
    _kept(qtbot, window)
    (kept,) = autosave.kept_jobs()
    assert autosave.load(kept) == window.desk.job
    answers.paths = [tmp_path / "feet.lasernest"]
    assert save(qtbot, window)
    assert autosave.kept_jobs() == ()


def test_nothing_stays_of_a_job_that_was_saved_while_it_was_being_kept(
    qtbot: QtBot,
    window: Window,
    sample_panels: Path,
    answers: Answers,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    begun, may_write, wrote = threading.Event(), threading.Event(), threading.Event()
    keep = autosave.safely

    def slowly(job: Job, path: Path | None, file: Path, *, digest: str = "") -> str:
        begun.set()
        may_write.wait(60.0)
        said = keep(job, path, file, digest=digest)
        wrote.set()
        return said

    monkeypatch.setattr(autosave, "safely", slowly)
    read(qtbot, window, sample_panels / "clock-feet.svg")
    qtbot.waitUntil(begun.is_set, timeout=20_000)
    answers.paths = [tmp_path / "feet.lasernest"]
    assert save(qtbot, window)
    may_write.set()
    qtbot.waitUntil(wrote.is_set, timeout=20_000)
    qtbot.waitUntil(lambda: autosave.kept_jobs() == ())


def test_work_without_a_pause_is_kept_too(
    qtbot: QtBot, window: Window, sample_panels: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(keeper, "AFTER_MS", 60_000)  # nobody rests so long
    monkeypatch.setattr(keeper, "MOST_MS", 300)
    read(qtbot, window, sample_panels / "clock-feet.svg")
    units = itertools.count(2)

    def kept_while_going_on() -> bool:
        window.desk.do(SetUnits(next(units)))
        return window.keeper.file.exists()

    qtbot.waitUntil(kept_while_going_on)


def test_a_window_that_is_open_is_not_offered(
    qtbot: QtBot, window: Window, sample_panels: Path
) -> None:
    read(qtbot, window, sample_panels / "clock-feet.svg")
    _kept(qtbot, window)
    other = Window(Workbench(), Settings())
    qtbot.addWidget(other)
    other.keeper.look()
    assert other.keeper.offers == ()
    other.close()


def test_a_job_closed_unsaved_is_offered_and_goes_on(
    qtbot: QtBot, sample_panels: Path, window: Window
) -> None:
    closed = Window(Workbench(), Settings())
    qtbot.addWidget(closed)
    read(qtbot, closed, sample_panels / "clock-feet.svg")
    job = closed.desk.job
    closed.close()
    window.keeper.look()
    (box,) = _offers(window)
    assert box.note.text.startswith("clock-feet was not saved; the last change was today at ")
    box.note.answers[0].act()
    assert window.desk.job == job
    assert window.isWindowModified()
    assert _offers(window) == []
    (kept,) = autosave.kept_jobs()
    assert kept.file == window.keeper.file


def test_a_job_let_go_is_offered_no_more(qtbot: QtBot, sample_panels: Path, window: Window) -> None:
    closed = Window(Workbench(), Settings())
    qtbot.addWidget(closed)
    read(qtbot, closed, sample_panels / "clock-feet.svg")
    closed.close()
    window.keeper.look()
    _offers(window)[0].note.answers[1].act()
    assert _offers(window) == []
    window.keeper.look()
    assert window.keeper.offers == ()


@pytest.mark.skipif(sys.platform == "win32", reason="Windows knows no SIGKILL")
def test_a_killed_program_loses_nothing(qtbot: QtBot, sample_panels: Path, window: Window) -> None:
    environment = {**os.environ, "PYTHONPATH": str(REPOSITORY)}
    drawing = sample_panels / "clock-feet.svg"
    victim = subprocess.Popen([sys.executable, "-c", _CRASHING, str(drawing)], env=environment)
    try:
        end = time.monotonic() + 60.0
        while not autosave.kept_jobs():
            assert time.monotonic() < end, "the job was never kept"
            qtbot.wait(100)
        window.keeper.look()
        assert window.keeper.offers == ()  # its program is alive
    finally:
        victim.send_signal(signal.SIGKILL)
        victim.wait()
    window.keeper.look()
    (box,) = _offers(window)
    box.note.answers[0].act()
    assert "foot-left" in {p.name for p in window.desk.job.panels}


def test_a_damaged_job_is_told(qtbot: QtBot, sample_panels: Path, window: Window) -> None:
    file = autosave.new_file()
    autosave.keep(window.desk.job, None, file)
    file.write_bytes(file.read_bytes()[:-40])
    window.keeper.look()
    _offers(window)[0].note.answers[0].act()
    texts = [b.note.text for b in window.outlines.card.findChildren(NoteBox)]
    assert any("this is not a whole job file" in text for text in texts)
    assert file.exists()


def test_recent_jobs_stand_on_the_empty_page_and_in_the_menu(
    qtbot: QtBot, window: Window, sample_panels: Path, answers: Answers, tmp_path: Path
) -> None:
    read(qtbot, window, sample_panels / "clock-feet.svg")
    answers.paths = [tmp_path / "feet.lasernest"]
    save(qtbot, window)
    job = window.desk.job
    window.desk.workbench.new()
    window.settings.note_recent(tmp_path / "gone.lasernest")
    window.outlines.refresh()
    links = [b.text() for b in window.outlines.recent.findChildren(QPushButton) if b.isVisible()]
    assert links == ["feet"]
    act = next(a for a in window.acts.acts if a.name == "recent")
    assert act.choices is not None
    ((text, run),) = act.choices()
    assert text == "feet"
    run()
    assert window.desk.job == job


def test_the_time_is_told_as_one_says_it(monkeypatch: pytest.MonkeyPatch) -> None:
    old = autosave.KeptJob(Path("x"), "", None, datetime(2025, 3, 4, 9, 5))
    assert keeper.when(old) == "4 Mar 2025 at 09:05"
    assert keeper.title_of(old) == "a job without a name"
