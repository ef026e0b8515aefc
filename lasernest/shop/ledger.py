"""The file under the shop book: an append-only ledger in SQLite.

Every save adds a *change* with one *entry* per record it touched; nothing is
overwritten. The newest entry of a key is its value, an entry without value
says that it was taken out. So the history is complete and every change can
be undone by another one.

Safety: each change is one transaction that is on the disk before the call
returns; a process killed at any moment leaves the state before or after,
never between. Several processes may use one book: a writer takes the lock
first and others wait up to `WAIT_S`. The rollback journal is used rather
than a write-ahead log, so that a closed book is one file that may be copied.

Each call opens its own connection: any thread may call, and no file stays
locked in between. Cost: about a millisecond to read, a disk sync to write.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path, PurePath
from typing import Any, NamedTuple

from lasernest import __version__
from lasernest.errors import (
    ChangedMeanwhileError,
    LasernestError,
    NewerFormatError,
    NotFoundError,
    UnreadableFileError,
    UnwritableFileError,
    Where,
)
from lasernest.shop.values import mend_the_book

FORMAT = 2
"""The newest format of the file that is known here (`PRAGMA user_version`)."""
APPLICATION_ID = 0x4C4E5342
"""Marks the file as a shop book (`PRAGMA application_id`): the letters LNSB."""
WAIT_S = 10.0


class Entry(NamedTuple):
    """A record by its kind and key; the value is JSON, None once it is taken out."""

    kind: str
    key: str
    value: bytes | None


@dataclass(frozen=True, slots=True)
class Change:
    """One saved change, as the history lists it."""

    number: int
    at: datetime
    label: str
    undoes: int | None = None
    """Number of the change that this one took back."""
    program: str | None = None
    """Version of the program that made it; None for the first ones."""

    @classmethod
    def of_row(cls, row: Sequence[Any]) -> Change:
        """From the columns of `_CHANGE`."""
        number, at, label, undoes, program = row
        return cls(number, datetime.fromisoformat(at), label, undoes, program)


_CHANGE = "c.id, c.at, c.label, c.undoes, c.program"


class Transaction:
    """Reads and writes of one change; everything is saved together or not at all."""

    def __init__(self, db: sqlite3.Connection, number: int) -> None:
        self._db = db
        self.number = number

    def value(self, kind: str, key: str) -> bytes | None:
        """The newest value, this change's own included."""
        return _newest(self._db, kind, key)

    def values(self, kind: str) -> list[tuple[str, bytes]]:
        """Keys and newest values of a kind, in the order of their first entry."""
        return _values(self._db, kind)

    def keys_ever(self, kind: str) -> list[str]:
        """All keys a kind ever had, taken out ones included."""
        rows = self._db.execute("SELECT DISTINCT key FROM entry WHERE kind = ?", (kind,))
        return [key for (key,) in rows]

    def put(self, kind: str, key: str, value: bytes | None) -> None:
        self._db.execute(
            "INSERT INTO entry (change, kind, key, value) VALUES (?, ?, ?, ?)",
            (self.number, kind, key, None if value is None else value.decode()),
        )


