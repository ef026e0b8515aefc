"""Compiled inner loops of no-fit regions: convolution of outlines, and cell lists."""

from __future__ import annotations

import math

import numpy as np
from numba import njit

TIE_RAD = 1e-7
"""Parallel edges of two outlines are told apart by turning one by this much."""

CENTRE_X = 0.5317
CENTRE_Y = 0.4739
"""Off-centre reference point of a cell: never on the edges of tidy drawings."""


@njit(cache=True, nogil=True, error_model="numpy")
def _within_turn(direction, before, turn):
    """Whether a direction is passed over when a walker turns from `before` by `turn`."""
    if turn > 0.0:
        return (direction - before) % (2.0 * math.pi) < turn
    return (before - direction) % (2.0 * math.pi) < -turn


@njit(cache=True, nogil=True, error_model="numpy")
def _directions(ring, shift):
    n = ring.shape[0]
    out = np.empty(n)
    for i in range(n):
        j = i + 1 if i + 1 < n else 0
        out[i] = math.atan2(ring[j, 1] - ring[i, 1], ring[j, 0] - ring[i, 0]) + shift
    return out


@njit(cache=True, nogil=True, error_model="numpy")
def _turns(directions):
    n = directions.shape[0]
    out = np.empty(n)
    for i in range(n):
        turn = (directions[i] - directions[i - 1]) % (2.0 * math.pi)
        out[i] = turn if turn <= math.pi else turn - 2.0 * math.pi
    return out


