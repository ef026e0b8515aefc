"""Pictures of the window as coarse grids of brightness, held against stored ones.

A cell is the mean brightness of a patch of about 27 by 27 pixels. Another font
changes cells where there is text, and few of them by much; a page that stays
blank, a card that moves or a panel that lies elsewhere changes more. The stored
grids are text, two hexadecimal digits for a cell, so that a change can be
looked at in a diff.

    LASERNEST_PIXELS=write pytest tests/gui/test_pixels.py

writes them anew; look at the window before keeping them.
"""

from __future__ import annotations

import os
from pathlib import Path

import numpy as np
import numpy.typing as npt
from PySide6.QtCore import QRect, Qt
from PySide6.QtGui import QImage

COLUMNS, ROWS = 48, 30
LET_PASS = 7
"""A cell that differs from the stored one by no more, of 255, is the same."""
FOLDER = Path(__file__).parent / "pixels"

Grid = npt.NDArray[np.int16]


def grid_of(image: QImage) -> Grid:
    """The brightness of a picture, shape (30, 48), 0 black to 255 white."""
    small = image.convertToFormat(QImage.Format.Format_Grayscale8).scaled(
        COLUMNS * 8,
        ROWS * 8,
        Qt.AspectRatioMode.IgnoreAspectRatio,
        Qt.TransformationMode.SmoothTransformation,
    )
    flat = np.frombuffer(small.constBits(), np.uint8).reshape(small.height(), -1)
    cells = flat[:, : COLUMNS * 8].reshape(ROWS, 8, COLUMNS, 8).mean(axis=(1, 3))
    return cells.astype(np.int16)


def cells_of(rect: QRect, window: QRect) -> tuple[slice, slice]:
    """The cells that lie wholly in a part of the window: rows, columns."""
    x, y = window.width() / COLUMNS, window.height() / ROWS
    return (
        slice(int(np.ceil(rect.top() / y)), int(rect.bottom() / y)),
        slice(int(np.ceil(rect.left() / x)), int(rect.right() / x)),
    )


def share_changed(one: Grid, other: Grid, part: tuple[slice, slice]) -> float:
    """Share of the cells of a part that are not the same."""
    return float((np.abs(one[part] - other[part]) > LET_PASS).mean())


def stored(name: str, now: Grid) -> Grid:
    """The stored grid of a page; written first when the environment asks for it."""
    path = FOLDER / f"{name}.txt"
    if os.environ.get("LASERNEST_PIXELS") == "write":
        FOLDER.mkdir(exist_ok=True)
        lines = [" ".join(f"{cell:02x}" for cell in row) for row in now]
        path.write_text("\n".join(lines) + "\n", encoding="ascii")
    lines = path.read_text(encoding="ascii").splitlines()
    return np.array([[int(cell, 16) for cell in line.split()] for line in lines], np.int16)
