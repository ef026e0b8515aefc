"""Small drawings of how something is measured, and of what a figure means.

One picture with one sentence below it, for the field or figure of the card
that is looked at. Sizes are not to scale: a kerf of a hair is drawn as a bar.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from enum import Enum

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPen, QPolygonF

from lasernest.gui.board.inks import thin_pen
from lasernest.gui.lengths import lengths
from lasernest.gui.look.theme import TextSize, theme
from lasernest.gui.words import tr

_STRIPS = 6
"""Drawn of the ten there are."""


class HowTo(Enum):
    """What can be drawn; the value is the sentence below the picture."""

    THICKNESS = "Measure the sheet itself at eight places, masking off. The spread counts too."
    GAP_X = "Slide the x strips to the left; measure the gap that is left, with the inner jaws."
    GAP_Y = "Slide the y strips down; measure the gap that is left, with the inner jaws."
    PLUG = "Measure the plug across x, with the outer jaws."
    HOLE = "Measure the hole that the plug fell from, across x, with the inner jaws."
    KERF = "The kerf is the full width of what the beam takes away, never half of it."
    AXES = "A beam is seldom round: it may take more across x than across y."
    PRESS = "The finger is drawn wider than its gap by the interference; it grips."


@dataclass(frozen=True, slots=True)
class Places:
    """Eight places of a sheet, what was read there, and where to read next."""

    width_mm: float
    height_mm: float
    at_mm: tuple[tuple[float, float], ...] = ()
    read_mm: tuple[float | None, ...] = field(default=())
    next: int = -1


def draw_how_to(painter: QPainter, area: QRectF, subject: HowTo, places: Places) -> None:
    """Draw a picture with its sentence into a rectangle."""
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    font = theme.font(TextSize.SMALL)
    painter.setFont(font)
    words = tr(subject.value)
    wrap = int(Qt.TextFlag.TextWordWrap)
    room = QRectF(area.left(), 0, area.width(), 400)
    height = QFontMetricsF(font).boundingRect(room, wrap, words).height()
    text = QRectF(area.left(), area.bottom() - height, area.width(), height)
    painter.setPen(theme.colour("quiet"))
    painter.drawText(text, wrap, words)
    picture = QRectF(area.left(), area.top(), area.width(), text.top() - 10 - area.top())
    if picture.height() >= theme.pixels(56):
        if subject is HowTo.THICKNESS:
            _thickness(painter, picture, places)
        else:
            _PICTURES[subject](painter, picture)
    painter.restore()


def _middle(area: QRectF, wide: float, high: float) -> QRectF:
    """The largest rectangle of a shape that fits, at the left of the area."""
    scale = min(area.width() / wide, area.height() / high)
    rect = QRectF(0, 0, wide * scale, high * scale)
    rect.moveCenter(area.center())
    rect.moveLeft(area.left())
    return rect


def _body(painter: QPainter, rect: QRectF, colour: str = "panel") -> None:
    painter.setBrush(theme.colour(colour))
    painter.setPen(thin_pen(theme.colour("outer_cut"), 1.3))
    painter.drawRect(rect)


def _thickness(painter: QPainter, area: QRectF, places: Places) -> None:
    rect = _middle(area, places.width_mm, places.height_mm)
    _body(painter, rect, "sheet")
    scale = rect.width() / places.width_mm
    for number, (x_mm, y_mm) in enumerate(places.at_mm):
        at = QPointF(rect.left() + x_mm * scale, rect.bottom() - y_mm * scale)
        value = places.read_mm[number] if number < len(places.read_mm) else None
        lit, low = number == places.next, y_mm < 0.4 * places.height_mm
        _place(painter, at, str(number + 1), value, lit=lit, above=low)


def _place(
    painter: QPainter, at: QPointF, number: str, value: float | None, *, lit: bool, above: bool
) -> None:
    radius = theme.pixels(9)
    painter.setPen(QPen(theme.colour("kerf" if lit else "accent"), 2.6 if lit else 1.4))
    painter.setBrush(theme.colour("question_ground" if lit else "card"))
    painter.drawEllipse(at, radius, radius)
    painter.setFont(theme.font(TextSize.SMALL, strong=True))
    painter.setPen(theme.colour("ink"))
    chip = QRectF(at.x() - radius, at.y() - radius, 2 * radius, 2 * radius)
    painter.drawText(chip, Qt.AlignmentFlag.AlignCenter, number)
    if value is not None:
        painter.setFont(theme.font(TextSize.SMALL))
        beside = QRectF(at.x() - 40, chip.bottom() + 1, 80, theme.pixels(16))
        if above:
            beside.moveBottom(chip.top() - 1)
        painter.drawText(beside, Qt.AlignmentFlag.AlignCenter, lengths.number(value))


def _frame(painter: QPainter, area: QRectF, *, upright: bool) -> None:
    rect = _middle(area, 1.5, 1.0)
    _body(painter, rect)
    window = rect.adjusted(*(rect.height() * s for s in (0.14, 0.14, -0.14, -0.14)))
    painter.setBrush(theme.colour("board"))
    painter.setPen(thin_pen(theme.colour("inner_cut"), 1.3))
    painter.drawRect(window)
    long_side = window.height() if upright else window.width()
    gap = 0.16 * long_side
    step = (long_side - gap) / _STRIPS
    for i in range(_STRIPS):
        strip = (
            QRectF(window.left(), window.bottom() - (i + 1) * step, window.width(), step)
            if upright
            else QRectF(window.left() + i * step, window.top(), step, window.height())
        )
        _body(painter, strip)
    if upright:
        _inner_jaws(
            painter,
            QPointF(window.center().x(), window.top() + gap),
            QPointF(window.center().x(), window.top()),
        )
    else:
        _inner_jaws(
            painter,
            QPointF(window.right() - gap, window.center().y()),
            QPointF(window.right(), window.center().y()),
        )


def _plug(painter: QPainter, area: QRectF) -> None:
    rect = _middle(area, 1.7, 1.0)
    plug = QRectF(0, 0, rect.height() * 0.72, rect.height() * 0.72)
    plug.moveCenter(rect.center())
    plug.moveTop(rect.top())
    _body(painter, plug)
    jaw, reach = plug.width() * 0.14, plug.height() * 0.5
    for side, x in ((-1.0, plug.left()), (1.0, plug.right())):
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(_steel())
        top = QPointF(x, plug.top() + reach)
        bottom = plug.bottom() + 0.22 * plug.height()
        painter.drawPolygon(
            QPolygonF(
                [
                    top,
                    QPointF(x, bottom),
                    QPointF(x + side * 1.6 * jaw, bottom),
                    QPointF(x + side * jaw * 0.6, plug.top() + reach),
                ]
            )
        )
    beam = QRectF(plug.left() - 2.2 * jaw, plug.bottom() + 0.16 * plug.height(), 0, 0)
    beam.setSize(QRectF(0, 0, plug.width() + 4.4 * jaw, 0.11 * plug.height()).size())
    painter.drawRect(beam)
    y = plug.top() + reach * 1.35
    _between(painter, QPointF(plug.left(), y), QPointF(plug.right(), y))


def _hole(painter: QPainter, area: QRectF) -> None:
    rect = _middle(area, 1.7, 1.0)
    _body(painter, rect)
    hole = QRectF(0, 0, rect.height() * 0.62, rect.height() * 0.62)
    hole.moveCenter(rect.center())
    painter.setBrush(theme.colour("board"))
    painter.setPen(thin_pen(theme.colour("inner_cut"), 1.3))
    painter.drawRect(hole)
    _inner_jaws(
        painter,
        QPointF(hole.left(), hole.center().y()),
        QPointF(hole.right(), hole.center().y()),
    )


def _kerf(painter: QPainter, area: QRectF) -> None:
    rect = _middle(area, 2.4, 1.0)
    slit = 0.11 * rect.width()
    left = QRectF(rect.left(), rect.top() + 0.3 * rect.height(), 0, 0.5 * rect.height())
    left.setRight(rect.center().x() - slit / 2)
    right = QRectF(left)
    right.moveRight(rect.right())
    _body(painter, left)
    _body(painter, right)
    beam = QRectF(left.right(), rect.top(), slit, 0.8 * rect.height())
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(theme.colour("kerf", 0.35))
    painter.drawRect(beam)
    y = left.bottom() + 0.12 * rect.height()
    _between(painter, QPointF(left.right(), y), QPointF(right.left(), y))


def _axes(painter: QPainter, area: QRectF) -> None:
    rect = _middle(area, 1.9, 1.0)
    spot = QRectF(0, 0, rect.height() * 0.56, rect.height() * 0.4)
    spot.moveCenter(rect.center() - QPointF(0.1 * rect.width(), 0))
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(theme.colour("kerf", 0.45))
    painter.drawEllipse(spot)
    below = spot.bottom() + 0.14 * rect.height()
    _between(painter, QPointF(spot.left(), below), QPointF(spot.right(), below))
    beside = spot.right() + 0.14 * rect.height()
    _between(painter, QPointF(beside, spot.top()), QPointF(beside, spot.bottom()))
    painter.setFont(theme.font(strong=True))
    painter.setPen(theme.colour("ink"))
    painter.drawText(QPointF(spot.center().x() - 4, below + theme.pixels(18)), "x")
    painter.drawText(QPointF(beside + 8, spot.center().y() + 5), "y")


def _press(painter: QPainter, area: QRectF) -> None:
    rect = _middle(area, 2.0, 1.0)
    gap, finger = 0.3 * rect.width(), 0.37 * rect.width()
    depth = 0.34 * rect.height()
    lower = QRectF(rect.left(), rect.center().y(), rect.width(), 0.5 * rect.height())
    slot = QRectF(rect.center().x() - gap / 2, lower.top(), gap, depth)
    outline = QPolygonF(
        [
            lower.topLeft(),
            slot.topLeft(),
            slot.bottomLeft(),
            slot.bottomRight(),
            slot.topRight(),
            lower.topRight(),
            lower.bottomRight(),
            lower.bottomLeft(),
        ]
    )
    painter.setBrush(theme.colour("panel"))
    painter.setPen(thin_pen(theme.colour("outer_cut"), 1.3))
    painter.drawPolygon(outline)
    tongue = QRectF(rect.center().x() - finger / 2, rect.top(), finger, 0.42 * rect.height())
    _body(painter, tongue, "panel_chosen")
    for side in (-1.0, 1.0):
        x = rect.center().x() + side * gap / 2
        grip = QRectF(min(x, x + side * (finger - gap) / 2), slot.top(), (finger - gap) / 2, depth)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(theme.colour("kerf", 0.45))
        painter.drawRect(grip)


def _steel() -> QColor:
    return theme.colour("quiet", 0.55)


def _inner_jaws(painter: QPainter, a: QPointF, b: QPointF) -> None:
    """Two jaws that press outward against both ends of a gap, and the line between."""
    along = b - a
    length = (along.x() ** 2 + along.y() ** 2) ** 0.5
    unit = along / length
    across = QPointF(-unit.y(), unit.x()) * theme.pixels(13)
    thick = unit * min(0.3 * length, theme.pixels(7))
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(_steel())
    for end, inward in ((a, thick), (b, thick * -1.0)):
        painter.drawPolygon(
            QPolygonF(
                [end - across, end + across, end + across * 0.6 + inward, end - across + inward]
            )
        )
    _between(painter, a, b)


def _between(painter: QPainter, a: QPointF, b: QPointF) -> None:
    """A measured distance: a line with an end stroke at either end."""
    painter.setPen(QPen(theme.colour("kerf"), 2.4))
    painter.drawLine(a, b)
    along = b - a
    length = max((along.x() ** 2 + along.y() ** 2) ** 0.5, 1e-6)
    across = QPointF(-along.y(), along.x()) / length * theme.pixels(5)
    for end in (a, b):
        painter.drawLine(end - across, end + across)


_PICTURES: dict[HowTo, Callable[[QPainter, QRectF], None]] = {
    HowTo.GAP_X: lambda painter, area: _frame(painter, area, upright=False),
    HowTo.GAP_Y: lambda painter, area: _frame(painter, area, upright=True),
    HowTo.PLUG: _plug,
    HowTo.HOLE: _hole,
    HowTo.KERF: _kerf,
    HowTo.AXES: _axes,
    HowTo.PRESS: _press,
}
