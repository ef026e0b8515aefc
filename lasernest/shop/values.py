"""How records of the shop book are written, found by name and put in order."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable
from pathlib import Path
from typing import TypeVar

import msgspec

from lasernest.errors import NotFoundError, UnreadableFileError, Where

T = TypeVar("T")

STOCK, OFFCUT, MACHINE, RECORD, BOOKING = "stock", "offcut", "machine", "record", "booking"
LINE_USES = "line uses"
RATES = "rates"
"""The kinds of record in a shop book."""


def find_key(kind: str, name: str, keys: Iterable[str]) -> str:
    """The key that a person means by this name.

    Raises:
        NotFoundError: none; keys that come close are told.
    """
    by_name = {_plain(key): key for key in keys}
    found = by_name.get(_plain(name))
    if found is not None:
        return found
    close = difflib.get_close_matches(_plain(name), by_name, n=3, cutoff=0.5)
    if close:
        todo = f"Did you mean {' or '.join(by_name[k] for k in close)}?"
    elif by_name:
        todo = f"It lists: {', '.join(sorted(by_name.values(), key=natural_key))}."
    else:
        todo = f"It lists no {kind} yet."
    raise NotFoundError(f"the shop book has no {kind} called '{name}'", todo=todo)


def natural_key(name: str) -> list[tuple[int, float, str]]:
    """Sorts names as a person does: words by letter, numbers by size."""
    parts = re.split(r"(\d+(?:\.\d+)?)", name.casefold())
    return [(0, float(p), "") if i % 2 else (1, 0.0, p) for i, p in enumerate(parts)]


def mend_the_book(path: Path) -> str:
    """What to do about a shop book that is damaged."""
    return (
        f"Put a copy of the book back into {path.parent}, or move the damaged file away to "
        "start a new one."
    )


def encode(value: object) -> bytes:
    """A domain value as JSON."""
    return msgspec.json.encode(value)


def decode(value: bytes, form: type[T], path: Path) -> T:
    """The domain value in a JSON text.

    Raises:
        UnreadableFileError: the text does not hold one.
    """
    try:
        return msgspec.json.decode(value, type=form)
    except msgspec.DecodeError as error:
        raise UnreadableFileError(
            f"a {form.__name__.lower()} in the shop book cannot be read: {error}",
            where=Where(file=path),
            todo=mend_the_book(path),
        ) from error


def _plain(name: str) -> str:
    return " ".join(name.casefold().split())


def same_name(a: str, b: str) -> bool:
    """True when a person would take both for one name."""
    return _plain(a) == _plain(b)


def next_label(used: Iterable[str]) -> str:
    """The next of A01 ... A99, B01 ... Z99, AA01 ...: short to write, never used before."""
    numbers = [-1]
    for label in used:
        match = re.fullmatch(r"([A-Z]+)(\d\d)", label)
        if match and match[2] != "00":
            letters = 0
            for letter in match[1]:
                letters = 26 * letters + ord(letter) - ord("A") + 1
            numbers.append((letters - 1) * 99 + int(match[2]) - 1)
    letters, number = divmod(max(numbers) + 1, 99)
    head = ""
    while letters >= 0:
        head = chr(ord("A") + letters % 26) + head
        letters = letters // 26 - 1
    return f"{head}{number + 1:02d}"
