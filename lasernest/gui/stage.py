"""The middle of the window: the board, or what stands in its place for a while.

Guide and settings are made when they are first wanted, so that the window is
up sooner.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from PySide6.QtCore import QSize, Signal
from PySide6.QtWidgets import QStackedWidget, QWidget

from lasernest.gui.command_search import Hit
from lasernest.gui.guide.book import the_guide
from lasernest.gui.guide.viewer import GuideView
from lasernest.gui.look.theme import theme
from lasernest.gui.menu import Act
from lasernest.gui.settings import Settings
from lasernest.gui.settings_view import Entry, SettingsView, setting_hits
from lasernest.gui.words import tr


class Stage(QStackedWidget):
    """Board, guide and settings, one of them in sight."""

    back_wanted = Signal()
    folder_wanted = Signal(object)
    usual_changed = Signal()
    """What a new job begins with was changed in the settings."""

    def __init__(self, board: QWidget, settings: Settings) -> None:
        super().__init__()
        self._board, self._settings = board, settings
        self.acts: Sequence[Act] = ()
        """What the guide's page of keys lists."""
        self.guide: GuideView | None = None
        self._settings_view: SettingsView | None = None
        self.addWidget(board)
        self.currentChanged.connect(lambda _index: self.updateGeometry())

    def minimumSizeHint(self) -> QSize:  # noqa: N802 - Qt's name
        """Of what is in sight: a wide page must not push the card beside the board away."""
        shown = self.currentWidget()
        return shown.minimumSizeHint() if shown is not None else super().minimumSizeHint()

    def show_board(self) -> None:
        """The job again."""
        self.setCurrentWidget(self._board)

    def show_guide(self, place: str, about: str = "") -> None:
        """The guide at a place; about a word where no place is given."""
        if self.guide is None:
            self.guide = GuideView(the_guide(), self.acts)
            self.guide.back_wanted.connect(self.back_wanted)
            self.addWidget(self.guide)
            theme.rooms.add(self.guide)
        self.setCurrentWidget(self.guide)
        self.guide.setFocus()
        if place:
            self.guide.open(place)
        else:
            self.guide.open_about(about)

    @property
    def settings_view(self) -> SettingsView:
        """The page of settings, made now if it was not yet."""
        if self._settings_view is None:
            self._settings_view = SettingsView(self._settings)
            self._settings_view.back_wanted.connect(self.back_wanted)
            self._settings_view.folder_wanted.connect(self.folder_wanted)
            self._settings_view.usual_changed.connect(self.usual_changed)
            self.addWidget(self._settings_view)
            theme.rooms.add(self._settings_view)
        return self._settings_view

    def show_settings(self) -> None:
        """The settings."""
        view = self.settings_view
        view.refresh()
        self.setCurrentWidget(view)
        view.setFocus()

    def _go_to_setting(self, entry: Entry) -> None:
        self.show_settings()
        self.settings_view.go_to(entry)

    def hits(self) -> list[Hit]:
        """Settings and sections of the guide, for the command search."""
        guide = the_guide()
        titles = {page.name: page.title for page in guide.pages}
        return setting_hits(self._go_to_setting) + [
            Hit(
                s.words,
                tr("Guide: {page}", page=titles[s.page]),
                partial(self.show_guide, s.place),
                to_read=True,
            )
            for page in guide.pages
            for s in page.sections
        ]
