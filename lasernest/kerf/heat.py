"""Cuts in an order that spreads the heat: each one far from those just made.

Acrylic bows and its edges soften when neighbouring cuts follow each other. The
next cut is the nearest allowed one that keeps `COOL_MM` from the last few, or the
farthest where none does; allowed is what holds nothing that is still to be cut,
so that holes still come before what holds them.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from lasernest.domain.contours import Point

COOLING_CUTS = 3
"""How many of the last cuts are kept away from. Common practice, no source."""
COOL_MM = 50.0
"""Distance to the last cut that is far enough; half of it to the one before, and so on.
Common practice, no source."""


def spread_order(
    middles: Sequence[Point], after: Sequence[Sequence[int]], start: Point
) -> list[int]:
    """The numbers of the cuts in the order of work.

    Args:
        middles: the middle of each cut.
        after: for each cut the numbers of the cuts that must come before it.
        start: where the head comes from.
    """
    xy = np.array(middles, dtype=np.float64).reshape(-1, 2)
    waiting = np.array([len(set(before)) for before in after], dtype=np.int64)
    followers: list[list[int]] = [[] for _ in middles]
    for i, before in enumerate(after):
        for j in set(before):
            followers[j].append(i)
    done = np.zeros(len(xy), dtype=bool)
    order: list[int] = []
    while len(order) < len(xy):
        allowed = np.flatnonzero(~done & (waiting == 0))
        if order:
            # A cut cools while others are made: the older ones count for less.
            ages = range(1, min(COOLING_CUTS, len(order)) + 1)
            heat = [age * np.hypot(*(xy[allowed] - xy[order[-age]]).T) for age in ages]
            coolness = np.min(heat, axis=0)
            cool = coolness >= COOL_MM
            if cool.any():
                # Far enough is far enough: the nearest of these keeps the way short.
                chosen = int(allowed[np.argmin(np.where(cool, heat[0], np.inf))])
            else:
                chosen = int(allowed[np.argmax(coolness)])
        else:
            chosen = int(allowed[np.argmin(np.hypot(*(xy[allowed] - np.array(start)).T))])
        order.append(chosen)
        done[chosen] = True
        for i in followers[chosen]:
            waiting[i] -= 1
    return order
