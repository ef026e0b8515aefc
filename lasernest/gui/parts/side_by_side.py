"""Two parts side by side, or one below the other where that would be too narrow."""

from __future__ import annotations

from PySide6.QtCore import QSize, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QBoxLayout, QWidget

from lasernest.gui.look.theme import theme


class SideBySide(QWidget):
    """Parts in a row from a width on that grows with the text."""

    turned = Signal()

    def __init__(self, from_px: int, *, gap: int) -> None:
        super().__init__()
        self._from_px = from_px
        self.row = QBoxLayout(QBoxLayout.Direction.LeftToRight, self)
        self.row.setContentsMargins(0, 0, 0, 0)
        self.row.setSpacing(gap)

    @property
    def is_column(self) -> bool:
        return self.row.direction() is QBoxLayout.Direction.TopToBottom

    def minimumSizeHint(self) -> QSize:  # noqa: N802 - Qt's name
        items = [item for i in range(self.row.count()) if (item := self.row.itemAt(i)) is not None]
        width = max((item.minimumSize().width() for item in items), default=0)
        return QSize(width, self.row.minimumSize().height())

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: N802 - Qt's name
        super().resizeEvent(event)
        way = QBoxLayout.Direction
        wanted = way.TopToBottom if self.width() < theme.pixels(self._from_px) else way.LeftToRight
        if wanted is not self.row.direction():
            self.row.setDirection(wanted)
            self.updateGeometry()
            self.turned.emit()
