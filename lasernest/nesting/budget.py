"""How long nesting may search: by the clock, or by counted work that repeats exactly."""

from __future__ import annotations

import math
import time
from dataclasses import dataclass

from lasernest.errors import BadValueError


@dataclass(frozen=True, slots=True)
class Budget:
    """Limits of a search; the first one reached ends it.

    A budget by `work` alone gives the same plan for the same seed on any
    machine of the same kind of processor; a budget by seconds does not.
    Without either limit the search runs until it is stopped.
    """

    seconds: float | None = None
    work: int | None = None
    """Positions of panels that may be weighed (a few million a second and core)."""

    def __post_init__(self) -> None:
        if self.seconds is not None and not (math.isfinite(self.seconds) and self.seconds >= 0):
            raise BadValueError(
                f"a search of {self.seconds:g} s cannot be", todo="Give zero or more seconds."
            )
        if self.work is not None and self.work < 0:
            raise BadValueError(
                f"a search of {self.work} positions cannot be", todo="Give zero or more."
            )


class Stopped(Exception):  # noqa: N818 (not an error)
    """Stop was pressed in the middle of work that is worth nothing unfinished."""


class Clock:
    """Seconds since a search began."""

    def __init__(self) -> None:
        self._start = time.perf_counter()

    @property
    def seconds(self) -> float:
        return time.perf_counter() - self._start
