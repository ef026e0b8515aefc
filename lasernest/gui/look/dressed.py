"""Parts that carry the one type family in one of its sizes, and keep it.

A style sheet takes a part's font away when it is put on: parts that were hidden meanwhile
are dressed with the font they were made with when they are first shown. So each part in a
room is dressed after the sheet, and puts right what came later.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent

from lasernest.gui.look.theme import TextSize, theme

if TYPE_CHECKING:
    from PySide6.QtWidgets import QWidget as _Widget
else:
    _Widget = object


class Dressed(_Widget):
    """Mixed into a widget, before its Qt class: its text has the size of the theme."""

    text_size: TextSize = TextSize.BODY
    strong: bool = False

    def dress(self) -> None:
        """Take the font that the theme has now."""
        self.setFont(theme.font(self.text_size, strong=self.strong))

    @property
    def dressed_wrong(self) -> bool:
        """Whether the size of the text is not the theme's."""
        return self.font().pixelSize() != theme.pixels(self.text_size.value)

    def changeEvent(self, event: QEvent) -> None:  # noqa: N802 - Qt's name
        super().changeEvent(event)
        if event.type() is QEvent.Type.FontChange and self.dressed_wrong:
            self.dress()
