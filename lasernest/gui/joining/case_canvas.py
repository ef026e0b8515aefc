"""The case folded up: turned by dragging or with the arrow keys, nearer with the wheel or + and −.

What lies before what is settled by `joints.solids`; here the faces are only
painted in their order.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, QPointF, QRectF, Qt, QTimer, Signal
from PySide6.QtGui import (
    QColor,
    QContextMenuEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPainterPath,
    QPaintEvent,
    QTransform,
    QWheelEvent,
)
from PySide6.QtWidgets import QMenu, QSizePolicy, QToolTip, QWidget

from lasernest.domain.contours import Point
from lasernest.gui.board.inks import numbered_ring, thin_pen
from lasernest.gui.board.view import ZOOM_STEP
from lasernest.gui.joining.assembler import CaseView
from lasernest.gui.look.theme import theme
from lasernest.gui.words import tr

if TYPE_CHECKING:
    from lasernest.joints.solids import Face, SeenFace

_FIRST_TURN_DEG, _FIRST_TILT_DEG = -32.0, 24.0
_DEG_PER_PX = 0.5
_KEY_DEG = 10.0
_LIGHT_SHADES = (0.62, 1.0)
"""Of the panel's colour, seen from the side and squarely."""
_DARK_SHADES = (0.55, 1.3)
_EDGE_SHADE = 0.86
_FILL = 1.12
"""A little more than fits from every side: few sides show the longest way through."""


@dataclass(frozen=True, slots=True)
class CaseSpot:
    """A finding's place on the case."""

    number: int
    panel: str
    at: tuple[float, float, float]
    """In space, in mm."""
    colour: QColor


