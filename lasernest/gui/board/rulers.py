"""Rulers along the left and bottom of the canvas, in millimetres or inches."""

from __future__ import annotations

import math
from dataclasses import dataclass

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QFontMetricsF, QPainter

from lasernest.gui.board.inks import thin_pen
from lasernest.gui.board.view import View, nice_step
from lasernest.gui.lengths import lengths
from lasernest.gui.look.theme import TextSize, theme
from lasernest.units import MM_PER_INCH

_RULER_PX = 22
_NUMBER_EVERY_PX = 76.0
_TICK_EVERY_PX = 9.0


@dataclass(frozen=True, slots=True)
class Ticks:
    """Steps of a ruler in the unit shown."""

    small: float
    large: float
    decimals: int


def ruler_px() -> int:
    """How wide a ruler is; it grows with the text."""
    return max(_RULER_PX, theme.pixels(_RULER_PX))


def ticks_for(px_per_unit: float) -> Ticks:
    """Numbers far enough apart to be read, ticks that divide them evenly."""
    large = nice_step(_NUMBER_EVERY_PX / px_per_unit)
    small = large
    for parts in (10, 5, 2):
        if large / parts * px_per_unit >= _TICK_EVERY_PX:
            small = large / parts
            break
    return Ticks(small, large, max(0, -math.floor(math.log10(large) + 1e-9)))


def draw_rulers(
    painter: QPainter, view: View, canvas: QRectF, pointer_mm: tuple[float, float] | None
) -> None:
    """Draw both rulers over the canvas, with a mark where the pointer is."""
    unit_mm = MM_PER_INCH if lengths.inches else 1.0
    ticks = ticks_for(view.scale * unit_mm / max(1.0, theme.text_scale))
    side = ruler_px()
    ground = theme.colour("board")
    bottom = QRectF(canvas.left(), canvas.bottom() - side, canvas.width(), side)
    left = QRectF(canvas.left(), canvas.top(), side, canvas.height())
    painter.fillRect(bottom, ground)
    painter.fillRect(left, ground)
    line = thin_pen(theme.colour("faint"))
    font = theme.font(TextSize.SMALL)
    font.setPixelSize(theme.pixels(10))
    painter.setFont(font)
    metrics = QFontMetricsF(font)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
    per_large = max(1, round(ticks.large / ticks.small))

    # All ticks at once and few other calls: this is drawn in every frame.
    ticks_px: list[QLineF] = []
    texts: list[tuple[QRectF, str]] = []
    first = math.floor((left.right() - view.x_px) / view.scale / unit_mm / ticks.small)
    last = math.ceil((canvas.right() - view.x_px) / view.scale / unit_mm / ticks.small)
    for i in range(first, last + 1):
        value = i * ticks.small
        x = round(view.x_px + value * unit_mm * view.scale)
        if x < left.right():
            continue
        large = i % per_large == 0
        ticks_px.append(QLineF(x, bottom.top(), x, bottom.top() + (7 if large else 4)))
        if large:
            text = _number(value, ticks.decimals)
            width = metrics.horizontalAdvance(text) + 2
            box = QRectF(x - width / 2, bottom.top() + 7, width, side - 7)
            texts.append((box, text))

    upright: list[tuple[QRectF, str]] = []
    first = math.floor((view.y_px - bottom.top()) / view.scale / unit_mm / ticks.small)
    last = math.ceil((view.y_px - canvas.top()) / view.scale / unit_mm / ticks.small)
    middle_x = left.left() + (side - 7) / 2
    for i in range(first, last + 1):
        value = i * ticks.small
        y = round(view.y_px - value * unit_mm * view.scale)
        if y > bottom.top():
            continue
        large = i % per_large == 0
        ticks_px.append(QLineF(left.right() - (7 if large else 4), y, left.right(), y))
        if large:
            text = _number(value, ticks.decimals)
            width = metrics.horizontalAdvance(text) + 2
            # Turned by a quarter, x runs up the canvas and y to its right.
            box = QRectF(-y - width / 2, middle_x - (side - 7) / 2, width, side - 7)
            upright.append((box, text))

    painter.setPen(line)
    painter.drawLines(ticks_px)
    painter.setPen(theme.colour("quiet"))
    for box, text in texts:
        painter.drawText(box, Qt.AlignmentFlag.AlignCenter, text)
    painter.rotate(-90.0)
    for box, text in upright:
        painter.drawText(box, Qt.AlignmentFlag.AlignCenter, text)
    painter.rotate(90.0)

    painter.fillRect(QRectF(left.left(), bottom.top(), side, side), ground)
    painter.setPen(theme.colour("quiet"))
    painter.drawText(
        QRectF(left.left(), bottom.top(), side, side),
        Qt.AlignmentFlag.AlignCenter,
        lengths.unit,
    )
    if pointer_mm is not None:
        at = view.to_screen(*pointer_mm)
        painter.setPen(thin_pen(theme.colour("accent")))
        painter.drawLine(QPointF(at.x(), bottom.top()), QPointF(at.x(), bottom.bottom()))
        painter.drawLine(QPointF(left.left(), at.y()), QPointF(left.right(), at.y()))


def _number(value: float, decimals: int) -> str:
    return f"{round(value, decimals) + 0.0:.{decimals}f}".replace("-", "−")