class Ledger:
    """The file of a shop book."""

    def __init__(self, path: Path) -> None:
        self.path = path

    @classmethod
    def open(cls, path: Path, seed: Callable[[], Iterable[Entry]]) -> Ledger:
        """Open a book, make it if it is not there, bring an older one up to date.

        Args:
            path: the file; its folder is made if need be.
            seed: the entries a new book starts with.

        Raises:
            NewerFormatError: written by a newer version of the program.
            UnreadableFileError: not a shop book, or damaged.
            UnwritableFileError: cannot be made or changed there.
        """
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise UnwritableFileError(
                f"the folder of the shop book cannot be made: {error.strerror}",
                where=Where(file=path),
                todo="Point LASERNEST_HOME to a folder you may write in.",
            ) from error
        ledger = cls(path)
        with ledger._session(make=True) as db:
            if ledger._format(db) < FORMAT:
                with _immediate(db):
                    # Another process may have been faster while this one waited for the lock.
                    found = ledger._format(db)
                    if found == 0:
                        _create(db, seed())
                    elif found < FORMAT:
                        ledger._keep_copy(found)
                        for step in _STEPS[found - 1 :]:
                            step(db)
                        db.execute(f"PRAGMA user_version = {FORMAT}")
        return ledger

    def values(self, kind: str) -> list[tuple[str, bytes]]:
        """Keys and newest values of a kind, in the order of their first entry."""
        with self._session() as db:
            return _values(db, kind)

    def value(self, kind: str, key: str) -> bytes | None:
        with self._session() as db:
            return _newest(db, kind, key)

    @contextmanager
    def change(self, label: str, *, undoes: int | None = None) -> Iterator[Transaction]:
        """Read and write as one change; an error inside takes all of it back.

        Args:
            label: what the maker did, for the history and for undo.
            undoes: number of the change that this one takes back.
        """
        with self._session() as db, _immediate(db):
            yield Transaction(db, _begin_change(db, label, undoes))

    def changes(self, limit: int = 100) -> tuple[Change, ...]:
        """The latest changes, newest first."""
        with self._session() as db:
            rows = db.execute(
                f"SELECT {_CHANGE} FROM change c ORDER BY c.id DESC LIMIT ?", (limit,)
            ).fetchall()
        return tuple(Change.of_row(row) for row in rows)

    def history(self, kind: str, key: str) -> tuple[tuple[Change, bytes | None], ...]:
        """Every value a record ever had and the change that gave it, oldest first."""
        with self._session() as db:
            rows = db.execute(
                f"SELECT {_CHANGE}, e.value FROM entry e"
                " JOIN change c ON c.id = e.change WHERE e.kind = ? AND e.key = ? ORDER BY e.id",
                (kind, key),
            ).fetchall()
        return tuple((Change.of_row(row[:-1]), _bytes(row[-1])) for row in rows)

    def undo(self, number: int) -> int:
        """Give every record of a change the value it had before.

        Returns:
            The number of the new change, which can be undone in turn.

        Raises:
            NotFoundError: there is no such change.
            ChangedMeanwhileError: a record was changed again since.
        """
        with self._session() as db, _immediate(db):
            row = db.execute("SELECT label FROM change WHERE id = ?", (number,)).fetchone()
            if row is None:
                raise NotFoundError(f"there is no change number {number} in the shop book")
            back = Transaction(db, _begin_change(db, f"Undo {row[0]}", number))
            touched = db.execute(
                "SELECT kind, key, min(id) FROM entry WHERE change = ? GROUP BY kind, key",
                (number,),
            ).fetchall()
            for kind, key, first in touched:
                latest = db.execute(
                    "SELECT change FROM entry WHERE kind = ? AND key = ? ORDER BY id DESC LIMIT 1",
                    (kind, key),
                ).fetchone()[0]
                if latest != number:
                    raise ChangedMeanwhileError(
                        f"'{row[0]}' cannot be undone: the {kind} {key} was changed again since",
                        todo="Undo the later change first.",
                    )
                before = db.execute(
                    "SELECT value FROM entry WHERE kind = ? AND key = ? AND id < ?"
                    " ORDER BY id DESC LIMIT 1",
                    (kind, key, first),
                ).fetchone()
                back.put(kind, key, None if before is None else _bytes(before[0]))
            return back.number

    @contextmanager
    def _session(self, *, make: bool = False) -> Iterator[sqlite3.Connection]:
        """Args: `make` makes a missing file; else a book that went away would come back empty."""
        with self._telling():
            uri = f"{_uri_of(self.path.absolute())}?mode={'rwc' if make else 'rw'}"
            db = sqlite3.connect(uri, uri=True, timeout=WAIT_S, isolation_level=None)
            try:
                db.execute("PRAGMA synchronous = FULL")
                yield db
            finally:
                db.close()

    def _format(self, db: sqlite3.Connection) -> int:
        """The file's format; 0 for a file with nothing in it."""
        with _one_view(db):
            (found,) = db.execute("PRAGMA user_version").fetchone()
            (owner,) = db.execute("PRAGMA application_id").fetchone()
            filled = db.execute("SELECT 1 FROM sqlite_schema").fetchone() is not None
        if owner != APPLICATION_ID and filled:
            raise UnreadableFileError(
                "this file is not a shop book of lasernest",
                where=Where(file=self.path),
                todo="Move it away, or point LASERNEST_HOME to another folder.",
            )
        if found > FORMAT:
            raise NewerFormatError(
                f"this shop book is of format {found}, and this version of lasernest knows "
                f"formats up to {FORMAT}",
                where=Where(file=self.path),
                todo="Install the newer version, or point LASERNEST_HOME to another folder. "
                "The book was left as it is.",
            )
        return int(found)

    def _keep_copy(self, found: int) -> None:
        """Keep the book as it was before it is brought up to date, beside it."""
        copy = sqlite3.connect(self.path.with_name(f"{self.path.name}.format-{found}"))
        try:
            source = sqlite3.connect(self.path)
            try:
                source.backup(copy)
            finally:
                source.close()
        finally:
            copy.close()

    @contextmanager
    def _telling(self) -> Iterator[None]:
        """Turn the library's errors into ours."""
        try:
            yield
        except sqlite3.Error as error:
            raise self._error(error) from error

    def _error(self, error: sqlite3.Error) -> LasernestError:
        where = Where(file=self.path)
        code = getattr(error, "sqlite_errorcode", sqlite3.SQLITE_ERROR) & 0xFF
        if code in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
            return UnwritableFileError(
                f"another program has kept the shop book locked for {WAIT_S:g} s",
                where=where,
                todo="Close the other program and try again.",
            )
        if code in (sqlite3.SQLITE_NOTADB, sqlite3.SQLITE_CORRUPT):
            return UnreadableFileError(
                f"the shop book cannot be read: {error}",
                where=where,
                todo=mend_the_book(self.path),
            )
        if not self.path.exists() and self.path.parent.is_dir():
            return UnreadableFileError(
                "the shop book is gone",
                where=where,
                todo=f"Put it back into {self.path.parent}; a new one is begun when it is opened "
                "again without it.",
            )
        return UnwritableFileError(
            f"the shop book cannot be used: {error}",
            where=where,
            todo=f"See that {self.path.parent} exists, may be written in and has room.",
        )


