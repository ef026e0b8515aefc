"""The list of findings: numbers that match the rings on the board.

Questions come first, with their answers as buttons; what was mended or only
noted waits behind one line.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QFontMetrics,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QResizeEvent,
)
from PySide6.QtWidgets import QSizePolicy, QWidget

from lasernest.domain.findings import Choice, Severity
from lasernest.gui.board.inks import severity_colour
from lasernest.gui.board.shelves import NumberedFinding
from lasernest.gui.guide.why import WhyMark
from lasernest.gui.lengths import lengths
from lasernest.gui.look.theme import TextSize, theme
from lasernest.gui.parts.basics import Text, button, clear, horizontal, link, vertical
from lasernest.gui.parts.flow import FlowLayout
from lasernest.gui.parts.tick import Tick
from lasernest.gui.words import count_of, tr

_FIRST = 12


def needs_the_maker(numbered: NumberedFinding) -> bool:
    """Whether a finding asks for a look: an error, a warning or a question."""
    finding = numbered.finding
    if finding.is_question:
        return True
    return not finding.mended and finding.severity is not Severity.NOTE


def asked_alike(asked: NumberedFinding, others: Sequence[NumberedFinding]) -> list[NumberedFinding]:
    """The same question with the same answers, about other drawings."""
    return [
        n
        for n in others
        if n.file != asked.file
        and n.finding.code == asked.finding.code
        and _answers_of(n) == _answers_of(asked)
    ]


def _answers_of(numbered: NumberedFinding) -> set[tuple[str, str]]:
    return {(choice.option, choice.value) for choice in numbered.finding.choices}


def also_for(others: int) -> str:
    """What the tick below a question says."""
    if others == 1:
        return tr("for the other drawing too")
    return tr("for the {n} others too", n=others)


def as_sentence(message: str) -> str:
    """A finding's message with a capital and a full stop; names of files keep theirs."""
    ends = message.endswith((".", "?", "!"))
    return message[:1].upper() + message[1:] + ("" if ends else ".")


class FindingRow(QWidget):
    """One finding: its number, what it says, what to do; pressing it zooms there."""

    pressed = Signal(int)

    def __init__(self, numbered: NumberedFinding) -> None:
        super().__init__()
        self.numbered = numbered
        finding = numbered.finding
        self._text = lengths.retold(f"{as_sentence(finding.message)} {finding.todo}".strip())
        self._place = finding.panel or (f"layer {finding.layer}" if finding.layer else "")
        word = tr("mended") if finding.mended else tr(finding.severity.value)
        if finding.is_question:
            word = tr("question")
        self._head = " · ".join(part for part in (word, self._place, numbered.file) if part)
        self.setAccessibleName(f"{numbered.number}, {self._head}: {self._text}")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setAttribute(Qt.WidgetAttribute.WA_Hover)
        policy = QSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Minimum)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)
        self.why = WhyMark(self._text, f"findings#{finding.code}")
        self.why.setParent(self)
        if finding.where_mm is not None or finding.panel:
            self.setToolTip(tr("Show this place"))

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: N802 - Qt's name
        super().resizeEvent(event)
        side = self.why.sizeHint()
        self.why.resize(side)
        self.why.move(self.width() - side.width() - 6, 3)

    def hasHeightForWidth(self) -> bool:  # noqa: N802 - Qt's name
        return True

    def heightForWidth(self, width: int) -> int:  # noqa: N802 - Qt's name
        left = theme.pixels(34)
        body = QFontMetrics(theme.font())
        small = QFontMetrics(theme.font(TextSize.SMALL))
        wrap = Qt.TextFlag.TextWordWrap
        room = body.boundingRect(0, 0, max(width - left - 8, 40), 4000, wrap, self._text)
        return small.height() + room.height() + 12

    def sizeHint(self) -> QSize:  # noqa: N802 - Qt's name
        width = max(self.width(), theme.pixels(260))
        return QSize(width, self.heightForWidth(width))

    def minimumSizeHint(self) -> QSize:  # noqa: N802 - Qt's name
        return QSize(80, self.heightForWidth(max(self.width(), 80)))

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802 - Qt's name
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        if self.underMouse():
            painter.setBrush(theme.colour("hover"))
            painter.setPen(Qt.PenStyle.NoPen)
            painter.drawRoundedRect(QRectF(self.rect()), 6, 6)
        if self.hasFocus():
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(QPen(theme.colour("accent"), 1.0))
            painter.drawRoundedRect(QRectF(self.rect()).adjusted(0.5, 0.5, -0.5, -0.5), 6, 6)
        finding = self.numbered.finding
        colour = severity_colour(finding.severity, mended=finding.mended)
        side = theme.pixels(22)
        chip = QRectF(4, 6, side, side)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QPen(colour, 1.8))
        painter.drawEllipse(chip)
        painter.setFont(theme.font(TextSize.SMALL, strong=True))
        painter.setPen(colour)
        painter.drawText(chip, Qt.AlignmentFlag.AlignCenter, str(self.numbered.number))
        left = theme.pixels(34)
        small = theme.font(TextSize.SMALL)
        painter.setFont(small)
        line = QRectF(left, 5, self.why.x() - left - 4, QFontMetrics(small).height())
        short = painter.fontMetrics().elidedText(
            self._head, Qt.TextElideMode.ElideRight, int(line.width())
        )
        painter.drawText(line, short)
        painter.setFont(theme.font())
        painter.setPen(theme.colour("ink"))
        rest = QRectF(left, line.bottom() + 1, self.width() - left - 8, self.height())
        painter.drawText(rest, int(Qt.TextFlag.TextWordWrap), self._text)
        painter.end()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:  # noqa: N802 - Qt's name
        if self.rect().contains(event.position().toPoint()):
            self.pressed.emit(self.numbered.number)

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802 - Qt's name
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space):
            self.pressed.emit(self.numbered.number)
        else:
            super().keyPressEvent(event)


