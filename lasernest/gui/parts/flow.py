"""A layout that puts widgets in a row and goes on to the next row when it is full."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QPoint, QRect, QSize, Qt
from PySide6.QtWidgets import QLayout, QLayoutItem, QWidget


class FlowLayout(QLayout):
    """Rows that wrap, like words; what is lower stands in the middle of its row."""

    def __init__(
        self, parent: QWidget | None = None, *, gap: int = 8, centred: bool = False
    ) -> None:
        super().__init__()
        self._items: list[QLayoutItem] = []
        self._gap, self._centred = gap, centred
        self.setContentsMargins(0, 0, 0, 0)
        if parent is not None:
            parent.setLayout(self)

    def addItem(self, item: QLayoutItem) -> None:  # noqa: N802 - Qt's name
        self._items.append(item)

    def count(self) -> int:
        return len(self._items)

    def itemAt(self, index: int) -> QLayoutItem | None:  # noqa: N802 - Qt's name
        return self._items[index] if 0 <= index < len(self._items) else None

    def takeAt(self, index: int) -> QLayoutItem | None:  # noqa: N802 - Qt's name
        return self._items.pop(index) if 0 <= index < len(self._items) else None

    def expandingDirections(self) -> Qt.Orientation:  # noqa: N802 - Qt's name
        return Qt.Orientation(0)

    def hasHeightForWidth(self) -> bool:  # noqa: N802 - Qt's name
        return True

    def heightForWidth(self, width: int) -> int:  # noqa: N802 - Qt's name
        return self._arrange(QRect(0, 0, width, 0), move=False)

    def sizeHint(self) -> QSize:  # noqa: N802 - Qt's name
        return self.minimumSize()

    def minimumSize(self) -> QSize:  # noqa: N802 - Qt's name
        size = QSize()
        for item in self._items:
            size = size.expandedTo(item.minimumSize())
        margins = self.contentsMargins()
        return size + QSize(margins.left() + margins.right(), margins.top() + margins.bottom())

    def setGeometry(self, rect: QRect) -> None:  # noqa: N802 - Qt's name
        super().setGeometry(rect)
        self._arrange(rect, move=True)

    def _arrange(self, rect: QRect, *, move: bool) -> int:
        margins = self.contentsMargins()
        rect = rect.marginsRemoved(margins)
        y = rect.y()
        for row in self._rows(rect.width()):
            x = rect.x()
            if self._centred:
                x += (rect.width() - self._width_of(row)) // 2
            high = max(item.sizeHint().height() for item in row)
            for item in row:
                size = item.sizeHint()
                if move:
                    middle = y + (high - size.height()) // 2
                    item.setGeometry(QRect(QPoint(x, middle), size))
                x += size.width() + self._gap
            y += high + self._gap
        below = 0 if y == rect.y() else self._gap
        return y - below - rect.y() + margins.top() + margins.bottom()

    def _width_of(self, row: Sequence[QLayoutItem]) -> int:
        return sum(item.sizeHint().width() for item in row) + self._gap * (len(row) - 1)

    def _rows(self, width: int) -> list[list[QLayoutItem]]:
        """What is shown, parted so that each row is within this width where it can be."""
        rows: list[list[QLayoutItem]] = []
        for item in self._items:
            widget = item.widget()
            if widget is not None and widget.isHidden():
                continue
            if rows and self._width_of([*rows[-1], item]) <= width:
                rows[-1].append(item)
            else:
                rows.append([item])
        return rows
