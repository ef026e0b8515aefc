"""Many copies of the same: one piece with some of each kind is laid well, then repeated.

The piece holds an equal share of all items, so that its layout, set down
again and again along the room, is a layout of nearly all of them. What is
left over is laid by boxes behind it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from lasernest.nesting.outlines import Floats
from lasernest.nesting.search.layout import Layout, Snapshot, concatenated_kinds
from lasernest.nesting.search.model import Ints, SmallInts
from lasernest.nesting.search.start import lay_boxes
from lasernest.nesting.search.stream import Feasible, Stream

PIECE = 50
"""Items in a piece, about."""

MOST_LEFT = 0.15
"""Of all area, what may be left over."""


@dataclass(frozen=True, slots=True)
class Chain:
    """A piece, and how often it is repeated."""

    layout: Layout
    """Of all items, in a single room; its places do not matter."""
    piece: Ints
    """Copies of each outline in the piece."""
    times: int

    def streams(self, seed: int, count: int) -> list[Stream]:
        """Lines of search for the piece."""
        found = []
        whole = self.layout
        kinds = concatenated_kinds(self.piece.tolist())
        x0, y0, _, y1 = (float(value) for value in whole.rooms[0])
        rooms = np.array([[x0, y0, x0 + float(whole.model.sizes[kinds].sum()) * 1.01, y1]])
        for k in range(count):
            layout = Layout(whole.model, kinds, rooms, seed=count * seed + k, tuning=whole.tuning)
            start = lay_boxes(layout, rooms)
            assert start is not None  # the room is as long as all of them in a row
            least = float(whole.model.net_areas[kinds].sum()) / (y1 - y0)
            found.append(Stream(layout, shortest=least))
            found[-1].adopt(start)
        return found

    def whole(self, found: Feasible) -> Snapshot:
        """The layout of all items."""
        whole = self.layout
        places, stance = whole.places.copy(), whole.stance.copy()
        end = float(whole.rooms[0, 0])
        alike = [np.flatnonzero(whole.kinds == kind) for kind in range(len(self.piece))]
        for k in range(self.times):
            taken = np.concatenate(
                [some[k * n : (k + 1) * n] for some, n in zip(alike, self.piece, strict=True)]
            )
            places[taken] = found.snapshot.places
            places[taken, 0] += end - float(whole.rooms[0, 0])
            stance[taken] = found.snapshot.stance
            end += found.length
        rest = np.concatenate(
            [some[self.times * n :] for some, n in zip(alike, self.piece, strict=True)]
        )
        if len(rest):
            end = self._lay_rest(rest, end, places, stance)
        rooms = whole.rooms.copy()
        rooms[0, 2] = end
        return Snapshot(places, stance, rooms)

    def _lay_rest(self, rest: Ints, end: float, places: Floats, stance: SmallInts) -> float:
        """Lay what is left over from `end` on; returns where that ends."""
        whole = self.layout
        y0, y1 = float(whole.rooms[0, 1]), float(whole.rooms[0, 3])
        kinds = whole.kinds[rest]
        rooms = np.array([[end, y0, end + float(whole.model.sizes[kinds].sum()) * 1.01, y1]])
        layout = Layout(whole.model, kinds, rooms, seed=0, tuning=whole.tuning)
        laid = lay_boxes(layout, rooms)
        assert laid is not None  # the room is as long as all of them in a row
        places[rest] = laid.snapshot.places
        stance[rest] = laid.snapshot.stance
        return end + laid.length


def chain_of(layout: Layout) -> Chain | None:
    """The piece to repeat along the only room, or None where too much would be left over."""
    copies = np.bincount(layout.kinds, minlength=len(layout.model.net_areas))
    areas = layout.model.net_areas
    total = float((copies * areas).sum())
    few, many = layout.movable / (1.5 * PIECE), layout.movable / (0.6 * PIECE)
    best: tuple[float, float, int] | None = None
    for times in range(max(2, math.ceil(few)), int(many) + 1):
        left = float((copies % times * areas).sum()) / total
        size = abs(math.log(layout.movable / (times * PIECE)))
        if left <= MOST_LEFT and (best is None or (round(left, 9), size) < best[:2]):
            best = (round(left, 9), size, times)
    if best is None:
        return None
    times = best[2]
    return Chain(layout, copies // times, times)
