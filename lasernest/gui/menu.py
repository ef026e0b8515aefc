"""What can be done from the menu and by key, in one list.

Menus, the command search and the list of keys in Help are made from it, so
that they cannot differ.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QAction, QKeySequence, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QMenu, QSizePolicy, QWidget

from lasernest.gui.command_search import Hit
from lasernest.gui.look.pressing import PaintedButton
from lasernest.gui.look.theme import RADIUS, TextSize, theme
from lasernest.gui.tiles import tile_height
from lasernest.gui.words import tr


@dataclass(frozen=True, slots=True)
class Act:
    """One thing that can be done: where it stands in the menu, its text, its keys."""

    name: str
    group: str
    text: str
    run: Callable[[], object]
    keys: str = ""
    explain: str = ""
    """A sentence for the tip: what it does, where the text alone does not tell."""
    checkable: bool = False
    choices: Callable[[], Sequence[tuple[str, Callable[[], object]]]] | None = None
    """What stands in the submenu that this act opens, made when it opens."""


class Acts:
    """The acts of a window, as Qt actions."""

    def __init__(self, window: QWidget, acts: Sequence[Act]) -> None:
        self.acts = tuple(acts)
        self.actions: dict[str, QAction] = {}
        self.running = False
        """Whether an act runs just now, so that what it opens shows where the keys are."""
        for act in self.acts:
            action = QAction(act.text, window)
            action.setCheckable(act.checkable)
            if act.keys:
                action.setShortcuts([QKeySequence(key) for key in act.keys.split(" | ")])
            action.setToolTip(tip_of(act))
            action.triggered.connect(lambda _checked=False, run=act.run: self._run(run))
            window.addAction(action)
            self.actions[act.name] = action

    def _run(self, run: Callable[[], object]) -> None:
        self.running = True
        try:
            run()
        finally:
            self.running = False

    def hits(self) -> list[Hit]:
        """All that can be done now, for the command search; submenus give each of their lines."""
        found = []
        for act in self.acts:
            if act.choices is not None:
                found += [
                    Hit(f"{act.text}: {text}", act.group, run, "", act.explain)
                    for text, run in act.choices()
                ]
                continue
            action = self.actions[act.name]
            found.append(
                Hit(
                    action.text(),
                    act.group,
                    action.trigger,
                    keys_text(act.keys),
                    act.explain,
                    action.isEnabled(),
                )
            )
        return found

    def fill(self, menu: QMenu) -> None:
        """Put all acts into submenus by group."""
        for group in dict.fromkeys(act.group for act in self.acts):
            submenu = menu.addMenu(group)
            submenu.setToolTipsVisible(True)
            for act in self.acts:
                if act.group != group:
                    continue
                if act.choices is None:
                    submenu.addAction(self.actions[act.name])
                else:
                    _fill_when_opened(submenu.addMenu(act.text), act.choices)


def tip_of(act: Act) -> str:
    """What an act's tip says: what it does, and its keys."""
    said = act.explain or act.text.removesuffix("…")
    keys = keys_text(act.keys)
    return f"{said} ({keys})" if keys else said


def keys_text(keys: str) -> str:
    """Keys as they are written for a person, the first of several."""
    first = QKeySequence(keys.split(" | ", maxsplit=1)[0])
    return first.toString(QKeySequence.SequenceFormat.NativeText)


def _fill_when_opened(
    menu: QMenu, choices: Callable[[], Sequence[tuple[str, Callable[[], object]]]]
) -> None:
    def fill() -> None:
        menu.clear()
        for text, run in choices():
            menu.addAction(text).triggered.connect(lambda _checked=False, run=run: run())
        if menu.isEmpty():
            menu.addAction(tr("none yet")).setEnabled(False)

    menu.setToolTipsVisible(True)
    menu.aboutToShow.connect(fill)


class MenuTile(PaintedButton):
    """The way to everything else, beside the tiles: three lines and the word."""

    def __init__(self) -> None:
        super().__init__()
        self.menu = QMenu(self)
        self._low = False
        self.setText(tr("Menu"))
        self.setAccessibleName(tr("Menu"))
        self.setToolTip(tr("Menu (F10)"))
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAttribute(Qt.WidgetAttribute.WA_Hover)
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        self.clicked.connect(self.open_menu)
        theme.changed.connect(self._dress)
        self._dress()

    def _dress(self) -> None:
        self.menu.setFont(theme.font())
        self.updateGeometry()
        self.update()

    def open_menu(self) -> None:
        """Open the menu below the tile."""
        corner = self.rect().bottomRight()
        width = self.menu.sizeHint().width()
        self.menu.popup(self.mapToGlobal(corner) - QPointF(width, -4).toPoint())

    def sizeHint(self) -> QSize:  # noqa: N802 - Qt's name
        return QSize(theme.pixels(60), tile_height(low=self._low))

    def set_low(self, low: bool) -> None:
        """Whether it should take less of the height, like the tiles beside it."""
        self._low = low
        self._dress()

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802 - Qt's name
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        frame = QRectF(self.rect()).adjusted(0.5, 0.5, -0.5, -0.5)
        focus = self.hasFocus()
        painter.setPen(QPen(theme.colour("accent" if focus else "card_border"), 1.0))
        painter.setBrush(theme.colour("hover" if self.underMouse() else "card"))
        painter.drawRoundedRect(frame, RADIUS, RADIUS)
        pen = QPen(theme.colour("ink"), 1.8)
        pen.setCapStyle(Qt.PenCapStyle.RoundCap)
        painter.setPen(pen)
        centre = frame.center() - QPointF(0, theme.pixels(9))
        for dy in (-5.5, 0.0, 5.5):
            painter.drawLine(centre + QPointF(-8, dy), centre + QPointF(8, dy))
        painter.setFont(theme.font(TextSize.SMALL))
        area = QRectF(frame.left(), frame.center().y() + 6, frame.width(), theme.pixels(20))
        painter.drawText(area, Qt.AlignmentFlag.AlignCenter, self.text())
        painter.end()
