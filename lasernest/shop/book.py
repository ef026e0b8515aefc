"""The shop book: stock, offcuts, machines and kerf records, kept across jobs.

`ShopBook` speaks in the frozen values of the domain; how they are kept is
`lasernest.shop.ledger`'s business. Every save is a change with a label that
can be undone; nothing is ever deleted from the file.

Any thread and any number of processes may use one book. Whoever edits a
record passes the value it was read as (`instead_of`), so that two editors
cannot overwrite each other without noticing.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any, TypeVar

import msgspec

from lasernest.domain.bookings import Booking
from lasernest.domain.line_uses import RememberedUses
from lasernest.domain.offcuts import Offcut
from lasernest.domain.rates import Rates
from lasernest.domain.records import KerfRecord
from lasernest.domain.safety import refuse_by_name
from lasernest.domain.stock import Machine, Stock
from lasernest.errors import ChangedMeanwhileError, NotFoundError
from lasernest.folders import data_folder
from lasernest.resources import resource
from lasernest.shop import booking as booking_out
from lasernest.shop.ledger import Change, Entry, Ledger, Transaction
from lasernest.shop.rows import write_rows
from lasernest.shop.seed import read_stock_file
from lasernest.shop.tables import TABLES, table_in
from lasernest.shop.taking_in import TakenIn, put_record, take_in
from lasernest.shop.values import (
    BOOKING,
    LINE_USES,
    MACHINE,
    OFFCUT,
    RATES,
    RECORD,
    STOCK,
    decode,
    encode,
    find_key,
    natural_key,
    same_name,
)

FILE_NAME = "shop-book.sqlite"

_FORMS: dict[str, type[Stock | Offcut | Machine | KerfRecord]] = {
    STOCK: Stock,
    OFFCUT: Offcut,
    MACHINE: Machine,
    RECORD: KerfRecord,
}

T = TypeVar("T")
R = TypeVar("R", Stock, Offcut, Machine, KerfRecord)


class ShopBook:
    """The records of a shop."""

    def __init__(self, ledger: Ledger) -> None:
        self._ledger = ledger

    def __reduce__(self) -> tuple[Any, ...]:
        # In another process it is the same book, opened there.
        return (ShopBook.open, (self.path,))

    @classmethod
    def open(cls, path: Path | None = None) -> ShopBook:
        """Open the shop book; a new one starts with the stocks of `resources/stock.toml`.

        Args:
            path: the file; None for the one in the maker's data folder.

        Raises:
            NewerFormatError: written by a newer version of the program.
            UnreadableFileError: not a shop book, or damaged.
            UnwritableFileError: cannot be made or changed there.
        """
        return cls(Ledger.open(path or data_folder() / FILE_NAME, _first_entries))

    @property
    def path(self) -> Path:
        return self._ledger.path

    # Stock

    def stocks(self) -> tuple[Stock, ...]:
        """All kinds of sheet, by name in a person's order (4 mm before 12 mm)."""
        return self._all(STOCK, Stock)

    def stock(self, name: str) -> Stock:
        """The stock of this name; capitals and spaces at the ends do not matter.

        Raises:
            NotFoundError: there is none; names that come close are told.
            RefusedMaterialError: there is none, and its name is that of a material
                that must not be lasered: another stock is no answer then.
        """
        try:
            return self._named(STOCK, Stock, name)
        except NotFoundError:
            refuse_by_name(name)
            raise

    def save_stock(self, stock: Stock, *, instead_of: Stock | None = None) -> int:
        """Add a stock or change one; offcuts and records follow when it gets another name.

        Args:
            stock: the new value.
            instead_of: the value that was edited; it may have had another name.

        Returns:
            Number of the change, for `undo`.

        Raises:
            ChangedMeanwhileError: the record is no longer `instead_of`, or (when
                that is None or had another name) the name is taken.
        """
        with self._ledger.change(_label(STOCK, stock, instead_of)) as change:
            self._put(change, STOCK, stock, instead_of)
            if instead_of is not None and instead_of.name != stock.name:
                self._rename(change, OFFCUT, Offcut, instead_of.name, stock.name)
                self._rename(change, RECORD, KerfRecord, instead_of.name, stock.name)
            return change.number

    def remove_stock(self, name: str) -> int:
        """Take a stock out of the list; its history stays and `undo` brings it back.

        Raises:
            NotFoundError: there is none of this name.
        """
        return self._remove(STOCK, Stock, name)

    # Offcuts

    def offcuts(self, stock_name: str | None = None) -> tuple[Offcut, ...]:
        """The offcuts on hand, of one stock or of all, by label."""
        offcuts = self._all(OFFCUT, Offcut)
        if stock_name is None:
            return offcuts
        return tuple(o for o in offcuts if same_name(o.stock_name, stock_name))

    def offcut(self, label: str) -> Offcut:
        """The offcut of this label.

        Raises:
            NotFoundError: there is none; labels that come close are told.
        """
        return self._named(OFFCUT, Offcut, label)

    def add_offcut(self, offcut: Offcut) -> Offcut:
        """Put an offcut on the shelf; without a label it gets the next free one.

        Returns:
            The offcut with its label, to be written on the piece.

        Raises:
            NotFoundError: its stock is not in the book.
            ChangedMeanwhileError: the label is taken.
        """
        with self._ledger.change("Add an offcut") as change:
            return booking_out.put_offcut(change, offcut)

    def save_offcut(self, offcut: Offcut, *, instead_of: Offcut) -> int:
        """Change an offcut; as `save_stock`."""
        with self._ledger.change(_label(OFFCUT, offcut, instead_of)) as change:
            self._put(change, OFFCUT, offcut, instead_of)
            return change.number

    def remove_offcut(self, label: str) -> int:
        """Take an offcut off the shelf; its history stays and `undo` brings it back.

        Raises:
            NotFoundError: there is none of this label.
        """
        return self._remove(OFFCUT, Offcut, label)

    # Machines

    def machines(self) -> tuple[Machine, ...]:
        """The shop's machines, by name."""
        return self._all(MACHINE, Machine)

    def machine(self, name: str | None = None) -> Machine:
        """The machine of this name; without a name the shop's first one.

        Raises:
            NotFoundError: there is none; names that come close are told.
        """
        if name is None:
            rows = self._ledger.values(MACHINE)
            if not rows:
                raise NotFoundError("the shop book lists no machine", todo="Add one.")
            return decode(rows[0][1], Machine, self.path)
        return self._named(MACHINE, Machine, name)

    def save_machine(self, machine: Machine, *, instead_of: Machine | None = None) -> int:
        """Add or change a machine; as `save_stock`."""
        with self._ledger.change(_label(MACHINE, machine, instead_of)) as change:
            self._put(change, MACHINE, machine, instead_of)
            return change.number

    def remove_machine(self, name: str) -> int:
        """Take a machine out of the list; as `remove_stock`."""
        return self._remove(MACHINE, Machine, name)

    # Kerf records

    def records(self, stock_name: str | None = None) -> tuple[KerfRecord, ...]:
        """The test cuts of one stock or of all, newest first."""
        found = [decode(value, KerfRecord, self.path) for _, value in self._ledger.values(RECORD)]
        if stock_name is not None:
            found = [r for r in found if same_name(r.stock_name, stock_name)]
        return tuple(sorted(found, key=lambda r: (r.on, r.number), reverse=True))

    def add_record(self, record: KerfRecord) -> KerfRecord:
        """Keep a test cut.

        Returns:
            The record with its number.

        Raises:
            NotFoundError: its stock is not in the book.
        """
        with self._ledger.change(f"Add a record of {record.stock_name}") as change:
            return put_record(change, record)

    def save_record(self, record: KerfRecord, *, instead_of: KerfRecord) -> int:
        """Change a record, such as to set a reading aside; as `save_stock`."""
        with self._ledger.change(_label(RECORD, record, instead_of)) as change:
            self._put(change, RECORD, record, instead_of)
            return change.number

    def remove_record(self, number: int) -> int:
        """Take out a record; its history stays and `undo` brings it back.

        Raises:
            NotFoundError: there is none of this number.
        """
        return self._remove(RECORD, KerfRecord, str(number))

    # Rates

    def rates(self) -> Rates | None:
        """What an hour costs in this shop; None until somebody has said so."""
        value = self._ledger.value(RATES, RATES)
        return None if value is None else decode(value, Rates, self.path)

    def save_rates(self, rates: Rates | None) -> int:
        """Set what an hour costs, or forget it; returns the number of the change."""
        with self._ledger.change("Set rates") as change:
            change.put(RATES, RATES, None if rates is None else encode(rates))
            return change.number

    # Bookings

    def book(self, booking: Booking) -> Booking:
        """Book a cut: sheets off the count, offcuts off and onto the shelf, panels into history.

        Returns:
            The booking with its number and the labels of the offcuts kept.

        Raises:
            NotFoundError: a stock, a size or an offcut is not in the book.
            BadValueError: fewer sheets are counted than are to be taken.
        """
        with self._ledger.change(f"Book {booking.job}") as change:
            return booking_out.book(change, booking, self.path)

    def take_back(self, number: int) -> Booking:
        """Undo a booking, whatever was booked since; counts and offcuts are restored.

        Raises:
            NotFoundError: there is no such booking.
            ChangedMeanwhileError: an offcut it put on the shelf was used or changed since.
        """
        with self._ledger.change(f"Take back booking {number}") as change:
            return booking_out.take_back(change, number, self.path)

    def bookings(self, *, job: str | None = None, panel: str | None = None) -> tuple[Booking, ...]:
        """What was cut from what, newest first; of one job or panel, or of all."""
        found = (decode(value, Booking, self.path) for _, value in self._ledger.values(BOOKING))
        return tuple(
            sorted(
                (
                    b
                    for b in found
                    if (job is None or b.job == job)
                    and (panel is None or any(p.panel == panel for p in b.panels))
                ),
                key=lambda b: (b.on, b.number),
                reverse=True,
            )
        )

    # What lines are for

    def remember_uses(self, remembered: RememberedUses) -> int:
        """Keep what the lines of a drawing are for, in place of what its layers had before.

        Returns:
            Number of the change, for `undo`.
        """
        key = " | ".join(remembered.layers)
        with self._ledger.change(f"Remember the lines of {remembered.drawing}") as change:
            change.put(LINE_USES, key, encode(remembered))
            return change.number

    def remembered_uses(
        self, layers: Iterable[str], colours: Iterable[str | None]
    ) -> RememberedUses | None:
        """What was kept for drawings with these very layers and colours; None when nothing was."""
        layers, colours = tuple(layers), tuple(colours)
        for _, value in self._ledger.values(LINE_USES):
            kept = decode(value, RememberedUses, self.path)
            if kept.fits(layers, colours):
                return kept
        return None

    # Tables

    def table(self, kind: str) -> bytes:
        """All stocks, offcuts, machines or records as a CSV table.

        Args:
            kind: `stock`, `offcut`, `machine` or `record`.
        """
        table = next(t for t in TABLES if t.kind == kind)
        values = self._all(kind, _FORMS[kind])
        return write_rows(table.columns, [row for value in values for row in table.rows_of(value)])

    def take_in(self, path: Path) -> TakenIn:
        """Add and change what a CSV table holds; what it does not name stays as it is.

        Raises:
            UnreadableFileError: not a table of the shop book, or a cell that
                cannot be; line and column are named.
            NotFoundError: a stock that is not in the book.
        """
        table, values = table_in(path)
        with self._ledger.change(f"Take in {path.name}") as change:
            return take_in(change, table.kind, values, self.path)

    # History

    def changes(self, limit: int = 100) -> tuple[Change, ...]:
        """The latest changes of the book, newest first."""
        return self._ledger.changes(limit)

    def undo(self, number: int) -> int:
        """Take back a change; returns the number of the new change.

        Raises:
            NotFoundError: there is no such change.
            ChangedMeanwhileError: what it touched was changed again since.
        """
        return self._ledger.undo(number)

    def stock_history(self, name: str) -> tuple[tuple[Change, Stock | None], ...]:
        """Every value a stock ever had, oldest first; None where it was taken out."""
        return tuple(
            (change, None if value is None else decode(value, Stock, self.path))
            for change, value in self._ledger.history(STOCK, name)
        )

    # Shared by all kinds

    def _all(self, kind: str, form: type[T]) -> tuple[T, ...]:
        rows = sorted(self._ledger.values(kind), key=lambda row: natural_key(row[0]))
        return tuple(decode(value, form, self.path) for _, value in rows)

    def _named(self, kind: str, form: type[T], name: str) -> T:
        rows = self._ledger.values(kind)
        key = find_key(kind, name, [key for key, _ in rows])
        return decode(dict(rows)[key], form, self.path)

    def _rename(
        self,
        change: Transaction,
        kind: str,
        form: type[Offcut] | type[KerfRecord],
        old: str,
        new: str,
    ) -> None:
        """Let records that belong to a stock follow its new name."""
        for key, value in change.values(kind):
            record = decode(value, form, self.path)
            if record.stock_name == old:
                change.put(kind, key, encode(replace(record, stock_name=new)))

    def _put(self, change: Transaction, kind: str, value: R, old: R | None) -> None:
        """Put a record in place of the one it was made from, unless that has changed."""
        key, old_key = _key(value), None if old is None else _key(old)
        if old is not None and old_key is not None:
            found = change.value(kind, old_key)
            if found is None or _as_kept(found, type(old)) != _as_kept(encode(old), type(old)):
                raise ChangedMeanwhileError(
                    f"the {kind} {old_key} was changed by somebody else meanwhile",
                    todo="Look at it again and repeat your change.",
                )
            if old_key != key:
                change.put(kind, old_key, None)
        taken = [k for k, _ in change.values(kind) if same_name(k, key) and k != old_key]
        if taken:
            raise ChangedMeanwhileError(
                f"there is a {kind} called {taken[0]} already", todo="Choose another name."
            )
        change.put(kind, key, encode(value))

    def _remove(self, kind: str, form: type[R], name: str) -> int:
        key = _key(self._named(kind, form, name))
        with self._ledger.change(f"Remove {kind} {key}") as change:
            find_key(kind, key, [k for k, _ in change.values(kind)])  # gone meanwhile?
            change.put(kind, key, None)
            return change.number


def _key(record: Stock | Offcut | Machine | KerfRecord) -> str:
    if isinstance(record, KerfRecord):
        return str(record.number)
    return record.label if isinstance(record, Offcut) else record.name


def _as_kept(value: bytes, form: type[R]) -> bytes:
    """The text today's program would keep: notes count, 600 and 600.0 are the same."""
    return encode(msgspec.json.decode(value, type=form))


def _label(kind: str, record: R, old: R | None) -> str:
    return f"{'Add' if old is None else 'Change'} {kind} {_key(old or record)}"


def _first_entries() -> Iterator[Entry]:
    for stock in read_stock_file(resource("stock.toml")):
        yield Entry(STOCK, stock.name, encode(stock))
    machine = Machine()
    yield Entry(MACHINE, machine.name, encode(machine))