class FindingList(QWidget):
    """All findings: what needs the maker at once, the rest behind one line."""

    pressed = Signal(int)
    answered = Signal(int, object, bool)
    """The number of a question, the `Choice` that was pressed, and whether it is the answer
    for the other drawings that ask the same."""

    def __init__(self) -> None:
        super().__init__()
        self._column = vertical(self, gap=2)
        self._shown: tuple[NumberedFinding, ...] = ()
        self._all = False
        self._unit = lengths.unit
        self.hide()

    def show_findings(self, findings: Sequence[NumberedFinding]) -> None:
        """Show these."""
        if (tuple(findings), lengths.unit) != (self._shown, self._unit):
            self._shown, self._unit = tuple(findings), lengths.unit
            self._all = False
            self._fill()

    def _fill(self) -> None:
        clear(self._column)
        self._column.addWidget(Text(tr("Findings"), strong=True))
        needed = [n for n in self._shown if needs_the_maker(n)]
        shown = self._shown if self._all else needed[:_FIRST]
        for numbered in shown:
            row = FindingRow(numbered)
            row.pressed.connect(self.pressed)
            self._column.addWidget(row)
            if numbered.finding.is_question:
                self._add_answers(numbered)
        more = len(self._shown) - len(shown)
        if more:
            text = tr("Show {what}", what=count_of(more, "note", "notes"))
            self._column.addWidget(link(text, self._show_all))
        self.setVisible(bool(self._shown))

    def _add_answers(self, numbered: NumberedFinding) -> None:
        """The answers as buttons, below the word on other drawings that ask the same."""
        left = theme.pixels(34)
        others = asked_alike(numbered, self._shown)
        also: Tick | None = None
        if others:
            # Drawings of one export are alike; the tick says so and can be taken away.
            also = Tick(also_for(len(others)))
            also.setChecked(True)
            place = horizontal(gap=0)
            place.setContentsMargins(left, 2, 0, 4)
            place.addWidget(also)
            self._column.addLayout(place)
        row = FlowLayout(gap=6)
        row.setContentsMargins(left, 2, 0, 8)
        for choice in numbered.finding.choices:
            made = button(choice.label, partial(self._answer, numbered.number, choice, also))
            tip = []
            if choice.size_mm is not None:
                size = lengths.size(*choice.size_mm, 1)
                tip.append(tr("The whole drawing is {size} then", size=size))
            if choice.preset:
                tip.append(tr("taken so far") if tip else tr("Taken so far"))
                made.setProperty("taken", True)
            made.setToolTip(", ".join(tip))
            made.setAccessibleDescription(made.toolTip())
            row.addWidget(made)
        self._column.addLayout(row)

    def _answer(self, number: int, choice: Choice, also: Tick | None) -> None:
        self.answered.emit(number, choice, also is not None and also.isChecked())

    def _show_all(self) -> None:
        self._all = True
        self._fill()

    def rows(self) -> list[FindingRow]:
        """The rows as shown."""
        return [row for row in self.findChildren(FindingRow) if not row.isHidden()]
