"""Many items in one room: the search goes from window to window, a part of the items at a time.

Over hundreds of items at once a search is slow, and a length is reached only
when all of them are apart at the same moment. A *window* is a stretch of the
room: what lies in it moves, what lies around it is its wall, and all that lies
right of it slides to the left as the stretch gets shorter. Among several rooms
this was tried and won nothing: giving up the last one needs a little of each.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace

import numpy as np

from lasernest.domain.control import Control, Stretch
from lasernest.nesting.budget import Budget, Clock
from lasernest.nesting.outlines import Floats
from lasernest.nesting.search.driver import drive
from lasernest.nesting.search.layout import Layout, Snapshot
from lasernest.nesting.search.model import Ints
from lasernest.nesting.search.repeats import Chain, chain_of
from lasernest.nesting.search.stream import Feasible, Stream

MANY = 150
"""Of more items the search takes windows."""

WINDOW = 60
"""Items in a stretch, about."""

SWEEPS = 2
"""How often the budget lasts to go over everything."""

WITHOUT_END = 200_000
"""Places weighed per item of a window where the budget has no end."""

CHAIN_SHARE = 0.3
"""Of the budget, for the piece that is repeated."""

ROUNDING = 1e-12
"""Of a room's length."""


def shorten(
    streams: Sequence[Stream],
    *,
    budget: Budget,
    clock: Clock,
    control: Control,
    workers: int = 1,
    executor: Executor | None = None,
    on_better: Callable[[Feasible, int], object],
    seed: int = 1,
) -> int:
    """`drive`, and where there are many items window by window; arguments as there.

    Args:
        seed: of the windows.

    Returns:
        Places weighed.
    """
    layout, best = streams[0].layout, streams[0].best
    one_room = len(layout.rooms) == 1 and layout.movable == len(layout.kinds)
    if not one_room or layout.movable <= MANY or best is None:
        return drive(
            streams,
            budget=budget,
            clock=clock,
            control=control,
            workers=workers,
            executor=executor,
            on_better=on_better,
        )
    purse = _Purse(budget, clock)
    sweep = _Sweep(layout, best, seed, len(streams))

    def search(part: Window | Chain, share: float) -> None:
        before = purse.spent

        def better(found: Feasible, weighed: int) -> None:
            if sweep.take(part.whole(found)):
                on_better(sweep.best, before + weighed)

        lines = part.streams(sweep.next_seed(), len(streams))
        ends = purse.part(share, WITHOUT_END * lines[0].layout.movable)
        purse.spent += drive(
            lines,
            budget=ends,
            clock=clock,
            control=Stretch(control, begin=purse.share, share=share * (1.0 - purse.share)),
            workers=workers,
            executor=executor,
            on_better=better,
        )

    chain = chain_of(layout)
    if chain is not None:
        search(chain, CHAIN_SHARE)
    for window, share in sweep.windows():
        if control.stopped or purse.empty or streams[0].is_least(sweep.best):
            break
        search(window, share)
    return purse.spent


class _Purse:
    """What is left of a budget."""

    def __init__(self, budget: Budget, clock: Clock) -> None:
        self._budget, self._clock, self._from_s = budget, clock, clock.seconds
        self.spent = 0

    @property
    def share(self) -> float:
        """How much is used, 0 to 1."""
        seconds, work = self._budget.seconds, self._budget.work
        used = 0.0
        if seconds is not None:
            used = (self._clock.seconds - self._from_s) / max(1e-9, seconds - self._from_s)
        if work is not None:
            used = max(used, self.spent / max(1, work))
        return min(1.0, used)

    @property
    def empty(self) -> bool:
        return self.share >= 1.0

    def part(self, share: float, without_end: int) -> Budget:
        """A share of what is left; so much work where there is no end."""
        seconds, work = self._budget.seconds, self._budget.work
        if seconds is None and work is None:
            return Budget(work=without_end)
        now_s = self._clock.seconds
        return Budget(
            None if seconds is None else now_s + share * max(0.0, seconds - now_s),
            None if work is None else math.ceil(share * max(0, work - self.spent)),
        )


