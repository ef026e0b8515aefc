"""The few signs of the window, painted so that they are sharp at any scale.

A sign never stands alone: a word says the same beside it.
"""

from __future__ import annotations

from enum import Enum

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QIcon, QPainter, QPen, QPixmap

from lasernest.gui.look.theme import theme


class State(Enum):
    """How far a step is; the value is the palette colour of its sign."""

    DONE = "good"
    QUESTION = "question"
    BLOCKED = "bad"
    RUNNING = "accent"
    NOTHING = "quiet"


def draw_sign(painter: QPainter, rect: QRectF, state: State, colour: QColor | None = None) -> None:
    """Paint a step's sign into a square."""
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    side = min(rect.width(), rect.height())
    painter.translate(rect.center())
    painter.scale(side / 16.0, side / 16.0)
    ink = colour or theme.colour(state.value)
    pen = QPen(ink, 1.9)
    pen.setCapStyle(Qt.PenCapStyle.RoundCap)
    pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    painter.setPen(pen)
    if state is State.DONE:
        painter.drawPolyline([QPointF(-4.6, 0.4), QPointF(-1.4, 3.6), QPointF(4.8, -3.8)])
    elif state is State.QUESTION:
        painter.drawArc(QRectF(-3, -6, 6, 6), 190 * 16, -235 * 16)
        painter.drawLine(QPointF(0.0, 0.6), QPointF(0.0, 1.6))
        painter.drawPoint(QPointF(0.0, 5.2))
    elif state is State.BLOCKED:
        painter.drawEllipse(QPointF(0, 0), 6.0, 6.0)
        painter.drawLine(QPointF(-4.2, 4.2), QPointF(4.2, -4.2))
    elif state is State.RUNNING:
        painter.drawArc(QRectF(-5, -5, 10, 10), 60 * 16, 270 * 16)
        painter.drawPolyline([QPointF(1.6, -6.6), QPointF(3.4, -3.9), QPointF(0.2, -3.2)])
    else:
        painter.drawLine(QPointF(-3.6, 0.0), QPointF(3.6, 0.0))
    painter.restore()


def draw_focus_ring(painter: QPainter, frame: QRectF, radius: float = 4.0) -> None:
    """The dashed ring inside a painted part that has the keys."""
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(QPen(theme.colour("accent"), 1.5, Qt.PenStyle.DashLine))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawRoundedRect(frame, radius, radius)
    painter.restore()


def draw_chevron(painter: QPainter, centre: QPointF, colour: QColor) -> None:
    """The small angle that says a list opens here; it grows with the text, within its room."""
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    pen = QPen(colour, 1.6)
    pen.setCapStyle(Qt.PenCapStyle.RoundCap)
    painter.setPen(pen)
    painter.translate(centre)
    grown = min(max(1.0, theme.text_scale), 1.6)
    painter.scale(grown, grown)
    painter.drawPolyline([QPointF(-3.5, -1.8), QPointF(0.0, 1.8), QPointF(3.5, -1.8)])
    painter.restore()


def sign_icon(state: State, size: int = 16) -> QIcon:
    """A sign as an icon."""
    pixmap = QPixmap(QSize(size, size) * 2)
    pixmap.setDevicePixelRatio(2.0)
    pixmap.fill(Qt.GlobalColor.transparent)
    painter = QPainter(pixmap)
    draw_sign(painter, QRectF(0, 0, size, size), state)
    painter.end()
    return QIcon(pixmap)
