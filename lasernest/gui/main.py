"""The entry of the window.

The window is up before anything heavy is loaded; the shop book, nesting and
the readers are loaded in the background once it is.
"""

from __future__ import annotations

import logging
import sys
from collections.abc import Sequence
from pathlib import Path

from PySide6.QtCore import QTimer
from PySide6.QtGui import QIcon
from PySide6.QtWidgets import QApplication

from lasernest.gui.lengths import lengths
from lasernest.gui.look.theme import Brightness, theme
from lasernest.gui.settings import Settings, load_settings
from lasernest.gui.window import Window
from lasernest.resources import resource
from lasernest.services.workbench import Workbench


class Windows:
    """All open windows of the program; each has a job of its own."""

    def __init__(self, settings: Settings) -> None:
        self.settings = settings
        self.open: list[Window] = []

    def add(self, path: Path | None = None) -> Window:
        """Open another window, with a job file or empty; a job that is open comes to the front."""
        for shown in self.open:
            if path is not None and shown.desk.workbench.path == path:
                shown.activateWindow()
                return shown
        window = Window(Workbench(), self.settings)
        self.open.append(window)
        window.another_wanted.connect(self.add)
        window.sample_wanted.connect(self.add_sample)
        window.closed.connect(lambda: self.open.remove(window))
        window.show()
        if path is not None:
            window.open_job(path)
        QTimer.singleShot(0, window, window.keeper.look)
        QTimer.singleShot(0, window, window.desk.open_shop)
        QTimer.singleShot(50, window, window.desk.warm_up)
        return window

    def add_sample(self) -> None:
        """Open another window with the sample job."""
        self.add().desk.open_sample()


def dress(settings: Settings) -> None:
    """Let the program look as the settings say."""
    brightness = Brightness.__members__.get(settings.brightness, Brightness.SYSTEM)
    theme.choose(
        brightness=brightness,
        high_contrast=settings.high_contrast,
        text_scale=settings.text_scale,
    )
    lengths.show_inches(settings.inches)


def run(paths: Sequence[Path] = ()) -> int:
    """Open the window on these files and stay until the last window is closed."""
    app = QApplication.instance() or QApplication(sys.argv[:1])
    assert isinstance(app, QApplication)
    app.setApplicationName("lasernest")
    app.setDesktopFileName("lasernest")
    app.setWindowIcon(QIcon(str(resource("desktop/lasernest.svg"))))
    settings = load_settings()
    theme.install(app)
    dress(settings)
    windows = Windows(settings)
    window = windows.add()
    if paths:
        QTimer.singleShot(0, window, lambda: window.take_files(list(paths)))
    return app.exec()


def main() -> None:
    """`lasernest-window`: the window without a terminal."""
    logging.basicConfig(level=logging.INFO, format="%(levelname)s %(name)s: %(message)s")
    sys.exit(run([Path(name) for name in sys.argv[1:] if not name.startswith("-")]))


if __name__ == "__main__":
    main()
