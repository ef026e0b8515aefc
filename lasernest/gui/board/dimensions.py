"""Dimensions of a chosen panel: overall width and height, and the sizes of its holes."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPolygonF

from lasernest.domain.contours import Contour, Point
from lasernest.gui.board.inks import thin_pen
from lasernest.gui.board.view import View
from lasernest.gui.lengths import lengths
from lasernest.gui.look.theme import TextSize, theme

_OFF_PX = 16.0
_ARROW_PX = 6.0
_LEAST_HOLE_PX = 7.0
_LEAST_SPAN_PX = 36.0


def hole_sizes(holes: Sequence[Contour]) -> list[tuple[str, Point]]:
    """One text for each size of hole, with its number, at the first hole of that size.

    Circles by diameter, others by width × height of their box.
    """
    if not holes:
        return []
    from lasernest.geometry.extents import measured  # noqa: PLC0415 - numpy is heavy

    groups: dict[str, list[Point]] = {}
    # All boxes at once: a perforated plate has thousands.
    for hole, (x0, y0, x1, y1) in zip(holes, measured(holes).boxes_mm.tolist(), strict=True):
        circle = hole.as_circle()
        text = (
            f"⌀ {lengths.number(2.0 * circle.radius_mm)}"
            if circle is not None
            else f"{lengths.number(x1 - x0)} × {lengths.number(y1 - y0)}"
        )
        groups.setdefault(text, []).append((x1, 0.5 * (y0 + y1)))
    return [
        (
            text
            if len(at) == 1
            else f"{len(at)} × ({text})"
            if "×" in text
            else f"{len(at)} × {text}",
            max(at, key=lambda p: (round(p[1], 3), -p[0])),
        )
        for text, at in groups.items()
    ]


def draw_dimensions(
    painter: QPainter,
    view: View,
    box_mm: QRectF,
    holes: Iterable[tuple[str, Point]],
    *,
    ground: str = "board",
    above: bool = True,
) -> None:
    """Draw them around a panel; the painter is in pixels.

    Args:
        painter: over the canvas.
        view: of the canvas.
        box_mm: the panel's box as it lies on the board.
        holes: texts with the place they stand beside, on the board in mm.
        ground: colour behind the texts.
        above: the width stands above the panel, where no drawing's name is.
    """
    box = view.rect_to_screen(box_mm)
    pen = thin_pen(theme.colour("accent"), 1.0)
    painter.setFont(theme.font(TextSize.SMALL))
    if box.width() >= _LEAST_SPAN_PX:
        side = -1.0 if above else 1.0
        edge = box.top() if above else box.bottom()
        y = edge + side * _OFF_PX
        painter.setPen(pen)
        for x in (box.left(), box.right()):
            painter.drawLine(QPointF(x, edge + side * 4), QPointF(x, y + side * 4))
        _arrow_line(painter, QPointF(box.left(), y), QPointF(box.right(), y))
        _chip(painter, QPointF(box.center().x(), y), lengths.text(box_mm.width()), ground)
    if box.height() >= _LEAST_SPAN_PX:
        x = box.right() + _OFF_PX
        painter.setPen(pen)
        for y in (box.top(), box.bottom()):
            painter.drawLine(QPointF(box.right() + 4, y), QPointF(x + 4, y))
        _arrow_line(painter, QPointF(x, box.bottom()), QPointF(x, box.top()))
        _chip(
            painter,
            QPointF(x, box.center().y()),
            lengths.text(box_mm.height()),
            ground,
            upright=True,
        )
    if box.width() >= 4 * _LEAST_SPAN_PX:
        for text, (x_mm, y_mm) in holes:
            at = view.to_screen(x_mm, y_mm)
            _chip(painter, at + QPointF(6, 0), text, ground, left=True)


def _arrow_line(painter: QPainter, a: QPointF, b: QPointF) -> None:
    painter.drawLine(a, b)
    along = b - a
    length = (along.x() ** 2 + along.y() ** 2) ** 0.5
    step = along * (_ARROW_PX / length)
    across = QPointF(-step.y(), step.x()) * 0.4
    painter.setBrush(theme.colour("accent"))
    for tip, back in ((a, step), (b, -step)):
        painter.drawPolygon(QPolygonF([tip, tip + back + across, tip + back - across]))
    painter.setBrush(Qt.BrushStyle.NoBrush)


def _chip(
    painter: QPainter,
    at: QPointF,
    text: str,
    ground: str,
    *,
    upright: bool = False,
    left: bool = False,
) -> None:
    """A text on a ground of its own, around a place or to the right of it."""
    metrics = QFontMetricsF(painter.font())
    width, height = metrics.horizontalAdvance(text) + 8.0, metrics.height()
    painter.save()
    painter.translate(at)
    if upright:
        painter.rotate(-90.0)
    box = QRectF(0.0 if left else -width / 2, -height / 2, width, height)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(theme.colour(ground, 0.92))
    painter.drawRoundedRect(box, 3, 3)
    painter.setPen(theme.colour("accent"))
    painter.drawText(box, Qt.AlignmentFlag.AlignCenter, text)
    painter.restore()