class CaseCanvas(QWidget):
    """The case from any side."""

    panel_clicked = Signal(str)
    finding_clicked = Signal(int)
    hide_wanted = Signal(str)
    """Leave this panel out of the picture."""
    all_wanted = Signal()
    """Show every panel again."""

    def __init__(self) -> None:
        super().__init__()
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMouseTracking(True)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setMinimumSize(160, 140)
        self.setAccessibleName(
            tr("The case folded up: arrow keys turn it, plus and minus zoom, 0 shows it all")
        )
        self.turn_deg, self.tilt_deg, self.nearness = _FIRST_TURN_DEG, _FIRST_TILT_DEG, 1.0
        self._case: CaseView | None = None
        self._chosen: frozenset[str] = frozenset()
        self._spots: tuple[CaseSpot, ...] = ()
        self._faces: tuple[SeenFace, ...] | None = None
        self._paths: dict[Face, QPainterPath] = {}
        self._drawn: list[tuple[str, QPainterPath, QTransform]] = []
        self._hovered = ""
        self._last: QPointF | None = None
        self._moved = False
        # A new case is painted in a stretch of its own, not in that of the board beside it.
        self._later = QTimer(self)
        self._later.setSingleShot(True)
        self._later.timeout.connect(self.update)
        theme.changed.connect(self.update)

    # --- what is shown ---------------------------------------------------------------

    def show_case(self, case: CaseView | None, spots: Collection[CaseSpot] = ()) -> None:
        """Show a case, with the places of its findings."""
        if case is not self._case:
            self._case = case
            self._faces = None
            self._paths = {}
        self._spots = tuple(spots)
        self._later.start()

    def choose(self, panels: Collection[str]) -> None:
        """Mark panels, those of the joint that is looked at."""
        if frozenset(panels) != self._chosen:
            self._chosen = frozenset(panels)
            self.update()

    def turn_to(self, turn_deg: float, tilt_deg: float) -> None:
        """See it from another side."""
        self.turn_deg = (turn_deg + 180.0) % 360.0 - 180.0
        self.tilt_deg = min(max(tilt_deg, -90.0), 90.0)
        self._faces = None
        self.update()

    def reset(self) -> None:
        """See it whole again, from the first side."""
        self.nearness = 1.0
        self.turn_to(_FIRST_TURN_DEG, _FIRST_TILT_DEG)

    def zoom(self, factor: float) -> None:
        """Nearer or farther."""
        self.nearness = min(max(self.nearness * factor, 0.25), 20.0)
        self.update()

    # --- drawing ---------------------------------------------------------------------

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802 - Qt's name
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        if self.hasFocus():
            painter.setPen(thin_pen(theme.colour("accent")))
            painter.drawRoundedRect(QRectF(self.rect()).adjusted(1, 1, -1, -1), 6, 6)
        if self._case is not None:
            self._draw_case(painter, self._case)
        painter.end()

    def _to_px(self, case: CaseView) -> QTransform:
        """From the view plane, in mm, to pixels.

        The scale rests on the size of the case and its middle stays in the middle,
        so that nothing jumps while it is turned, cut open or partly hidden.
        """
        room_px = min(self.width(), self.height()) - 24.0
        scale = _FILL * room_px / max(case.size_mm, 1e-6) * self.nearness
        cx, cy = self._on_view(case.middle_mm)
        across, down = 0.5 * self.width() - scale * cx, 0.5 * self.height() + scale * cy
        return QTransform(scale, 0.0, 0.0, -scale, across, down)

    def _draw_case(self, painter: QPainter, case: CaseView) -> None:
        if self._faces is None:
            self._faces = case.standing.seen_from(turn_deg=self.turn_deg, tilt_deg=self.tilt_deg)
        to_px = self._to_px(case)
        self._drawn = []
        line = thin_pen(theme.colour("outer_cut", 0.75), 0.9)
        line.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
        painter.setPen(line)
        colours: dict[tuple[bool, bool, float], QColor] = {}
        for seen in self._faces:
            marked = seen.panel == self._hovered or seen.panel in self._chosen
            look = (marked, seen.face.is_edge, round(seen.light, 3))
            if look not in colours:
                colours[look] = _colour(*look)
            transform = QTransform(*seen.matrix) * to_px
            painter.setTransform(transform)
            painter.setBrush(colours[look])
            path = self._path(seen.face)
            painter.drawPath(path)
            self._drawn.append((seen.panel, path, transform))
        painter.resetTransform()
        for spot in self._spots:
            at = to_px.map(QPointF(*self._on_view(spot.at)))
            numbered_ring(painter, at, str(spot.number), spot.colour)

    def _path(self, face: Face) -> QPainterPath:
        """The face in its own plane, made once while its case is shown."""
        path = self._paths.get(face)
        if path is None:
            path = self._paths[face] = QPainterPath()
            path.setFillRule(Qt.FillRule.OddEvenFill)
            for ring in face.flat:
                corners = ring.tolist()
                path.moveTo(*corners[0])
                for corner in corners[1:]:
                    path.lineTo(*corner)
                path.closeSubpath()
        return path

    def _on_view(self, at: tuple[float, float, float]) -> Point:
        from lasernest.joints.solids import view_axes  # noqa: PLC0415 - loaded with the case

        right, up, _ = view_axes(self.turn_deg, self.tilt_deg)
        return (float(right @ at), float(up @ at))

    # --- pointer and keys --------------------------------------------------------------

    def panel_at(self, at: QPointF) -> str:
        """The panel that is seen at a place; empty where there is none."""
        for name, path, transform in reversed(self._drawn):
            back, solvable = transform.inverted()
            if solvable and path.contains(back.map(at)):
                return name
        return ""

    def mousePressEvent(self, event: QMouseEvent) -> None:  # noqa: N802 - Qt's name
        self._last, self._moved = event.position(), False

    def mouseMoveEvent(self, event: QMouseEvent) -> None:  # noqa: N802 - Qt's name
        if self._last is not None and event.buttons():
            way = event.position() - self._last
            if self._moved or way.manhattanLength() >= 4:
                self._moved = True
                self._last = event.position()
                self.setCursor(Qt.CursorShape.ClosedHandCursor)
                self.turn_to(
                    self.turn_deg - _DEG_PER_PX * way.x(), self.tilt_deg + _DEG_PER_PX * way.y()
                )
            return
        name = self.panel_at(event.position())
        if name != self._hovered:
            self._hovered = name
            QToolTip.showText(event.globalPosition().toPoint(), name, self)
            self.update()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:  # noqa: N802 - Qt's name
        self.unsetCursor()
        if self._last is not None and not self._moved:
            self._click(event.position())
        self._last = None

    def _click(self, at: QPointF) -> None:
        if self._case is not None:
            to_px = self._to_px(self._case)
            for spot in self._spots:
                if (to_px.map(QPointF(*self._on_view(spot.at))) - at).manhattanLength() < 14:
                    self.finding_clicked.emit(spot.number)
                    return
        name = self.panel_at(at)
        if name:
            self.panel_clicked.emit(name)

    def leaveEvent(self, event: QEvent) -> None:  # noqa: N802 - Qt's name
        self._hovered = ""
        self.update()

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:  # noqa: N802 - Qt's name
        name = self.panel_at(QPointF(event.pos()))
        menu = QMenu(self)
        if name:
            menu.addAction(tr("Hide {panel}", panel=name), lambda: self.hide_wanted.emit(name))
        menu.addAction(tr("Show all panels"), self.all_wanted.emit)
        menu.exec(event.globalPos())

    def wheelEvent(self, event: QWheelEvent) -> None:  # noqa: N802 - Qt's name
        self.zoom(ZOOM_STEP ** (event.angleDelta().y() / 120.0))
        event.accept()

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802 - Qt's name
        turns: Mapping[Qt.Key, Point] = {
            Qt.Key.Key_Left: (_KEY_DEG, 0.0),
            Qt.Key.Key_Right: (-_KEY_DEG, 0.0),
            Qt.Key.Key_Up: (0.0, -_KEY_DEG),
            Qt.Key.Key_Down: (0.0, _KEY_DEG),
        }
        key = Qt.Key(event.key())
        if key in turns:
            turn, tilt = turns[key]
            self.turn_to(self.turn_deg + turn, self.tilt_deg + tilt)
        elif key in (Qt.Key.Key_Plus, Qt.Key.Key_Equal):
            self.zoom(ZOOM_STEP)
        elif key == Qt.Key.Key_Minus:
            self.zoom(1.0 / ZOOM_STEP)
        elif key in (Qt.Key.Key_0, Qt.Key.Key_Home):
            self.reset()
        elif key == Qt.Key.Key_H and self._hovered:
            self.hide_wanted.emit(self._hovered)
        else:
            super().keyPressEvent(event)


def _colour(marked: bool, is_edge: bool, light: float) -> QColor:
    """The colour of a face: darker the less squarely it is seen, edges darker still."""
    colour = theme.colour("panel_chosen" if marked else "panel")
    darkest, brightest = _DARK_SHADES if theme.palette.dark else _LIGHT_SHADES
    share = darkest + (brightest - darkest) * light
    if is_edge:
        share *= _EDGE_SHADE
    red, green, blue = (
        min(c * share, 1.0) for c in (colour.redF(), colour.greenF(), colour.blueF())
    )
    return QColor.fromRgbF(red, green, blue)
