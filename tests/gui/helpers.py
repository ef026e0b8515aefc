"""What several window tests do."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from pytestqt.qtbot import QtBot

from lasernest.gui.window import Window


def wait_for(qtbot: QtBot, window: Window, *kinds: str) -> None:
    """Wait until no task of these kinds runs; the first search of all compiles its kernels."""
    qtbot.waitUntil(lambda: all(window.desk.tasks.task(k) is None for k in kinds), timeout=240_000)


def read(qtbot: QtBot, window: Window, *paths: Path) -> None:
    """Bring drawings in and wait for their panels."""
    window.take_files(list(paths))
    wait_for(qtbot, window, "import")


def arrange(qtbot: QtBot, window: Window) -> None:
    """Arrange and wait for the plan."""
    window.desk.arrange()
    wait_for(qtbot, window, "arrange")


def save(qtbot: QtBot, window: Window) -> bool:
    """Save the job and wait for the end of that; whether it was saved."""
    return _whether_saved(qtbot, window, window.save)


def save_as(qtbot: QtBot, window: Window) -> bool:
    """Save the job under another name and wait for the end of that; whether it was saved."""
    return _whether_saved(qtbot, window, window.save_as)


def wait_for_saves(qtbot: QtBot, window: Window) -> None:
    """Wait until nothing is being saved."""
    qtbot.waitUntil(lambda: not window.filing.saving)


def _whether_saved(qtbot: QtBot, window: Window, ask: Callable[[], None]) -> bool:
    saved: list[bool] = []
    connection = window.filing.saved.connect(lambda: saved.append(True))
    ask()
    wait_for_saves(qtbot, window)
    window.filing.saved.disconnect(connection)
    return bool(saved)
