"""Cost per unit as bars by its parts, a bar for each stock."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QContextMenuEvent, QFontMetricsF, QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from lasernest.domain.costs import Cost
from lasernest.gui.board.pictures import Picture
from lasernest.gui.look.theme import TextSize, theme
from lasernest.gui.parts.entries import Entry, open_menu
from lasernest.gui.words import tr

PART_COLOURS = {
    "material": "accent_ground",
    "machine": "good",
    "work": "kerf",
    "set-up": "faint",
    "overhead": "engrave",
}
_BAR, _STEP, _LEGEND = 20, 34, 26
_EDGE, _TITLE = 32.0, 36.0

Bar = tuple[str, Cost | None]


class CostPlot(QWidget):
    """The bars; parts stand in one order, told apart by colour, place and legend."""

    def __init__(self) -> None:
        super().__init__()
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.entries: Callable[[], Sequence[Entry]] = tuple
        """What its context menu offers."""
        self._bars: tuple[Bar, ...] = ()
        theme.changed.connect(self._dress)

    def _dress(self) -> None:
        self.updateGeometry()
        self.update()

    def show_costs(self, bars: Sequence[Bar]) -> None:
        """Show these: a name and a cost for each bar, None where it is not known."""
        self._bars = tuple(bars)
        said = [f"{name}: {_total(cost)}{_parts(cost)}" for name, cost in self._bars]
        self.setAccessibleName(". ".join(said))
        self.setToolTip("\n".join(said))
        self._dress()

    def sizeHint(self) -> QSize:  # noqa: N802 - Qt's name
        return QSize(320, theme.pixels(_STEP * len(self._bars) + _LEGEND))

    def minimumSizeHint(self) -> QSize:  # noqa: N802 - Qt's name
        return QSize(200, self.sizeHint().height())

    @property
    def bars(self) -> tuple[Bar, ...]:
        return self._bars

    def picture(self, title: str) -> Picture:
        """The bars as they are now, under a title, to be saved."""
        bars = self._bars

        def steps(painter: QPainter, area: QRectF) -> Iterator[None]:
            inner = area.adjusted(_EDGE, _EDGE, -_EDGE, -_EDGE)
            painter.setFont(theme.font(strong=True))
            painter.setPen(theme.colour("ink"))
            painter.drawText(inner, Qt.AlignmentFlag.AlignTop | Qt.AlignmentFlag.AlignLeft, title)
            draw_costs(painter, inner.adjusted(0.0, _TITLE, 0.0, 0.0), bars)
            yield

        height = 2.0 * _EDGE + _TITLE + _STEP * len(bars) + _LEGEND
        return Picture(720.0, height, steps)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802 - Qt's name
        painter = QPainter(self)
        draw_costs(painter, QRectF(self.rect()), self._bars)
        painter.end()

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:  # noqa: N802 - Qt's name
        open_menu(self, self.entries(), event.globalPos())


def draw_costs(painter: QPainter, area: QRectF, bars: Sequence[Bar]) -> None:
    """Draw bars to one scale, and below them what their parts are.

    Args:
        painter: in pixels.
        area: for all of it; bars have a fixed height and begin at its top.
        bars: a name and a cost for each, None where it is not known.
    """
    small = theme.font(TextSize.SMALL)
    metrics = QFontMetricsF(small)
    painter.setFont(small)
    longest = max((metrics.horizontalAdvance(name) for name, _ in bars), default=0.0)
    indent = min(longest + 10.0, 0.4 * area.width())
    most = max((c.per_unit_with_overhead for _, c in bars if c is not None), default=0.0)
    room = area.width() - indent - metrics.horizontalAdvance("00000.00") - 8.0
    middle = Qt.AlignmentFlag.AlignVCenter
    y = area.top() + 4.0
    step, thick = theme.pixels(_STEP), theme.pixels(_BAR)
    for name, cost in bars:
        painter.setPen(theme.colour("quiet"))
        short = metrics.elidedText(name, Qt.TextElideMode.ElideRight, indent - 10.0)
        at = QRectF(area.left(), y, indent - 8.0, thick)
        painter.drawText(at, middle | Qt.AlignmentFlag.AlignRight, short)
        x = area.left() + indent
        for part, value in cost.parts_per_unit if cost is not None and most else ():
            width = room * value / most
            box = QRectF(x, y, max(width - 1.0, 0.5), thick)
            painter.fillRect(box, theme.colour(PART_COLOURS[part]))
            x += width
        painter.setPen(theme.colour("ink"))
        painter.drawText(QRectF(x + 6.0, y, 200.0, thick), middle, _total(cost))
        y += step
    _draw_legend(painter, QPointF(area.left(), y + 2.0), metrics, bars)


def _draw_legend(
    painter: QPainter, at: QPointF, metrics: QFontMetricsF, bars: Sequence[Bar]
) -> None:
    there = {part for _, c in bars if c is not None for part, _ in c.parts_per_unit}
    x, side = at.x(), metrics.capHeight()
    base = at.y() + 3.0 + side
    for part, colour in PART_COLOURS.items():
        if part not in there:
            continue
        painter.fillRect(QRectF(x, base - side, side, side), theme.colour(colour))
        painter.setPen(theme.colour("quiet"))
        painter.drawText(QPointF(x + side + 5.0, base), tr(part))
        x += side + 5.0 + metrics.horizontalAdvance(tr(part)) + 16.0


def _parts(cost: Cost | None) -> str:
    if cost is None:
        return ""
    return " (" + ", ".join(f"{tr(p)} {v:.2f}" for p, v in cost.parts_per_unit) + ")"


def _total(cost: Cost | None) -> str:
    return tr("not known") if cost is None else f"{cost.per_unit_with_overhead:.2f}"
