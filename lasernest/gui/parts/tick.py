"""A box to tick, with a word beside it."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QCheckBox, QStyle, QStyleOptionButton

from lasernest.gui.look.dressed import Dressed
from lasernest.gui.look.signs import State, draw_sign
from lasernest.gui.look.theme import theme


class Tick(Dressed, QCheckBox):
    """Its box is the style sheet's; the tick, which that cannot draw, is painted into it."""

    def __init__(self, text: str) -> None:
        super().__init__(text)
        self.dress()

    def box(self) -> QRectF:
        """Where the box is."""
        option = QStyleOptionButton()
        self.initStyleOption(option)
        part = QStyle.SubElement.SE_CheckBoxIndicator
        return QRectF(self.style().subElementRect(part, option, self))

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802 - Qt's name
        super().paintEvent(event)
        if self.isChecked():
            painter = QPainter(self)
            box = self.box()
            box.moveTopLeft(box.topLeft() + QPointF(0.5, 0.5))
            draw_sign(painter, box, State.DONE, theme.colour("on_accent"))
            painter.end()