@dataclass(frozen=True, slots=True)
class Window:
    """Some items of a layout that move while the others lie still."""

    base: Feasible
    layout: Layout
    """Of all items; its places do not matter."""
    movable: Ints
    still: Ints
    """Neighbours that stay where they are,"""
    sliding: Ints
    """and neighbours that move with the right wall."""
    beyond: Ints
    """All items that lie right of the stretch, `sliding` among them."""
    rooms: Floats
    """The stretch, as the only one."""
    shortest: float

    def streams(self, seed: int, count: int) -> list[Stream]:
        """Lines of search over the window alone, in one descent: it was searched before."""
        tuning = replace(self.layout.tuning, stale_times=math.inf)
        items = np.concatenate([self.movable, self.still, self.sliding])
        fixed = len(self.still) + len(self.sliding)
        found = []
        for k in range(count):
            layout = Layout(
                self.layout.model,
                self.layout.kinds[items],
                self.rooms,
                seed=count * seed + k,
                tuning=tuning,
                fixed=fixed,
                sliding=len(self.sliding),
            )
            layout.places[:, :2] = self.base.snapshot.places[items, :2]
            layout.stance[:] = self.base.snapshot.stance[items]
            layout.refresh()
            found.append(Stream(layout, shortest=self.shortest))
            length = layout.used_to(0) - float(self.rooms[0, 0])
            found[-1].adopt(Feasible(layout.snapshot(), length))
        return found

    def whole(self, found: Feasible) -> Snapshot:
        """The whole layout with what was found in the window."""
        places = self.base.snapshot.places.copy()
        stance = self.base.snapshot.stance.copy()
        rooms = self.base.snapshot.rooms.copy()
        count = len(self.movable)
        places[self.movable] = found.snapshot.places[:count]
        stance[self.movable] = found.snapshot.stance[:count]
        slide = float(self.rooms[0, 2] - found.snapshot.rooms[0, 2])
        places[self.beyond, 0] -= slide
        rooms[0, 2] -= slide
        return Snapshot(places, stance, rooms)


class _Sweep:
    """Windows over a layout, again and again; `best` is the whole as it is by now."""

    def __init__(self, layout: Layout, best: Feasible, seed: int, count: int) -> None:
        self._layout, self.best, self._seed = layout, best, seed
        boxes = layout.model.boxes[layout.stance[: layout.movable]]
        self._widest = float((boxes[:, 2] - boxes[:, 0]).max())

    def next_seed(self) -> int:
        self._seed += 7919
        return self._seed

    def take(self, snapshot: Snapshot) -> bool:
        """Keep a layout if it is better and nothing overlaps."""
        layout = self._layout
        layout.restore(snapshot)
        if not layout.settle():
            return False
        length = layout.used_to(0) - float(layout.rooms[0, 0])
        found = Feasible(layout.snapshot(), length)
        if found.rank >= self.best.rank:
            return False
        self.best = found
        return True

    def windows(self) -> Iterator[tuple[Window, float]]:
        """Without end: windows, and the share of what is left of the budget for each."""
        sweeps = SWEEPS
        while True:
            yield from self._once(sweeps)
            sweeps = max(1, sweeps - 1)

    def _once(self, sweeps: int) -> Iterator[tuple[Window, float]]:
        """From left to right, each window half over the one before."""
        x0 = float(self.best.snapshot.rooms[0, 0])
        width = max(4.0 * self._widest, self.best.length * WINDOW / self._layout.movable)
        forth = 0.5 * width
        count = math.ceil(self.best.length / forth)
        left = x0 - self._layout.uniform() * forth
        while left + forth < x0 + self.best.length:
            rest = math.ceil((x0 + self.best.length - left) / forth) - 1
            window = self._stretch(left, left + width)
            if len(window.movable) > 1:
                yield window, 1.0 / (rest + count * (sweeps - 1))
            left += forth

    def _stretch(self, left: float, right: float) -> Window:
        snapshot = self.best.snapshot
        x0, y0, _, y1 = (float(value) for value in snapshot.rooms[0])
        left, right = max(left, x0), min(right, x0 + self.best.length)
        low, high = snapshot.places[:, 2], snapshot.places[:, 4]
        # What touches a wall of the room may lie outside it by a rounding.
        slack = ROUNDING * self.best.length
        inside = (low >= left - slack) & (high <= right + slack)
        before = ~inside & (low + high < left + right)
        beyond = ~inside & ~before
        # So far apart are the boxes of both sides: nearer they must not come.
        room = float(low[beyond].min(initial=right) - high[before].max(initial=left))
        return Window(
            self.best,
            self._layout,
            np.flatnonzero(inside),
            np.flatnonzero(before & (high > left)),
            np.flatnonzero(beyond & (low < right)),
            np.flatnonzero(beyond),
            np.array([[left, y0, right, y1]]),
            right - left - max(0.0, room),
        )
