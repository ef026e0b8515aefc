"""Asking for files with the system's own dialogs, and showing folders in its file manager.

A class of its own, so that tests and scripts can answer instead.
"""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QLocale, QUrl
from PySide6.QtGui import QDesktopServices
from PySide6.QtWidgets import QFileDialog, QWidget

from lasernest.gui.words import tr
from lasernest.job import SUFFIX


class Asking:
    """Asks the maker for files."""

    def __init__(self, over: QWidget) -> None:
        """Args: `over` is what dialogs stand over; its style sheet is theirs, too."""
        self.over = over

    def drawings(self, folder: Path) -> list[Path]:
        """Drawings to open; empty when the maker changed their mind."""
        names, _ = QFileDialog.getOpenFileNames(
            self.over, tr("Open drawings"), str(folder), tr("Drawings (*.dxf *.svg *.DXF *.SVG)")
        )
        return [Path(name) for name in names]

    def job(self, folder: Path) -> Path | None:
        """A job file to open."""
        name, _ = QFileDialog.getOpenFileName(
            self.over, tr("Open a job"), str(folder), f"{tr('Jobs')} (*{SUFFIX})"
        )
        return Path(name) if name else None

    def save_job(self, usual: Path) -> Path | None:
        """Where to save a job."""
        name, _ = QFileDialog.getSaveFileName(
            self.over, tr("Save the job"), str(usual), f"{tr('Jobs')} (*{SUFFIX})"
        )
        return Path(name) if name else None

    def cut_file(self, usual: Path) -> Path | None:
        """Where to write the cut file."""
        name, _ = QFileDialog.getSaveFileName(
            self.over, tr("Write the cut file"), str(usual), tr("Cut files (*.dxf)")
        )
        return Path(name) if name else None

    def comparison(self, usual: Path) -> Path | None:
        """Where to write a comparison: `.pdf` is a paper, `.csv` a table."""
        table = usual.suffix.lower() == ".csv"
        kinds = tr("Tables (*.csv)") if table else tr("PDF files (*.pdf)")
        name, _ = QFileDialog.getSaveFileName(
            self.over, tr("Save the comparison"), str(usual), kinds
        )
        if not name:
            return None
        path = Path(name)
        if path.suffix.lower() != usual.suffix:
            path = path.with_name(path.name + usual.suffix)
        return path

    def picture(self, usual: Path) -> Path | None:
        """Where to save a picture, and as what."""
        kinds = ";;".join(
            f"{tr('Picture')} {s[1:].upper()} (*{s})" for s in (".png", ".svg", ".pdf")
        )
        name, chosen = QFileDialog.getSaveFileName(
            self.over, tr("Save a picture"), str(usual), kinds
        )
        if not name:
            return None
        path = Path(name)
        # Some dialogs leave the ending to us.
        return path if path.suffix else path.with_suffix(chosen.rpartition("*")[2].rstrip(")"))

    def template(self, usual: Path) -> tuple[Path, str] | None:
        """Where to write a paper template, and the name of the paper it is printed on."""
        return self._paper(tr("Write a paper template"), usual)

    def job_sheet(self, usual: Path) -> tuple[Path, str] | None:
        """Where to write a job sheet, and the name of the paper it is printed on."""
        return self._paper(tr("Write the job sheet"), usual, tr("Page for a screen (*.html)"))

    def _paper(self, title: str, usual: Path, *more: str) -> tuple[Path, str] | None:
        papers = [("a4", "A4"), ("letter", "Letter"), ("a3", "A3")]
        if QLocale.system().measurementSystem() == QLocale.MeasurementSystem.ImperialUSSystem:
            papers.insert(0, papers.pop(1))
        kinds = [tr("PDF for {paper} paper (*.pdf)", paper=name) for _, name in papers]
        name, chosen = QFileDialog.getSaveFileName(
            self.over, title, str(usual), ";;".join([*kinds, *more])
        )
        if not name:
            return None
        path = Path(name)
        if chosen in more:
            # The usual name ends in .pdf, whatever kind is chosen below it.
            path = path.with_suffix(".html")
        paper = papers[kinds.index(chosen)] if chosen in kinds else papers[0]
        return path, paper[0]

    def show_folder(self, folder: Path) -> bool:
        """Show a folder in the system's file manager; False when there is none."""
        return QDesktopServices.openUrl(QUrl.fromLocalFile(str(folder)))
