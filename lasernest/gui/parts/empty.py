"""An empty page: what this step is for, what to do first, and buttons to do it."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from lasernest.gui.look.theme import TextSize, theme
from lasernest.gui.parts.basics import Text, vertical
from lasernest.gui.parts.flow import FlowLayout

_COLUMN = 440
_NARROWEST = 140


class EmptyPage(QWidget):
    """A quiet column in the middle of the board."""

    def __init__(
        self,
        heading: str,
        text: str,
        *buttons: QWidget,
        drop_sign: bool = False,
        after: str = "",
        below: QWidget | None = None,
    ) -> None:
        """Args: `below` stands last of all, such as a list of recent jobs."""
        super().__init__()
        outer = vertical(self, gap=0)
        outer.addStretch(2)
        column = QWidget()
        column.setFixedWidth(theme.pixels(_COLUMN))
        inner = vertical(column, gap=12)
        if drop_sign:
            inner.addWidget(_DropSign(), 0, Qt.AlignmentFlag.AlignHCenter)
        head = Text(heading, size=TextSize.LARGE, strong=True, wrap=True)
        head.setAlignment(Qt.AlignmentFlag.AlignHCenter)
        body = Text(text, kind="quiet", wrap=True)
        body.setAlignment(Qt.AlignmentFlag.AlignHCenter)
        inner.addWidget(head)
        inner.addWidget(body)
        self.body = body
        self._buttons = QWidget()
        row = FlowLayout(self._buttons, gap=8, centred=True)
        for made in buttons:
            row.addWidget(made)
        if buttons:
            inner.addSpacing(4)
            inner.addWidget(self._buttons)
        if after:
            last = Text(after, size=TextSize.SMALL, kind="quiet", wrap=True)
            last.setAlignment(Qt.AlignmentFlag.AlignHCenter)
            inner.addSpacing(8)
            inner.addWidget(last)
        if below is not None:
            inner.addSpacing(8)
            inner.addWidget(below)
        outer.addWidget(column, 0, Qt.AlignmentFlag.AlignHCenter)
        outer.addStretch(3)
        self._inner = column
        self._size()

    def dress(self) -> None:
        """Its texts are of another size: so is what they take."""
        self._size()

    def minimumSizeHint(self) -> QSize:  # noqa: N802 - Qt's name
        return QSize(theme.pixels(_NARROWEST), super().minimumSizeHint().height())

    def resizeEvent(self, event: object) -> None:  # noqa: N802 - Qt's name
        self._size()

    def _size(self) -> None:
        width = min(theme.pixels(_COLUMN), max(self.width() - 32, theme.pixels(_NARROWEST)))
        self._inner.setFixedWidth(width)
        # Centred in its column, a part is not asked how high it is at this width.
        for text in self._inner.findChildren(Text):
            if text.wordWrap():
                text.setMinimumHeight(text.heightForWidth(width))
        self._buttons.setMinimumHeight(self._buttons.heightForWidth(width))


class _DropSign(QWidget):
    """Outlines that fall into a dashed frame."""

    def __init__(self) -> None:
        super().__init__()
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        theme.changed.connect(self.update)

    def sizeHint(self) -> QSize:  # noqa: N802 - Qt's name
        return QSize(200, 132)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802 - Qt's name
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        frame = QRectF(self.rect()).adjusted(2, 26, -2, -2)
        pen = QPen(theme.colour("faint"), 1.4)
        pen.setDashPattern([4, 3])
        painter.setPen(pen)
        painter.drawRoundedRect(frame, 8, 8)
        painter.setBrush(theme.colour("panel"))
        painter.setPen(QPen(theme.colour("outer_cut"), 1.4))
        plate = QRectF(54, 8, 92, 62)
        painter.drawRoundedRect(plate, 5, 5)
        painter.setBrush(theme.colour("board"))
        painter.setPen(QPen(theme.colour("inner_cut"), 1.4))
        painter.drawEllipse(QPointF(plate.center()), 15, 15)
        for x in (66.0, 134.0):
            painter.drawEllipse(QPointF(x, plate.center().y()), 4, 4)
        painter.setPen(QPen(theme.colour("accent"), 2.0, c=Qt.PenCapStyle.RoundCap))
        x = plate.center().x()
        painter.drawLine(QPointF(x, 80), QPointF(x, 110))
        painter.drawPolyline([QPointF(x - 8, 102), QPointF(x, 110), QPointF(x + 8, 102)])
        painter.end()
