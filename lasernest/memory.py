"""How often Python looks for rings of objects that nobody holds any more.

A drawing is hundreds of thousands of small objects. With Python's own setting they
are all looked through again and again while they are made: bringing in 4.8 MB took
6.1 s instead of 4.3, and each look stopped every thread, the window's too, for up to
0.23 s (measured by `tests/benchmarks/bench_window.py`, two cores).
"""

from __future__ import annotations

import gc

_NEW_OBJECTS, _YOUNG_ROUNDS, _MIDDLE_ROUNDS = 20_000, 10, 25


def look_for_rings_seldom() -> None:
    """For programs of ours, at their start; a library would not do this to its host."""
    gc.set_threshold(_NEW_OBJECTS, _YOUNG_ROUNDS, _MIDDLE_ROUNDS)
