"""Plots: kerf over time with its band, and how joints feel over interference.

Painted straight from the figures; each can be drawn into any rectangle, on
the board or into a picture file.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPainterPath, QPen, QPolygonF

from lasernest.domain.readings import Feel
from lasernest.gui.board.inks import thin_pen
from lasernest.gui.board.view import nice_step
from lasernest.gui.lengths import lengths
from lasernest.gui.look.theme import TextSize, theme
from lasernest.gui.words import tr

if TYPE_CHECKING:
    from lasernest.kerf.fit_model import FitModel
    from lasernest.services.tuning import KerfPoint

FEEL_COLOURS = {
    Feel.FALLS: "faint",
    Feel.SLIDES: "score",
    Feel.PUSH: "inner_cut",
    Feel.PRESS: "good",
    Feel.MALLET: "engrave",
    Feel.REFUSES: "bad",
}
FEEL_WORDS = {
    Feel.FALLS: "falls",
    Feel.SLIDES: "slides",
    Feel.PUSH: "push",
    Feel.PRESS: "press",
    Feel.MALLET: "mallet",
    Feel.REFUSES: "no",
}


@dataclass(frozen=True, slots=True)
class Axes:
    """A plot's rectangle and the values at its edges."""

    rect: QRectF
    x0: float
    x1: float
    y0: float
    y1: float

    def at(self, x: float, y: float) -> QPointF:
        """Where a pair of values lies."""
        return QPointF(
            self.rect.left() + (x - self.x0) / (self.x1 - self.x0) * self.rect.width(),
            self.rect.bottom() - (y - self.y0) / (self.y1 - self.y0) * self.rect.height(),
        )


def plot_frame(painter: QPainter, area: QRectF, title: str, *, left: float, below: float) -> QRectF:
    """Title and ground of a plot; returns the rectangle to draw in."""
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    font = theme.font(TextSize.SMALL)
    painter.setFont(font)
    painter.setPen(theme.colour("quiet"))
    height = QFontMetricsF(font).height()
    painter.drawText(QRectF(area.left(), area.top(), area.width(), height), title)
    rect = QRectF(
        area.left() + left,
        area.top() + height + 6,
        area.width() - left,
        area.height() - height - 6 - below,
    )
    painter.setBrush(theme.colour("sheet"))
    painter.setPen(thin_pen(theme.colour("card_border")))
    painter.drawRect(rect)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    return rect


def draw_grid(painter: QPainter, axes: Axes, decimals: int) -> None:
    """Level lines with their numbers at the left."""
    font = theme.font(TextSize.SMALL)
    painter.setFont(font)
    step = nice_step((axes.y1 - axes.y0) / 4.0)
    value = step * round(axes.y0 / step)
    while value <= axes.y1 + 1e-12:
        if value > axes.y0:
            at = axes.at(axes.x0, value)
            painter.setPen(thin_pen(theme.colour("rule")))
            painter.drawLine(at, axes.at(axes.x1, value))
            painter.setPen(theme.colour("quiet"))
            place = QRectF(at.x() - 60, at.y() - 9, 54, 18)
            right = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
            painter.drawText(place, right, f"{value:.{decimals}f}")
        value += step


def draw_history(painter: QPainter, area: QRectF, points: Sequence[KerfPoint], name: str) -> None:
    """Kerf over time: the value of each record, its readings' band around it."""
    painter.save()
    title = tr("kerf over time, {stock} ({unit})", stock=name, unit=lengths.unit)
    rect = plot_frame(painter, area, title, left=54.0 if points else 0.0, below=24.0)
    if not points:
        _say(painter, rect, tr("No test piece was measured yet."))
        painter.restore()
        return
    scale = float(lengths.number(1000.0, 6)) / 1000.0
    days = [p.record.on.toordinal() for p in points]
    low = min(p.low_mm for p in points) * scale
    high = max(p.high_mm for p in points) * scale
    room = max(0.15 * (high - low), 0.01 * scale)
    span = max(days[-1] - days[0], 1)
    axes = Axes(
        rect.adjusted(0, 0, 0, 0),
        days[0] - 0.06 * span,
        days[-1] + 0.06 * span,
        low - room,
        high + room,
    )
    draw_grid(painter, axes, 3 if lengths.inches else 2)
    xs = [float(d) for d in days]
    if len(points) == 1:
        xs = [0.5 * (axes.x0 + axes.x1)]
    upper = [axes.at(x, p.high_mm * scale) for x, p in zip(xs, points, strict=True)]
    lower = [axes.at(x, p.low_mm * scale) for x, p in zip(xs, points, strict=True)]
    middle = [axes.at(x, p.kerf_mm * scale) for x, p in zip(xs, points, strict=True)]
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(theme.colour("accent", 0.18))
    if len(points) > 1:
        painter.drawPolygon(QPolygonF([*upper, *reversed(lower)]))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(QPen(theme.colour("inner_cut"), 2.0))
    painter.drawPolyline(QPolygonF(middle))
    for top, at, bottom in zip(upper, middle, lower, strict=True):
        painter.setPen(QPen(theme.colour("inner_cut"), 1.2))
        painter.drawLine(top, bottom)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(theme.colour("ink"))
        painter.drawEllipse(at, 3.0, 3.0)
        painter.setBrush(Qt.BrushStyle.NoBrush)
    _dates(painter, rect, middle, points)
    painter.restore()


