"""Short routes through points: nearest neighbour first, then 2-opt until nothing helps.

The route starts at a fixed place and may end anywhere. Same points, same
route. Cost: about a second for 2 000 points; the 2-opt rounds are bounded.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from lasernest.domain.contours import Point

MOST_ROUNDS = 30
"""2-opt settles within a few rounds; this only bounds the time."""


def short_route(points: Sequence[Point], start: Point) -> list[int]:
    """The numbers of the points in the order of a short walk from the start."""
    if len(points) < 2:
        return list(range(len(points)))
    xy = np.array(points, dtype=np.float64)
    order = _nearest_first(xy, np.array(start))
    return [int(i) for i in _without_crossings(xy, np.array(start), order)]


def _nearest_first(
    xy: npt.NDArray[np.float64], start: npt.NDArray[np.float64]
) -> npt.NDArray[np.int64]:
    left = np.ones(len(xy), dtype=bool)
    order = np.empty(len(xy), dtype=np.int64)
    here = start
    for i in range(len(xy)):
        distance = np.hypot(xy[:, 0] - here[0], xy[:, 1] - here[1])
        distance[~left] = np.inf
        order[i] = np.argmin(distance)
        left[order[i]] = False
        here = xy[order[i]]
    return order


def _without_crossings(
    xy: npt.NDArray[np.float64], start: npt.NDArray[np.float64], order: npt.NDArray[np.int64]
) -> npt.NDArray[np.int64]:
    """2-opt on an open walk: turn stretches round as long as that makes it shorter."""
    walk = np.vstack([start, xy[order]])
    numbers = np.concatenate([[-1], order])
    count = len(walk)
    for _ in range(MOST_ROUNDS):
        better = False
        for i in range(1, count - 1):
            # Turning i..j round replaces the moves into i and out of j.
            ends = walk[i + 1 :]
            gain = np.hypot(*(walk[i] - walk[i - 1])) - np.hypot(*(ends - walk[i - 1]).T)
            gain[:-1] += np.hypot(*(ends[1:] - ends[:-1]).T) - np.hypot(*(ends[1:] - walk[i]).T)
            j = int(np.argmax(gain))
            if gain[j] > 1e-9:
                stretch = slice(i, i + j + 2)
                walk[stretch] = walk[stretch][::-1].copy()
                numbers[stretch] = numbers[stretch][::-1].copy()
                better = True
        if not better:
            break
    return numbers[1:]
