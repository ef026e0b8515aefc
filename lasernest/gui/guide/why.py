"""The small mark beside a figure or a finding that opens its explanation in the guide."""

from __future__ import annotations

from typing import Protocol, runtime_checkable

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy

from lasernest.gui.look.pressing import PaintedButton
from lasernest.gui.look.theme import TextSize, theme
from lasernest.gui.words import tr


@runtime_checkable
class ShowsGuide(Protocol):
    """A window that can open the guide at a place, or about a word."""

    def show_guide(self, place: str = "", about: str = "") -> None: ...


class WhyMark(PaintedButton):
    """A ring with a question mark."""

    def __init__(self, about: str, place: str = "") -> None:
        """Args: `about` is what is explained; `place` is where, when it is not a heading."""
        super().__init__()
        self.about, self.place = about, place
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self.setAttribute(Qt.WidgetAttribute.WA_Hover)
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        if about.endswith((".", "?", "!")):  # a note without a heading: a sentence or two
            self.setToolTip(tr("More about this in the guide"))
            self.setAccessibleName(f"{self.toolTip()}: {about}")
        else:
            self.setToolTip(tr("What is meant by {what}?", what=about))
            self.setAccessibleName(self.toolTip())
        self.clicked.connect(self._ask)
        theme.changed.connect(self._dress)

    def _dress(self) -> None:
        self.updateGeometry()
        self.update()

    def _ask(self) -> None:
        window = self.window()
        if isinstance(window, ShowsGuide):
            window.show_guide(self.place, self.about)

    def sizeHint(self) -> QSize:  # noqa: N802 - Qt's name
        return QSize(theme.pixels(18), theme.pixels(18))

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802 - Qt's name
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        ring = QRectF(self.rect()).adjusted(1.5, 1.5, -1.5, -1.5)
        lively = self.underMouse() or self.hasFocus()
        colour = theme.colour("accent" if lively else "quiet")
        painter.setPen(QPen(colour, 2.0 if self.hasFocus() else 1.0))
        painter.setBrush(theme.colour("hover") if lively else Qt.BrushStyle.NoBrush)
        painter.drawEllipse(ring)
        painter.setPen(colour)
        painter.setFont(theme.font(TextSize.SMALL))
        painter.drawText(ring, Qt.AlignmentFlag.AlignCenter, "?")
        painter.end()
