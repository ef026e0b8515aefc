"""All windows of the program, from the first to the last.

A window is up before anything heavy is loaded; the shop book, nesting and
the readers are loaded in the background once it is.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from functools import partial
from pathlib import Path

from PySide6.QtCore import QPoint, QTimer
from PySide6.QtGui import QIcon
from PySide6.QtWidgets import QApplication

from lasernest.gui.languages import speak
from lasernest.gui.look.theme import theme
from lasernest.gui.preferences import dress
from lasernest.gui.settings import Settings, load_settings
from lasernest.gui.tidying import Tidier
from lasernest.gui.window import Window
from lasernest.job import Job
from lasernest.resources import resource
from lasernest.services.apart import helpers
from lasernest.services.workbench import Workbench

_ASIDE = 32
"""Another window lies so far to the right and below, so that both are seen."""


class Windows:
    """All open windows of the program; each has a job of its own."""

    def __init__(self, settings: Settings) -> None:
        self.settings = settings
        self.open: list[Window] = []

    def add(self, path: Path | None = None) -> Window:
        """Open another window, with a job file or empty; a job that is open comes to the front."""
        for shown in self.open:
            known = shown.desk.workbench.path
            if path is not None and known is not None and known.resolve() == path.resolve():
                shown.raise_()
                shown.activateWindow()
                return shown
        window = Window(Workbench(), self.settings)
        if self.open:
            window.move(self.open[-1].pos() + QPoint(_ASIDE, _ASIDE))
        self.open.append(window)
        window.another_wanted.connect(self.add)
        window.job_wanted.connect(self.add_job)
        window.sample_wanted.connect(self.add_sample)
        window.closed.connect(lambda: self.open.remove(window))
        window.desk.shop_written.connect(partial(self._shop_written, window))
        window.show()
        if path is not None:
            window.open_job(path)
        QTimer.singleShot(0, window, window.keeper.look)
        QTimer.singleShot(0, window, window.desk.open_shop)
        QTimer.singleShot(50, window, window.desk.warm_up)
        return window

    def _shop_written(self, by: Window) -> None:
        """The others look at the shop book again: they offer what one of them put there."""
        for window in self.open:
            if window is not by:
                window.desk.open_shop()

    def add_job(self, job: Job) -> None:
        """Open another window with a job that was never saved, and arrange it."""
        window = self.add()
        window.desk.workbench.recover(job, None)
        window.desk.arrange()

    def add_sample(self) -> None:
        """Open another window with the sample job."""
        self.add().desk.importer.open_sample()


def run(paths: Sequence[Path] = ()) -> int:
    """Open the window on these files and stay until the last window is closed."""
    app = QApplication.instance() or QApplication(sys.argv[:1])
    assert isinstance(app, QApplication)
    app.setApplicationName("lasernest")
    app.setDesktopFileName("lasernest")
    app.setWindowIcon(QIcon(str(resource("desktop/lasernest.svg"))))
    # Work in the background hands over within a tenth of a millisecond when the window wants to
    # answer: it asks at every turn of Qt, hundreds of times for a click. With a whole one,
    # another plan of 1000 panels was shown after 150 ms instead of 50 to 100.
    sys.setswitchinterval(0.0001)
    # And what takes long is done in processes of its own.
    helpers.enable()
    tidier = Tidier(app)
    settings = load_settings()
    translation = speak(settings.language)  # kept until the end: Qt does not
    theme.install(app)
    dress(settings)
    windows = Windows(settings)
    window = windows.add()
    if paths:
        QTimer.singleShot(0, window, lambda: window.take_files(list(paths)))
    code = app.exec()
    helpers.close()
    tidier.stop()
    if translation is not None:
        app.removeTranslator(translation)
    return code
