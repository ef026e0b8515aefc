"""What is common to what a maker enters of the shop: stocks, offcuts, machines."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Wrong:
    """What stands against an entry: the field, and a sentence for the maker."""

    field: str
    sentence: str


def in_one_line(text: str) -> str:
    """A name as it is kept: single spaces, none around it."""
    return " ".join(text.split())


def same_words(a: str, b: str) -> bool:
    """Whether two names are one to a reader, however they are spaced and capitalised."""
    return a.casefold().split() == b.casefold().split()


def taken(wanted: str, names: Iterable[str]) -> str | None:
    """The name among these that a reader would take for the wanted one."""
    return next((name for name in names if same_words(name, wanted)), None)
