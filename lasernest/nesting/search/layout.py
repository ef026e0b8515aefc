"""A layout the kernels work on: items, rooms, places, weights, and the memory of a separation."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

import numpy as np

from lasernest.nesting.outlines import Floats
from lasernest.nesting.search import _kernels
from lasernest.nesting.search.model import Ints, Model, SmallInts

BUCKETS_FROM = 80
"""Fewer items are looked through one by one."""

ROUGH = 1e-7
"""Overlap in shares of the largest part that counts as none while searching."""

FINE = 1e-11
"""The same for layouts that are handed out."""


class Outcome(Enum):
    """How a run of the separation ended."""

    QUOTA = 0
    APART = 1
    TIRED = 2


@dataclass(frozen=True, slots=True)
class Tuning:
    """The settings of the search; defaults were measured, see DEVELOPERS.md."""

    near_samples: int = 15
    anywhere_samples: int = 40
    spread: float = 1.0
    finest: float = 1e-7
    weight_base: float = 1.2
    weight_rise: float = 0.8
    progress_share: float = 0.98
    fineness: float = 0.1
    starts_refined: int = 3
    size_power: float = 0.75
    patience: int = 100
    strikes: int = 1
    pool_size: int = 10
    stale_failures: int = 20
    stale_times: float = 2.0
    roomier: float = 0.12
    first_step: float = 0.02
    least_step: float = 0.002
    compress_share: float = 0.2
    compress_patience: int = 100
    compress_from: float = 8e-4
    compress_to: float = 1e-5


@dataclass(frozen=True, slots=True)
class Snapshot:
    """Where everything lies: a copy that later moves leave alone."""

    places: Floats
    stance: SmallInts
    rooms: Floats


def home_rooms(places: Floats, rooms: Floats) -> Ints:
    """The room that each reference point lies in, else the nearest one."""
    x = places[:, 0:1]
    off = np.maximum(rooms[None, :, 0] - x, x - rooms[None, :, 2])
    return np.asarray(off.argmin(axis=1), dtype=np.int64)


class Layout:
    """Items in rooms, with everything the kernels need to take them apart.

    Args:
        model: outlines and no-fit regions.
        kinds: the outline of each item; the last `fixed` items never move.
        rooms: boxes for grown outlines, shape (n, 4): x0, y0, x1, y1.
        seed: of this layout's random numbers.
        sliding: of the fixed items the last ones, which keep their distance
            from the right wall of the last room when it moves.
    """

    def __init__(
        self,
        model: Model,
        kinds: Ints,
        rooms: Floats,
        *,
        seed: int,
        tuning: Tuning,
        fixed: int = 0,
        sliding: int = 0,
    ) -> None:
        count = len(kinds)
        self._sliding = sliding
        self.model, self.kinds, self.tuning = model, kinds, tuning
        self.movable = count - fixed
        self.items = np.zeros((count, 4), dtype=np.int64)
        self.items[:, 0] = model.first_stance[kinds]
        self.items[:, 1] = model.stance_count[kinds]
        self.sizes = np.ascontiguousarray(model.sizes[kinds])
        scale = np.sqrt(model.areas[kinds])
        self.scales = (scale / scale[: self.movable].mean()) ** tuning.size_power
        self.places = np.zeros((count, 6))
        self.stance = self.items[:, 0].astype(np.int32)
        self.weights = np.ones((count, count), dtype=np.float32)
        self._notes = np.zeros((count, 2), dtype=np.int64)
        self.rng = np.array([_scrambled(seed)], dtype=np.uint64)
        self.rough = ROUGH * float(self.sizes.max())
        self.fine = FINE * float(self.sizes.max())
        self._progress = np.zeros(5, dtype=np.int64)
        self._totals = np.full(3, 1e300)
        self._order = np.zeros(count, dtype=np.int64)
        pairs = min(count * (count - 1) // 2, 64 * count) + 1
        self._found = np.zeros((pairs, 2), dtype=np.int64)
        self._depths = np.zeros(pairs)
        self._best = np.zeros((tuning.starts_refined, 5))
        self._best_places = self.places.copy()
        self._best_stance = self.stance.copy()
        self._tuning = np.array(
            [
                tuning.near_samples,
                tuning.anywhere_samples,
                tuning.spread,
                tuning.finest,
                tuning.weight_base,
                tuning.weight_rise,
                tuning.progress_share,
                tuning.fineness,
            ]
        )
        self.rooms = np.array(rooms, dtype=np.float64)
        self.set_rooms(rooms)

    def set_rooms(self, rooms: Floats) -> None:
        """Give the layout other rooms; items keep their places, buckets are made anew."""
        if self._sliding:
            self.places[-self._sliding :, 0] += float(rooms[-1, 2] - self.rooms[-1, 2])
        self.rooms = np.array(rooms, dtype=np.float64)
        self.items[:, 3] = len(self.rooms)
        x0, y0 = self.rooms[:, :2].min(axis=0)
        x1, y1 = self.rooms[:, 2:].max(axis=0)
        count = len(self.kinds)
        boxes = self.model.boxes[np.unique(self._possible_stances())]
        half_x = 0.5 * float((boxes[:, 2] - boxes[:, 0]).max())
        half_y = 0.5 * float((boxes[:, 3] - boxes[:, 1]).max())
        columns = rows = 1
        if count > BUCKETS_FROM:
            side = math.sqrt(float((x1 - x0) * (y1 - y0)) / count)
            columns = max(1, min(64, int((x1 - x0) / side)))
            rows = max(1, min(64, int((y1 - y0) / side)))
        self.grid = np.array(
            [x0, y0, columns / (x1 - x0), rows / (y1 - y0), columns, rows, half_x, half_y]
        )
        self.buckets = np.zeros((columns * rows + 1, count + 1), dtype=np.int32)
        self.refresh()

    def _possible_stances(self) -> Ints:
        return np.concatenate(
            [
                np.arange(self.model.first_stance[k], self.model.first_stance[k] + n)
                for k in np.unique(self.kinds)
                for n in [self.model.stance_count[k]]
            ]
        )

    def refresh(self) -> None:
        """Make boxes and buckets agree with the places."""
        _kernels.fill_buckets(self.places, self.stance, self.buckets, self.grid, self.model.boxes)

    def home_rooms(self) -> Ints:
        """The room of each item."""
        return home_rooms(self.places, self.rooms)

    def clamp(self) -> None:
        """Bring every movable item into its room, or another one where it no longer fits."""
        rooms = self.rooms[self.home_rooms()][: self.movable]
        boxes = self.model.boxes[self.stance[: self.movable]]
        low, high = rooms[:, :2] - boxes[:, :2], rooms[:, 2:] - boxes[:, 2:]
        xy = self.places[: self.movable, :2]
        xy[:] = np.maximum(low, np.minimum(high, xy))
        misfits = np.flatnonzero((high < low - self.fine).any(axis=1))
        if len(misfits):
            self.scatter(misfits)
        self.refresh()

    def snapshot(self) -> Snapshot:
        return Snapshot(self.places.copy(), self.stance.copy(), self.rooms.copy())

    def best_snapshot(self) -> Snapshot:
        """The layout of least overlap since the last `begin`."""
        return Snapshot(self._best_places.copy(), self._best_stance.copy(), self.rooms.copy())

    @property
    def least_overlap(self) -> float:
        """The least total overlap since the last `begin`."""
        return float(self._totals[0])

    def restore(self, snapshot: Snapshot) -> None:
        """Go back to a copy, its rooms included."""
        if self.rooms.shape != snapshot.rooms.shape or (self.rooms != snapshot.rooms).any():
            self.set_rooms(snapshot.rooms)
        self.places[:] = snapshot.places
        self.stance[:] = snapshot.stance
        self.refresh()

    def begin(self, *, forget_weights: bool = True) -> None:
        """Start a new separation from the present places."""
        self._progress[[0, 1, 3, 4]] = 0
        self._totals[:2] = 1e300
        if forget_weights:
            heavy = self._notes[:, 0] > 0
            self.weights[heavy] = 1.0
            self._notes[:, 0] = 0

    @property
    def evaluations(self) -> int:
        """Places weighed so far."""
        return int(self._progress[2])

    @property
    def passes(self) -> int:
        """Passes over the overlapping items since the last `begin`."""
        return int(self._progress[3])

    def separate(self, quota: int, *, patience: int, tolerance: float | None = None) -> Outcome:
        """Go on taking items apart, for about `quota` places weighed."""
        m = self.model
        return Outcome(
            _kernels.separate(
                quota,
                self.rough if tolerance is None else tolerance,
                patience,
                self._tuning,
                self._progress,
                self._totals,
                self._order,
                self._found,
                self._depths,
                self._best,
                self.rng,
                self._best_places,
                self._best_stance,
                self.sizes,
                self.items,
                self.movable,
                self.rooms,
                self.places,
                self.stance,
                self.weights,
                self._notes,
                self.scales,
                self.buckets,
                self.grid,
                m.pairs,
                m.frames,
                m.heads,
                m.edges,
                m.cells,
                m.boxes,
            )
        )

    def settle(self, *, quota: int = 200_000) -> bool:
        """Take a nearly separated layout apart down to rounding; False if it will not."""
        coarse = self._tuning[[3, 7]]
        self._tuning[[3, 7]] = (1e-13, 0.0)
        self.begin()
        spent = self.evaluations
        outcome = Outcome.QUOTA
        while outcome is Outcome.QUOTA and self.evaluations - spent < quota:
            outcome = self.separate(20_000, patience=60, tolerance=self.fine)
        self._tuning[[3, 7]] = coarse
        return outcome is Outcome.APART

    def uniform(self) -> float:
        """The next random number in [0, 1)."""
        self.rng[0] = _kernels._next(self.rng[0])
        return float(_kernels._unit(self.rng[0]))

    def swap(self, i: int, j: int) -> None:
        """Let two items trade places."""
        self.places[[i, j], :2] = self.places[[j, i], :2]
        self.clamp()

    def used_to(self, room: int) -> float:
        """The right end of what lies in a room; its left wall if nothing does.

        Where there are sliding items the right wall counts: they stand behind it.
        """
        if self._sliding:
            return float(self.rooms[room, 2])
        inside = self.home_rooms()[: self.movable] == room
        right = self.places[: self.movable, 4][inside]
        return float(right.max()) if len(right) else float(self.rooms[room, 0])

    def scatter(self, which: Ints | None = None) -> None:
        """Lay movable items at random where they fit: all of them, or those named."""
        for i in range(self.movable) if which is None else which:
            first, count = int(self.items[i, 0]), int(self.items[i, 1])
            boxes = self.model.boxes[first : first + count]
            low = self.rooms[:, None, :2] - boxes[None, :, :2]
            high = self.rooms[:, None, 2:] - boxes[None, :, 2:]
            choices = np.argwhere((high >= low - self.fine).all(axis=2))
            if not len(choices):
                continue
            room, turn = choices[min(len(choices) - 1, int(self.uniform() * len(choices)))]
            self.stance[i] = first + turn
            for axis in (0, 1):
                span = max(0.0, high[room, turn, axis] - low[room, turn, axis])
                self.places[i, axis] = low[room, turn, axis] + self.uniform() * span
        self.refresh()


def _scrambled(seed: int) -> int:
    """A non-zero 64-bit state from a seed (the finaliser of splitmix64)."""
    mask = 2**64 - 1
    z = (seed * 0x9E3779B97F4A7C15 + 0x9E3779B97F4A7C15) & mask
    z = ((z ^ (z >> 30)) * 0xBF58476D1CE4E5B9) & mask
    z = ((z ^ (z >> 27)) * 0x94D049BB133111EB) & mask
    return (z ^ (z >> 31)) or 1


def concatenated_kinds(quantities: Sequence[int]) -> Ints:
    """The outline of each item, from the number of items of each outline."""
    return np.repeat(np.arange(len(quantities), dtype=np.int64), quantities)
