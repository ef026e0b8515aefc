"""A sheet whose panels can be moved by hand, with the pointer or with keys.

While panels are dragged they are drawn where they would come to lie: in the
accent colour where they may, in red where they come too near to something,
which is outlined too. Alt lets go of the snapping, Shift keeps to one axis.
Keys: Space goes through the panels, Ctrl+A takes all, arrows nudge by 1 mm
(Shift 10, Ctrl 0.1), R turns, P pins. A panel let go over the small plan of
another sheet goes there.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QPointF, QRectF, Qt, Signal
from PySide6.QtGui import QKeyEvent, QPainter, QPen, QTransform

from lasernest.domain.panels import Panel
from lasernest.domain.plan import SheetPlan
from lasernest.gui.board.inks import fill_face, stroke_outline, thin_pen
from lasernest.gui.board.sheet_scene import PanelKey, Placed, SheetScene
from lasernest.gui.board.view import View
from lasernest.gui.lengths import lengths
from lasernest.gui.look.theme import theme
from lasernest.gui.words import tr

if TYPE_CHECKING:
    from lasernest.services.handling import Hand, Touch

_SNAP_PX = 10.0
_NUDGES: dict[Qt.Key, tuple[float, float]] = {
    Qt.Key.Key_Left: (-1.0, 0.0),
    Qt.Key.Key_Right: (1.0, 0.0),
    Qt.Key.Key_Up: (0.0, 1.0),
    Qt.Key.Key_Down: (0.0, -1.0),
}
_HALVINGS = 14
_LEAST_MM = 0.005


class HandledScene(SheetScene):
    """A sheet plan that the maker may change."""

    moved = Signal(object, str)
    """Placements of panels that were moved, and the verb for the undo menu."""
    sent = Signal(int)
    """The chosen panels were let go over another sheet: its index."""
    refused = Signal(str)
    """Why a move was not kept."""
    turn_wanted = Signal()
    pin_wanted = Signal()

    def __init__(self) -> None:
        super().__init__()
        self.hand_for: Callable[[frozenset[PanelKey]], Hand | None] = lambda _keys: None
        """Takes panels into the hand; None while the plan may not be changed."""
        self.sheet_at: Callable[[float, float], int | None] = lambda _x, _y: None
        """Which other sheet is shown small at a place of the canvas given in mm."""
        self._onto: int | None = None
        self._hand: Hand | None = None
        self._start = (0.0, 0.0)
        self._by = (0.0, 0.0)
        self._touch: Touch | None = None
        self._pinned: frozenset[PanelKey] = frozenset()
        self._scale = 1.0

    def show_plan(
        self,
        plan: SheetPlan | None,
        panels: Mapping[str, Panel],
        *,
        left: str = "",
        right: str = "",
        hint: str = "",
    ) -> None:
        placements = plan.placements if plan is not None else ()
        self._pinned = frozenset((p.panel_name, p.copy) for p in placements if p.pinned)
        if self._hand is not None:
            self._let_go()
        super().show_plan(plan, panels, left=left, right=right, hint=hint)
        self.choose(self.chosen & {placed.key for placed in self.placed})

    # --- drawing ---------------------------------------------------------------------

    def draw(self, painter: QPainter, view: View, visible_mm: QRectF) -> Iterator[None]:
        self._scale = view.scale
        yield from super().draw(painter, view, visible_mm)
        for placed in self.placed:
            if placed.key in self._pinned and placed.bounds.intersects(visible_mm):
                _draw_pin(painter, view.rect_to_screen(placed.bounds))
                yield

    def draw_over(self, painter: QPainter, view: View) -> None:
        self._scale = view.scale
        super().draw_over(painter, view)
        if self._hand is None or self._touch is None:
            return
        to_px = view.transform()
        free = self._touch.free or self._onto is not None
        colour = "accent" if free else "bad"
        for placed in self.placed:
            if placed.key in self._touch.others:
                painter.setTransform(placed.transform * to_px)
                stroke_outline(painter, placed.picture, thin_pen(theme.colour("bad"), 2.6))
            elif placed.key in self.chosen:
                moved = QTransform.fromTranslate(*self._by)
                painter.setTransform(placed.transform * moved * to_px)
                fill_face(painter, placed.picture, theme.colour(colour, 0.30))
                stroke_outline(painter, placed.picture, thin_pen(theme.colour(colour), 2.2))
        painter.resetTransform()
        if self._touch.edge and self._onto is None:
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(thin_pen(theme.colour("bad"), 2.6))
            painter.drawRect(view.rect_to_screen(self.bounds_mm()))

    def caption(self) -> tuple[str, str]:
        left, right = super().caption()
        if self._hand is None or self._touch is None:
            return left, right
        dx, dy = self._by
        words = tr(
            "moved by {dx}, {dy} {unit}",
            dx=lengths.number(dx).replace("-", "−"),
            dy=lengths.number(dy).replace("-", "−"),
            unit=lengths.unit,
        )
        if self._onto is not None:
            return left, tr("let go to put it on sheet {n}", n=self._onto + 1)
        if self._touch.free:
            return left, words
        return left, words + " · " + (tr("off the sheet") if self._touch.edge else tr("too near"))

    # --- dragging --------------------------------------------------------------------

    def begin_drag(self, thing: Any, x_mm: float, y_mm: float) -> bool:
        if thing is None:
            return False
        keys = self.chosen if thing in self.chosen else frozenset({thing})
        hand = self.hand_for(keys)
        if hand is None:
            return False
        self.choose(keys)
        self._hand, self._start, self._by = hand, (x_mm, y_mm), (0.0, 0.0)
        return True

    def drag(self, x_mm: float, y_mm: float, modifiers: Qt.KeyboardModifier) -> None:
        if self._hand is None:
            return
        self._onto = self.sheet_at(x_mm, y_mm)
        dx, dy = x_mm - self._start[0], y_mm - self._start[1]
        if modifiers & Qt.KeyboardModifier.ShiftModifier:
            dx, dy = (dx, 0.0) if abs(dx) >= abs(dy) else (0.0, dy)
        if not modifiers & Qt.KeyboardModifier.AltModifier:
            dx, dy = self._hand.snapped(dx, dy, _SNAP_PX / self._scale)
        self._by = (dx, dy)
        self._touch = self._hand.touch(dx, dy)
        self.over_changed.emit()
        self.caption_changed.emit()

    def end_drag(self, *, keep: bool) -> None:
        hand, by, onto = self._hand, self._by, self._onto
        self._let_go()
        if keep and onto is not None:
            self.sent.emit(onto)
            return
        if hand is None or not keep or by == (0.0, 0.0):
            return
        self._keep(hand, by)

    def _let_go(self) -> None:
        self._hand, self._touch, self._by, self._onto = None, None, (0.0, 0.0), None
        self.over_changed.emit()
        self.caption_changed.emit()

    def _keep(self, hand: Hand, by: tuple[float, float], verb: str = "Move") -> bool:
        problem = hand.verdict(*by)
        if problem:
            self.refused.emit(tr("{why} It stays where it was.", why=problem))
            return False
        self.moved.emit(hand.moved(*by), verb)
        return True

    # --- keys ------------------------------------------------------------------------

    def key(self, event: QKeyEvent) -> bool:
        key = Qt.Key(event.key())
        modifiers = event.modifiers()
        if key == Qt.Key.Key_Space and self.placed:
            back = bool(modifiers & Qt.KeyboardModifier.ShiftModifier)
            self._step(-1 if back else 1)
            return True
        if key is Qt.Key.Key_A and modifiers & Qt.KeyboardModifier.ControlModifier:
            self.choose(frozenset(placed.key for placed in self.placed))
            return True
        if not self.chosen:
            return super().key(event)
        if key == Qt.Key.Key_Escape:
            self.choose(frozenset())
        elif key in _NUDGES:
            step = 1.0
            if modifiers & Qt.KeyboardModifier.ShiftModifier:
                step = 10.0
            elif modifiers & Qt.KeyboardModifier.ControlModifier:
                step = 0.1
            self._nudge(*(step * d for d in _NUDGES[key]))
        elif key == Qt.Key.Key_R:
            self.turn_wanted.emit()
        elif key == Qt.Key.Key_P:
            self.pin_wanted.emit()
        else:
            return super().key(event)
        return True

    def key_hint(self) -> str:
        if not self.placed:
            return ""
        return tr("Space: the next panel") if self.chosen else tr("Space: choose a panel")

    def _step(self, by: int) -> None:
        """Choose the next panel, from left to right."""
        order = sorted(self.placed, key=lambda p: (p.bounds.left(), p.bounds.top()))
        keys = [placed.key for placed in order]
        chosen = [i for i, key in enumerate(keys) if key in self.chosen]
        at = (chosen[-1 if by > 0 else 0] + by) % len(keys) if chosen else (0 if by > 0 else -1)
        self.choose(frozenset({keys[at]}))

    def _nudge(self, dx: float, dy: float) -> None:
        """Move by a step, or as much of it as there is room for."""
        hand = self.hand_for(self.chosen)
        if hand is None:
            return
        if hand.touch(dx, dy).free:
            self._keep(hand, (dx, dy), "Nudge")
            return
        low, high = 0.0, 1.0
        for _ in range(_HALVINGS):
            middle = 0.5 * (low + high)
            free = hand.touch(dx * middle, dy * middle).free
            low, high = (middle, high) if free else (low, middle)
        if low * max(abs(dx), abs(dy)) > _LEAST_MM:
            self._keep(hand, (dx * low, dy * low), "Nudge")
        else:
            self.refused.emit(hand.verdict(dx, dy))

    def chosen_mm(self) -> QRectF:
        box = QRectF()
        for placed in self.placed:
            if placed.key in self.chosen:
                box = box.united(placed.bounds)
        return box

    # --- choosing --------------------------------------------------------------------

    def placed_at(self, key: PanelKey) -> Placed | None:
        """A copy as it is shown."""
        return next((placed for placed in self.placed if placed.key == key), None)


def _draw_pin(painter: QPainter, box: QRectF) -> None:
    """A small pin in the upper left corner of a panel's box."""
    at = box.topLeft() + QPointF(9.0, 9.0)
    painter.setPen(QPen(theme.colour("card"), 3.0))
    painter.drawLine(at, at + QPointF(0, 8))
    painter.setPen(QPen(theme.colour("accent"), 1.6))
    painter.drawLine(at, at + QPointF(0, 8))
    painter.setPen(QPen(theme.colour("card"), 1.2))
    painter.setBrush(theme.colour("accent"))
    painter.drawEllipse(at, 4.5, 4.5)
    painter.setBrush(Qt.BrushStyle.NoBrush)
