"""The card at the right: what can be set and asked at this step.

Heading first, then a column that scrolls when it is long, then the step's one
main action, which never scrolls away.
"""

from __future__ import annotations

from PySide6.QtCore import Qt, QTimer
from PySide6.QtWidgets import QFrame, QLayout, QScrollArea, QSizePolicy, QWidget

from lasernest.gui.look.theme import TextSize, theme
from lasernest.gui.parts.basics import Text, rule, vertical
from lasernest.gui.parts.flow import FlowLayout

CARD_WIDTH = 308
_SIDE = 16


class Card(QFrame):
    """A card with a heading, a scrolled column and a foot."""

    def __init__(self, heading: str) -> None:
        super().__init__()
        self.setProperty("kind", "card")
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Expanding)
        outer = vertical(self, gap=0)
        outer.setContentsMargins(1, 1, 1, 1)
        self.heading = Text(heading, size=TextSize.LARGE, strong=True)
        self.heading.setContentsMargins(_SIDE, 14, _SIDE, 6)
        outer.addWidget(self.heading)

        self._scroll = QScrollArea()
        self._scroll.setWidgetResizable(True)
        self._scroll.setFrameShape(QFrame.Shape.NoFrame)
        self._scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self._scroll.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        inner = QWidget()
        inner.setProperty("kind", "scrolled")
        inner.setObjectName("scrolled")
        self.column = vertical(inner, gap=6)
        self.column.setContentsMargins(_SIDE, 4, _SIDE, 12)
        self._scroll.setWidget(inner)
        self._scroll.verticalScrollBar().rangeChanged.connect(self._make_room)
        outer.addWidget(self._scroll, 1)
        self._end = False

        foot = QWidget()
        self.foot = vertical(foot, gap=8)
        self.foot.setContentsMargins(_SIDE, 12, _SIDE, 16)
        outer.addWidget(foot)
        self._size()
        theme.changed.connect(self._size)

    def _size(self) -> None:
        self.setFixedWidth(theme.pixels(CARD_WIDTH))

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
