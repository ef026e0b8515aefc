"""Runs two cooperating streams, on one thread or two, until the budget is used.

The streams share what they find at fixed points, counted in places weighed,
so a budget by work gives the same result on one thread and on two.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Executor, ThreadPoolExecutor
from contextlib import contextmanager

from lasernest.domain.control import Control
from lasernest.nesting.budget import Budget, Clock
from lasernest.nesting.search.stream import Feasible, Stream

STREAMS = 2
"""How many lines of search run side by side, whatever the number of workers."""

ROUND = 150_000
"""Places a stream weighs between two exchanges: about a twentieth of a second."""


def drive(
    streams: Sequence[Stream],
    *,
    budget: Budget,
    clock: Clock,
    control: Control,
    workers: int = 1,
    executor: Executor | None = None,
    on_better: Callable[[Feasible, int], None],
) -> int:
    """Search until the budget is used or the maker stops it.

    Args:
        streams: lines of search over the same job.
        budget: seconds count from the start of `clock`.
        clock: started when the whole job began.
        control: its `stopped` is looked at every few milliseconds.
        workers: threads; more than there are streams are not used.
        executor: runs the streams instead of threads of our own. It must share
            memory with us (a pool of threads).
        on_better: called with each better layout and the places weighed so far.

    Returns:
        Places weighed.
    """
    share_of_work = None if budget.work is None else max(1, budget.work // len(streams))
    began = clock.seconds

    def used(stream: Stream) -> float:
        share = 1.0 if any(s.finished for s in streams) else 0.0
        if budget.seconds is not None:
            share = max(share, (clock.seconds - began) / max(1e-9, budget.seconds - began))
        if share_of_work is not None:
            share = max(share, stream.evaluations / share_of_work)
        return share

    def run(stream: Stream) -> None:
        quota = ROUND
        if share_of_work is not None:
            quota = min(quota, share_of_work - stream.evaluations)
        stream.run(
            quota,
            share=lambda: used(stream),
            stopped=lambda: control.stopped or used(stream) >= 1.0,
        )

    best = min((s.best for s in streams if s.best is not None), key=_rank, default=None)
    control.check()
    with _mapping(workers, executor) as run_all:
        while not control.stopped and min(map(used, streams)) < 1.0:
            control.check()
            run_all(run, [s for s in streams if used(s) < 1.0])
            weighed = sum(s.evaluations for s in streams)
            best = _exchange(streams, best, lambda found, n=weighed: on_better(found, n))  # type: ignore[misc]
            control.report(min(1.0, max(used(s) for s in streams)), 1.0, "improving the plan")
    return sum(s.evaluations for s in streams)


def _exchange(
    streams: Sequence[Stream], best: Feasible | None, on_better: Callable[[Feasible], None]
) -> Feasible | None:
    """Report the best layout if it is new, and hand it to streams that lag behind."""
    found = min((s.best for s in streams if s.best is not None), key=_rank, default=None)
    if found is None or (best is not None and found.rank >= best.rank):
        return best
    on_better(found)
    for stream in streams:
        if stream.best is not found:
            stream.adopt(found)
    return found


def _rank(feasible: Feasible) -> tuple[int, float]:
    return feasible.rank


@contextmanager
def _mapping(
    workers: int, executor: Executor | None
) -> Iterator[Callable[[Callable[[Stream], None], Sequence[Stream]], None]]:
    """A way to call a function for each stream: one after the other, or side by side."""

    def in_turn(function: Callable[[Stream], None], streams: Sequence[Stream]) -> None:
        for stream in streams:
            function(stream)

    if executor is None and workers <= 1:
        yield in_turn
        return
    with ThreadPoolExecutor(min(workers, STREAMS)) if executor is None else _lent(executor) as pool:

        def side_by_side(function: Callable[[Stream], None], streams: Sequence[Stream]) -> None:
            for _ in pool.map(function, streams):
                pass

        yield side_by_side


@contextmanager
def _lent(executor: Executor) -> Iterator[Executor]:
    """An executor of the caller's, which stays open."""
    yield executor
