"""Booking a cut: sheets off the count, offcuts off and onto the shelf, panels into history.

Works within one change of the ledger, so a booking is made or taken back as a
whole. Taking back adds and removes the same numbers instead of restoring old
values: other bookings made meanwhile stay right.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from lasernest.domain.bookings import Booking, SheetUse
from lasernest.domain.offcuts import Offcut
from lasernest.domain.stock import SheetSize, Stock
from lasernest.errors import BadValueError, ChangedMeanwhileError, NotFoundError
from lasernest.shop.ledger import Transaction
from lasernest.shop.values import (
    BOOKING,
    OFFCUT,
    STOCK,
    decode,
    encode,
    find_key,
    next_label,
    same_name,
)

SAME_SIZE_MM = 0.5
"""Sheets whose sides differ by less are of one size."""


def put_offcut(change: Transaction, offcut: Offcut) -> Offcut:
    """Put an offcut on the shelf; without a label it gets the next free one.

    Raises:
        NotFoundError: its stock is not in the book.
        ChangedMeanwhileError: the label is taken.
    """
    stock_key = find_key(STOCK, offcut.stock_name, [key for key, _ in change.values(STOCK)])
    label = offcut.label.strip() or next_label(change.keys_ever(OFFCUT))
    if any(same_name(label, key) for key, _ in change.values(OFFCUT)):
        raise ChangedMeanwhileError(
            f"there is an offcut labelled {label} already", todo="Choose another label."
        )
    offcut = replace(offcut, label=label, stock_name=stock_key)
    change.put(OFFCUT, label, encode(offcut))
    return offcut


def book(change: Transaction, booking: Booking, path: Path) -> Booking:
    """Take what a cut used and keep what it left.

    Args:
        change: to write to.
        booking: offcuts kept need no label.
        path: of the book, for errors.

    Returns:
        The booking with its number and the labels of the offcuts kept.

    Raises:
        NotFoundError: a stock, a size or an offcut is not in the book.
        BadValueError: fewer sheets are counted than are to be taken.
    """
    for use in booking.sheets:
        _count(change, use, -use.count, path)
    shelf = [key for key, _ in change.values(OFFCUT)]
    used = []
    for offcut in booking.offcuts_used:
        key = find_key(OFFCUT, offcut.label, shelf)
        value = change.value(OFFCUT, key)
        if value is not None:
            used.append(decode(value, Offcut, path))
        change.put(OFFCUT, key, None)
    kept = tuple(
        put_offcut(change, replace(offcut, cut_from=offcut.cut_from or booking.job))
        for offcut in booking.offcuts_kept
    )
    number = 1 + max((int(key) for key in change.keys_ever(BOOKING)), default=0)
    booking = replace(booking, offcuts_used=tuple(used), offcuts_kept=kept, number=number)
    change.put(BOOKING, str(number), encode(booking))
    return booking


def take_back(change: Transaction, number: int, path: Path) -> Booking:
    """Undo a booking, whatever was booked since.

    Raises:
        NotFoundError: there is no such booking.
        ChangedMeanwhileError: an offcut it put on the shelf was used or changed since.
    """
    value = change.value(BOOKING, str(number))
    if value is None:
        raise NotFoundError(f"there is no booking number {number} in the shop book")
    booking = decode(value, Booking, path)
    for kept in booking.offcuts_kept:
        there = change.value(OFFCUT, kept.label)
        if there is None or decode(there, Offcut, path) != kept:
            raise ChangedMeanwhileError(
                f"the offcut {kept.label} that booking {number} put on the shelf was used or "
                "changed since",
                todo="Take back the booking that used it first.",
            )
        change.put(OFFCUT, kept.label, None)
    for used in booking.offcuts_used:
        put_offcut(change, used)
    for use in booking.sheets:
        _count(change, use, use.count, path)
    change.put(BOOKING, str(number), None)
    return booking


def _count(change: Transaction, use: SheetUse, by: int, path: Path) -> None:
    """Add to the count of one size of a stock, where the shop counts it."""
    key = find_key(STOCK, use.stock_name, [key for key, _ in change.values(STOCK)])
    value = change.value(STOCK, key)
    assert value is not None  # find_key found it in the same change
    stock = decode(value, Stock, path)
    place = _size_of(stock, use)
    size = stock.sizes[place]
    if size.count is None:
        return
    if size.count + by < 0:
        raise BadValueError(
            f"there are {size.count} sheets of {stock.name}, {size}, and the cut takes {use.count}",
            todo="Correct the count, or book in the sheets that came.",
        )
    sizes = list(stock.sizes)
    sizes[place] = replace(size, count=size.count + by)
    change.put(STOCK, key, encode(replace(stock, sizes=tuple(sizes))))


def _size_of(stock: Stock, use: SheetUse) -> int:
    def off(size: SheetSize) -> float:
        return max(abs(size.width_mm - use.width_mm), abs(size.height_mm - use.height_mm))

    place = min(range(len(stock.sizes)), key=lambda i: off(stock.sizes[i]))
    if off(stock.sizes[place]) > SAME_SIZE_MM:
        raise NotFoundError(
            f"{stock.name} has no sheets of {use.width_mm:g} x {use.height_mm:g} mm",
            todo=f"It comes in {', '.join(str(size) for size in stock.sizes)}.",
        )
    return place
