"""Recorded pictures as the pages of a PDF, packed in a process of its own where there is one.

Qt packs a page in one call that holds the interpreter: 0.18 s for a sheet of a thousand
panels, in whatever thread it is done. The window therefore only records what is drawn
(`QPicture`), and a helper process draws it again onto the page. A helper has no screen;
it needs Qt's drawing half only, and loads it at its first PDF.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QBuffer, QIODevice, QMarginsF, QSizeF
from PySide6.QtGui import QGuiApplication, QPageSize, QPainter, QPdfWriter, QPicture

from lasernest.domain.control import Control
from lasernest.gui.look.fonts import load_fonts

PX_PER_INCH = 96
"""A picture's pixel, as SVG and CSS define it (CSS Values 4, section 6.2)."""


@dataclass(frozen=True, slots=True)
class RecordedPage:
    """A picture as it was drawn, and its size in its own pixels."""

    width: float
    height: float
    recorded: bytes

    @classmethod
    def of(cls, picture: QPicture, width: float, height: float) -> RecordedPage:
        """What a painter drew into a picture."""
        buffer = QBuffer()
        buffer.open(QIODevice.OpenModeFlag.WriteOnly)
        picture.save(buffer)
        return cls(width, height, bytes(buffer.data().data()))


_qt: list[QGuiApplication] = []
"""Of a helper process, which has no other; kept until it ends."""


def packed_pdf(pages: Sequence[RecordedPage], *, control: Control) -> bytes:
    """The bytes of a PDF.

    Args:
        pages: one or more.
        control: may cancel between pages.

    Raises:
        Cancelled: the maker pressed Cancel.
    """
    if QGuiApplication.instance() is None:
        _qt.append(QGuiApplication(["lasernest", "-platform", "offscreen"]))
        load_fonts()
    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    pdf = QPdfWriter(buffer)
    pdf.setResolution(PX_PER_INCH)
    pdf.setPageMargins(QMarginsF(0.0, 0.0, 0.0, 0.0))
    painter = QPainter()
    for page in pages:
        control.check()
        inches = QSizeF(page.width, page.height) / PX_PER_INCH
        pdf.setPageSize(QPageSize(inches, QPageSize.Unit.Inch))
        if painter.isActive():
            pdf.newPage()
        else:
            painter.begin(pdf)
        picture = QPicture()
        source = QBuffer()
        source.setData(page.recorded)
        source.open(QIODevice.OpenModeFlag.ReadOnly)
        picture.load(source)
        painter.drawPicture(0, 0, picture)
    painter.end()
    return bytes(buffer.data().data())
