"""What the drawn edges stand for: three small drawings to choose from.

Each drawing looks along the edge of the mate: the upright plate is the mate in
section, the lying one is the drawn panel with its finger, and the dashed line
is where its edge was drawn.
"""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QFrame, QSizePolicy

from lasernest.domain.joints import EdgeMeaning
from lasernest.gui.look.pressing import PaintedButton
from lasernest.gui.look.signs import draw_focus_ring
from lasernest.gui.look.theme import TextSize, theme
from lasernest.gui.parts.basics import Text, horizontal, vertical
from lasernest.gui.words import tr

MEANING_WORDS = {
    EdgeMeaning.OUTSIDE: "outside",
    EdgeMeaning.INSIDE: "inside",
    EdgeMeaning.CENTRE: "middle",
}
_EXPLAIN = {
    EdgeMeaning.OUTSIDE: "The outer size of the case is as drawn.",
    EdgeMeaning.INSIDE: "The inner size of the case is as drawn; fingers stand out beyond it.",
    EdgeMeaning.CENTRE: "The drawn edge runs through the middle of the mate's thickness.",
}


class MeaningPicture(PaintedButton):
    """One of the three answers."""

    def __init__(self, meaning: EdgeMeaning) -> None:
        super().__init__()
        self.meaning = meaning
        self.setCheckable(True)
        self.setAutoExclusive(False)
        self.setText(tr(MEANING_WORDS[meaning]))
        self.setAccessibleName(tr("Drawn edges are the {what}", what=tr(meaning.value)))
        self.setToolTip(tr(_EXPLAIN[meaning]))
        self.setAccessibleDescription(self.toolTip())
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setAttribute(Qt.WidgetAttribute.WA_Hover)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        theme.changed.connect(self.updateGeometry)
        theme.changed.connect(self.update)

    def sizeHint(self) -> QSize:  # noqa: N802 - Qt's name
        return QSize(theme.pixels(72), theme.pixels(82))

    def minimumSizeHint(self) -> QSize:  # noqa: N802 - Qt's name
        return QSize(theme.pixels(56), theme.pixels(82))

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802 - Qt's name
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        chosen = self.isChecked()
        frame = QRectF(self.rect()).adjusted(1, 1, -1, -1)
        border = theme.colour("accent" if chosen or self.hasFocus() else "field_border")
        painter.setPen(QPen(border, 2.0 if chosen else 1.0))
        ground = "chosen" if chosen else "hover" if self.underMouse() else "card"
        painter.setBrush(theme.colour(ground))
        painter.drawRoundedRect(frame, 6, 6)
        if self.hasFocus():
            draw_focus_ring(painter, frame.adjusted(3, 3, -3, -3))
        font = theme.font(TextSize.SMALL, strong=chosen)
        painter.setFont(font)
        line = painter.fontMetrics().height() + 6
        words = QRectF(frame.left(), frame.bottom() - line, frame.width(), line)
        painter.setPen(theme.colour("ink"))
        painter.drawText(words, Qt.AlignmentFlag.AlignCenter, self.text())
        picture = QRectF(frame.left() + 6, frame.top() + 6, frame.width() - 12, 0)
        picture.setBottom(words.top() - 2)
        self._draw(painter, picture)
        painter.end()

    def _draw(self, painter: QPainter, area: QRectF) -> None:
        thick = min(area.width(), area.height()) * 0.3
        mate = QRectF(area.center().x() - thick * 0.2, area.top() + 1, thick, area.height() - 2)
        own = QRectF(area.left() + 2, area.center().y() - thick / 2, 0, thick)
        own.setRight(mate.right())
        painter.setPen(QPen(theme.colour("outer_cut"), 1.1))
        painter.setBrush(theme.colour("panel"))
        painter.drawRect(mate)
        painter.setBrush(theme.colour("panel_chosen"))
        painter.drawRect(own)
        x = {
            EdgeMeaning.OUTSIDE: mate.right(),
            EdgeMeaning.INSIDE: mate.left(),
            EdgeMeaning.CENTRE: mate.center().x(),
        }[self.meaning]
        pen = QPen(theme.colour("bad"), 2.0)
        pen.setDashPattern([2.6, 1.6])
        pen.setCapStyle(Qt.PenCapStyle.FlatCap)
        painter.setPen(pen)
        painter.drawLine(QPointF(x, area.top() - 3), QPointF(x, area.bottom() + 1))


class MeaningChoice(QFrame):
    """The question with its three answers; a question's colours until it is answered."""

    picked = Signal(object)
    """An `EdgeMeaning`."""

    def __init__(self) -> None:
        super().__init__()
        self._asked = False
        column = vertical(self, gap=6)
        self._text = Text("", wrap=True)
        column.addWidget(self._text)
        row = horizontal(gap=6)
        self.pictures = {meaning: MeaningPicture(meaning) for meaning in EdgeMeaning}
        for meaning, picture in self.pictures.items():
            picture.clicked.connect(lambda _=False, m=meaning: self._pick(m))
            row.addWidget(picture, 1)
        column.addLayout(row)
        self.show_meaning(EdgeMeaning.OUTSIDE, asked=False)

    def show_meaning(self, meaning: EdgeMeaning, *, asked: bool) -> None:
        """Show what the job says; `asked` while nobody has answered."""
        for which, picture in self.pictures.items():
            picture.setChecked(which is meaning)
        self.layout().setContentsMargins(*((12, 10, 12, 12) if asked else (0, 0, 0, 0)))  # type: ignore[union-attr]
        self._text.setText(
            tr("Where two panels meet, what is the drawn edge (dashed)?")
            if asked
            else tr("Where panels meet, the drawn edge is the")
        )
        self._text.set_kind("" if asked else "quiet")
        if self._asked != asked:
            self._asked = asked
            self.setProperty("kind", "question" if asked else "")
            self.style().unpolish(self)
            self.style().polish(self)

    def _pick(self, meaning: EdgeMeaning) -> None:
        self.pictures[meaning].setChecked(True)
        self.picked.emit(meaning)
