"""Labels, buttons and rows: the words and figures of a card."""

from __future__ import annotations

import re
from collections.abc import Callable

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QFontMetrics, QKeyEvent, QPainter
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QLabel,
    QLayout,
    QPushButton,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from lasernest.gui.guide.why import WhyMark
from lasernest.gui.lengths import lengths
from lasernest.gui.look.dressed import Dressed
from lasernest.gui.look.pressing import pressed_by_enter
from lasernest.gui.look.theme import TextSize, theme

_LONG_WORD = re.compile(r"\S{21,}")
_PART = re.compile(r"[^\s_./\\-]{1,19}[_./\\-]?|[_./\\-]")
"""What a long word is parted into: up to a sign that parts it anyway, or as much as is read."""


class Text(Dressed, QLabel):
    """A text in one of the three sizes; long ones wrap."""

    def __init__(
        self,
        text: str = "",
        *,
        size: TextSize = TextSize.BODY,
        strong: bool = False,
        kind: str = "",
        wrap: bool = False,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self.text_size, self.strong = size, strong
        self._said = ""
        self.setWordWrap(wrap)
        self.setText(text)
        self.setTextFormat(Qt.TextFormat.PlainText)
        if kind:
            self.setProperty("kind", kind)
        if wrap:
            policy = QSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Minimum)
            policy.setHeightForWidth(True)
            self.setSizePolicy(policy)
        self.dress()

    def setText(self, text: str) -> None:  # noqa: N802 - Qt's name
        self._said = text
        super().setText(_breakable(text) if self.wordWrap() else text)

    def text(self) -> str:
        return self._said

    def set_kind(self, kind: str) -> None:
        """Change the colour by meaning."""
        if self.property("kind") != kind:
            self.setProperty("kind", kind)
            self.style().unpolish(self)
            self.style().polish(self)


def _breakable(text: str) -> str:
    """A text whose long words, such as names of files, may go on in the next line."""
    return _LONG_WORD.sub(lambda word: _PART.sub("\\g<0>\u200b", word[0]), text)


