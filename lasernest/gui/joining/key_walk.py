"""Going through panels, edges and lines on faces with keys, as the pointer would.

Up and down (or Tab, once an arrow was pressed) change the panel, left and right
the edge or the line on its face; with Shift a line moves by a millimetre
(with Ctrl too, by ten). Enter picks what is shown, Esc lets go.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent

from lasernest.domain.contours import Point
from lasernest.domain.joints import PanelLine
from lasernest.gui.joining.edge_spots import EdgeSpot, FaceSpot

if TYPE_CHECKING:
    from lasernest.gui.joining.edge_scene import EdgeScene

_ARROWS = {
    Qt.Key.Key_Left: (0, -1),
    Qt.Key.Key_Right: (0, 1),
    Qt.Key.Key_Up: (-1, 0),
    Qt.Key.Key_Down: (1, 0),
}
_MOVES: dict[Qt.Key, Point] = {
    Qt.Key.Key_Left: (-1.0, 0.0),
    Qt.Key.Key_Right: (1.0, 0.0),
    Qt.Key.Key_Up: (0.0, 1.0),
    Qt.Key.Key_Down: (0.0, -1.0),
}
_ENTER = (Qt.Key.Key_Return, Qt.Key.Key_Enter)


class KeyWalk:
    """Where the keys are."""

    def __init__(self, scene: EdgeScene) -> None:
        self._scene = scene
        self._panel = ""
        self._edge = 0
        self.active = False

    def key(self, event: QKeyEvent) -> bool:
        """Take a key; True when it was of use."""
        key = Qt.Key(event.key())
        shift = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
        if key == Qt.Key.Key_Escape:
            return self._let_go()
        if key in _ENTER and self.active:
            self._pick()
            return True
        if key in _MOVES and shift and self._scene.face_line is not None:
            far = 10.0 if event.modifiers() & Qt.KeyboardModifier.ControlModifier else 1.0
            self._move_line(_MOVES[key], far)
            return True
        if key in _ARROWS and not event.modifiers() & (
            Qt.KeyboardModifier.ShiftModifier
            | Qt.KeyboardModifier.ControlModifier
            | Qt.KeyboardModifier.AltModifier
        ):
            self._step(*_ARROWS[key])
            return True
        return False

    def tab(self, *, forward: bool) -> bool:
        """Tab goes through the panels while the keys are at work, and leaves after the last."""
        names = self._names()
        if not self.active or self._panel not in names:
            return False
        at = names.index(self._panel) + (1 if forward else -1)
        if not 0 <= at < len(names):
            self.active = False
            self._scene.hover(None)
            return False
        self._go_to(names[at])
        return True

    def _names(self) -> list[str]:
        first = self._scene.first
        taken = first.edge.panel if first is not None else ""
        return [p.key[0] for p in self._scene.all_placed() if p.key[0] != taken]

    def _let_go(self) -> bool:
        busy = self.active or self._scene.first is not None
        self.active = False
        if busy:
            self._scene.hover(None)
        self._scene.let_go.emit()
        return True

    def _step(self, panels: int, edges: int) -> None:
        names = self._names()
        if not names:
            return
        if not self.active or self._panel not in names:
            self.active = True
            self._go_to(self._panel if self._panel in names else names[0])
        elif panels:
            self._go_to(names[(names.index(self._panel) + panels) % len(names)])
        else:
            self._edge += edges
            self._show()

    def _go_to(self, panel: str) -> None:
        self._panel, self._edge = panel, 0
        self._show()

    def _show(self) -> None:
        scene = self._scene
        if scene.wants_face:
            spots = self._face_spots()
            scene.hover(FaceSpot(self._panel, spots[self._edge % len(spots)]))
            return
        edges = scene.edges_of(self._panel)
        if edges:
            edge = edges[self._edge % len(edges)]
            scene.hover(EdgeSpot(edge, edge.middle))
        else:
            scene.hover(None)

    def _face_spots(self) -> list[Point]:
        """Straight marks first, where lines are likely meant, then the middle of the face."""
        panel = self._scene.drawn(self._panel)
        spots = [
            (0.5 * (s.start[0] + s.end[0]), 0.5 * (s.start[1] + s.end[1]))
            for mark in panel.marks
            for s in mark.path.segments()
            if not s.is_arc
        ]
        x0, y0, x1, y1 = panel.bounds_mm()
        return [*spots, (0.5 * (x0 + x1), 0.5 * (y0 + y1))]

    def _move_line(self, way: Point, far_mm: float) -> None:
        line = self._scene.face_line
        assert line is not None
        dx, dy = way[0] * far_mm, way[1] * far_mm
        self._scene.face_line = replace(
            line,
            start=(line.start[0] + dx, line.start[1] + dy),
            end=(line.end[0] + dx, line.end[1] + dy),
        )
        self._scene.over_changed.emit()

    def _pick(self) -> None:
        scene = self._scene
        line: PanelLine | None = scene.face_line
        if scene.wants_face:
            if line is not None:
                scene.line_picked.emit(line)
        elif scene.hovered is not None:
            scene.click(scene.hovered, Qt.KeyboardModifier.NoModifier)
