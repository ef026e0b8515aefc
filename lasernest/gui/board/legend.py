"""The line that says what each kind of line and area means."""

from __future__ import annotations

from collections.abc import Sequence
from enum import Enum

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPainterPath, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from lasernest.domain.cutting import PathKind
from lasernest.gui.board.inks import grip_bar, hatch, line_pen, stray_pen, thin_pen
from lasernest.gui.board.view import View
from lasernest.gui.look.theme import TextSize, theme
from lasernest.gui.words import tr


class Sign(Enum):
    """What the legend can explain."""

    OUTER = "outer cut"
    INNER = "inner cut"
    SCORE = "score"
    ENGRAVE = "engrave"
    KERF = "swept kerf"
    OFFCUT = "kept offcut"
    OPEN = "open or on no panel, not cut"
    JOINT = "joined edge"
    PROPOSED = "could be joined"
    TIGHT = "tight, enlarged"
    LOOSE = "loose, enlarged"


_KINDS = {
    Sign.OUTER: PathKind.CUT_OUTER,
    Sign.INNER: PathKind.CUT_INNER,
    Sign.SCORE: PathKind.SCORE,
    Sign.ENGRAVE: PathKind.ENGRAVE,
}
_SAMPLE = 28.0
_GAP = 20.0
_ROW = 28


class Legend(QWidget):
    """Samples with their words, in as many rows as they need."""

    def __init__(self) -> None:
        super().__init__()
        self._signs: tuple[Sign, ...] = ()
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setMinimumWidth(60)
        theme.changed.connect(self._dress)
        self._dress()

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: N802 - Qt's name
        super().resizeEvent(event)
        self._dress()

    def _dress(self) -> None:
        rows = len(_rows(self._signs, self.width()))
        self.setFixedHeight(theme.pixels(_ROW) * max(rows, 1))
        self.update()

    def explain(self, signs: Sequence[Sign]) -> None:
        """Explain these."""
        if tuple(signs) != self._signs:
            self._signs = tuple(signs)
            self.setAccessibleName(
                tr("Legend: {signs}", signs=", ".join(tr(s.value) for s in signs))
            )
            self._dress()

    def sizeHint(self) -> QSize:  # noqa: N802 - Qt's name
        return QSize(200, self.height())

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802 - Qt's name
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        draw_legend(painter, QRectF(self.rect()), self._signs)
        painter.end()


def draw_legend(painter: QPainter, area: QRectF, signs: Sequence[Sign]) -> None:
    """Draw samples with their words in rows that share the area's height."""
    font = theme.font(TextSize.SMALL)
    rows = _rows(signs, area.width())
    row = QRectF(area.left(), area.top(), area.width(), area.height() / max(len(rows), 1))
    for shown in rows:
        x, y = row.left() + 2.0, row.center().y()
        for sign, width in shown:
            _draw_sample(painter, QRectF(x, y - 7, _SAMPLE, 14), sign)
            painter.setFont(font)
            painter.setPen(theme.colour("quiet"))
            painter.drawText(
                QRectF(x + _SAMPLE + 6, row.top(), width + 2, row.height()),
                Qt.AlignmentFlag.AlignVCenter,
                tr(sign.value),
            )
            x += _SAMPLE + 6 + width + _GAP
        row.translate(0.0, row.height())


def _rows(signs: Sequence[Sign], room: float) -> list[list[tuple[Sign, float]]]:
    """The signs with the widths of their words, parted into rows that are not wider than this."""
    metrics = QFontMetricsF(theme.font(TextSize.SMALL))
    rows: list[list[tuple[Sign, float]]] = []
    x = room
    for sign in signs:
        width = metrics.horizontalAdvance(tr(sign.value))
        if not rows or x + _SAMPLE + 6 + width > room:
            rows.append([])
            x = 2.0
        rows[-1].append((sign, width))
        x += _SAMPLE + 6 + width + _GAP
    return rows


def _draw_sample(painter: QPainter, rect: QRectF, sign: Sign) -> None:
    left, right = QPointF(rect.left(), rect.center().y()), QPointF(rect.right(), rect.center().y())
    if sign is Sign.OFFCUT:
        area = QPainterPath()
        area.addRect(QRectF(rect.left(), -rect.bottom(), rect.width(), rect.height()))
        hatch(painter, area, View())
        painter.setPen(thin_pen(theme.colour("hatch")))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRect(rect)
    elif sign is Sign.KERF:
        painter.fillRect(rect.adjusted(0, 4, 0, -4), theme.colour("kerf", 0.38))
    elif sign is Sign.OPEN:
        painter.setPen(stray_pen())
        painter.drawLine(left, right)
    elif sign is Sign.JOINT:
        painter.setPen(thin_pen(theme.colour("good"), 1.2))
        chip = QRectF(0, 0, 15, 13)
        chip.moveCenter(rect.center())
        painter.setBrush(theme.colour("card"))
        painter.drawRoundedRect(chip, 4, 4)
        painter.setFont(theme.font(TextSize.SMALL, strong=True))
        painter.drawText(chip, Qt.AlignmentFlag.AlignCenter, "1")
    elif sign in (Sign.TIGHT, Sign.LOOSE):
        bar = QRectF(rect.center().x() - 4, rect.top(), 8, rect.height())
        grip_bar(painter, bar, tight=sign is Sign.TIGHT)
    elif sign is Sign.PROPOSED:
        pen = thin_pen(theme.colour("accent"), 2.0)
        pen.setDashPattern([3.0, 2.0])
        painter.setPen(pen)
        painter.drawLine(left, right)
    else:
        painter.setPen(line_pen(_KINDS[sign], width=1.6))
        painter.drawLine(left, right)
