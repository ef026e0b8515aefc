"""Taking values from a table into the shop book: what is new, changed or there already."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from pathlib import Path

from lasernest.domain.offcuts import Offcut
from lasernest.domain.records import KerfRecord
from lasernest.domain.stock import Machine, Stock
from lasernest.shop.booking import put_offcut
from lasernest.shop.ledger import Transaction
from lasernest.shop.values import OFFCUT, RECORD, STOCK, decode, encode, find_key, same_name


@dataclass(frozen=True, slots=True)
class TakenIn:
    """What a table brought."""

    kind: str
    added: int
    changed: int
    same: int
    change_number: int
    """For undo."""


def take_in(
    change: Transaction,
    kind: str,
    values: Iterable[Stock | Offcut | Machine | KerfRecord],
    path: Path,
) -> TakenIn:
    """Add and change what a table holds; what it does not name stays as it is.

    A kerf record is never changed by a table: one that is here already, under
    whatever number, is passed over, any other is added under the next number.

    Raises:
        NotFoundError: a stock that is not in the book.
    """
    counts = {True: 0, False: 0, None: 0}
    for value in values:
        if isinstance(value, KerfRecord):
            counts[_record(change, value, path)] += 1
        else:
            counts[_named(change, kind, value, path)] += 1
    return TakenIn(kind, counts[True], counts[False], counts[None], change.number)


def put_record(change: Transaction, record: KerfRecord) -> KerfRecord:
    """Keep a record under the next number.

    Raises:
        NotFoundError: its stock is not in the book.
    """
    name = find_key(STOCK, record.stock_name, [key for key, _ in change.values(STOCK)])
    number = 1 + max((int(key) for key in change.keys_ever(RECORD)), default=0)
    record = replace(record, number=number, stock_name=name)
    change.put(RECORD, str(number), encode(record))
    return record


def _record(change: Transaction, record: KerfRecord, path: Path) -> bool | None:
    """True when it was added, None when it was there."""
    stock_keys = [key for key, _ in change.values(STOCK)]
    wanted = replace(record, number=0, stock_name=find_key(STOCK, record.stock_name, stock_keys))
    there = (decode(value, KerfRecord, path) for _, value in change.values(RECORD))
    if any(encode(replace(r, number=0)) == encode(wanted) for r in there):
        return None
    put_record(change, record)
    return True


def _named(
    change: Transaction, kind: str, value: Stock | Offcut | Machine, path: Path
) -> bool | None:
    """True when it was added, False when changed, None when it was there just so."""
    key = value.label if isinstance(value, Offcut) else value.name
    before = next(((k, v) for k, v in change.values(kind) if same_name(k, key)), None)
    if isinstance(value, Offcut) and (before is None or not key.strip()):
        put_offcut(change, value)
        return True
    if before is not None:
        if encode(decode(before[1], type(value), path)) == encode(value):
            return None
        if before[0] != key:
            change.put(kind, before[0], None)
    if kind == OFFCUT and isinstance(value, Offcut):
        stock_keys = [k for k, _ in change.values(STOCK)]
        value = replace(value, stock_name=find_key(STOCK, value.stock_name, stock_keys))
    change.put(kind, key, encode(value))
    return before is None
