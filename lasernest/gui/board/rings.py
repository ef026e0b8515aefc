"""Findings' rings that would cover each other, gathered into the gravest of them."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from PySide6.QtCore import QPointF

ROOM_PX = (46.0, 26.0)
"""Rings nearer to each other across and down are gathered: their numbers could not be read."""
_REACH_PX = 12.0


@dataclass(slots=True)
class Ring:
    """A ring on the screen that stands for a finding and those it hides."""

    at: QPointF
    number: int
    hidden: int = 0

    @property
    def label(self) -> str:
        """The number, and how many more there are at the place."""
        return f"{self.number} +{self.hidden}" if self.hidden else str(self.number)

    def is_under(self, at: QPointF) -> bool:
        """True where a point of the screen is on the ring."""
        return math.hypot(self.at.x() - at.x(), self.at.y() - at.y()) <= _REACH_PX

    def covers(self, at: QPointF) -> bool:
        """True where another ring would be too near."""
        return abs(self.at.x() - at.x()) < ROOM_PX[0] and abs(self.at.y() - at.y()) < ROOM_PX[1]


def gathered(spots: Iterable[tuple[QPointF, int]], *, chosen: int = 0) -> list[Ring]:
    """Rings apart from each other.

    Args:
        spots: places on the screen, with the findings' numbers; low ones are grave.
        chosen: the finding whose ring is shown whatever is near.
    """
    cells: dict[tuple[int, int], list[Ring]] = {}
    shown: list[Ring] = []
    for at, number in sorted(spots, key=lambda spot: (spot[1] != chosen, spot[1])):
        column, row = int(at.x() // ROOM_PX[0]), int(at.y() // ROOM_PX[1])
        around = (
            ring
            for i in (column - 1, column, column + 1)
            for j in (row - 1, row, row + 1)
            for ring in cells.get((i, j), ())
        )
        covering = next((ring for ring in around if ring.covers(at)), None)
        if covering is not None:
            covering.hidden += 1
            continue
        ring = Ring(at, number)
        shown.append(ring)
        cells.setdefault((column, row), []).append(ring)
    return shown
