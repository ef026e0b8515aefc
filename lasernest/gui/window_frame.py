"""What every window of ours does as a window: order of the keys, room on the screen, drops.

While files hover over it a sign over the board says what would be taken from them.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from PySide6.QtCore import QEvent, QMimeData, QPointF, QRect, QRectF, Qt, QTimer, QUrl, Signal
from PySide6.QtGui import (
    QContextMenuEvent,
    QDragEnterEvent,
    QDragLeaveEvent,
    QDropEvent,
    QGuiApplication,
    QKeySequence,
    QPainter,
    QPaintEvent,
    QPen,
    QResizeEvent,
    QShortcut,
    QShowEvent,
)
from PySide6.QtWidgets import QApplication, QWidget

from lasernest.files import folder_is_there
from lasernest.gui.last_hand import last_hand
from lasernest.gui.look.theme import RADIUS, TextSize, theme
from lasernest.gui.tab_order import TabOrder
from lasernest.gui.words import count_of, tr
from lasernest.job import SUFFIX
from lasernest.services.dropped import SUFFIXES

_LOW = 420
"""A window that is less high, in pixels at 100 % of text, has little room for its drawing."""


class WindowFrame(QWidget):
    """A window without its contents."""

    low_changed = Signal(bool)
    """Whether it is low: what stands around the drawing should take less of the height."""

    def __init__(self) -> None:
        super().__init__()
        self.setAcceptDrops(True)
        self._tab_order = TabOrder(self)
        self.drop_sign = DropSign(self)
        self._fitted = self._low = False
        theme.changed.connect(self._look_how_high)
        if QGuiApplication.platformName() != "windows":  # which does this itself
            QShortcut(QKeySequence("Shift+F10"), self, self.open_context_menu)

    def open_context_menu(self) -> None:
        """Open the context menu of the part that has the keys, as the Menu key does."""
        part = self.focusWidget()
        if part is not None:
            at = part.rect().center()
            reason = QContextMenuEvent.Reason.Keyboard
            QApplication.sendEvent(part, QContextMenuEvent(reason, at, part.mapToGlobal(at)))

    def take_files(self, paths: list[Path]) -> None:
        """Take dropped files."""
        raise NotImplementedError

    def focusNextPrevChild(self, forward: bool) -> bool:  # noqa: N802 - Qt's name and form
        return self._tab_order.go(forward=forward)

    # --- room on the screen ----------------------------------------------------------

    def showEvent(self, event: QShowEvent) -> None:  # noqa: N802 - Qt's name
        super().showEvent(event)
        last_hand.watch(self.windowHandle())
        if not event.spontaneous():
            self._fitted = False

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: N802 - Qt's name
        super().resizeEvent(event)
        self._look_how_high()

    def _look_how_high(self) -> None:
        low = self.height() < theme.pixels(_LOW)
        if low is not self._low:
            self._low = low
            self.low_changed.emit(low)

    def changeEvent(self, event: QEvent) -> None:  # noqa: N802 - Qt's name
        super().changeEvent(event)
        if event.type() is QEvent.Type.ActivationChange and not self._fitted:
            # Only now do window managers have put their frame around it.
            self._fitted = True
            QTimer.singleShot(0, self, self._stay_on_screen)

    def _stay_on_screen(self) -> None:
        """With its title bar no part of a window should be beside the screen."""
        room, frame = self.screen().availableGeometry(), self.frameGeometry()
        if self.isMaximized() or self.isFullScreen() or room.contains(frame):
            return
        corner = frame.topLeft()
        corner.setX(min(max(corner.x(), room.left()), room.right()))
        corner.setY(min(max(corner.y(), room.top()), room.bottom()))
        most = QRect(corner, room.bottomRight()).size() - (frame.size() - self.size())
        self.resize(self.size().boundedTo(most))  # Qt keeps to the smallest size there may be
        if corner != frame.topLeft():
            self.move(corner)

    # --- drops -----------------------------------------------------------------------

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:  # noqa: N802 - Qt's name
        paths = dropped(event.mimeData())
        if paths:
            _accept(event)
            self.drop_sign.show_files(paths)

    def dragLeaveEvent(self, event: QDragLeaveEvent) -> None:  # noqa: N802 - Qt's name
        self.drop_sign.hide()
        super().dragLeaveEvent(event)

    def dropEvent(self, event: QDropEvent) -> None:  # noqa: N802 - Qt's name
        self.drop_sign.hide()
        paths = dropped(event.mimeData())
        if paths:
            _accept(event)
            self.take_files(paths)


class DropSign(QWidget):
    """What letting go would do, over the whole board."""

    def __init__(self, window: QWidget) -> None:
        super().__init__(window)
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self._heading, self._more, self._good = "", "", True
        self.over: QWidget = window
        """The part it lies over."""
        self.hide()

    def show_files(self, paths: Sequence[Path]) -> None:
        """Say what would become of these files."""
        self._heading, self._more, self._good = what_becomes_of(paths)
        self.setAccessibleName(f"{self._heading} {self._more}".strip())
        corner = self.over.mapTo(self.window(), self.over.rect().topLeft())
        self.setGeometry(QRect(corner, self.over.size()))
        self.show()
        self.raise_()

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802 - Qt's name
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        frame = QRectF(self.rect()).adjusted(1, 1, -1, -1)
        painter.setOpacity(0.96)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(theme.colour("card"))
        painter.drawRoundedRect(frame, RADIUS, RADIUS)
        painter.setOpacity(1.0)
        colour = theme.colour("accent" if self._good else "bad")
        pen = QPen(colour, 2.0)
        pen.setDashPattern([4, 3])
        painter.setPen(pen)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRoundedRect(frame.adjusted(10, 10, -10, -10), 8, 8)
        x, y = frame.center().x(), frame.center().y() - theme.pixels(30)
        painter.setPen(QPen(colour, 2.4, c=Qt.PenCapStyle.RoundCap))
        if self._good:
            painter.drawLine(QPointF(x, y - 34), QPointF(x, y))
            painter.drawPolyline([QPointF(x - 9, y - 9), QPointF(x, y), QPointF(x + 9, y - 9)])
        else:
            painter.drawEllipse(QPointF(x, y - 16), 14, 14)
            painter.drawLine(QPointF(x - 9, y - 7), QPointF(x + 9, y - 25))
        room = frame.adjusted(28, 0, -28, 0)
        room.setTop(y + theme.pixels(14))
        middle = int(Qt.AlignmentFlag.AlignHCenter | Qt.TextFlag.TextWordWrap)
        painter.setFont(theme.font(TextSize.LARGE, strong=True))
        painter.setPen(theme.colour("ink"))
        taken = painter.boundingRect(room, middle, self._heading)
        painter.drawText(room, middle, self._heading)
        room.setTop(taken.bottom() + theme.pixels(8))
        painter.setFont(theme.font())
        painter.setPen(theme.colour("quiet"))
        painter.drawText(room, middle, self._more)
        painter.end()


def what_becomes_of(paths: Sequence[Path]) -> tuple[str, str, bool]:
    """What is said while these files hover: a heading, the rest, and whether any is taken."""
    jobs = [p for p in paths if p.suffix.lower() == SUFFIX]
    folders = [p for p in paths if folder_is_there(p)]
    drawings = [p for p in paths if p.suffix.lower() in SUFFIXES and p not in folders]
    others = [p.name for p in paths if p not in (*jobs, *folders, *drawings)]
    kinds = tr("Drawings are DXF or SVG files.")
    more = ""
    if others:
        names = ", ".join(others[:3]) + (" …" if len(others) > 3 else "")
        more = tr("Probably no drawing: {names}. {kinds}", names=names, kinds=kinds)
    if drawings:
        what = drawings[0].name
        if len(drawings) > 1:
            what = count_of(len(drawings), "drawing", "drawings")
        return tr("Let go to add {what}", what=what), more, True
    if folders:
        return tr("Let go to add the drawings of {name}", name=folders[0].name), more, True
    if jobs:
        return tr("Let go to open {name}", name=jobs[0].stem), more, True
    if len(others) > 1:
        return tr("None of these ends in .dxf or .svg"), kinds, False
    return tr("{name} does not end in .dxf or .svg", name=others[0]), kinds, False


def dropped(data: QMimeData) -> list[Path]:
    """The files and folders of a drop; what we cannot read is told when it is tried."""
    return [Path(url.toLocalFile()) for url in data.urls() if _is_file(url)]


def _accept(event: QDropEvent) -> None:
    """Take a copy, whatever is proposed: whoever is told that a file was moved may delete it."""
    event.setDropAction(Qt.DropAction.CopyAction)
    event.accept()


def _is_file(url: QUrl) -> bool:
    return url.isLocalFile() and bool(url.toLocalFile())
