"""What a page lies on: grounds with a rounded border, and areas that scroll on them.

Both need no style sheet, so that the parts on them can be dressed one by one (`look.rooms`).
"""

from __future__ import annotations

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QPainter, QPen
from PySide6.QtWidgets import QFrame, QScrollArea, QWidget

from lasernest.gui.look.theme import RADIUS, theme


def draw_plate(part: QWidget, colour: str) -> None:
    """Fill a part in a colour of the palette, within its paint event."""
    painter = QPainter(part)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(QPen(theme.colour("card_border"), 1.0))
    painter.setBrush(theme.colour(colour))
    painter.drawRoundedRect(QRectF(part.rect()).adjusted(0.5, 0.5, -0.5, -0.5), RADIUS, RADIUS)
    painter.end()


def see_through_scroll(page: QWidget) -> QScrollArea:
    """A page that scrolls where it is larger than its room; the ground shows through it."""
    scroll = QScrollArea()
    scroll.setWidgetResizable(True)
    scroll.setFrameShape(QFrame.Shape.NoFrame)
    scroll.setFocusPolicy(Qt.FocusPolicy.NoFocus)
    scroll.setWidget(page)
    for part in (scroll, scroll.viewport(), page):
        part.setAutoFillBackground(False)
    return scroll