@njit(cache=True, nogil=True, error_model="numpy")
def convolve(a, b):
    """The convolution of two closed rings as closed loops.

    A walker goes round both rings at once, keeping the same direction on
    each; at a hollow corner it walks the other ring backwards. The winding
    number of the loops is positive inside the Minkowski sum.

    Args:
        a, b: anticlockwise rings, shape (n, 2), without repeated points or
            straight corners; may touch themselves (bridges to holes).

    Returns:
        points, shape (k, 2), and the start of each loop with k at the end.
    """
    n, m = a.shape[0], b.shape[0]
    da, db = _directions(a, 0.0), _directions(b, TIE_RAD)
    ta, tb = _turns(da), _turns(db)
    size = n * m
    counts = np.zeros(size + 1, dtype=np.int64)
    for fill in range(2):
        if fill == 1:
            total = 0
            for s in range(size + 1):
                here = counts[s]
                counts[s] = total
                total += here
            targets = np.empty(total, dtype=np.int64)
            slots = counts.copy()
        for i in range(n):
            i1 = i + 1 if i + 1 < n else 0
            for j in range(m):
                j1 = j + 1 if j + 1 < m else 0
                if _within_turn(da[i], db[j - 1], tb[j]):
                    s, t = i * m + j, i1 * m + j
                    if tb[j] < 0.0:
                        s, t = t, s
                    if fill == 0:
                        counts[s] += 1
                    else:
                        targets[slots[s]] = t
                        slots[s] += 1
                if _within_turn(db[j], da[i - 1], ta[i]):
                    s, t = i * m + j, i * m + j1
                    if ta[i] < 0.0:
                        s, t = t, s
                    if fill == 0:
                        counts[s] += 1
                    else:
                        targets[slots[s]] = t
                        slots[s] += 1
    points = np.empty((total, 2))
    starts = np.empty(total + 1, dtype=np.int64)
    unused = counts.copy()
    k = 0
    loops = 0
    for s in range(size):
        while unused[s] < counts[s + 1]:
            starts[loops] = k
            loops += 1
            here = s
            while unused[here] < counts[here + 1]:
                points[k, 0] = a[here // m, 0] + b[here % m, 0]
                points[k, 1] = a[here // m, 1] + b[here % m, 1]
                k += 1
                unused[here] += 1
                here = targets[unused[here] - 1]
    starts[loops] = k
    return points[:k], starts[: loops + 1]


@njit(cache=True, nogil=True, error_model="numpy")
def tidy(ring, straight):
    """The ring without repeated points and straight corners.

    Args:
        ring: shape (n, 2).
        straight: sine of the largest turn that counts as straight.
    """
    points = ring.copy()
    n = points.shape[0]
    reach = 0.0
    for i in range(n):
        reach = max(reach, abs(points[i, 0] - points[0, 0]), abs(points[i, 1] - points[0, 1]))
    changed = True
    while changed and n >= 3:
        changed = False
        k = 0
        for i in range(n):
            # The corner before is the last one kept; the first may still go in the next round.
            before = k - 1 if k > 0 else n - 1
            after = i + 1 if i + 1 < n else 0
            if k > 0 and after == 0:
                ax, ay = points[0, 0] - points[i, 0], points[0, 1] - points[i, 1]
            else:
                ax, ay = points[after, 0] - points[i, 0], points[after, 1] - points[i, 1]
            bx, by = points[i, 0] - points[before, 0], points[i, 1] - points[before, 1]
            la, lb = math.hypot(ax, ay), math.hypot(bx, by)
            same = la <= 1e-13 * reach
            if same or (abs(bx * ay - by * ax) <= straight * la * lb and bx * ax + by * ay > 0.0):
                changed = True
                continue
            points[k, 0], points[k, 1] = points[i, 0], points[i, 1]
            k += 1
        n = k
    return points[:n].copy()


@njit(cache=True, nogil=True, error_model="numpy")
def is_convex(ring):
    """Whether an anticlockwise ring has no hollow corner."""
    n = ring.shape[0]
    for i in range(n):
        j = i + 1 if i + 1 < n else 0
        bx, by = ring[i, 0] - ring[i - 1, 0], ring[i, 1] - ring[i - 1, 1]
        ax, ay = ring[j, 0] - ring[i, 0], ring[j, 1] - ring[i, 1]
        if bx * ay - by * ax < 0.0:
            return False
    return True


@njit(cache=True, nogil=True, error_model="numpy")
def edge_rows(points, starts, cos, sin, convex):
    """The edges of a region turned about the origin, as the search reads them, and its box.

    Args:
        points: corners of all rings, shape (k, 2).
        starts: where each ring starts, with k at the end.
        convex: write outward normals and their distance instead of edges.

    Returns:
        shape (k, 7): x, y, dx, dy, 1/length^2, end x, end y (or nx, ny, c), and x0, y0, x1, y1.
    """
    total = points.shape[0]
    out = np.zeros((total, 7))
    frame = np.array([1e300, 1e300, -1e300, -1e300])
    for ring in range(starts.shape[0] - 1):
        for i in range(starts[ring], starts[ring + 1]):
            j = i + 1 if i + 1 < starts[ring + 1] else starts[ring]
            x = cos * points[i, 0] - sin * points[i, 1]
            y = sin * points[i, 0] + cos * points[i, 1]
            ex = cos * points[j, 0] - sin * points[j, 1]
            ey = sin * points[j, 0] + cos * points[j, 1]
            dx, dy = ex - x, ey - y
            square = dx * dx + dy * dy
            if convex:
                length = math.sqrt(square)
                out[i, 0], out[i, 1] = dy / length, -dx / length
                out[i, 2] = out[i, 0] * x + out[i, 1] * y
            else:
                out[i, 0], out[i, 1], out[i, 2], out[i, 3] = x, y, dx, dy
                out[i, 4], out[i, 5], out[i, 6] = 1.0 / square, ex, ey
            frame[0], frame[1] = min(frame[0], x), min(frame[1], y)
            frame[2], frame[3] = max(frame[2], x), max(frame[3], y)
    return out, frame


@njit(cache=True, nogil=True, error_model="numpy")
def _inside(edges, x, y):
    """Even-odd test of a point against closed rings given as edges x, y, dx, dy."""
    odd = False
    for e in range(edges.shape[0]):
        y0 = edges[e, 1]
        y1 = y0 + edges[e, 3]
        if (y0 > y) != (y1 > y):
            cross = edges[e, 0] + (y - y0) * edges[e, 2] / edges[e, 3]
            if cross > x:
                odd = not odd
    return odd


@njit(cache=True, nogil=True, error_model="numpy")
def cell_lists(edges, frame, side):
    """For each cell of a grid: inside, outside or boundary, and the edges that may be nearest.

    Args:
        edges: x, y, dx, dy, 1/length^2 of each edge; shape (n, 5).
        frame: x0, y0, x1, y1 of the grid, the box of the edges.
        side: cells along each side.

    Returns:
        int32: `side * side` heads, then the lists. A head is 0 outside, else
        4 * position of its list + (1 inside | 3 boundary, centre inside |
        2 boundary, centre outside); a list is its length, then edge numbers.
    """
    n = edges.shape[0]
    x0, y0 = frame[0], frame[1]
    cw, ch = (frame[2] - x0) / side, (frame[3] - y0) / side
    # The farthest corner of a cell from its off-centre reference point.
    reach = math.hypot(cw * max(CENTRE_X, 1.0 - CENTRE_X), ch * max(CENTRE_Y, 1.0 - CENTRE_Y))
    out = np.empty(side * side * 4 + 64, dtype=np.int32)
    near = np.empty(n)
    k = side * side
    for row in range(side):
        for column in range(side):
            cx = x0 + (column + CENTRE_X) * cw
            cy = y0 + (row + CENTRE_Y) * ch
            least = 1e300
            for e in range(n):
                px, py = cx - edges[e, 0], cy - edges[e, 1]
                t = (px * edges[e, 2] + py * edges[e, 3]) * edges[e, 4]
                t = min(1.0, max(0.0, t))
                d = math.hypot(px - t * edges[e, 2], py - t * edges[e, 3])
                near[e] = d
                least = min(least, d)
            inside = _inside(edges, cx, cy)
            boundary = least <= reach * (1.0 + 1e-9)
            cell = row * side + column
            if not (inside or boundary):
                out[cell] = 0
                continue
            if k + n + 1 > out.shape[0]:
                more = np.empty(2 * out.shape[0] + n + 1, dtype=np.int32)
                more[:k] = out[:k]
                out = more
            flag = 1 if not boundary else (3 if inside else 2)
            out[cell] = 4 * k + flag
            head = k
            k += 1
            for e in range(n):
                if near[e] <= (least + 2.0 * reach) * (1.0 + 1e-9):
                    out[k] = e
                    k += 1
            out[head] = k - head - 1
    return out[:k].copy()


@njit(cache=True, nogil=True, error_model="numpy")
def reach_along(starts, ends, at, axis, low, high, found):
    """How far edges reach across lines: the largest coordinate of the other axis on each line.

    Args:
        starts, ends: of the edges, shape (n, 2).
        at: where the lines lie on the axis.
        axis: 0 for lines x = at, 1 for lines y = at.
        low, high: lines at or beyond these meet nothing.
        found: written; minus infinity where nothing is met.
    """
    for k in range(at.shape[0]):
        line, best = at[k], -np.inf
        if low < line < high:
            for e in range(starts.shape[0]):
                a, b = starts[e, axis], ends[e, axis]
                if a != b and min(a, b) <= line <= max(a, b):
                    p, q = starts[e, 1 - axis], ends[e, 1 - axis]
                    best = max(best, p + (line - a) * (q - p) / (b - a))
        found[k] = best
