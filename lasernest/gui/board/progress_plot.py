"""How the plan got better while it was searched for: sheets used over seconds."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QContextMenuEvent, QFontMetricsF, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from lasernest.domain.plan import Plan
from lasernest.gui.board.plots import Axes, draw_grid, plot_frame
from lasernest.gui.board.view import nice_step
from lasernest.gui.look.theme import TextSize, theme
from lasernest.gui.parts.entries import Entry, open_menu
from lasernest.gui.words import tr

Point = tuple[float, float]


def progress_of(plan: Plan | None) -> tuple[Point, ...]:
    """Seconds, and whole sheets plus the used share of the last one, at every improvement.

    The share of every entry is taken of the last sheet's length as it is now.
    """
    if plan is None or not plan.log or not plan.sheets:
        return ()
    # Of several stocks each has a last sheet; the log tells their used lengths together.
    lasts = {one.sheet.stock_name: one.sheet.width_mm for one in plan.sheets}
    width_mm = sum(lasts.values())
    return tuple(
        (
            p.seconds,
            max(p.sheets - len(lasts), 0) + len(lasts) * min(1.0, p.used_length_mm / width_mm),
        )
        for p in plan.log
    )


def draw_progress(painter: QPainter, area: QRectF, points: Sequence[Point], seconds: float) -> None:
    """Draw the steps down.

    Args:
        painter: in pixels.
        area: for the whole plot.
        points: of `progress_of`.
        seconds: how long the search lasted.
    """
    painter.save()
    title = tr("sheets used, over the seconds of the search")
    rect = plot_frame(painter, area, title, left=44.0, below=20.0)
    if points:
        last_s = max(seconds, points[-1][0], 0.1)
        low, high = min(p[1] for p in points), max(p[1] for p in points)
        room = max(0.15 * (high - low), 0.02)
        axes = Axes(rect, 0.0, last_s, max(0.0, low - room), high + room)
        draw_grid(painter, axes, 2)
        painter.setPen(QPen(theme.colour("inner_cut"), 2.0))
        before = points[0]
        for point in (*points[1:], (last_s, points[-1][1])):
            corner = axes.at(point[0], before[1])
            painter.drawLine(axes.at(*before), corner)
            painter.drawLine(corner, axes.at(*point))
            before = point
        painter.setBrush(theme.colour("ink"))
        painter.setPen(Qt.PenStyle.NoPen)
        for point in points:
            painter.drawEllipse(axes.at(*point), 2.2, 2.2)
        _seconds(painter, axes)
    painter.restore()


def _seconds(painter: QPainter, axes: Axes) -> None:
    font = theme.font(TextSize.SMALL)
    painter.setFont(font)
    painter.setPen(theme.colour("quiet"))
    metrics = QFontMetricsF(font)
    step = nice_step(axes.x1 / 5.0)
    value = 0.0
    while value <= axes.x1 + 1e-9:
        text = f"{value:g} s"
        width = metrics.horizontalAdvance(text)
        x = min(axes.at(value, axes.y0).x() - width / 2, axes.rect.right() - width)
        painter.drawText(QPointF(x, axes.rect.bottom() + metrics.ascent() + 3), text)
        value += step


class ProgressPlot(QWidget):
    """The plot on a card."""

    def __init__(self) -> None:
        super().__init__()
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.entries: Callable[[], Sequence[Entry]] = tuple
        """What its context menu offers."""
        self._points: tuple[Point, ...] = ()
        self._seconds = 0.0
        theme.changed.connect(self.updateGeometry)
        theme.changed.connect(self.update)
        self.hide()

    def show_plan(self, plan: Plan | None) -> None:
        """Show how a plan was found; hidden when there is nothing to tell."""
        self._points = progress_of(plan)
        self._seconds = plan.seconds if plan is not None else 0.0
        self.setVisible(len(self._points) > 1)
        if self._points:
            first, last = self._points[0][1], self._points[-1][1]
            self.setAccessibleName(
                tr(
                    "Search: from {first} to {last} sheets in {seconds} s",
                    first=f"{first:.2f}",
                    last=f"{last:.2f}",
                    seconds=f"{self._seconds:.0f}",
                )
            )
        self.update()

    @property
    def points(self) -> tuple[Point, ...]:
        return self._points

    def draw(self, painter: QPainter, area: QRectF) -> None:
        """Draw it into any area."""
        draw_progress(painter, area, self._points, self._seconds)

    def sizeHint(self) -> QSize:  # noqa: N802 - Qt's name
        return QSize(240, theme.pixels(148))

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802 - Qt's name
        painter = QPainter(self)
        self.draw(painter, QRectF(self.rect()).adjusted(0, 8, -2, -2))
        painter.end()

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:  # noqa: N802 - Qt's name
        open_menu(self, self.entries(), event.globalPos())
