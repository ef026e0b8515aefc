"""A text as a square code that a telephone reads.

Source: ISO/IEC 18004 (QR code), by the library segno.
"""

from __future__ import annotations

from collections.abc import Iterator

import segno

QUIET_CELLS = 4
"""Kept white on every side (ISO/IEC 18004, 7.3.7)."""


def code_rows(words: str) -> list[list[bool]]:
    """Rows of cells from the top, True for black, without the quiet zone."""
    code = segno.make(words, error="m", micro=False)
    return [[bool(cell) for cell in row] for row in code.matrix]


def runs(row: list[bool]) -> Iterator[tuple[int, int]]:
    """First cell and number of cells of each black run."""
    start: int | None = None
    for i, black in enumerate([*row, False]):
        if black and start is None:
            start = i
        elif not black and start is not None:
            yield start, i - start
            start = None
