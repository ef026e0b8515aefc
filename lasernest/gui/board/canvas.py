"""The canvas: shows a scene, zooms about the pointer, pans, measures, takes drops.

The lasting picture of a scene is painted into a pixmap somewhat larger than
the canvas. A simple scene is painted at once; a heavy one in slices between
events, while the last picture stands in, moved and scaled. While the maker pans
or zooms, the slices are thin and a picture that was begun is finished for the
view it was begun in, so that frames come quickly and edges still fill.
"""

from __future__ import annotations

from typing import Any

from PySide6.QtCore import QPoint, QPointF, QRectF, Qt, QTimer, Signal
from PySide6.QtGui import (
    QContextMenuEvent,
    QFocusEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPixmap,
    QResizeEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QSizePolicy, QToolTip, QWidget

from lasernest.gui.board import rulers
from lasernest.gui.board.begun_picture import MARGIN_PX, BegunPicture
from lasernest.gui.board.measuring import Measure
from lasernest.gui.board.scene import Scene
from lasernest.gui.board.view import ZOOM_STEP, View, fitted
from lasernest.gui.last_hand import last_hand
from lasernest.gui.lengths import lengths
from lasernest.gui.look.signs import draw_focus_ring
from lasernest.gui.look.theme import theme
from lasernest.gui.parts.entries import open_menu

_AT_ONCE_S = 0.010
_SLICE_S = 0.012
_MOVING_SLICE_S = 0.005
_MOVING_MS = 80
"""So long after the last pan or zoom the view counts as moving."""
_PAN_STEP_PX = 64
LEAST_HEIGHT = 140


class Canvas(QWidget):
    """The drawing area."""

    pointer_moved = Signal(object)
    """The pointer's place as (x_mm, y_mm), or None when it left."""
    zoomed = Signal(float)
    """Pixels per millimetre."""
    measured = Signal(object)
    """A measured distance as ((x0, y0), (x1, y1)), or None."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMouseTracking(True)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setMinimumSize(240, LEAST_HEIGHT)
        self.view = View()
        self._scene = Scene()
        self._fit_wanted = True
        self._picture: QPixmap | None = None
        self._picture_view = View()
        self._stale = True
        self._cost_s = 0.0
        """What painting the scene took last time."""
        self._moving = QTimer(self)
        self._moving.setSingleShot(True)
        self._moving.setInterval(_MOVING_MS)
        self._moving.timeout.connect(self._rest)
        self._painting: BegunPicture | None = None
        self._slices = QTimer(self)
        self._slices.setInterval(0)
        self._slices.timeout.connect(self._paint_slice)
        self._pointer_mm: tuple[float, float] | None = None
        self.reached_by_key = False
        self._press: QPoint | None = None
        self._press_thing: Any = None
        self._dragging = ""
        self._hovered: Any = None
        self.measure = Measure()
        theme.changed.connect(self.refresh)
        lengths.changed.connect(self.update)
        self._connect(self._scene)

    # --- what is shown ---------------------------------------------------------------

    @property
    def scene(self) -> Scene:
        return self._scene

    def show_scene(self, scene: Scene, view: View | None = None) -> None:
        """Show another scene, in a view it was left with or fitted."""
        if scene is not self._scene:
            for signal, slot in self._wiring(self._scene):
                signal.disconnect(slot)
            self._scene = scene
            self._connect(scene)
        self._picture = None
        self._cost_s = 0.0
        self._hovered = None
        self._fit_wanted = view is None
        if view is not None:
            self._set_view(view)
        self.refresh()

    def _wiring(self, scene: Scene) -> list[tuple[Any, Any]]:
        return [
            (scene.changed, self.refresh),
            (scene.over_changed, self.update),
            (scene.bounds_changed, self._fit_later),
        ]

    def _connect(self, scene: Scene) -> None:
        for signal, slot in self._wiring(scene):
            signal.connect(slot)

    def refresh(self) -> None:
        """The scene looks different now: paint it anew."""
        self._stale = True
        self._drop_painting()
        self.update()

    def _fit_later(self) -> None:
        self._fit_wanted = True
        self._picture = None
        self.refresh()

    # --- the view --------------------------------------------------------------------

    def drawing_area(self) -> QRectF:
        """The canvas without its rulers."""
        side = rulers.ruler_px()
        return QRectF(side, 0, self.width() - side, self.height() - side)

    @property
    def fitted(self) -> bool:
        """True while everything is shown and the maker has not zoomed."""
        return self._fit_wanted

    def fit(self) -> None:
        """Show everything."""
        bounds = self._scene.bounds_mm()
        self._fit_wanted = False
        if bounds.isValid():
            scene = self._scene
            above, below = 16 + scene.headroom_px(), 16 + scene.padding_px()
            room = self.drawing_area().adjusted(24, above, -24, -below)
            self._set_view(fitted(bounds, room))
            self._fit_wanted = True  # stays fitted through resizes until the maker zooms

    def real_size(self) -> None:
        """One millimetre of the drawing is one millimetre on the screen."""
        self.zoom_to(self.real_scale(), self.drawing_area().center())

    def real_scale(self) -> float:
        """Pixels per millimetre of this screen: measured, or what the screen says of itself."""
        return lengths.screen_px_per_mm or self.screen().physicalDotsPerInchX() / 25.4

    def zoom_to(self, scale: float, about: QPointF) -> None:
        self._fit_wanted = False
        self._set_view(self.view.zoomed(scale / self.view.scale, about))

    def zoom(self, factor: float) -> None:
        """Nearer or farther about the middle."""
        self.zoom_to(self.view.scale * factor, self.drawing_area().center())

    def pan(self, dx_px: float, dy_px: float) -> None:
        self._fit_wanted = False
        self._set_view(self.view.panned(dx_px, dy_px))

    def show_place(self, x_mm: float, y_mm: float, *, around_mm: float = 30.0) -> None:
        """Zoom to a place, with some of its surroundings."""
        bounds = self._scene.bounds_mm()
        if bounds.isValid():
            around_mm = min(around_mm, 0.25 * max(bounds.width(), bounds.height()))
        around = QRectF(x_mm - around_mm, y_mm - around_mm, 2 * around_mm, 2 * around_mm)
        self._fit_wanted = False
        self._set_view(fitted(around, self.drawing_area()))

    def show_rect(self, rect_mm: QRectF) -> None:
        """Zoom to a rectangle."""
        self._fit_wanted = False
        self._set_view(fitted(rect_mm, self.drawing_area().adjusted(40, 40, -40, -40)))

    def _set_view(self, view: View) -> None:
        if view == self.view:
            return
        self.view = view
        self._stale = True
        if self._cost_s > _MOVING_SLICE_S:
            self._moving.start()
        else:
            self._drop_painting()
        self.zoomed.emit(view.scale)
        self.update()

    def _rest(self) -> None:
        """The view has come to rest: what was begun for another one is dropped."""
        if self._painting is not None and self._painting.view != self.view:
            self._drop_painting()
        self.update()

    # --- painting --------------------------------------------------------------------

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802 - Qt's name
        if self._fit_wanted:
            self.fit()
        if self._stale and self._painting is None:
            self._painting = BegunPicture(self, self._scene, self.view)
            self._slices.start()
            if not self._moving.isActive():
                self._work_on_painting(_AT_ONCE_S)
        painter = QPainter(self)
        painter.fillRect(self.rect(), theme.colour("board"))
        if self._picture is not None:
            painter.setTransform(self._picture_view.onto(self.view))
            # Not smooth while it stands in: it is there for a moment only.
            painter.drawPixmap(QPointF(-MARGIN_PX, -MARGIN_PX), self._picture)
            painter.resetTransform()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        self._scene.draw_over(painter, self.view)
        self.measure.draw(painter, self.view)
        if self._scene.has_rulers and self._scene.bounds_mm().isValid():
            canvas = QRectF(self.rect())
            rulers.draw_rulers(painter, self.view, canvas, self._pointer_mm)
        if self.reached_by_key and self.hasFocus():
            draw_focus_ring(painter, QRectF(self.rect()).adjusted(2, 2, -2, -2))
        painter.end()

    def focusInEvent(self, event: QFocusEvent) -> None:  # noqa: N802 - Qt's name
        # The canvas mostly has the keys; a ring is for those who come with keys.
        self.reached_by_key = last_hand.shows_ring(event, before=self.reached_by_key)
        super().focusInEvent(event)
        self._scene.caption_changed.emit()
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:  # noqa: N802 - Qt's name
        super().focusOutEvent(event)
        self._scene.caption_changed.emit()
        self.update()

    def _work_on_painting(self, budget_s: float) -> bool:
        """Paint on for some time; True when the picture is ready."""
        begun = self._painting
        if begun is None or not begun.work(budget_s):
            return False
        self._painting = None
        self._slices.stop()
        self._cost_s = begun.spent_s
        self._picture, self._picture_view = begun.pixmap, begun.view
        self._stale = begun.view != self.view
        return True

    def _paint_slice(self) -> None:
        if self._painting is None:
            self._slices.stop()
        elif self._work_on_painting(_MOVING_SLICE_S if self._moving.isActive() else _SLICE_S):
            self.update()

    def _drop_painting(self) -> None:
        if self._painting is not None:
            self._painting.drop()
            self._painting = None
        self._slices.stop()

    @property
    def settled(self) -> bool:
        """True when what is seen is the finished picture, and where nothing is seen at all."""
        return not self.isVisible() or (not self._stale and self._painting is None)

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: N802 - Qt's name
        self._stale = True
        self._drop_painting()
        super().resizeEvent(event)

    # --- pointer ---------------------------------------------------------------------

    def wheelEvent(self, event: QWheelEvent) -> None:  # noqa: N802 - Qt's name
        pixels = event.pixelDelta()
        if event.modifiers() & Qt.KeyboardModifier.ShiftModifier:
            delta = event.angleDelta()
            self.pan((delta.y() or delta.x()) * 0.5, 0.0)
        elif not pixels.isNull() and event.phase() != Qt.ScrollPhase.NoScrollPhase:
            # A touchpad: two fingers pan, with Ctrl (or a pinch) they zoom.
            if event.modifiers() & Qt.KeyboardModifier.ControlModifier:
                self.zoom_to(self.view.scale * 1.005 ** pixels.y(), event.position())
            else:
                self.pan(pixels.x(), pixels.y())
        else:
            steps = event.angleDelta().y() / 120.0
            self.zoom_to(self.view.scale * ZOOM_STEP**steps, event.position())
        event.accept()

    def mousePressEvent(self, event: QMouseEvent) -> None:  # noqa: N802 - Qt's name
        self._press = event.position().toPoint()
        if self.measure.on and event.button() is Qt.MouseButton.LeftButton:
            start = self._snapped(event.position())
            self.measure.ends = (start, start)
            self._dragging = "measure"
            return
        if event.button() is Qt.MouseButton.MiddleButton:
            self._start_pan()
        elif event.button() is Qt.MouseButton.LeftButton:
            x_mm, y_mm = self.view.to_mm(event.position())
            self._press_thing = self._scene.thing_at(x_mm, y_mm, self.view)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:  # noqa: N802 - Qt's name
        place = self.view.to_mm(event.position())
        self._pointer_mm = place
        if self._dragging == "measure" and self.measure.ends is not None:
            self.measure.ends = (self.measure.ends[0], self._snapped(event.position()))
            self.measured.emit(self.measure.ends)
        elif self._dragging == "pan" and self._press is not None:
            now = event.position().toPoint()
            moved = now - self._press
            self._press = now
            self.pan(moved.x(), moved.y())
        elif self._dragging == "scene":
            self._scene.drag(*place, event.modifiers())
        elif event.buttons() & Qt.MouseButton.LeftButton and self._press is not None:
            far = (event.position().toPoint() - self._press).manhattanLength()
            if far >= 4:
                start = self.view.to_mm(QPointF(self._press))
                if self._scene.begin_drag(self._press_thing, *start):
                    self._dragging = "scene"
                    self._scene.drag(*place, event.modifiers())
                else:
                    self._start_pan()
        elif self.measure.on and not event.buttons():
            self._snapped(event.position())
        elif not event.buttons():
            self._hover(place, event)
        self.pointer_moved.emit(place)
        self.update()

    def _hover(self, place: tuple[float, float], event: QMouseEvent) -> None:
        thing = self._scene.thing_at(*place, self.view)
        if thing != self._hovered:
            self._hovered = thing
            self._scene.hover(thing)
            self._show_cursor()
            text = self._scene.tip(thing) if thing is not None else ""
            QToolTip.showText(event.globalPosition().toPoint(), text, self)

    def _start_pan(self) -> None:
        self._dragging = "pan"
        self.setCursor(Qt.CursorShape.ClosedHandCursor)

    def _show_cursor(self) -> None:
        if self.measure.on:
            self.setCursor(Qt.CursorShape.CrossCursor)
        elif self._hovered is not None:
            self.setCursor(Qt.CursorShape.PointingHandCursor)
        else:
            self.unsetCursor()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:  # noqa: N802 - Qt's name
        if self._dragging == "scene":
            self._scene.end_drag(keep=True)
        elif not self._dragging and event.button() is Qt.MouseButton.LeftButton:
            self._scene.click(self._press_thing, event.modifiers())
        self._dragging = ""
        self._press = None
        self._show_cursor()
        self.update()

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:  # noqa: N802 - Qt's name
        place = self.view.to_mm(event.position())
        self._scene.double_click(self._scene.thing_at(*place, self.view))

    def leaveEvent(self, event: object) -> None:  # noqa: N802 - Qt's name
        self._pointer_mm = None
        self._hovered = None
        self._scene.hover(None)
        self.pointer_moved.emit(None)
        self.update()

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:  # noqa: N802 - Qt's name
        if event.reason() is QContextMenuEvent.Reason.Mouse:
            thing = self._scene.thing_at(*self.view.to_mm(QPointF(event.pos())), self.view)
            at = event.globalPos()
        else:
            chosen = self._scene.chosen_mm()  # beside it, when keys ask for the menu
            where = self.view.rect_to_screen(chosen) if chosen.isValid() else self.drawing_area()
            place = where.center() if where.intersects(QRectF(self.rect())) else QPointF()
            thing, at = None, self.mapToGlobal(place.toPoint())
        entries = self._scene.menu(thing)
        if entries:
            open_menu(self, entries, at)

    # --- measuring -------------------------------------------------------------------

    def measure_distance(self, on: bool) -> None:
        """Drag measures a distance, snapping to corners, instead of panning."""
        self.measure.switch(on=on)
        if not on:
            self.measured.emit(None)
        self._show_cursor()
        self.update()

    def _snapped(self, point: QPointF) -> tuple[float, float]:
        place = self.view.to_mm(point)
        self.measure.candidate = self._scene.snap(*place, 10.0 / self.view.scale)
        return self.measure.candidate or place

    # --- keys ------------------------------------------------------------------------

    def focusNextPrevChild(self, forward: bool) -> bool:  # noqa: N802 - Qt's form
        if self._scene.tab(forward=forward):
            self.update()
            return True
        return super().focusNextPrevChild(forward)

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802 - Qt's name
        if event.key() == Qt.Key.Key_Escape and self._dragging == "scene":
            self._scene.end_drag(keep=False)
            self._dragging = ""
            self.update()
            return
        if self._scene.key(event):
            self.update()
            return
        step = _PAN_STEP_PX
        pans = {
            Qt.Key.Key_Left: (step, 0),
            Qt.Key.Key_Right: (-step, 0),
            Qt.Key.Key_Up: (0, step),
            Qt.Key.Key_Down: (0, -step),
        }
        key = Qt.Key(event.key())
        if key in pans:
            self.pan(*pans[key])
        elif key in (Qt.Key.Key_Plus, Qt.Key.Key_Equal):
            self.zoom(ZOOM_STEP)
        elif key == Qt.Key.Key_Minus:
            self.zoom(1.0 / ZOOM_STEP)
        elif key in (Qt.Key.Key_0, Qt.Key.Key_Home):
            self.fit()
        elif key == Qt.Key.Key_1:
            self.real_size()
        else:
            super().keyPressEvent(event)
