"""Looking for rings of objects that nobody holds any more, when it disturbs nobody.

Python looks for them by itself, in whatever thread makes objects, and stops all
others meanwhile: with a job of a thousand panels for 0.2 s. In the window it does not.
What was made since the last look is looked through every second, some milliseconds
long, and set aside; all of it only when the maker has turned to another program.
A job itself has no rings: its parts go when the last job that holds them goes.
"""

from __future__ import annotations

import gc

from PySide6.QtCore import QObject, Qt, QTimer
from PySide6.QtGui import QGuiApplication

_EVERY_MS = 1000
_AWAY_MS = 5000
"""After so long with another program the maker is taken to be busy there."""
_FEW = 2000
"""New objects that are not worth a look."""


class Tidier(QObject):
    """Tidies up after all windows of the program."""

    def __init__(self, app: QGuiApplication) -> None:
        super().__init__(app)
        gc.disable()
        gc.freeze()
        self._often = QTimer(self)
        self._often.setInterval(_EVERY_MS)
        self._often.timeout.connect(self.look_at_new)
        self._often.start()
        self._away = QTimer(self)
        self._away.setSingleShot(True)
        self._away.setInterval(_AWAY_MS)
        self._away.timeout.connect(self.look_at_all)
        app.applicationStateChanged.connect(self._on_state)

    def _on_state(self, state: Qt.ApplicationState) -> None:
        if state is Qt.ApplicationState.ApplicationActive:
            self._away.stop()
        else:
            self._away.start()

    def look_at_new(self) -> None:
        """Drop the rings among what was made since the last look."""
        if gc.get_count()[0] > _FEW:
            gc.collect(0)
            gc.freeze()

    def look_at_all(self) -> None:
        """Drop all rings there are."""
        gc.unfreeze()
        gc.collect()
        gc.freeze()

    def stop(self) -> None:
        """The program ends, or goes on without windows: Python looks by itself again."""
        self._often.stop()
        self._away.stop()
        gc.unfreeze()
        gc.enable()
