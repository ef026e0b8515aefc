"""Runs cooperating streams, on threads or elsewhere, until the budget is used.

The streams share what they find at fixed points, counted in places weighed,
so a budget by work gives the same result on one thread and on two.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Executor, ThreadPoolExecutor, wait
from contextlib import contextmanager
from dataclasses import dataclass

from lasernest.domain.control import Control
from lasernest.nesting.budget import Budget, Clock
from lasernest.nesting.search.stream import Feasible, Stream

STREAMS = 2
"""How many lines of search run side by side; more only when there are more workers."""

ROUND = 150_000
"""Places a stream weighs between two exchanges: about a twentieth of a second."""

FAR_ROUND = 2_000_000
"""The same where streams are sent away and back: about half a second."""


@dataclass(frozen=True, slots=True)
class Slice:
    """What a stream may do until the next exchange; can be sent to another process."""

    quota: int
    used_s: float
    """Of the budget, when the slice began."""
    seconds: float | None
    work: int | None
    """Of one stream."""

    def run(
        self, stream: Stream, stopped: Callable[[], bool] = lambda: False
    ) -> tuple[Stream, bool]:
        """Search on; returns the stream, and whether its budget is used."""
        began = time.perf_counter()

        def used() -> float:
            share = 1.0 if stream.finished else 0.0
            if self.seconds is not None:
                now_s = self.used_s + time.perf_counter() - began
                share = max(share, now_s / max(1e-9, self.seconds))
            if self.work is not None:
                share = max(share, stream.evaluations / self.work)
            return share

        quota = self.quota
        if self.work is not None:
            quota = min(quota, self.work - stream.evaluations)
        stream.run(quota, share=used, stopped=lambda: stopped() or used() >= 1.0)
        return stream, used() >= 1.0


def drive(
    streams: Sequence[Stream],
    *,
    budget: Budget,
    clock: Clock,
    control: Control,
    workers: int = 1,
    executor: Executor | None = None,
    on_better: Callable[[Feasible, int], object],
) -> int:
    """Search until the budget is used or the maker stops it.

    Args:
        streams: lines of search over the same job.
        budget: seconds count from the start of `clock`.
        clock: started when the whole job began.
        control: its `stopped` is looked at every few milliseconds.
        workers: threads; more than there are streams are not used.
        executor: runs the streams instead of threads of our own. Unless it is a
            pool of threads they are sent there and back, so processes and
            clusters will do; exchanges are rarer then.
        on_better: called with each better layout and the places weighed so far.

    Returns:
        Places weighed.
    """
    streams = list(streams)
    work = None if budget.work is None else max(1, budget.work // len(streams))
    began_s = clock.seconds
    seconds = None if budget.seconds is None else budget.seconds - began_s
    far = executor is not None and not isinstance(executor, ThreadPoolExecutor)
    running = [not stream.finished for stream in streams]
    best = min((s.best for s in streams if s.best is not None), key=_rank, default=None)
    control.check()
    with _pool(workers, executor) as pool:
        # Looked at between rounds only: which stream ends first must not depend on threads.
        while not control.stopped and all(not s.finished for s in streams) and any(running):
            control.check()
            used_s = clock.seconds - began_s
            if seconds is not None and used_s >= seconds:
                break
            part = Slice(FAR_ROUND if far else ROUND, used_s, seconds, work)
            which = [k for k, runs in enumerate(running) if runs]
            ended = _run_all(part, [streams[k] for k in which], control, pool, far=far)
            if ended is None:
                break
            for k, (stream, is_over) in zip(which, ended, strict=True):
                streams[k], running[k] = stream, not is_over
            weighed = sum(s.evaluations for s in streams)
            best = _exchange(streams, best, lambda found, n=weighed: on_better(found, n))  # type: ignore[misc]
            _report(control, clock.seconds - began_s, seconds, weighed, budget.work)
    return sum(s.evaluations for s in streams)


def _run_all(
    part: Slice,
    streams: Sequence[Stream],
    control: Control,
    pool: Executor | None,
    *,
    far: bool,
) -> list[tuple[Stream, bool]] | None:
    """Run a slice of each stream; None when the maker stopped while they were away."""
    if pool is None:
        return [part.run(stream, lambda: control.stopped) for stream in streams]
    if not far:
        return list(pool.map(lambda stream: part.run(stream, lambda: control.stopped), streams))
    futures = [pool.submit(Slice.run, part, stream) for stream in streams]
    while wait(futures, timeout=0.02).not_done:
        if control.stopped:
            for future in futures:
                future.cancel()
            return None
    return [future.result() for future in futures]


def _report(
    control: Control, used_s: float, seconds: float | None, weighed: int, work: int | None
) -> None:
    share = 0.0
    if seconds is not None:
        share = used_s / max(1e-9, seconds)
    if work is not None:
        share = max(share, weighed / max(1, work))
    control.report(min(1.0, share), 1.0, "Improving the plan")


def _exchange(
    streams: Sequence[Stream], best: Feasible | None, on_better: Callable[[Feasible], object]
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
def _pool(workers: int, executor: Executor | None) -> Iterator[Executor | None]:
    """Where streams run: the caller's executor, which stays open; threads of our own; or here."""
    if executor is not None:
        yield executor
    elif workers <= 1:
        yield None
    else:
        with ThreadPoolExecutor(workers) as threads:
            yield threads