def _dates(
    painter: QPainter, rect: QRectF, places: Sequence[QPointF], points: Sequence[KerfPoint]
) -> None:
    painter.setFont(theme.font(TextSize.SMALL))
    painter.setPen(theme.colour("quiet"))
    last = -1e9
    for place, point in zip(places, points, strict=True):
        text = f"{point.record.on:%d %b %y}"
        if place.x() - last > 64:
            spot = QRectF(place.x() - 40, rect.bottom() + 4, 80, 18)
            painter.drawText(spot, Qt.AlignmentFlag.AlignHCenter, text)
            last = place.x()


def draw_feels(
    painter: QPainter, area: QRectF, model: FitModel, target_mm: float | None, *, felt: bool
) -> None:
    """The share of joints that feel each way, over the interference asked for."""
    painter.save()
    title = (
        tr("how a joint feels against its interference ({unit})", unit=lengths.unit)
        if felt
        else tr("how such a sheet usually feels; nothing tried yet ({unit})", unit=lengths.unit)
    )
    rect = plot_frame(painter, area, title, left=0.0, below=24.0)
    borders = model.borders_mm
    low, high = borders[0] - 0.12, borders[-1] + 0.12
    axes = Axes(rect.adjusted(8, 22, -8, -4), low, high, 0.0, 1.0)
    count = 121
    steps = [low + (high - low) * i / (count - 1) for i in range(count)]
    curves = model.curve(steps)
    font = theme.font(TextSize.SMALL)
    metrics = QFontMetricsF(font)
    last_label = rect.left()
    for feel, shares in curves.items():
        path = QPainterPath(axes.at(steps[0], shares[0]))
        for x, share in zip(steps[1:], shares[1:], strict=True):
            path.lineTo(axes.at(x, share))
        painter.setPen(QPen(theme.colour(FEEL_COLOURS[feel]), 2.0))
        painter.drawPath(path)
        best = max(range(count), key=shares.__getitem__)
        word = FEEL_WORDS[feel]
        width = metrics.horizontalAdvance(word)
        x = axes.at(steps[best], 0).x() - width / 2
        x = min(max(x, last_label + 4), rect.right() - width - 4)
        painter.setFont(font)
        painter.setPen(theme.colour("ink"))
        painter.drawText(QPointF(x, rect.top() + 16), word)
        last_label = x + width
    if target_mm is not None:
        pen = QPen(theme.colour("ink"), 1.2)
        pen.setDashPattern([4, 3])
        painter.setPen(pen)
        painter.drawLine(axes.at(target_mm, 0.0), axes.at(target_mm, 1.0))
    _interferences(painter, axes, rect)
    painter.restore()


def _interferences(painter: QPainter, axes: Axes, rect: QRectF) -> None:
    """Numbers below the plot of feels."""
    painter.setFont(theme.font(TextSize.SMALL))
    painter.setPen(theme.colour("quiet"))
    step = nice_step((axes.x1 - axes.x0) / 6.0)
    value = step * -(-axes.x0 // step)
    while value <= axes.x1:
        place = QRectF(axes.at(value, 0).x() - 36, rect.bottom() + 4, 72, 18)
        text = lengths.number(value, 2)
        sign = "+" if value > 1e-9 else ""
        painter.drawText(place, Qt.AlignmentFlag.AlignHCenter, sign + text.replace("-", "−"))
        value += step


def _say(painter: QPainter, rect: QRectF, text: str) -> None:
    painter.setFont(theme.font(TextSize.SMALL))
    painter.setPen(theme.colour("quiet"))
    flags = Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap
    painter.drawText(rect.adjusted(12, 12, -12, -12), flags, text)
