"""What a page puts on the canvas.

A scene is drawn in two passes: `draw` gives the lasting picture and may be
long, so it yields between its steps and the canvas spreads it over time;
`draw_over` gives what changes at once (choice, spots, what is dragged).
Painters come in pixels; scenes turn to millimetres through the view.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from PySide6.QtCore import QObject, QRectF, Qt, Signal
from PySide6.QtGui import QKeyEvent, QPainter

from lasernest.gui.board.view import View
from lasernest.gui.parts.entries import Entry

MARKED_AT_ONCE = 60
"""Of more chosen things the marks belong to the lasting picture, or every frame would be late."""


class Scene(QObject):
    """An empty scene; pages say what is in theirs."""

    has_rulers = True
    """False where places mean nothing, only sizes do."""

    changed = Signal()
    """The lasting picture is another."""
    over_changed = Signal()
    """Only what lies over it is another."""
    caption_changed = Signal()
    bounds_changed = Signal()
    """Other things are shown: fit the view anew."""

    def bounds_mm(self) -> QRectF:
        """What `fit` shows; null when there is nothing."""
        return QRectF()

    def headroom_px(self) -> float:
        """Room above everything for texts of fixed size."""
        return 0.0

    def padding_px(self) -> float:
        """Room below everything for texts of fixed size."""
        return 0.0

    def draw(self, painter: QPainter, view: View, visible_mm: QRectF) -> Iterator[None]:
        """Draw the lasting picture, yielding between steps of about a millisecond."""
        yield from ()

    def draw_over(self, painter: QPainter, view: View) -> None:
        """Draw what changes at once."""

    def caption(self) -> tuple[str, str]:
        """Texts at the top of the board, left and right."""
        return ("", "")

    def thing_at(self, x_mm: float, y_mm: float, view: View) -> Any:
        """What lies under the pointer, or None."""
        return None

    def tip(self, thing: Any) -> str:
        """A short text about what lies under the pointer."""
        return ""

    def hover(self, thing: Any) -> None:
        """The pointer came to lie over something else."""

    def click(self, thing: Any, modifiers: Qt.KeyboardModifier) -> None:
        """The maker clicked, on something or on nothing (None)."""

    def double_click(self, thing: Any) -> None:
        """The maker clicked twice."""

    def begin_drag(self, thing: Any, x_mm: float, y_mm: float) -> bool:
        """The maker drags from here: True to take the drag, False to pan."""
        return False

    def drag(self, x_mm: float, y_mm: float, modifiers: Qt.KeyboardModifier) -> None:
        """The taken drag goes on."""

    def end_drag(self, *, keep: bool) -> None:
        """The taken drag ended; keep=False gives it up."""

    def key(self, event: QKeyEvent) -> bool:
        """A key for the scene; True when it was of use."""
        return False

    def key_hint(self) -> str:
        """What its keys do now, in a few words; empty where it has none."""
        return ""

    def tab(self, *, forward: bool) -> bool:
        """Tab or Shift+Tab; True to stay on the canvas, False to leave it."""
        return False

    def menu(self, thing: Any) -> Sequence[Entry]:
        """What can be done with something, or with what is chosen (None)."""
        return ()

    def chosen_mm(self) -> QRectF:
        """The box around what is chosen; not valid when nothing is."""
        return QRectF()

    def snap(self, x_mm: float, y_mm: float, within_mm: float) -> tuple[float, float] | None:
        """A corner, middle or edge near a point, for measuring; None when there is none."""
        return None
