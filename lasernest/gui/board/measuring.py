"""The measure: from point to point on the canvas, with its parts along x and y."""

from __future__ import annotations

import math

from PySide6.QtCore import QPoint, QPointF, QRectF, Qt
from PySide6.QtGui import QPainter

from lasernest.domain.contours import Point
from lasernest.gui.board.inks import thin_pen
from lasernest.gui.board.view import View
from lasernest.gui.lengths import lengths
from lasernest.gui.look.theme import TextSize, theme


class Measure:
    """What is measured, and the point that would be taken next."""

    def __init__(self) -> None:
        self.on = False
        self.ends: tuple[Point, Point] | None = None
        self.candidate: Point | None = None
        """A point that attracts the pointer now."""

    def switch(self, *, on: bool) -> None:
        """Begin or end measuring."""
        self.on = on
        self.ends = None
        self.candidate = None

    def words(self) -> tuple[str, str]:
        """The distance, and its parts with the angle."""
        assert self.ends is not None
        (x0, y0), (x1, y1) = self.ends
        dx, dy = x1 - x0, y1 - y0
        angle = math.degrees(math.atan2(dy, dx)) + 0.0
        parts = f"Δx {lengths.number(dx)}  Δy {lengths.number(dy)}  {angle:.1f}°"
        return lengths.text(math.hypot(dx, dy)), parts.replace("-", "−")

    def draw(self, painter: QPainter, view: View) -> None:
        """Draw it over the canvas."""
        if self.candidate is not None:
            spot = view.to_screen(*self.candidate)
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(thin_pen(theme.colour("bad"), 1.6))
            painter.drawRect(QRectF(spot.x() - 4, spot.y() - 4, 8, 8))
        if self.ends is None:
            return
        a, b = (view.to_screen(*end) for end in self.ends)
        painter.setPen(thin_pen(theme.colour("bad"), 1.6))
        painter.drawLine(a, b)
        for end in (a, b):
            painter.drawEllipse(end, 3.5, 3.5)
        self._draw_words(painter, (a + b) / 2)

    def _draw_words(self, painter: QPainter, middle: QPointF) -> None:
        distance, parts = self.words()
        small, strong = theme.font(TextSize.SMALL), theme.font(TextSize.BODY, strong=True)
        painter.setFont(strong)
        upper = painter.fontMetrics().boundingRect(distance)
        painter.setFont(small)
        lower = painter.fontMetrics().boundingRect(parts)
        width = max(upper.width(), lower.width()) + 16
        height = upper.height() + lower.height() + 8
        box = QRectF(0, 0, width, height)
        box.moveCenter(QPointF(middle.toPoint() - QPoint(0, round(height / 2) + 8)))
        painter.setBrush(theme.colour("card"))
        painter.setPen(thin_pen(theme.colour("card_border")))
        painter.drawRoundedRect(box, 4, 4)
        painter.setPen(theme.colour("ink"))
        painter.setFont(strong)
        line = QRectF(box.left(), box.top() + 3, box.width(), upper.height())
        painter.drawText(line, Qt.AlignmentFlag.AlignCenter, distance)
        painter.setFont(small)
        painter.setPen(theme.colour("quiet"))
        line = QRectF(box.left(), line.bottom(), box.width(), lower.height())
        painter.drawText(line, Qt.AlignmentFlag.AlignCenter, parts)
        painter.setBrush(Qt.BrushStyle.NoBrush)