def _uri_of(path: PurePath) -> str:
    """A file's URI as SQLite reads it: the host of a network share is part of the path.

    Source: sqlite.org, "Uniform Resource Identifiers", 3.1: an authority other than none
    or localhost is an error.
    """
    uri = path.as_uri()
    return uri if uri.startswith("file:///") else uri.replace("file://", "file:////", 1)


@contextmanager
def _one_view(db: sqlite3.Connection) -> Iterator[None]:
    """Reads that see the file as it is at one moment, while others may be making the book."""
    if db.in_transaction:
        yield
        return
    db.execute("BEGIN")
    try:
        yield
    finally:
        db.execute("ROLLBACK")


@contextmanager
def _immediate(db: sqlite3.Connection) -> Iterator[None]:
    """A transaction that holds the writer's lock from its start."""
    db.execute("BEGIN IMMEDIATE")
    try:
        yield
    except BaseException:
        if db.in_transaction:  # a full disk ends the transaction by itself
            db.execute("ROLLBACK")
        raise
    db.execute("COMMIT")


def _create(db: sqlite3.Connection, entries: Iterable[Entry]) -> None:
    db.execute(
        "CREATE TABLE change (id INTEGER PRIMARY KEY AUTOINCREMENT, at TEXT NOT NULL,"
        " label TEXT NOT NULL, undoes INTEGER REFERENCES change (id), program TEXT)"
    )
    db.execute(
        "CREATE TABLE entry (id INTEGER PRIMARY KEY AUTOINCREMENT,"
        " change INTEGER NOT NULL REFERENCES change (id),"
        " kind TEXT NOT NULL, key TEXT NOT NULL, value TEXT)"
    )
    db.execute("CREATE INDEX entry_newest ON entry (kind, key, id)")
    db.execute("CREATE INDEX entry_change ON entry (change)")
    first = Transaction(db, _begin_change(db, "Start the shop book", None))
    for entry in entries:
        first.put(*entry)
    db.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    db.execute(f"PRAGMA user_version = {FORMAT}")


def _name_programs(db: sqlite3.Connection) -> None:
    """From format 1 to 2: each change knows the version of the program that made it."""
    db.execute("ALTER TABLE change ADD COLUMN program TEXT")


_STEPS = (_name_programs,)
"""Step n brings format n to n + 1; a book takes all that it lacks."""


def _begin_change(db: sqlite3.Connection, label: str, undoes: int | None) -> int:
    now = datetime.now(UTC).isoformat(timespec="seconds")
    cursor = db.execute(
        "INSERT INTO change (at, label, undoes, program) VALUES (?, ?, ?, ?)",
        (now, label, undoes, __version__),
    )
    assert cursor.lastrowid is not None
    return cursor.lastrowid


def _newest(db: sqlite3.Connection, kind: str, key: str) -> bytes | None:
    row = db.execute(
        "SELECT value FROM entry WHERE kind = ? AND key = ? ORDER BY id DESC LIMIT 1", (kind, key)
    ).fetchone()
    return None if row is None else _bytes(row[0])


def _values(db: sqlite3.Connection, kind: str) -> list[tuple[str, bytes]]:
    rows = db.execute(
        "SELECT e.key, e.value FROM entry e JOIN (SELECT key, min(id) AS first, max(id) AS last"
        " FROM entry WHERE kind = ? GROUP BY key) k ON e.id = k.last"
        " WHERE e.value IS NOT NULL ORDER BY k.first",
        (kind,),
    ).fetchall()
    return [(key, value.encode()) for key, value in rows]


def _bytes(value: str | None) -> bytes | None:
    return None if value is None else value.encode()
