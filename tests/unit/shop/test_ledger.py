from __future__ import annotations

import sqlite3
import threading
from pathlib import Path, PurePosixPath, PureWindowsPath

import pytest

from lasernest import __version__
from lasernest.errors import (
    ChangedMeanwhileError,
    NewerFormatError,
    NotFoundError,
    UnreadableFileError,
    UnwritableFileError,
)
from lasernest.shop import ledger as ledger_module
from lasernest.shop.ledger import FORMAT, Entry, Ledger

SEED = [Entry("stock", "a", b"1"), Entry("stock", "b", b"2")]


def open_ledger(path: Path) -> Ledger:
    return Ledger.open(path, lambda: SEED)


@pytest.fixture
def ledger(tmp_path: Path) -> Ledger:
    return open_ledger(tmp_path / "deep" / "book.sqlite")


def test_a_new_book_holds_its_seed_and_its_folder_is_made(ledger: Ledger) -> None:
    assert ledger.path.exists()
    assert ledger.values("stock") == [("a", b"1"), ("b", b"2")]
    assert [c.label for c in ledger.changes()] == ["Start the shop book"]


def test_a_book_is_seeded_once(ledger: Ledger) -> None:
    with ledger.change("Remove a") as change:
        change.put("stock", "a", None)
    assert open_ledger(ledger.path).values("stock") == [("b", b"2")]


def test_the_newest_entry_is_the_value_and_the_history_is_kept(ledger: Ledger) -> None:
    with ledger.change("Change a") as change:
        change.put("stock", "a", b"10")
        assert change.value("stock", "a") == b"10"
        assert change.values("stock") == [("a", b"10"), ("b", b"2")]
    with ledger.change("Remove a") as change:
        change.put("stock", "a", None)
    assert ledger.value("stock", "a") is None
    assert [(c.label, v) for c, v in ledger.history("stock", "a")] == [
        ("Start the shop book", b"1"),
        ("Change a", b"10"),
        ("Remove a", None),
    ]


def test_an_error_inside_takes_the_whole_change_back(ledger: Ledger) -> None:
    def half() -> None:
        with ledger.change("Half") as change:
            change.put("stock", "a", b"99")
            change.put("stock", "c", b"99")
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        half()
    assert ledger.values("stock") == [("a", b"1"), ("b", b"2")]
    assert len(ledger.changes()) == 1


def test_undo_and_undo_of_the_undo(ledger: Ledger) -> None:
    with ledger.change("Swap") as change:
        change.put("stock", "a", None)
        change.put("stock", "b", b"20")
        change.put("stock", "b", b"21")
        change.put("stock", "c", b"30")
        number = change.number
    after = ledger.values("stock")
    undone = ledger.undo(number)
    assert ledger.values("stock") == [("a", b"1"), ("b", b"2")]
    latest = ledger.changes()[0]
    assert (latest.number, latest.label, latest.undoes) == (undone, "Undo Swap", number)
    ledger.undo(undone)
    assert ledger.values("stock") == after == [("b", b"21"), ("c", b"30")]


def test_undo_refuses_what_was_changed_again(ledger: Ledger) -> None:
    with ledger.change("First") as change:
        change.put("stock", "a", b"5")
        number = change.number
    with ledger.change("Second") as change:
        change.put("stock", "a", b"6")
    with pytest.raises(ChangedMeanwhileError) as caught:
        ledger.undo(number)
    assert caught.value.sentence() == (
        "'First' cannot be undone: the stock a was changed again since. "
        "Undo the later change first."
    )
    assert ledger.value("stock", "a") == b"6"
    with pytest.raises(NotFoundError):
        ledger.undo(999)


def test_a_newer_book_is_refused_politely_and_left_alone(ledger: Ledger) -> None:
    db = sqlite3.connect(ledger.path)
    db.execute(f"PRAGMA user_version = {FORMAT + 3}")
    db.close()
    before = ledger.path.read_bytes()
    with pytest.raises(NewerFormatError) as caught:
        open_ledger(ledger.path)
    assert caught.value.sentence() == (
        f"book.sqlite: this shop book is of format {FORMAT + 3}, and this version of lasernest "
        f"knows formats up to {FORMAT}. Install the newer version, or point LASERNEST_HOME to "
        "another folder. The book was left as it is."
    )
    assert ledger.path.read_bytes() == before


def test_a_file_of_strangers_is_refused_and_left_alone(tmp_path: Path) -> None:
    text = tmp_path / "text.sqlite"
    text.write_text("these are not the records of a shop, but a letter " * 40)
    with pytest.raises(UnreadableFileError, match="cannot be read: file is not a database"):
        open_ledger(text)
    other = tmp_path / "other.sqlite"
    db = sqlite3.connect(other)
    db.execute("CREATE TABLE poems (line TEXT)")
    db.commit()
    db.close()
    before = other.read_bytes()
    with pytest.raises(UnreadableFileError, match="is not a shop book of lasernest"):
        open_ledger(other)
    assert other.read_bytes() == before


def test_an_empty_file_left_by_a_kill_becomes_a_book(tmp_path: Path) -> None:
    (tmp_path / "book.sqlite").touch()
    assert open_ledger(tmp_path / "book.sqlite").values("stock") == [("a", b"1"), ("b", b"2")]


