"""Exact distances from points to lines and arcs, many at a time.

Cost: one numpy pass over all pairs of a point and a segment of its contour,
about 0.1 microseconds each.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from lasernest.domain.contours import Contour
from lasernest.geometry.flatten import Points

Distances = npt.NDArray[np.float64]

PAIRS_AT_ONCE = 1_000_000


def distances_to_contours(points: Sequence[Points], contours: Sequence[Contour]) -> list[Distances]:
    """For each contour the distances of its points to its nearest line or arc.

    Args:
        points: one array of shape (n, 2) per contour, in mm; n may be zero.
        contours: closed or open.

    Returns:
        One array of n distances in mm per contour.
    """
    xyb = [np.array(contour.vertices, dtype=np.float64) for contour in contours]
    starts = [v if c.closed else v[:-1] for v, c in zip(xyb, contours, strict=True)]
    ends = [
        np.roll(v, -1, axis=0) if c.closed else v[1:] for v, c in zip(xyb, contours, strict=True)
    ]
    sizes = np.array([len(part) for part in points], dtype=np.int64)
    if not sizes.sum():
        return [np.empty(0) for _ in points]
    segments = _Segments(np.vstack(starts), np.vstack(ends))
    counts = np.array([len(s) for s in starts], dtype=np.int64)
    first = np.cumsum(counts) - counts
    owner = np.repeat(np.arange(len(points)), sizes)
    flat = np.vstack([np.reshape(part, (-1, 2)) for part in points])
    per_point = counts[owner]
    result = np.empty(len(flat))
    stops = np.searchsorted(
        np.cumsum(per_point),
        np.arange(PAIRS_AT_ONCE, per_point.sum() + PAIRS_AT_ONCE, PAIRS_AT_ONCE),
    )
    low = 0
    for high in [*stops.tolist(), len(flat)]:
        if high <= low:
            continue
        n = per_point[low:high]
        offset = np.cumsum(n) - n
        which = np.repeat(np.arange(low, high), n)
        segment = np.arange(n.sum()) - np.repeat(offset, n) + np.repeat(first[owner[low:high]], n)
        result[low:high] = np.minimum.reduceat(segments.distances(flat[which], segment), offset)
        low = high
    return np.split(result, np.cumsum(sizes)[:-1])


def distances_to_ring(points: Points, ring: Points) -> Distances:
    """Distances from points to a closed polyline of many short segments.

    Segments that follow each other lie together, so they are taken in blocks: the block
    whose box is nearest to a point gives a distance, and only blocks whose boxes are
    nearer than that are looked at too.

    Args:
        points: shape (n, 2), in mm.
        ring: corners, shape (m, 2), the first not repeated.
    """
    if not len(points):
        return np.zeros(0)
    blocks = _Blocks(ring)
    found = np.empty(len(points))
    at_once = max(1, PAIRS_AT_ONCE // max(_BLOCK, blocks.count))
    for low in range(0, len(points), at_once):
        some = points[low : low + at_once]
        to_box = blocks.distances_to_boxes(some)
        first = to_box.argmin(axis=1)
        nearest = blocks.distances(some, first)
        to_box[np.arange(len(some)), first] = np.inf
        which, other = np.nonzero(to_box < nearest[:, None])
        for start in range(0, len(which), at_once):
            own = which[start : start + at_once]
            more = blocks.distances(some[own], other[start : start + at_once])
            np.minimum.at(nearest, own, more)
        found[low : low + at_once] = nearest
    return found


_BLOCK = 16


class _Blocks:
    """The segments of a ring in blocks of `_BLOCK` that follow each other."""

    def __init__(self, ring: Points) -> None:
        # Segments without length, at its first corner, fill the last block.
        corners = np.vstack([ring, np.repeat(ring[:1], 1 + -len(ring) % _BLOCK, axis=0)])
        blocks = np.reshape(corners[:-1], (-1, _BLOCK, 2))
        ends = np.reshape(corners[1:], (-1, _BLOCK, 2))
        self.count = len(blocks)
        self._x, self._y = blocks[..., 0], blocks[..., 1]
        self._dx, self._dy = ends[..., 0] - self._x, ends[..., 1] - self._y
        square = self._dx * self._dx + self._dy * self._dy
        self._square = np.where(square > 0.0, square, 1.0)
        self._low = np.minimum(blocks.min(axis=1), ends.min(axis=1))
        self._high = np.maximum(blocks.max(axis=1), ends.max(axis=1))

    def distances_to_boxes(self, points: Points) -> Distances:
        """From each point to the box of each block, shape (points, blocks)."""
        x, y = points[:, 0, None], points[:, 1, None]
        off_x = np.maximum(np.maximum(self._low[:, 0] - x, x - self._high[:, 0]), 0.0)
        off_y = np.maximum(np.maximum(self._low[:, 1] - y, y - self._high[:, 1]), 0.0)
        found: Distances = np.hypot(off_x, off_y)
        return found

    def distances(self, points: Points, block: npt.NDArray[np.int64]) -> Distances:
        """From each point to the nearest segment of the block with its number."""
        px, py = points[:, 0, None] - self._x[block], points[:, 1, None] - self._y[block]
        dx, dy = self._dx[block], self._dy[block]
        t = np.clip((px * dx + py * dy) / self._square[block], 0.0, 1.0)
        found: Distances = np.hypot(px - t * dx, py - t * dy).min(axis=1)
        return found


class _Segments:
    """Lines and arcs as columns."""

    def __init__(self, start: Points, end: Points) -> None:
        self.x0, self.y0, bulge = start.T
        self.x1, self.y1 = end[:, 0], end[:, 1]
        self.dx, self.dy = self.x1 - self.x0, self.y1 - self.y0
        self.square = self.dx * self.dx + self.dy * self.dy
        self.is_arc = (bulge != 0.0) & (self.square > 0.0)
        b = np.where(self.is_arc, bulge, 1.0)
        k = (1.0 - b * b) / (4.0 * b)
        self.cx = 0.5 * (self.x0 + self.x1) - k * self.dy
        self.cy = 0.5 * (self.y0 + self.y1) + k * self.dx
        self.radius = np.hypot(self.x0 - self.cx, self.y0 - self.cy)
        chord = np.sqrt(np.where(self.square > 0.0, self.square, 1.0))
        # Unit direction from the centre to the arc's middle: to the right of the
        # chord for a positive bulge.
        side = np.sign(b) / chord
        self.mx, self.my = side * self.dy, -side * self.dx
        self.cos_half = np.cos(2.0 * np.arctan(np.abs(b)))

    def distances(self, points: Points, i: npt.NDArray[np.int64]) -> Distances:
        """Distance of each point to the segment with its number."""
        x, y = points.T
        px, py = x - self.x0[i], y - self.y0[i]
        square = self.square[i]
        t = (px * self.dx[i] + py * self.dy[i]) / np.where(square > 0.0, square, 1.0)
        t = np.clip(t, 0.0, 1.0)
        found = np.hypot(px - t * self.dx[i], py - t * self.dy[i])
        arcs = np.flatnonzero(self.is_arc[i])
        if arcs.size:
            j = i[arcs]
            rx, ry = x[arcs] - self.cx[j], y[arcs] - self.cy[j]
            away = np.hypot(rx, ry)
            within = rx * self.mx[j] + ry * self.my[j] >= away * self.cos_half[j]
            to_ends = np.minimum(
                np.hypot(px[arcs], py[arcs]),
                np.hypot(x[arcs] - self.x1[j], y[arcs] - self.y1[j]),
            )
            found[arcs] = np.where(within, np.abs(away - self.radius[j]), to_ends)
        result: Distances = found
        return result
