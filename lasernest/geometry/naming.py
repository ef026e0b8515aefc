"""Names of panels: after their file, block or layer, or numbered in reading order."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from lasernest.domain.contours import Bounds, Contour
from lasernest.geometry.extents import Numbers, measured

_NO_NAMES = frozenset(("", "0", "defpoints", "layer 1", "layer_1", "layer1", "svg"))
"""What drawing programs call a layer that nobody named."""


@dataclass(frozen=True, slots=True)
class PanelNames:
    """A name and a place in reading order for each outer contour, as they were given."""

    names: tuple[str, ...]
    order: tuple[int, ...]


def panel_names(
    stem: str,
    outers: Sequence[Contour],
    blocks: Sequence[str | None],
    layers: Sequence[str | None],
) -> PanelNames:
    """Name the panels of one drawing.

    One panel is named after the file. Several get the name of their block,
    else of their layer, where only one of them has it; the others are STEM-1,
    STEM-2 and so on in reading order: top row first, left to right.

    Args:
        stem: name of the file without its ending.
        outers: outer contours.
        blocks: for each, the block all its lines came from, or None.
        layers: for each, the layer all its lines are on, or None.
    """
    ranks = reading_order(measured(outers).boxes_mm)
    if len(outers) == 1:
        return PanelNames((stem,), (0,))
    names: list[str | None] = [None] * len(outers)
    taken: set[str] = set()
    for labels in (blocks, layers):
        tally = Counter(label.strip().lower() for label in labels if label is not None)
        for i, label in enumerate(labels):
            if names[i] is not None or label is None:
                continue
            key = label.strip().lower()
            if tally[key] == 1 and key not in _NO_NAMES and key not in taken:
                names[i] = label.strip()
                taken.add(key)
    number = 0
    for i in sorted(range(len(outers)), key=ranks.__getitem__):
        if names[i] is None:
            number += 1
            while f"{stem}-{number}".lower() in taken:
                number += 1
            names[i] = f"{stem}-{number}"
    return PanelNames(tuple(name or stem for name in names), tuple(ranks))


def reading_order(boxes: Sequence[Bounds] | Numbers) -> list[int]:
    """The rank of each box as one reads a page: rows from the top, each left to right.

    A box belongs to the row of the highest box left when its middle is above
    that box's lower edge.
    """
    table = np.array(boxes, dtype=np.float64).reshape(-1, 4)
    middles = 0.5 * (table[:, 1] + table[:, 3])
    left = np.lexsort((table[:, 0], -table[:, 3]))
    ranks = [0] * len(boxes)
    rank = 0
    while len(left):
        in_row = middles[left] > table[left[0], 1]
        in_row[0] = True
        row, left = left[in_row], left[~in_row]
        for i in row[np.lexsort((-table[row, 3], table[row, 0]))].tolist():
            ranks[i] = rank
            rank += 1
    return ranks
