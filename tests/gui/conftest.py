"""The window's tests: offscreen, dressed in the theme, in millimetres."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from lasernest.gui.lengths import lengths
from lasernest.gui.look.theme import Brightness, theme

_dressed = False


@pytest.fixture(autouse=True)
def _dressed_window(qapp: QApplication) -> Iterator[None]:
    global _dressed  # noqa: PLW0603 - fonts are loaded once for the whole run
    if not _dressed:
        theme.install(qapp)
        _dressed = True
    yield
    if theme.text_scale != 1.0 or theme.high_contrast or theme.brightness is not Brightness.SYSTEM:
        theme.choose(brightness=Brightness.SYSTEM, high_contrast=False, text_scale=1.0)
    lengths.show_inches(False)


__all__ = ["QtBot"]
