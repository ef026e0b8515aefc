"""The one family of type, which ships with the program."""

from __future__ import annotations

from PySide6.QtGui import QFontDatabase

from lasernest.resources import resource

FAMILY = "Inter"
_FILES = ("Inter-Regular.otf", "Inter-SemiBold.otf")


def load_fonts() -> None:
    """Let Qt know the family; needs a running Qt program."""
    for name in _FILES:
        QFontDatabase.addApplicationFont(str(resource(f"fonts/{name}")))
