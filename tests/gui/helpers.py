"""What several window tests do."""

from __future__ import annotations

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
