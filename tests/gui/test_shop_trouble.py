"""A shop book that cannot be used: told with its folder, and tried again when it is mended."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from PySide6.QtWidgets import QPushButton
from pytestqt.qtbot import QtBot

from lasernest.gui.settings import Settings
from lasernest.gui.tiles import Step
from lasernest.gui.window import Window
from lasernest.services.workbench import Workbench
from lasernest.shop import ledger
from tests.gui.conftest import Answers


@pytest.fixture
def book(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Where this test's shop book is looked for."""
    monkeypatch.setitem(os.environ, "LASERNEST_HOME", str(tmp_path))
    return tmp_path / "shop-book.sqlite"


@pytest.fixture
def open_window(qtbot: QtBot, answers: Answers, book: Path) -> Iterator[Callable[[], Window]]:
    """Makes a window that opens the shop book, once it is in the state to be tried."""
    made: list[Window] = []

    def make() -> Window:
        window = Window(Workbench(), Settings(), answers)
        made.append(window)
        qtbot.addWidget(window)
        window.show()
        window.go_to(Step.SHEETS)
        window.desk.open_shop()
        window.desk.shelf.look(again=True)
        qtbot.waitUntil(lambda: len(window.desk.troubles) == 2 and not window.desk.tasks.running)
        return window

    yield make
    for window in made:
        window.close()


def _try_again(qtbot: QtBot, window: Window) -> None:
    buttons = window.sheets.card.findChildren(QPushButton)
    (button,) = [b for b in buttons if b.text() == "Try again" and b.isVisible()]
    with qtbot.waitSignal(window.desk.stocks_changed):
        button.click()
    qtbot.waitUntil(lambda: not window.desk.tasks.running)
    assert window.desk.troubles == ()
    assert window.desk.stocks


def test_a_damaged_book_is_moved_away_and_a_new_one_begun(
    qtbot: QtBot, open_window: Callable[[], Window], book: Path
) -> None:
    book.write_text("no records, but a letter " * 40)
    window = open_window()
    told = window.desk.troubles[0].sentence
    assert told == (
        "shop-book.sqlite: the shop book cannot be read: file is not a database. Put a copy of "
        f"the book back into {book.parent}, or move the damaged file away to start a new one."
    )
    book.rename(book.with_name("damaged"))
    _try_again(qtbot, window)


def test_a_book_that_went_away_is_missed_and_not_made_empty(qtbot: QtBot, window: Window) -> None:
    book = window.desk.workbench.shop.path
    aside = book.rename(book.with_name("aside"))
    window.desk.shelf.look(again=True)
    qtbot.waitUntil(lambda: bool(window.desk.troubles))
    assert window.desk.troubles[0].sentence == (
        f"shop-book.sqlite: the shop book is gone. Put it back into {book.parent}; a new one is "
        "begun when it is opened again without it."
    )
    assert not book.exists()
    aside.rename(book)
    before = window.desk.stocks
    with qtbot.waitSignal(window.desk.stocks_changed):
        window.desk.open_shop()
    qtbot.waitUntil(lambda: not window.desk.tasks.running)
    assert window.desk.troubles == ()
    assert window.desk.stocks == before


def test_a_locked_book_is_opened_when_it_is_free(
    qtbot: QtBot, open_window: Callable[[], Window], book: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(ledger, "WAIT_S", 0.05)
    other = sqlite3.connect(book, isolation_level=None)
    other.execute("BEGIN EXCLUSIVE")
    window = open_window()
    other.execute("ROLLBACK")
    other.close()
    assert "Close the other program and try again." in window.desk.troubles[0].sentence
    _try_again(qtbot, window)
