"""Rulers along the left and bottom of the canvas, in millimetres or inches."""

from __future__ import annotations

import math
from dataclasses import dataclass

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QFont, QFontMetricsF, QPainter

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


@dataclass(frozen=True, slots=True)
class Marks:
    """What stands on both rulers, in pixels of the canvas."""

    corner: QRectF
    """Where they meet: room for the unit."""
    ticks: list[QLineF]
    level: list[tuple[QRectF, str]]
    """Numbers of the lower ruler."""
    upright: list[tuple[QRectF, str]]
    """Numbers of the left one; turned by a quarter, x runs up the canvas and y to its right."""


def marks_on(view: View, canvas: QRectF) -> Marks:
    """The marks of both rulers; a number that an end or the corner would cut is left out."""
    unit_mm = MM_PER_INCH if lengths.inches else 1.0
    ticks = ticks_for(view.scale * unit_mm / max(1.0, theme.text_scale))
    side = ruler_px()
    corner = QRectF(canvas.left(), canvas.bottom() - side, side, side)
    metrics = QFontMetricsF(_font())
    per_large = max(1, round(ticks.large / ticks.small))
    marks = Marks(corner, [], [], [])

    first = math.floor((corner.right() - view.x_px) / view.scale / unit_mm / ticks.small)
    last = math.ceil((canvas.right() - view.x_px) / view.scale / unit_mm / ticks.small)
    for i in range(first, last + 1):
        value = i * ticks.small
        x = round(view.x_px + value * unit_mm * view.scale)
        if x < corner.right():
            continue
        large = i % per_large == 0
        marks.ticks.append(QLineF(x, corner.top(), x, corner.top() + (7 if large else 4)))
        if large:
            text = _number(value, ticks.decimals)
            width = metrics.horizontalAdvance(text) + 2
            if corner.right() <= x - width / 2 and x + width / 2 <= canvas.right():
                box = QRectF(x - width / 2, corner.top() + 7, width, side - 7)
                marks.level.append((box, text))

    first = math.floor((view.y_px - corner.top()) / view.scale / unit_mm / ticks.small)
    last = math.ceil((view.y_px - canvas.top()) / view.scale / unit_mm / ticks.small)
    middle_x = corner.left() + (side - 7) / 2
    for i in range(first, last + 1):
        value = i * ticks.small
        y = round(view.y_px - value * unit_mm * view.scale)
        if y > corner.top():
            continue
        large = i % per_large == 0
        marks.ticks.append(QLineF(corner.right() - (7 if large else 4), y, corner.right(), y))
        if large:
            text = _number(value, ticks.decimals)
            width = metrics.horizontalAdvance(text) + 2
            if canvas.top() <= y - width / 2 and y + width / 2 <= corner.top():
                box = QRectF(-y - width / 2, middle_x - (side - 7) / 2, width, side - 7)
                marks.upright.append((box, text))
    return marks


def draw_rulers(
    painter: QPainter, view: View, canvas: QRectF, pointer_mm: tuple[float, float] | None
) -> None:
    """Draw both rulers over the canvas, with a mark where the pointer is."""
    # All ticks at once and few other calls: this is drawn in every frame.
    marks = marks_on(view, canvas)
    corner, ground = marks.corner, theme.colour("board")
    painter.fillRect(QRectF(corner.topLeft(), canvas.bottomRight()), ground)
    painter.fillRect(QRectF(canvas.topLeft(), corner.bottomRight()), ground)
    painter.setFont(_font())
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
    painter.setPen(thin_pen(theme.colour("faint")))
    painter.drawLines(marks.ticks)
    painter.setPen(theme.colour("quiet"))
    for box, text in marks.level:
        painter.drawText(box, Qt.AlignmentFlag.AlignCenter, text)
    painter.rotate(-90.0)
    for box, text in marks.upright:
        painter.drawText(box, Qt.AlignmentFlag.AlignCenter, text)
    painter.rotate(90.0)

    painter.fillRect(corner, ground)
    painter.drawText(corner, Qt.AlignmentFlag.AlignCenter, lengths.unit)
    if pointer_mm is not None:
        at = view.to_screen(*pointer_mm)
        painter.setPen(thin_pen(theme.colour("accent")))
        painter.drawLine(QPointF(at.x(), corner.top()), QPointF(at.x(), corner.bottom()))
        painter.drawLine(QPointF(corner.left(), at.y()), QPointF(corner.right(), at.y()))


def _font() -> QFont:
    font = theme.font(TextSize.SMALL)
    font.setPixelSize(theme.pixels(10))
    return font


def _number(value: float, decimals: int) -> str:
    return f"{round(value, decimals) + 0.0:.{decimals}f}".replace("-", "−")
