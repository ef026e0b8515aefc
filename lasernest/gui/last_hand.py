"""Whether the maker works with keys or with the pointer just now: what was used last.

Parts that take the keys without being asked (the drawing, when a page opens, when a reading
ends or Escape leads back) show a ring only to those who work with keys. The reason Qt gives
does not tell it: Enter on a button and a click on it end in the same call.
"""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtGui import QFocusEvent, QWindow

_POINTER = (
    QEvent.Type.MouseButtonPress,
    QEvent.Type.TabletPress,
    QEvent.Type.TouchBegin,
    QEvent.Type.DragEnter,
)

_BY_KEY = (
    Qt.FocusReason.TabFocusReason,
    Qt.FocusReason.BacktabFocusReason,
    Qt.FocusReason.ShortcutFocusReason,
)
"""Why a part has the keys when the maker works with keys and wants to see where they go."""

_BACK = (Qt.FocusReason.PopupFocusReason, Qt.FocusReason.ActiveWindowFocusReason)
"""A menu or another window had the keys for a while; what was shown before is shown again."""


class LastHand(QObject):
    """Watches the windows of the program for what comes in from keys and pointer."""

    def __init__(self) -> None:
        super().__init__()
        self.is_key = False
        """True while keys are what was used last."""

    def watch(self, window: QWindow) -> None:
        """Watch a window; watching it twice is the same."""
        window.installEventFilter(self)

    def eventFilter(self, _watched: QObject, event: QEvent) -> bool:  # noqa: N802 - Qt's name
        kind = event.type()
        if kind is QEvent.Type.KeyPress:
            self.is_key = True
        elif kind in _POINTER:
            self.is_key = False
        return False

    def shows_ring(self, event: QFocusEvent, *, before: bool) -> bool:
        """Whether a part that gets the keys shows so; `before` is what it showed last."""
        if event.reason() in _BACK:
            return before
        unasked = event.reason() is Qt.FocusReason.OtherFocusReason
        return event.reason() in _BY_KEY or (unasked and self.is_key)


last_hand = LastHand()
"""The one of the program."""
