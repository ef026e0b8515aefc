"""One line of search: shorten the last room, take the items apart, learn from failures.

*Exploring*: after each success the room gets shorter by a step; after a
failure the layout goes to a pool, one is drawn from it, two large items trade
places and the same length is tried again. What trades in the pool can reach is
found soon, most of all of few items. So a *descent* that has failed for twice as
long as it took to get where it is ends, and the next one begins with all items
thrown into a longer room. *Compressing*: always from the best layout, with steps
so small that only little must move.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from lasernest.nesting.outlines import Floats
from lasernest.nesting.search.layout import Layout, Outcome, Snapshot, Tuning

CHUNK = 10_000
"""Places weighed between two looks at the stop flag: under 10 ms."""


START_COST = 50
"""Work counted for each new start, so that a search without overlaps comes to an end too."""

BOLD_FILL = 0.82
"""The last room is given up at once if the others would then be filled no more than this."""


@dataclass(frozen=True, slots=True)
class Feasible:
    """A separated layout and how far right it reaches in its last room."""

    snapshot: Snapshot
    length: float

    @property
    def rank(self) -> tuple[int, float]:
        """Fewer rooms first, then the shorter last one."""
        return (len(self.snapshot.rooms), self.length)


@dataclass(slots=True)
class _Descent:
    """From a rough layout to shorter and shorter ones, until nothing helps any more."""

    began: int = 0
    """Places weighed by then;"""
    won: int = 0
    """and by its last success."""
    failures: int = 0
    """Since that success."""
    held: Feasible | None = None
    """Its shortest layout, which it goes on from."""

    def hold(self, found: Feasible, evaluations: int) -> None:
        """Note a success."""
        self.held, self.won, self.failures = found, evaluations, 0

    @property
    def took(self) -> int:
        """What its last success cost."""
        return max(1, self.won - self.began)


class Stream:
    """A search that can be run in slices; `best` is always a separated layout or None.

    Args:
        layout: holds the items; its last room is the one that gets shorter, and
            is given up when it gets too short for any item.
        shortest: a single room is never made shorter than this.
        first_only: finished as soon as all items are apart; nothing gets shorter.
    """

    def __init__(self, layout: Layout, *, shortest: float = 0.0, first_only: bool = False) -> None:
        self.layout, self._first_only = layout, first_only
        self.tuning: Tuning = layout.tuning
        self.best: Feasible | None = None
        self._descent = _Descent()
        self._widest_room = layout.rooms[:1].copy()
        self._step = self.tuning.first_step
        self._strikes = 0
        self._pool: list[tuple[float, Snapshot]] = []
        self._compressing = False
        self._bold = True
        self._starts = 0
        self.finished = False
        """True when there is nothing left to do: the last room cannot get any shorter."""
        boxes = layout.model.boxes
        widths = [
            min(boxes[v, 2] - boxes[v, 0] for v in range(first, first + count))
            for first, count in layout.items[: layout.movable, :2]
        ]
        self._narrowest = float(min(widths))
        self._least = max(shortest, float(max(widths)))
        self._area = float(layout.model.net_areas[layout.kinds[: layout.movable]].sum())
        self.layout.begin()

    @property
    def evaluations(self) -> int:
        """Work done: places weighed, and a little for every new start."""
        return self.layout.evaluations + START_COST * self._starts

    def length(self) -> float:
        return float(self.layout.rooms[-1, 2] - self.layout.rooms[-1, 0])

    def is_least(self, feasible: Feasible) -> bool:
        """Whether a layout cannot get any shorter."""
        alone = len(feasible.snapshot.rooms) == 1
        return alone and feasible.length <= self._least * (1.0 + 1e-9)

    def adopt(self, feasible: Feasible) -> None:
        """Take over a better layout of another stream and go on from there."""
        self.best = feasible
        self._descent.hold(feasible, self.evaluations)
        self._pool.clear()
        if not self._compressing:
            self._shorten_from(feasible, self._step)

    def run(self, quota: int, *, share: Callable[[], float], stopped: Callable[[], bool]) -> None:
        """Search on for about `quota` places weighed.

        Args:
            quota: places to weigh.
            share: how much of the whole budget is used, 0 to 1.
            stopped: asked every few milliseconds.
        """
        until = self.evaluations + quota
        while self.evaluations < until and not (self.finished or stopped()):
            used = share()
            compress = self.best is not None and used >= 1.0 - self.tuning.compress_share
            if compress and not self._compressing:
                self._compressing = True
                self._begin_compression(used)
            patience = self.tuning.compress_patience if self._compressing else self.tuning.patience
            outcome = self.layout.separate(
                min(CHUNK, max(1, until - self.evaluations)), patience=patience
            )
            if outcome is Outcome.APART:
                self._succeed(used)
            elif outcome is Outcome.TIRED:
                self._fail(used)

    def _succeed(self, used: float) -> None:
        passes = self.layout.passes
        self._starts += 1
        if not self.layout.settle():
            self._fail(used)
            return
        room = len(self.layout.rooms) - 1
        length = self.layout.used_to(room) - float(self.layout.rooms[room, 0])
        found = Feasible(self.layout.snapshot(), length)
        held = self._descent.held
        if held is None or found.rank < held.rank:
            if held is not None and found.rank[0] < held.rank[0]:
                self._bold = True
            held = found
            self._descent.hold(found, self.evaluations)
        if self.best is None or found.rank < self.best.rank:
            self.best = found
        if self._first_only:
            self.finished = True
            return
        self.finished = self.finished or self.is_least(self.best)
        self._strikes = 0
        self._pool.clear()
        if self._compressing:
            self._begin_compression(used)
        else:
            if passes > 40:
                self._step = max(self.tuning.least_step, 0.5 * self._step)
            self._shorten_from(held, self._step)

    def _fail(self, used: float) -> None:
        self._starts += 1
        if self._compressing:
            self._begin_compression(used)
            return
        held = self._descent.held
        if held is not None and (self._bold or self._step > self.tuning.least_step):
            if not self._bold:
                self._step = max(self.tuning.least_step, 0.5 * self._step)
            self._bold = False
            self._shorten_from(held, self._step)
            return
        self._strikes += 1
        if self._strikes < self.tuning.strikes:
            self.layout.restore(self.layout.best_snapshot())
            self.layout.begin()
            return
        self._strikes = 0
        self._descent.failures += 1
        if self._is_stale(used):
            self._begin_anew()
            return
        self._pool.append((self.layout.least_overlap, self.layout.best_snapshot()))
        self._pool.sort(key=lambda entry: entry[0])
        del self._pool[self.tuning.pool_size :]
        # Nearer to separated is likelier: half a bell curve over the pool.
        bell = math.sqrt(-2.0 * math.log(1.0 - self.layout.uniform())) * math.cos(
            2.0 * math.pi * self.layout.uniform()
        )
        index = min(len(self._pool) - 1, int(abs(bell) * 0.35 * len(self._pool)))
        self.layout.restore(self._pool[index][1])
        self._swap_large()
        self.layout.begin()

    def _is_stale(self, used: float) -> bool:
        """Whether a new descent is worth more than going on with this one.

        With several rooms never: they begin with plans that took no search to come to.
        """
        descent, tuning = self._descent, self.tuning
        if self.best is None or self._first_only or descent.failures < tuning.stale_failures:
            return False
        if len(self.best.snapshot.rooms) > 1:
            return False
        if self.evaluations - descent.won < tuning.stale_times * descent.took:
            return False
        # Not so late that the next one could not come as far.
        exploring = 1.0 - tuning.compress_share
        return used <= 0.0 or self.evaluations * (exploring / used - 1.0) >= descent.took

    def _begin_anew(self) -> None:
        """Throw all items into a somewhat longer room than that of the best layout."""
        assert self.best is not None
        layout, room = self.layout, self._widest_room.copy()
        length = (1.0 + self.tuning.roomier) * self.best.length
        room[0, 2] = min(room[0, 2], room[0, 0] + length)
        layout.set_rooms(room)
        layout.scatter()
        layout.begin()
        self._descent = _Descent(self.evaluations, self.evaluations)
        self._pool.clear()
        self._step, self._bold = self.tuning.first_step, False

    def _swap_large(self) -> None:
        """Let two large items of different kind trade places."""
        layout = self.layout
        areas = layout.model.areas[layout.kinds[: layout.movable]]
        by_size = np.argsort(-areas, kind="stable")
        half = np.searchsorted(np.cumsum(areas[by_size]), 0.75 * areas.sum()) + 1
        large = by_size[: max(2, int(half))]
        for _ in range(20):
            i = int(large[min(len(large) - 1, int(layout.uniform() * len(large)))])
            j = int(large[min(len(large) - 1, int(layout.uniform() * len(large)))])
            if layout.kinds[i] != layout.kinds[j]:
                layout.swap(i, j)
                return

    def _shorten_from(self, feasible: Feasible, step: float) -> None:
        """Make the last room shorter by a share of all rooms, or give it up."""
        layout = self.layout
        layout.restore(feasible.snapshot)
        widths = layout.rooms[:, 2] - layout.rooms[:, 0]
        total = float(widths[:-1].sum()) + feasible.length
        length = feasible.length - step * total
        if len(widths) > 1:
            heights = layout.rooms[:-1, 3] - layout.rooms[:-1, 1]
            room_left = float((widths[:-1] * heights).sum()) - self._area
            if room_left <= 0.0:
                self._bold = False
            elif self._bold and self._area <= BOLD_FILL * (room_left + self._area):
                length = 0.0
            else:
                self._bold = False
        else:
            self._bold = False
        self._set_length(length)
        layout.clamp()
        layout.begin()

    def _set_length(self, length: float) -> None:
        layout = self.layout
        rooms: Floats = layout.rooms.copy()
        if len(rooms) > 1 and length < self._narrowest:
            homeless = np.flatnonzero(layout.home_rooms()[: layout.movable] == len(rooms) - 1)
            layout.set_rooms(rooms[:-1])
            layout.scatter(homeless)
            return
        least = self._least if len(rooms) == 1 else self._narrowest
        rooms[-1, 2] = rooms[-1, 0] + max(least, length)
        layout.set_rooms(rooms)

    def _begin_compression(self, used: float) -> None:
        """From the best layout, push what lies right of a random line to the left a little."""
        assert self.best is not None
        layout, tuning = self.layout, self.tuning
        layout.restore(self.best.snapshot)
        late = min(1.0, max(0.0, (used - 1.0 + tuning.compress_share) / tuning.compress_share))
        step = tuning.compress_from * (tuning.compress_to / tuning.compress_from) ** late
        push = step * self.best.length
        left = float(layout.rooms[-1, 0])
        line = left + layout.uniform() * self.best.length
        self._set_length(self.best.length - push)
        right = layout.places[: layout.movable, 0] > line
        layout.places[: layout.movable, 0][right] -= push
        layout.clamp()
        layout.begin()
