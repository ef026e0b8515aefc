"""The one main action of what is open, by key: the filled button at the foot.

What is still being typed is taken first, as leaving the field would; it may make another
button the main one (a reading typed in makes *Write the comb* into *Use for this stock*).
"""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QWidget

from lasernest.gui.parts.basics import Button
from lasernest.gui.parts.fields import Field
from lasernest.gui.parts.form import form_around


def press_main(*rooms: QWidget) -> bool:
    """Press the main button of the first room that shows one that can be pressed.

    Returns:
        False where there is none, or where what was typed cannot be used: its field says why.
    """
    focused = rooms[0].window().focusWidget()
    if isinstance(focused, Field) and focused.isModified() and not focused.settle():
        return False
    form = form_around(focused)
    button = form.done_button if form is not None else _main_button(*rooms)
    if button is None:
        return False
    button.setFocus(Qt.FocusReason.ShortcutFocusReason)
    button.click()
    return True


def _main_button(*rooms: QWidget) -> Button | None:
    for room in rooms:
        for button in room.findChildren(Button):
            if button.is_main and button.isVisible() and button.isEnabled():
                return button
    return None
