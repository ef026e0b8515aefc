"""Where a file goes: its name, its folder, and the two things one wants to do about it."""

from __future__ import annotations

import os
import re
from collections.abc import Iterable
from pathlib import Path

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QWidget

from lasernest.files import folder_is_there
from lasernest.folders import documents_folder
from lasernest.gui.look.theme import TextSize
from lasernest.gui.parts.basics import Elided, horizontal, link, vertical
from lasernest.gui.words import tr
from lasernest.resources import sample_panels


class FilePlace(QWidget):
    """A file's name and folder, never only the name."""

    change_wanted = Signal()
    folder_wanted = Signal(object)
    """The folder to show in the system's file manager."""

    def __init__(self) -> None:
        super().__init__()
        column = vertical(self, gap=0)
        self.file = Elided("", strong=True, middle=True)
        self.folder = Elided("", size=TextSize.SMALL, colour="quiet", middle=True)
        column.addWidget(self.file)
        column.addWidget(self.folder)
        links = horizontal(gap=16)
        self.change_button = link(
            tr("Change…"), self.change_wanted.emit, tip=tr("Another name or folder")
        )
        self.open_button = link(
            tr("Open folder"),
            lambda: self.folder_wanted.emit(self._path.parent),
            tip=tr("Show it in the file manager"),
        )
        links.addWidget(self.change_button)
        links.addWidget(self.open_button)
        links.addStretch(1)
        column.addLayout(links)
        self._path = Path()

    @property
    def path(self) -> Path:
        return self._path

    def show_path(self, path: Path) -> None:
        """Show where the file goes, or lies."""
        self._path = path
        self.file.set_text(path.name)
        self.folder.set_text(_short(path.parent))
        self.file.setToolTip(str(path))
        self.folder.setToolTip(str(path.parent))
        self.open_button.setEnabled(folder_is_there(path.parent))


def usual_folder(*wanted: Path | None) -> Path:
    """The first of these folders that files may be put into, else the maker's documents.

    The program's own samples are no place for the maker's files.
    """
    for folder in wanted:
        if folder is not None and _is_the_makers(folder):
            return folder
    return documents_folder()


def file_name(wanted: str) -> str:
    """A name without what some file systems do not take."""
    return re.sub(r'[<>:"/\\|?*\x00-\x1f]+', "-", wanted).strip(" .") or "file"


def folder_of_drawings(paths: Iterable[str]) -> Path | None:
    """The folder of the first drawing of a job."""
    first = next(iter(paths), None)
    return Path(first).absolute().parent if first else None


def _is_the_makers(folder: Path) -> bool:
    if not folder_is_there(folder) or not os.access(folder, os.W_OK):
        return False
    return not folder.resolve().is_relative_to(sample_panels().resolve())


def _short(folder: Path) -> str:
    """A folder as it is reached from the maker's home; any other in full."""
    try:
        within = folder.relative_to(Path.home())
    except ValueError:
        return str(folder)
    return " › ".join((tr("home folder"), *within.parts))
