"""Boxes, lengths and areas of many contours in one pass, arcs included exactly.

The closed forms are those of `Contour`; one pass over all is some twenty times as
fast as asking each for itself.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import chain
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from lasernest.domain.contours import Bounds, Contour

Numbers = npt.NDArray[np.float64]


class Measures(NamedTuple):
    """Of n contours: boxes x0, y0, x1, y1 (n, 4), lengths (n,), signed areas (n,)."""

    boxes_mm: Numbers
    lengths_mm: Numbers
    areas_mm2: Numbers


def vertex_table(contours: Sequence[Contour]) -> tuple[Numbers, npt.NDArray[np.int64]]:
    """Rows x, y, bulge of all vertices one after the other, and how many each contour has."""
    counts = np.array([len(contour.vertices) for contour in contours], dtype=np.int64)
    numbers = chain.from_iterable(chain.from_iterable(c.vertices for c in contours))
    table = np.fromiter(numbers, dtype=np.float64, count=3 * int(counts.sum()))
    return table.reshape(-1, 3), counts


def extent_mm(contours: Sequence[Contour]) -> Bounds | None:
    """The box around contours, None for none."""
    if not contours:
        return None
    boxes = measured(contours).boxes_mm
    x0, y0 = boxes[:, :2].min(axis=0).tolist()
    x1, y1 = boxes[:, 2:].max(axis=0).tolist()
    return (x0, y0, x1, y1)


def measured(contours: Sequence[Contour]) -> Measures:
    """Measure contours; there must be one at least."""
    table, counts = vertex_table(contours)
    x, y, bulge = table.T
    ends = np.cumsum(counts)
    firsts = ends - counts
    owner = np.repeat(np.arange(len(counts)), counts)
    after = np.arange(1, len(x) + 1)
    after[ends - 1] = firsts
    is_open = np.array([not contour.closed for contour in contours])
    nowhere = (ends - 1)[is_open]
    after[nowhere] = nowhere
    dx, dy = x[after] - x, y[after] - y
    ox, oy = x - x[firsts][owner], y - y[firsts][owner]
    lengths = np.hypot(dx, dy)
    areas = 0.5 * (ox * dy - oy * dx)
    boxes = np.column_stack(
        [
            np.minimum.reduceat(x, firsts),
            np.minimum.reduceat(y, firsts),
            np.maximum.reduceat(x, firsts),
            np.maximum.reduceat(y, firsts),
        ]
    )
    arcs = np.flatnonzero((bulge != 0.0) & (lengths > 0.0))
    if len(arcs):
        _add_arcs((x[arcs], y[arcs], dx[arcs], dy[arcs], bulge[arcs]), owner[arcs], boxes)
        b, chord = bulge[arcs], lengths[arcs]
        radius, sweep = chord * (1.0 + b * b) / (4.0 * np.abs(b)), 4.0 * np.arctan(b)
        lengths[arcs] = radius * np.abs(sweep)
        # The angle less its sine cancels for flat arcs; its series does not.
        more = np.where(np.abs(b) < 1e-3, sweep**3 / 6.0 - sweep**5 / 120.0, sweep - np.sin(sweep))
        areas[arcs] += 0.5 * radius * radius * more
    return Measures(boxes, np.add.reduceat(lengths, firsts), np.add.reduceat(areas, firsts))


def _add_arcs(arcs: tuple[Numbers, ...], owner: npt.NDArray[np.int64], boxes: Numbers) -> None:
    """Widen boxes by the four extreme points of circles, where the arcs reach them."""
    x, y, dx, dy, b = arcs
    rise = (1.0 - b * b) / (4.0 * b)
    cx, cy = x + 0.5 * dx - rise * dy, y + 0.5 * dy + rise * dx
    radius = np.hypot(dx, dy) * (1.0 + b * b) / (4.0 * np.abs(b))
    extremes = ((cx - radius, cy), (cx, cy - radius), (cx + radius, cy), (cx, cy + radius))
    for side, point in enumerate(extremes):
        # An arc with a positive bulge lies to the right of its chord.
        reached = (dx * (point[1] - y) - dy * (point[0] - x)) * b <= 0.0
        widen = np.minimum if side < 2 else np.maximum
        widen.at(boxes[:, side], owner[reached], point[side % 2][reached])