class Elided(Dressed, QWidget):
    """One line of text that shortens itself with an ellipsis and tells the rest in its tip."""

    def __init__(
        self,
        text: str = "",
        *,
        size: TextSize = TextSize.BODY,
        strong: bool = False,
        colour: str = "ink",
        right: bool = False,
        middle: bool = False,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._text, self.text_size, self.strong = text, size, strong
        self._colour, self._right = colour, right
        self._told = ""
        """The tip of its own; another's is left alone."""
        self._mode = Qt.TextElideMode.ElideMiddle if middle else Qt.TextElideMode.ElideRight
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.dress()

    def dress(self) -> None:
        super().dress()
        self.updateGeometry()
        self.update()

    def text(self) -> str:
        return self._text

    def set_text(self, text: str, colour: str | None = None) -> None:
        """Show another text, perhaps in another colour of the palette."""
        self._text = text
        if colour is not None:
            self._colour = colour
        self.setAccessibleName(text)
        self.updateGeometry()
        self.update()

    def shortened(self, metrics: QFontMetrics) -> str:
        """What there is room for."""
        return metrics.elidedText(self._text, self._mode, self.width())

    def sizeHint(self) -> QSize:  # noqa: N802 - Qt's name
        metrics = QFontMetrics(theme.font(self.text_size, strong=self.strong))
        return QSize(metrics.horizontalAdvance(self._text) + 2, metrics.height() + 2)

    def minimumSizeHint(self) -> QSize:  # noqa: N802 - Qt's name
        return QSize(24, self.sizeHint().height())

    def paintEvent(self, event: object) -> None:  # noqa: N802 - Qt's name
        painter = QPainter(self)
        painter.setFont(self.font())
        painter.setPen(theme.colour(self._colour))
        short = self.shortened(painter.fontMetrics())
        side = Qt.AlignmentFlag.AlignRight if self._right else Qt.AlignmentFlag.AlignLeft
        painter.drawText(self.rect(), side | Qt.AlignmentFlag.AlignVCenter, short)
        painter.end()
        rest = self._text if short != self._text else ""
        if self.toolTip() in ("", self._told) and rest != self.toolTip():
            self.setToolTip(rest)
        self._told = rest


class Button(Dressed, QPushButton):
    """A button with a text; kinds are `main`, `plain` and `link`."""

    def __init__(self, text: str, *, kind: str = "plain", tip: str = "") -> None:
        super().__init__(text)
        self.strong = kind == "main"
        self.setProperty("kind", kind)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setAutoDefault(False)
        self.setToolTip(tip)
        self.dress()

    @property
    def is_main(self) -> bool:
        """Whether it is the one main action of what it stands on."""
        return self.strong

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802 - Qt's name
        if not pressed_by_enter(self, event):
            super().keyPressEvent(event)


def button(
    text: str, act: Callable[[], object] | None = None, *, kind: str = "plain", tip: str = ""
) -> Button:
    """A button that does one thing."""
    made = Button(text, kind=kind, tip=tip)
    if act is not None:
        made.clicked.connect(lambda _checked=False: act())
    return made


def link(text: str, act: Callable[[], object] | None = None, *, tip: str = "") -> Button:
    """A link whose text begins and ends where the labels above and below it do."""
    made = button(text, act, kind="link", tip=tip)
    made.setProperty("flush", True)
    return made


def give_focus_back(window: QWidget, before: QWidget | None) -> None:
    """Let the keys go back to where they were, if that part of the window is still there."""
    # A part may have gone meanwhile, and a widget that is gone cannot be asked:
    # only those that the window holds now are looked at.
    there = any(widget is before for widget in window.findChildren(QWidget))
    if before is not None and there and before.isVisible():
        before.setFocus(Qt.FocusReason.ShortcutFocusReason)


def rule() -> QFrame:
    """A thin parting line."""
    line = QFrame()
    line.setProperty("kind", "rule")
    line.setFixedHeight(1)
    return line


def clear(layout: QLayout) -> None:
    """Take everything out of a layout, rows within it too, and let the widgets go.

    They are hidden at once: until Qt deletes them they would lie over what comes next.
    """
    while (item := layout.takeAt(0)) is not None:
        widget, inner = item.widget(), item.layout()
        if widget is not None:
            widget.hide()
            widget.deleteLater()
        elif inner is not None:
            clear(inner)


def vertical(parent: QWidget | None = None, *, gap: int = 8, margin: int = 0) -> QVBoxLayout:
    """A column."""
    layout = QVBoxLayout(parent) if parent is not None else QVBoxLayout()
    layout.setSpacing(gap)
    layout.setContentsMargins(margin, margin, margin, margin)
    return layout


def horizontal(parent: QWidget | None = None, *, gap: int = 8, margin: int = 0) -> QHBoxLayout:
    """A row."""
    layout = QHBoxLayout(parent) if parent is not None else QHBoxLayout()
    layout.setSpacing(gap)
    layout.setContentsMargins(margin, margin, margin, margin)
    return layout


_LEAST_CONTROL = 112
"""Wider ones give way to the name where a card is narrow."""
_BEFORE_NAME = 1000
"""Of the room that is left over, the control takes what it may first."""


class SettingRow(QWidget):
    """A setting: its name at the left, its control at the right, a sentence in the tip."""

    def __init__(self, name: str, control: QWidget, *, explain: str = "", width: int = 112) -> None:
        super().__init__()
        self.control = control
        row = horizontal(self, gap=12)
        label = Text(name, kind="quiet", wrap=True)
        label.setBuddy(control)
        row.addWidget(label, 1)
        row.addWidget(control, _BEFORE_NAME)
        policy = control.sizePolicy()
        policy.setHorizontalPolicy(QSizePolicy.Policy.Expanding)
        control.setSizePolicy(policy)
        control.setAccessibleName(name)
        self._width = width
        self._size_control()
        theme.changed.connect(self._size_control)
        self._explain = explain
        if explain:
            self._tell_explained()
            lengths.changed.connect(self._tell_explained)

    def _tell_explained(self) -> None:
        explain = lengths.retold(self._explain)
        self.setToolTip(explain)
        self.control.setAccessibleDescription(explain)

    def _size_control(self) -> None:
        self.control.setMinimumWidth(theme.pixels(min(self._width, _LEAST_CONTROL)))
        self.control.setMaximumWidth(theme.pixels(self._width))


class FigureRow(QWidget):
    """A figure: its name, a mark that opens its explanation, its value, its basis in the tip."""

    def __init__(self, name: str, value: str = "–", *, explain: str = "", why: str = "") -> None:
        """Args: `why` is the place in the guide, where no heading is called like the figure."""
        super().__init__()
        row = horizontal(self, gap=6)
        self._name = Text(name, kind="quiet")
        self._value = Text(value, strong=True, wrap=True)
        self._value.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        self._value.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.why = WhyMark(name, why)
        row.addWidget(self._name)
        row.addWidget(self.why)
        row.addWidget(self._value, 1)
        self.setToolTip(explain)
        self._tell()

    def set_value(self, value: str, *, kind: str = "", explain: str | None = None) -> None:
        """Show another value."""
        self._value.setText(value)
        self._value.set_kind(kind)
        if explain is not None:
            self.setToolTip(explain)
        self._tell()

    def value(self) -> str:
        return self._value.text()

    def _tell(self) -> None:
        self._value.setAccessibleName(f"{self._name.text()}: {self._value.text()}")
