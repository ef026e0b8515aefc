"""Faults of the Qt binding that would end the window; see pyproject.toml."""

from __future__ import annotations

import sys

from PySide6.QtCore import QObject, Signal


class _Bell(QObject):
    rung = Signal()


def test_emitting_a_signal_takes_no_reference_from_true() -> None:
    # PySide6 6.12.0 takes one with every emit; Python 3.11 ends when none are left.
    bell = _Bell()
    before = sys.getrefcount(True)
    for _ in range(50):
        bell.rung.emit()
    assert sys.getrefcount(True) > before - 25