def test_a_book_on_a_network_share_has_no_authority_in_its_uri() -> None:
    # sqlite.org/uri.html, 3.1: "file:////server/share/x", never "file://server/share/x".
    uri_of = ledger_module._uri_of
    assert uri_of(PureWindowsPath(r"\\shop\books\my book.db")) == "file:////shop/books/my%20book.db"
    assert uri_of(PureWindowsPath(r"C:\books\a.db")) == "file:///C:/books/a.db"
    assert uri_of(PurePosixPath("/home/a?b.db")) == "file:///home/a%3Fb.db"


def test_a_folder_that_cannot_be_made(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    with pytest.raises(UnwritableFileError, match="the folder of the shop book cannot be made"):
        open_ledger(tmp_path / "file" / "book.sqlite")
    (tmp_path / "book.sqlite").mkdir()
    with pytest.raises(UnwritableFileError, match="the shop book cannot be used"):
        open_ledger(tmp_path / "book.sqlite")


def test_a_book_that_stays_locked_is_told(ledger: Ledger, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(ledger_module, "WAIT_S", 0.05)
    blocker = sqlite3.connect(ledger.path, isolation_level=None)
    blocker.execute("BEGIN IMMEDIATE")
    with (
        pytest.raises(UnwritableFileError, match="has kept the shop book locked"),
        ledger.change("Wait"),
    ):
        pass
    assert ledger.values("stock") == [("a", b"1"), ("b", b"2")]  # readers are not kept out
    blocker.execute("ROLLBACK")
    blocker.close()


def test_writers_in_many_threads_lose_no_update(tmp_path: Path) -> None:
    path = tmp_path / "book.sqlite"
    errors: list[BaseException] = []

    def count_up() -> None:
        try:
            mine = open_ledger(path)  # all race to make the book, too
            for _ in range(10):
                with mine.change("Count") as change:
                    change.put(
                        "stock", "a", str(int(change.value("stock", "a") or b"") + 1).encode()
                    )
        except BaseException as error:
            errors.append(error)

    threads = [threading.Thread(target=count_up) for _ in range(5)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert not errors
    assert open_ledger(path).value("stock", "a") == b"51"
    assert len(open_ledger(path).changes(1000)) == 51


def test_a_book_that_another_makes_while_it_is_looked_at_is_no_stranger(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "book.sqlite"
    maker = threading.Thread(target=open_ledger, args=(path,))

    class Slow(sqlite3.Connection):
        def execute(self, sql: str, *given: object) -> sqlite3.Cursor:  # type: ignore[override]
            if "sqlite_schema" in sql and maker.ident is None:
                monkeypatch.setattr(sqlite3, "connect", connect)
                maker.start()
                maker.join(0.3)  # all the time it needs, were it not made to wait
            return super().execute(sql, *given)

    connect = sqlite3.connect

    def slow(*given: object, **named: object) -> sqlite3.Connection:
        return connect(*given, **named, factory=Slow)  # type: ignore[arg-type,call-overload]

    monkeypatch.setattr(sqlite3, "connect", slow)
    assert open_ledger(path).value("stock", "a") == b"1"
    maker.join()
    assert len(open_ledger(path).changes()) == 1


FORMAT_1 = """
CREATE TABLE change (id INTEGER PRIMARY KEY AUTOINCREMENT, at TEXT NOT NULL,
    label TEXT NOT NULL, undoes INTEGER REFERENCES change (id));
CREATE TABLE entry (id INTEGER PRIMARY KEY AUTOINCREMENT,
    change INTEGER NOT NULL REFERENCES change (id),
    kind TEXT NOT NULL, key TEXT NOT NULL, value TEXT);
CREATE INDEX entry_newest ON entry (kind, key, id);
CREATE INDEX entry_change ON entry (change);
INSERT INTO change VALUES (1, '2026-01-02T03:04:05+00:00', 'Start the shop book', NULL);
INSERT INTO entry VALUES (1, 1, 'stock', 'old', '7');
PRAGMA application_id = 1280201538;
PRAGMA user_version = 1;
"""
"""A book as the first format kept it, written down by hand."""


def test_an_older_book_is_brought_up_to_date_and_a_copy_is_kept(tmp_path: Path) -> None:
    path = tmp_path / "book.sqlite"
    db = sqlite3.connect(path)
    db.executescript(FORMAT_1)
    db.close()
    ledger = open_ledger(path)
    assert ledger.values("stock") == [("old", b"7")]
    with ledger.change("Go on") as change:
        change.put("stock", "new", b"8")
    assert [(c.label, c.program) for c in ledger.changes()] == [
        ("Go on", __version__),
        ("Start the shop book", None),
    ]
    assert ledger.changes()[1].at.isoformat() == "2026-01-02T03:04:05+00:00"
    copy = sqlite3.connect(tmp_path / "book.sqlite.format-1")
    assert copy.execute("PRAGMA user_version").fetchone() == (1,)
    assert copy.execute("SELECT value FROM entry").fetchall() == [("7",)]
    copy.close()
    assert open_ledger(path).values("stock") == [("old", b"7"), ("new", b"8")]
