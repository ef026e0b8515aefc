"""Rings of objects are dropped while the window has nothing else to do."""

from __future__ import annotations

import gc
import weakref
from collections.abc import Iterator

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from lasernest.gui import tidying
from lasernest.gui.tidying import Tidier


class Ring:
    def __init__(self) -> None:
        self.me = self


@pytest.fixture
def tidier(qapp: QApplication) -> Iterator[Tidier]:
    made = Tidier(qapp)
    yield made
    made.stop()
    made.setParent(None)
    assert gc.isenabled()
    assert gc.get_freeze_count() == 0


def test_new_rings_go_after_a_second(qtbot: QtBot, tidier: Tidier) -> None:
    ring = weakref.ref(Ring())
    assert ring() is not None
    many = [[i] for i in range(2 * tidying._FEW)]
    qtbot.waitUntil(lambda: ring() is None, timeout=10_000)
    assert len(many) == 2 * tidying._FEW


def test_old_rings_go_once_the_maker_is_away(qtbot: QtBot, tidier: Tidier) -> None:
    kept = Ring()
    ring = weakref.ref(kept)
    many = [[i] for i in range(2 * tidying._FEW)]
    tidier.look_at_new()
    del kept, many
    tidier.look_at_new()
    assert ring() is not None  # set aside: it is not looked at again so soon
    tidier._away.setInterval(1)
    tidier._on_state(Qt.ApplicationState.ApplicationInactive)
    tidier._on_state(Qt.ApplicationState.ApplicationActive)
    assert not tidier._away.isActive()
    tidier._on_state(Qt.ApplicationState.ApplicationInactive)
    qtbot.waitUntil(lambda: ring() is None, timeout=10_000)
