"""The row of tiles along the top: the job's steps, each with its most important figure.

A tile is navigation, status and ledger at once. Its first line names the step
and says by a sign and a word whether it needs the maker; then comes the
figure, then what the figure rests on.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFocusEvent, QFontMetricsF, QKeyEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from lasernest.gui.last_hand import last_hand
from lasernest.gui.look.pressing import PaintedButton
from lasernest.gui.look.signs import State, draw_focus_ring, draw_sign
from lasernest.gui.look.theme import RADIUS, TextSize, theme
from lasernest.gui.parts.basics import horizontal
from lasernest.gui.words import tr


class Step(Enum):
    """The steps of a job, in order."""

    OUTLINES = "Outlines"
    JOINTS = "Joints"
    KERF = "Kerf and fit"
    SHEETS = "Sheets"
    CUT_FILE = "Cut file"


@dataclass(frozen=True, slots=True)
class TileText:
    """What a tile says."""

    figure: str
    rests_on: str = ""
    state: State = State.NOTHING
    word: str = ""
    """The word beside the sign: `done`, `2 questions`, `blocked`, `nothing yet`."""


def tile_height(*, low: bool) -> int:
    """How high the row is, in pixels."""
    return theme.pixels(60 if low else 74)


class StepTile(PaintedButton):
    """One step."""

    def __init__(self, step: Step, key: str) -> None:
        super().__init__()
        self.step = step
        self._key = key
        self._text = TileText("")
        self._reached_by_key = self._low = False
        self.setCheckable(True)
        self.setAutoExclusive(True)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAttribute(Qt.WidgetAttribute.WA_Hover)
        theme.changed.connect(self._dress)
        self._dress()

    def _dress(self) -> None:
        self.updateGeometry()
        self.update()

    def focusInEvent(self, event: QFocusEvent) -> None:  # noqa: N802 - Qt's name
        # The first tile has the keys when a window opens; a ring is for those who use them.
        self._reached_by_key = last_hand.shows_ring(event, before=self._reached_by_key)
        super().focusInEvent(event)

    def show_text(self, text: TileText) -> None:
        """Say something else."""
        if text != self._text:
            self._text = text
            said = f"{tr(self.step.value)}: {text.word}. {text.figure}. {text.rests_on}"
            self.setAccessibleName(said)
            self.setToolTip(f"{text.figure}\n{text.rests_on}\n{self._key}".strip())
            self.update()

    @property
    def shown(self) -> TileText:
        return self._text

    def set_low(self, low: bool) -> None:
        """Whether it leaves out what the figure rests on, which its tip tells too."""
        self._low = low
        self._dress()

    def sizeHint(self) -> QSize:  # noqa: N802 - Qt's name
        return QSize(theme.pixels(180), tile_height(low=self._low))

    def minimumSizeHint(self) -> QSize:  # noqa: N802 - Qt's name
        return QSize(theme.pixels(120), tile_height(low=self._low))

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802 - Qt's name
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        chosen = self.isChecked()
        frame = QRectF(self.rect()).adjusted(1, 1, -1, -1)
        if chosen:
            painter.setPen(QPen(theme.colour("accent"), 2.0))
            painter.setBrush(theme.colour("chosen"))
        else:
            frame = frame.adjusted(-0.5, -0.5, 0.5, 0.5)
            painter.setPen(QPen(theme.colour("card_border"), 1.0))
            painter.setBrush(theme.colour("hover" if self.underMouse() else "card"))
        painter.drawRoundedRect(frame, RADIUS, RADIUS)
        if self._reached_by_key and self.hasFocus():
            draw_focus_ring(painter, frame.adjusted(3, 3, -3, -3))
        self._draw_lines(painter, frame.adjusted(12, 8, -12, -8))
        painter.end()

    def _draw_lines(self, painter: QPainter, area: QRectF) -> None:
        small, head = theme.font(TextSize.SMALL), theme.font(TextSize.BODY, strong=True)
        large = theme.font(TextSize.LARGE, strong=True)
        heights = [QFontMetricsF(f).height() for f in (head, large, small)]
        gap = 0.0 if self._low else (area.height() - sum(heights)) / 2.0
        left, right = Qt.AlignmentFlag.AlignLeft, Qt.AlignmentFlag.AlignRight
        middle = Qt.AlignmentFlag.AlignVCenter
        elide = Qt.TextElideMode.ElideRight

        line = QRectF(area.left(), area.top(), area.width(), heights[0])
        word_width = QFontMetricsF(small).horizontalAdvance(self._text.word)
        name_width = QFontMetricsF(head).horizontalAdvance(tr(self.step.value))
        sign = theme.pixels(14)
        painter.setFont(head)
        painter.setPen(theme.colour("ink"))
        room = line.width() - sign - 6  # the sign stays, however narrow the tile is
        name = QFontMetricsF(head).elidedText(tr(self.step.value), elide, room)
        painter.drawText(line, left | middle, name)
        if name_width + word_width + sign + 16 > line.width():
            word_width = 0.0  # a narrow tile keeps the sign; its tip and name say the word
        else:
            painter.setFont(small)
            painter.setPen(theme.colour(self._text.state.value))
            painter.drawText(line, right | middle, self._text.word)
        spot = QRectF(line.right() - word_width - sign - (4 if word_width else 0), 0, sign, sign)
        spot.moveTop(line.center().y() - sign / 2)
        draw_sign(painter, spot, self._text.state)

        line = QRectF(area.left(), line.bottom() + gap, area.width(), heights[1])
        if self._low:
            line.setBottom(area.bottom())
        if QFontMetricsF(large).horizontalAdvance(self._text.figure) > line.width():
            large = head  # rather smaller than shortened
        painter.setFont(large)
        painter.setPen(theme.colour("quiet" if self._text.state is State.NOTHING else "ink"))
        if QFontMetricsF(large).horizontalAdvance(self._text.figure) > line.width():
            # On two lines where it is too long for one: it matters more than what it rests on.
            line.setBottom(area.bottom())
            wrapped = int(left | middle | Qt.TextFlag.TextWordWrap)
            figure = self._text.figure
            if painter.boundingRect(line, wrapped, figure).height() > line.height():
                painter.setFont(small)
                if painter.boundingRect(line, wrapped, figure).height() > line.height():
                    figure = painter.fontMetrics().elidedText(figure, elide, int(line.width()))
            painter.drawText(line, wrapped, figure)
            return
        painter.drawText(line, left | middle, self._text.figure)
        if self._low:
            return
        line = QRectF(area.left(), line.bottom() + gap, area.width(), heights[2])
        painter.setFont(small)
        painter.setPen(theme.colour("quiet"))
        painter.drawText(
            line,
            left | middle,
            QFontMetricsF(small).elidedText(self._text.rests_on, elide, line.width()),
        )


class StepTiles(QWidget):
    """The row of steps."""

    chosen = Signal(object)
    """The step the maker went to."""

    def __init__(self) -> None:
        super().__init__()
        row = horizontal(self, gap=8)
        self.tiles: dict[Step, StepTile] = {}
        for number, step in enumerate(Step, start=1):
            tile = StepTile(step, f"Ctrl+{number}")
            tile.clicked.connect(lambda _=False, s=step: self.chosen.emit(s))
            self.tiles[step] = tile
            row.addWidget(tile, 1)
        self.setAccessibleName(tr("Steps of the job"))

    def set_low(self, low: bool) -> None:
        """Whether the row should take less of the height."""
        for tile in self.tiles.values():
            tile.set_low(low)

    def show_step(self, step: Step) -> None:
        """Mark the step that is open."""
        for other, tile in self.tiles.items():
            tile.setChecked(other is step)
            # The tiles are one stop for Tab, at the step that is open.
            strong, click = Qt.FocusPolicy.StrongFocus, Qt.FocusPolicy.ClickFocus
            tile.setFocusPolicy(strong if other is step else click)

    def show_text(self, step: Step, text: TileText) -> None:
        """Let a tile say something else."""
        self.tiles[step].show_text(text)

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802 - Qt's name
        order = list(Step)
        focused = next((s for s, tile in self.tiles.items() if tile.hasFocus()), None)
        moves = {Qt.Key.Key_Left: -1, Qt.Key.Key_Right: 1}
        if focused is not None and event.key() in moves:
            at = (order.index(focused) + moves[Qt.Key(event.key())]) % len(order)
            self.tiles[order[at]].setFocus(Qt.FocusReason.TabFocusReason)
        else:
            super().keyPressEvent(event)
