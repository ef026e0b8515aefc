"""What changed in a drawing: for each panel a picture of old and new, laid on each other."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QRectF, QSize, Qt, QTimer
from PySide6.QtGui import QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from lasernest.domain.panel_changes import Change, PanelChange, said_of
from lasernest.domain.panels import Panel
from lasernest.gui.board.shapes import box, contours_path
from lasernest.gui.board.view import fitted
from lasernest.gui.look.theme import TextSize, theme
from lasernest.gui.parts.basics import Elided, Text, clear, horizontal, vertical
from lasernest.gui.words import count_of, tr

_MOST_SHOWN = 12
_HIGH = 96


def in_short(changes: Sequence[PanelChange]) -> str:
    """What changed, in numbers: `2 panels changed, 1 new, 1 gone`."""
    counts = {kind: sum(1 for c in changes if c.change is kind) for kind in Change}
    words = []
    if counts[Change.CHANGED]:
        words.append(tr("{what} changed", what=count_of(counts[Change.CHANGED], "panel", "panels")))
    if counts[Change.ADDED]:
        words.append(tr("{count} new", count=counts[Change.ADDED]))
    if counts[Change.GONE]:
        words.append(tr("{count} gone", count=counts[Change.GONE]))
    return ", ".join(words) or tr("no panel is another one")


class ChangeList(QWidget):
    """The panels that are not as they were."""

    def __init__(self) -> None:
        super().__init__()
        self._column = vertical(self, gap=8)
        self._shown: tuple[PanelChange, ...] = ()
        self._to_come: list[tuple[int, PanelChange]] = []
        """Rows are made one between two events: a dozen at once would take 0.05 s."""
        self._timer = QTimer(self)
        self._timer.timeout.connect(self._add_row)
        self.hide()

    def show_changes(self, changes: Sequence[PanelChange]) -> None:
        """Show these; what stayed the same is only counted."""
        if tuple(changes) == self._shown:
            return
        self._shown = tuple(changes)
        clear(self._column)
        other = [change for change in changes if change.change is not Change.SAME]
        self._to_come = list(enumerate(other[:_MOST_SHOWN]))
        self._add_row()
        self._timer.start()
        rests = []
        if len(other) > _MOST_SHOWN:
            rests.append(tr("{count} more changed", count=len(other) - _MOST_SHOWN))
        same = len(changes) - len(other)
        if same:
            rests.append(tr("{what} as before", what=count_of(same, "panel", "panels")))
        if rests:
            self._column.addWidget(Text(", ".join(rests), kind="quiet", size=TextSize.SMALL))
        self.setVisible(bool(changes))

    def _add_row(self) -> None:
        if self._to_come:
            place, change = self._to_come.pop(0)
            self._column.insertWidget(place, ChangeRow(change))
        if not self._to_come:
            self._timer.stop()


class ChangeRow(QWidget):
    """One panel: its name, what became of it, and its picture."""

    def __init__(self, change: PanelChange) -> None:
        super().__init__()
        self.change = change
        column = vertical(self, gap=2)
        head = horizontal(gap=8)
        head.addWidget(Elided(change.name, strong=True), 1)
        head.addWidget(Text(said_of(change), kind="quiet", size=TextSize.SMALL))
        column.addLayout(head)
        column.addWidget(BeforeAndAfter(change.old, change.new))
        self.setAccessibleName(f"{change.name}: {said_of(change)}")


class BeforeAndAfter(QWidget):
    """The old panel in dashed lines below the new one."""

    def __init__(self, old: Panel | None, new: Panel | None) -> None:
        super().__init__()
        self._old, self._new = old, new
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setToolTip(tr("dashed: before; solid: now"))

    def sizeHint(self) -> QSize:  # noqa: N802 - Qt's name
        return QSize(theme.pixels(200), theme.pixels(_HIGH))

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802 - Qt's name
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(self.rect(), theme.colour("board"))
        there = [panel for panel in (self._old, self._new) if panel is not None]
        bounds = QRectF()
        for panel in there:
            bounds = bounds.united(self._laid(panel))
        view = fitted(bounds, QRectF(self.rect()).adjusted(8, 8, -8, -8))
        for panel in there:
            is_old = panel is self._old
            painter.setTransform(view.transform())
            self._move(painter, panel)
            pen = QPen(theme.colour("quiet" if is_old else "accent"), 1.4)
            pen.setCosmetic(True)
            if is_old:
                pen.setStyle(Qt.PenStyle.DashLine)
            painter.setPen(pen)
            lines = [*panel.contours, *(mark.path for mark in panel.marks)]
            painter.drawPath(contours_path(lines))
        painter.end()

    def _apart(self) -> bool:
        """True when the panel moved in the drawing, so that both are laid on each other."""
        if self._old is None or self._new is None:
            return False
        return not box(self._old.bounds_mm()).intersects(box(self._new.bounds_mm()))

    def _laid(self, panel: Panel) -> QRectF:
        bounds = box(panel.bounds_mm())
        return QRectF(0, 0, bounds.width(), bounds.height()) if self._apart() else bounds

    def _move(self, painter: QPainter, panel: Panel) -> None:
        if self._apart():
            x0, y0, *_ = panel.bounds_mm()
            painter.translate(-x0, -y0)
