"""Rows of a CSV table: read with the line and column named in every error.

Tables with commas and decimal points are written; semicolons or tabs and
decimal commas are read as well.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from enum import Enum
from pathlib import Path
from typing import TypeVar

from lasernest.errors import BadValueError, LasernestError, UnreadableFileError, Where
from lasernest.units import parse_length_mm

E = TypeVar("E", bound=Enum)
G = TypeVar("G")
V = TypeVar("V")
Cells = Mapping[str, object]
"""What a row is written from, by column."""

_YES, _NO = ("yes", "true", "1", "x"), ("no", "false", "0", "")


@dataclass(frozen=True, slots=True)
class Row:
    """One line of a table; an empty cell is as good as a missing one."""

    cells: Mapping[str, str]
    file: Path
    line: int

    def text(self, column: str, default: str = "") -> str:
        return self.cells.get(column, "").strip() or default

    def must(self, column: str) -> str:
        """The text of a cell that must not be empty."""
        found = self.text(column)
        if not found:
            raise self.error(f"the column {column} is empty", "Fill it in.")
        return found

    def length_mm(self, column: str) -> float | None:
        """A length; None when the cell is empty."""
        found = self.text(column)
        if not found:
            return None
        try:
            return parse_length_mm(found)
        except BadValueError as error:
            raise self.error(f"column {column}: {error.what}", error.todo) from error

    def number(self, column: str) -> float | None:
        """A plain number; None when the cell is empty."""
        found = self.text(column)
        if not found:
            return None
        try:
            return float(found.replace(",", "."))
        except ValueError:
            raise self.error(f"column {column}: '{found}' is not a number") from None

    def whole(self, column: str) -> int | None:
        """A whole number; None when the cell is empty."""
        found = self.number(column)
        if found is None:
            return None
        if not found.is_integer():
            raise self.error(f"column {column}: {found:g} is not a whole number")
        return int(found)

    def flag(self, column: str, default: bool = False) -> bool:
        """A yes or no."""
        found = self.text(column).lower()
        if column not in self.cells:
            return default
        if found not in (*_YES, *_NO):
            raise self.error(f"column {column}: '{found}' is neither yes nor no")
        return found in _YES

    def day(self, column: str) -> date:
        """A date as 2026-11-25."""
        found = self.must(column)
        try:
            return date.fromisoformat(found)
        except ValueError:
            raise self.error(
                f"column {column}: '{found}' is not a date", "Write it like 2026-11-25."
            ) from None

    def choice(self, column: str, choices: type[E]) -> E:
        """One of the values of an enumeration."""
        found = self.must(column).lower()
        for choice in choices:
            if choice.value == found:
                return choice
        listed = ", ".join(str(choice.value) for choice in choices)
        raise self.error(f"column {column}: '{found}' is not known", f"Use one of {listed}.")

    def error(
        self, what: str, todo: str = "Correct the table and try again."
    ) -> UnreadableFileError:
        return UnreadableFileError(what, where=Where(file=self.file, line=self.line), todo=todo)


def read_rows(path: Path) -> list[Row]:
    """The rows of a table.

    Raises:
        UnreadableFileError: no such file, or not a table with a header.
    """
    try:
        text = path.read_text("utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        raise UnreadableFileError(
            f"the table cannot be read: {error}", where=Where(file=path), todo="Save it as UTF-8."
        ) from error
    header = text.partition("\n")[0]
    reader = csv.reader(io.StringIO(text), delimiter=max(",;\t", key=header.count), strict=True)
    rows: list[Row] = []
    names: list[str] | None = None
    try:
        for cells in reader:
            if names is None:
                names = [name.strip().lower() for name in cells]
            elif any(cells):
                rows.append(Row(dict(zip(names, cells, strict=False)), path, reader.line_num))
    except csv.Error as error:
        raise UnreadableFileError(
            f"this is not a table: {error}",
            where=Where(file=path, line=reader.line_num),
            todo="Save it as CSV.",
        ) from error
    if not rows:
        raise UnreadableFileError(
            "there is no row in this table", where=Where(file=path), todo="Give it a header too."
        )
    return rows


def write_rows(columns: Sequence[str], rows: Iterable[Cells]) -> bytes:
    """A table; None is an empty cell, True and False are yes and no."""
    text = io.StringIO(newline="")
    writer = csv.DictWriter(text, columns, lineterminator="\n")
    writer.writeheader()
    for row in rows:
        writer.writerow({column: _cell(row.get(column)) for column in columns})
    return text.getvalue().encode()


def _cell(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return repr(value)
    return str(value)


def made(make: Callable[[G], V], given: G, row: Row) -> V:
    """What `make` makes of cells; when they cannot be, the error names their line."""
    try:
        return make(given)
    except UnreadableFileError:
        raise
    except LasernestError as error:
        raise row.error(error.what, error.todo) from error


def needed_mm(row: Row, column: str) -> float:
    """A length whose cell must not be empty."""
    row.must(column)
    found = row.length_mm(column)
    assert found is not None
    return found


def either(found: float | None, usual: float) -> float:
    """The number found, or the usual one where the cell was empty."""
    return usual if found is None else found
