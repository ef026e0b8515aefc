"""Tangles: areas of a net whose lines cross or touch where not all of them end.

A frame with both diagonals drawn is four triangles, but its lines have no end in the
middle, so walking from end to end gives areas that run over themselves. The lines are
cut where they meet, and the net is taken apart again.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

import numpy as np
import shapely

from lasernest.domain.contours import Point, Segment
from lasernest.geometry.chaining import SAME_PLACE_MM, Chain
from lasernest.geometry.flatten import ring_polygons
from lasernest.geometry.mending import drawn_lines, share_at
from lasernest.geometry.overrun import crossings

_CHORD_MM = 0.005

Cuts = dict[int, set[tuple[float, Point]]]
"""By segment: shares of its length, each with the point that lies there."""


def cuts_of_tangles(rings: Sequence[Chain], segments: Sequence[Segment]) -> Cuts:
    """Where lines of a net meet each other and make its areas run over themselves.

    Args:
        rings: as chained; members are numbers of segments.
        segments: what was chained.

    Returns:
        Nothing for a single contour that crosses itself: that is the maker's to mend.
    """
    times = Counter(member for ring in rings for member in ring.members)
    shared = [ring for ring in rings if any(times[m] > 1 for m in ring.members)]
    if not shared:
        return {}
    sound = shapely.is_valid(ring_polygons([r.path for r in shared], chord_error_mm=_CHORD_MM))
    if sound.all():
        return {}
    tangled = [ring for ring, fine in zip(shared, sound.tolist(), strict=True) if not fine]
    numbers = sorted({m for ring in tangled for m in ring.members})
    lines = drawn_lines([segments[m] for m in numbers])
    left, right = shapely.STRtree(lines).query(lines, predicate="dwithin", distance=_CHORD_MM)
    ahead = np.flatnonzero(left < right)
    cuts: Cuts = {}
    for i, j in zip(left[ahead].tolist(), right[ahead].tolist(), strict=True):
        a, b = numbers[i], numbers[j]
        for point in crossings(segments[a], segments[b]):
            for number in (a, b):
                share = _share_within(segments[number], point)
                if share is not None:
                    cuts.setdefault(number, set()).add((share, point))
    return cuts


def _share_within(segment: Segment, point: Point) -> float | None:
    """Where along a segment a point on it lies; None at its ends and beyond."""
    share, apart_mm = share_at(segment, *point)
    slack = SAME_PLACE_MM / segment.length_mm
    return share if slack < share < 1.0 - slack and apart_mm <= SAME_PLACE_MM else None
