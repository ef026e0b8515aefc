"""Enter presses a button as Space does; Qt lets it do so in dialogs only."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QAbstractButton


class PaintedButton(QAbstractButton):
    """A button that paints itself."""

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802 - Qt's name
        if not pressed_by_enter(self, event):
            super().keyPressEvent(event)


def pressed_by_enter(button: QAbstractButton, event: QKeyEvent) -> bool:
    """Press the button if this is the Enter key; False where it is another one."""
    enter = event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter)
    if enter and not event.isAutoRepeat():
        button.click()
    return enter
