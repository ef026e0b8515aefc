"""Context menus: entries made when the menu opens."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QKeySequence
from PySide6.QtWidgets import QMenu, QWidget

from lasernest.gui.look.theme import theme


@dataclass(frozen=True, slots=True)
class Entry:
    """One thing that a context menu offers; an empty text parts the groups."""

    text: str = ""
    run: Callable[[], object] | None = None
    keys: str = ""
    """The key that does the same, to be learnt here."""
    entries: tuple[Entry, ...] = ()
    """A submenu instead of an act."""


PART = Entry()
"""A line between two groups."""


def fill_menu(menu: QMenu, entries: Sequence[Entry]) -> None:
    """Put entries into a menu."""
    for entry in entries:
        if entry.entries:
            fill_menu(menu.addMenu(entry.text), entry.entries)
        elif not entry.text:
            menu.addSeparator()
        else:
            action = menu.addAction(entry.text)
            action.setEnabled(entry.run is not None)
            if entry.run is not None:
                action.triggered.connect(lambda _checked=False, run=entry.run: run())
            if entry.keys:
                # Shown only: the widget below the menu takes the key itself.
                action.setShortcut(QKeySequence(entry.keys))
                action.setShortcutContext(Qt.ShortcutContext.WidgetShortcut)


def open_menu(parent: QWidget, entries: Sequence[Entry], at: QPoint) -> QMenu:
    """Open a menu at a place of the screen; it goes when it closes."""
    menu = QMenu(parent)
    menu.setFont(theme.font())
    menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
    fill_menu(menu, entries)
    menu.popup(at)
    return menu
