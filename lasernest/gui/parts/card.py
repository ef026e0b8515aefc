"""The card at the right: what can be set and asked at this step.

Heading first, then a column that scrolls when it is long, then the step's one
main action, which never scrolls away.
"""

from __future__ import annotations

from collections.abc import Iterable

from PySide6.QtCore import Qt, QTimer
from PySide6.QtGui import QPaintEvent
from PySide6.QtWidgets import QLayout, QSizePolicy, QWidget

from lasernest.gui.look.theme import TextSize, theme
from lasernest.gui.parts.basics import Text, rule, vertical
from lasernest.gui.parts.flow import FlowLayout
from lasernest.gui.parts.plates import draw_plate, see_through_scroll

_WIDTH = 308
_NARROW_WIDTH = 270
"""What its rows need at least."""
_MOST_SHARE = 0.52
"""Of a window; the drawing needs the rest."""
_SIDE = 16


def card_width(window_px: int) -> int:
    """How wide cards are in a window of this width: with large text they leave some of theirs."""
    most = max(round(_MOST_SHARE * window_px), theme.pixels(_NARROW_WIDTH))
    return min(theme.pixels(_WIDTH), most)


class Card(QWidget):
    """A card with a heading, a scrolled column and a foot."""

    def __init__(self, heading: str) -> None:
        super().__init__()
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Expanding)
        outer = vertical(self, gap=0)
        outer.setContentsMargins(1, 1, 1, 1)
        self.heading = Text(heading, size=TextSize.LARGE, strong=True)
        self.heading.setContentsMargins(_SIDE, 14, _SIDE, 6)
        outer.addWidget(self.heading)

        self._inner = QWidget()
        self._inner.setObjectName("scrolled")
        self._scroll = see_through_scroll(self._inner)
        self._scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.column = vertical(self._inner, gap=6)
        self.column.setContentsMargins(_SIDE, 4, _SIDE, 12)
        self._scroll.verticalScrollBar().rangeChanged.connect(self._make_room)
        outer.addWidget(self._scroll, 1)

        self._foot = QWidget()
        self.foot = vertical(self._foot, gap=8)
        self.foot.setContentsMargins(_SIDE, 12, _SIDE, 16)
        outer.addWidget(self._foot)
        self.setFixedWidth(theme.pixels(_WIDTH))

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802 - Qt's name
        draw_plate(self, "card")

    def rooms(self) -> Iterable[QWidget]:
        """The heading, each part of the column, what scrolls it, and the foot."""
        direct = Qt.FindChildOption.FindDirectChildrenOnly
        yield from (self.heading, *self._inner.findChildren(QWidget, options=direct))
        yield from (self._scroll.verticalScrollBar(), self._foot)

    def _make_room(self, _least: int, most: int) -> None:
        """The scroll bar stands in the margin: the column stays as wide as the foot."""
        bar = self._scroll.verticalScrollBar().sizeHint().width() if most > 0 else 0
        self.column.setContentsMargins(_SIDE, 4, max(_SIDE - bar, 0), 12)

    def add(self, *parts: QWidget | QLayout) -> None:
        """Append parts to the column."""
        for part in parts:
            if isinstance(part, QWidget):
                self.column.addWidget(part)
            else:
                self.column.addLayout(part)
        theme.rooms.grown(self)

    def add_rule(self) -> None:
        """A parting line with some air."""
        line = rule()
        self.column.addSpacing(4)
        self.column.addWidget(line)
        self.column.addSpacing(4)

    def reveal(self, part: QWidget) -> None:
        """Scroll so that a part of the column is seen, once it is laid out."""
        QTimer.singleShot(0, part, lambda: self._scroll.ensureWidgetVisible(part, 0, 8))

    def close_column(self) -> None:
        """Push everything to the top."""
        self.column.addStretch(1)

    def set_actions(self, main: QWidget, *others: QWidget) -> None:
        """The step's main action, over the whole width, and quieter ones below."""
        self.foot.addWidget(main)
        if others:
            row = FlowLayout(gap=8)
            for other in others:
                row.addWidget(other)
            self.foot.addLayout(row)
