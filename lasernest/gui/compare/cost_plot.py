"""Cost per unit as bars by its parts, a bar for each stock."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from lasernest.domain.costs import Cost
from lasernest.gui.look.theme import TextSize, theme
from lasernest.gui.words import tr

PART_COLOURS = {
    "material": "accent_ground",
    "machine": "good",
    "hands": "kerf",
    "set-up": "faint",
    "overhead": "engrave",
}
_BAR, _STEP = 20, 34


class CostPlot(QWidget):
    """The bars; parts stand in one order, told apart by colour, place and legend."""

    def __init__(self) -> None:
        super().__init__()
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self._bars: tuple[tuple[str, Cost | None], ...] = ()
        theme.changed.connect(self._dress)

    def _dress(self) -> None:
        self.updateGeometry()
        self.update()

    def show_costs(self, bars: Sequence[tuple[str, Cost | None]]) -> None:
        """Show these: a name and a cost for each bar, None where it is not known."""
        self._bars = tuple(bars)
        said = [f"{name}: {_total(cost)}{_parts(cost)}" for name, cost in self._bars]
        self.setAccessibleName(". ".join(said))
        self.setToolTip("\n".join(said))
        self._dress()

    def sizeHint(self) -> QSize:  # noqa: N802 - Qt's name
        return QSize(320, theme.pixels(_STEP * len(self._bars) + 26))

    def minimumSizeHint(self) -> QSize:  # noqa: N802 - Qt's name
        return QSize(200, self.sizeHint().height())

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802 - Qt's name
        painter = QPainter(self)
        small = theme.font(TextSize.SMALL)
        metrics = QFontMetricsF(small)
        painter.setFont(small)
        longest = max((metrics.horizontalAdvance(name) for name, _ in self._bars), default=0.0)
        left = min(longest + 10.0, 0.4 * self.width())
        most = max((c.per_unit_with_overhead for _, c in self._bars if c is not None), default=0.0)
        room = self.width() - left - metrics.horizontalAdvance("00000.00") - 8.0
        middle = Qt.AlignmentFlag.AlignVCenter
        y = 4.0
        step, thick = theme.pixels(_STEP), theme.pixels(_BAR)
        for name, cost in self._bars:
            painter.setPen(theme.colour("quiet"))
            short = metrics.elidedText(name, Qt.TextElideMode.ElideRight, left - 10.0)
            painter.drawText(
                QRectF(0, y, left - 8.0, thick), middle | Qt.AlignmentFlag.AlignRight, short
            )
            x = left
            for part, value in cost.parts_per_unit if cost is not None and most else ():
                width = room * value / most
                painter.fillRect(
                    QRectF(x, y, max(width - 1.0, 0.5), thick), theme.colour(PART_COLOURS[part])
                )
                x += width
            painter.setPen(theme.colour("ink"))
            painter.drawText(QRectF(x + 6.0, y, 200.0, thick), middle, _total(cost))
            y += step
        self._draw_legend(painter, y + 2.0, metrics)
        painter.end()

    def _draw_legend(self, painter: QPainter, y: float, metrics: QFontMetricsF) -> None:
        there = {part for _, c in self._bars if c is not None for part, _ in c.parts_per_unit}
        x, side = 0.0, metrics.capHeight()
        for part, colour in PART_COLOURS.items():
            if part not in there:
                continue
            painter.fillRect(QRectF(x, y + 3.0, side, side), theme.colour(colour))
            painter.setPen(theme.colour("quiet"))
            painter.drawText(QRectF(x + side + 5.0, y - 3.0, 120.0, 20.0), tr(part))
            x += side + 5.0 + metrics.horizontalAdvance(tr(part)) + 16.0


def _parts(cost: Cost | None) -> str:
    if cost is None:
        return ""
    return " (" + ", ".join(f"{tr(p)} {v:.2f}" for p, v in cost.parts_per_unit) + ")"


def _total(cost: Cost | None) -> str:
    return tr("not known") if cost is None else f"{cost.per_unit_with_overhead:.2f}"
