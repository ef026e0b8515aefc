"""Texts of the window, through Qt's translation.

`tr` is what translators' tools look for; numbers and names are put in after
translation, by keyword, so that a language may order them as it needs.
"""

from __future__ import annotations

from PySide6.QtCore import QCoreApplication


def tr(text: str, **values: object) -> str:
    """The text in the maker's language, with `{name}` places filled in."""
    translated = QCoreApplication.translate("lasernest", text)
    return translated.format(**values) if values else translated


def count_of(number: int, one: str, many: str) -> str:
    """A number with its noun: `1 panel`, `12 panels`."""
    return f"{number} {tr(one if number == 1 else many)}"
