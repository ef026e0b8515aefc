"""A short walk through the window on the sample job, for the first start.

The window stays as it is: the tour goes from step to step as the maker would,
dims all but the part it speaks of, and can be left at any moment.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, QObject, QPoint, QRect, QRectF, Qt, Signal
from PySide6.QtGui import QKeyEvent, QMouseEvent, QPainter, QPainterPath, QPaintEvent, QPen
from PySide6.QtWidgets import QFrame, QPushButton, QWidget

from lasernest.gui.look.theme import RADIUS, TextSize, theme
from lasernest.gui.parts.basics import Text, button, give_focus_back, horizontal, vertical
from lasernest.gui.settings import save_settings
from lasernest.gui.tiles import Step
from lasernest.gui.words import tr

if TYPE_CHECKING:
    from lasernest.gui.window import Window

_AIR = 6
_CARD = 340


@dataclass(frozen=True, slots=True)
class Stop:
    """One stop of the tour."""

    heading: str
    text: str
    target: Callable[[], QWidget]
    step: Step | None = None
    """Where the window goes first."""


def stops_of(window: Window) -> tuple[Stop, ...]:
    """The stops, in the order of the work."""
    return (
        Stop(
            tr("A job from left to right"),
            tr(
                "Five steps stand along the top. Each says its most important figure, and by a "
                "sign and a word whether it needs you. Go to any of them at any time."
            ),
            lambda: window.tiles,
            Step.OUTLINES,
        ),
        Stop(
            tr("Panels"),
            tr(
                "Every closed outline of a drawing is a panel. Choose one and type a number: "
                "that many go into one unit."
            ),
            lambda: window.outlines.list,
            Step.OUTLINES,
        ),
        Stop(
            tr("Kerf: what the beam takes away"),
            tr(
                "Until somebody measures it in your sheet, it is a starting value and says so. "
                "A small comb, cut and measured, tells it here."
            ),
            lambda: window.kerf.write_button,
            Step.KERF,
        ),
        Stop(
            tr("Arrange on sheets"),
            tr(
                "Choose the stock, then arrange. The plan gets better while you watch; stop it "
                "whenever you like it, and the best is kept."
            ),
            lambda: _arranging_button(window),
            Step.SHEETS,
        ),
        Stop(
            tr("A cut file, proved"),
            tr(
                "The file is written, read back and proved: the beam is swept along every line, "
                "and what is left is held against your drawing. A file that fails says so."
            ),
            lambda: window.cut_file.write_button,
            Step.CUT_FILE,
        ),
        Stop(
            tr("Everything else"),
            tr(
                "All commands are in the menu. Ctrl+K finds one by a few letters, F1 opens the "
                "guide, and Ctrl+Z takes anything back. Read the cautions before the first cut."
            ),
            lambda: window.menu_tile,
        ),
    )


def _arranging_button(window: Window) -> QWidget:
    """Where there is a plan, the main button writes it."""
    again = window.sheets.again_button
    return window.sheets.main_button if again.isHidden() else again


class Rounds(QObject):
    """Shows the maker of one window round, once asked for or accepted."""

    def __init__(self, window: Window) -> None:
        super().__init__()
        self._window = window
        self.tour: Tour | None = None
        """The tour that is going on."""

    def start(self) -> None:
        """Show the maker round, on the sample job where the window is blank."""
        self.answer(True)

    def answer(self, wanted: bool) -> None:
        """The maker said yes or no; neither is asked again."""
        window = self._window
        window.settings.tour_seen = True
        save_settings(window.settings)
        window.outlines.refresh()
        if not wanted or self.tour is not None:
            return
        if window.desk.job.panels:
            self._begin()
        else:
            window.desk.importer.open_sample(then=self._begin)

    def _begin(self) -> None:
        self._window.go_to(Step.OUTLINES)
        self.tour = Tour(self._window)
        self.tour.ended.connect(self._end)

    def _end(self) -> None:
        self.tour = None


class Tour(QWidget):
    """The dimmed window with one part in the light and a card that speaks of it."""

    ended = Signal()

    def __init__(self, window: Window) -> None:
        super().__init__(window)
        self._window = window
        self.stops = stops_of(window)
        self.index = 0
        self._light = QRect()
        self._focus_before = window.focusWidget()
        self.setAccessibleName(tr("Tour"))
        self.card = QFrame(self)
        self.card.setProperty("kind", "float")
        column = vertical(self.card, gap=8)
        column.setContentsMargins(16, 14, 16, 14)
        self._count = Text("", size=TextSize.SMALL, kind="quiet")
        self._heading = Text("", size=TextSize.LARGE, strong=True, wrap=True)
        self._text = Text("", wrap=True)
        for text in (self._count, self._heading, self._text):
            column.addWidget(text)
        row = horizontal(gap=8)
        self.skip_button = button(tr("End the tour"), self.end, kind="link", tip="Esc")
        self.back_button = button(tr("Back"), lambda: self.show_stop(self.index - 1), tip="←")
        self.next_button = button(tr("Next"), self.next, kind="main", tip="→")
        row.addWidget(self.skip_button)
        row.addStretch(1)
        row.addWidget(self.back_button)
        row.addWidget(self.next_button)
        column.addLayout(row)
        for made in (self.skip_button, self.back_button, self.next_button):
            made.installEventFilter(self)
        window.installEventFilter(self)
        theme.rooms.add(self)
        theme.changed.connect(self._place)
        self.resize(window.size())
        self.show_stop(0)
        self.show()
        self.raise_()
        self.next_button.setFocus(Qt.FocusReason.OtherFocusReason)

    # --- stops ---------------------------------------------------------------------------

    def show_stop(self, index: int) -> None:
        """Go to a stop."""
        self.index = min(max(index, 0), len(self.stops) - 1)
        stop = self.stops[self.index]
        if stop.step is not None and self._window.page.step is not stop.step:
            self._window.go_to(stop.step)
        self._count.setText(tr("{n} of {all}", n=self.index + 1, all=len(self.stops)))
        self._heading.setText(stop.heading)
        self._text.setText(stop.text)
        self.card.setAccessibleName(f"{stop.heading}. {stop.text}")
        last = self.index == len(self.stops) - 1
        self.next_button.setText(tr("Begin") if last else tr("Next"))
        self.back_button.setEnabled(self.index > 0)
        self.skip_button.setVisible(not last)
        self._place()
        self.next_button.setFocus(Qt.FocusReason.OtherFocusReason)

    def next(self) -> None:
        """Go on, or end after the last stop."""
        if self.index == len(self.stops) - 1:
            self.end()
        else:
            self.show_stop(self.index + 1)

    def end(self) -> None:
        """Leave the tour."""
        self._window.removeEventFilter(self)
        self.hide()
        give_focus_back(self._window, self._focus_before)
        self.ended.emit()
        self.deleteLater()

    # --- where things are ------------------------------------------------------------------

    def light(self) -> QRect:
        """The part of the window that is not dimmed."""
        return self._light

    def _place(self) -> None:
        target = self.stops[self.index].target()
        layout = self._window.layout()
        if layout is not None:
            layout.activate()  # a card that has just come up knows its places only then
        corner = target.mapTo(self._window, QPoint(0, 0))
        self._light = QRect(corner, target.size()).adjusted(-_AIR, -_AIR, _AIR, _AIR)
        self._light &= self.rect()
        width = theme.pixels(_CARD)
        column = self.card.layout()
        assert column is not None
        column.activate()
        self.card.resize(width, column.totalHeightForWidth(width))
        self.card.move(_beside(self._light, width, self.card.height(), self))
        self.update()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:  # noqa: N802 - Qt's name
        if watched is self._window and event.type() is QEvent.Type.Resize:
            self.resize(self._window.size())
            self._place()
        elif isinstance(watched, QPushButton) and event.type() is QEvent.Type.KeyPress:
            assert isinstance(event, QKeyEvent)
            return self._key(event)  # a button would take the arrows for itself
        return super().eventFilter(watched, event)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802 - Qt's name
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        dim = QPainterPath()
        dim.addRect(QRectF(self.rect()))
        light = QPainterPath()
        light.addRoundedRect(QRectF(self._light), RADIUS, RADIUS)
        shade = theme.colour(
            "paper" if theme.palette.dark else "ink", 0.62 if theme.palette.dark else 0.34
        )
        painter.fillPath(dim.subtracted(light), shade)
        painter.setPen(QPen(theme.colour("accent"), 2.0))
        painter.drawPath(light)
        painter.end()

    def focusNextPrevChild(self, forward: bool) -> bool:  # noqa: N802 - Qt's name
        """Tab stays on the card; what is dimmed is out of reach."""
        buttons = (self.skip_button, self.back_button, self.next_button)
        able = [b for b in buttons if b.isVisible() and b.isEnabled()]
        if not able:
            return False  # it is being hidden
        at = next((i for i, b in enumerate(able) if b.hasFocus()), 0)
        following = able[(at + (1 if forward else -1)) % len(able)]
        following.setFocus(Qt.FocusReason.TabFocusReason)
        return True

    def mousePressEvent(self, event: QMouseEvent) -> None:  # noqa: N802 - Qt's name
        event.accept()  # nothing below is pressed by mistake

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802 - Qt's name
        if not self._key(event):
            super().keyPressEvent(event)

    def _key(self, event: QKeyEvent) -> bool:
        if event.key() == Qt.Key.Key_Escape:
            self.end()
        elif event.key() == Qt.Key.Key_Right:
            self.next()
        elif event.key() == Qt.Key.Key_Left:
            self.show_stop(self.index - 1)
        else:
            return False
        return True


def _beside(light: QRect, width: int, height: int, around: QWidget) -> QPoint:
    """Where a card goes so that it is near the light, inside the window and not over it."""
    gap = 12
    places = (
        QPoint(light.left(), light.bottom() + gap),
        QPoint(light.left() - width - gap, light.top()),
        QPoint(light.right() + gap, light.top()),
        QPoint(light.left(), light.top() - height - gap),
    )
    for place in places:
        x = min(max(place.x(), gap), around.width() - width - gap)
        y = min(max(place.y(), gap), around.height() - height - gap)
        if not QRect(x, y, width, height).intersects(light):
            return QPoint(x, y)
    return QPoint((around.width() - width) // 2, (around.height() - height) // 2)
