"""The box around many contours at once, arcs included exactly."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import chain

import numpy as np

from lasernest.domain.contours import Bounds, Contour


def extent_mm(contours: Sequence[Contour]) -> Bounds | None:
    """The box around contours, None for none; much faster than `bounds_mm` one by one."""
    if not contours:
        return None
    counts = np.array([len(c.vertices) for c in contours])
    flat = chain.from_iterable(chain.from_iterable(c.vertices for c in contours))
    x, y, bulge = np.fromiter(flat, dtype=float, count=3 * counts.sum()).reshape(-1, 3).T
    after = np.arange(1, len(x) + 1)
    lasts = np.cumsum(counts) - 1
    after[lasts] = lasts + 1 - counts
    bulge = bulge.copy()
    bulge[lasts[[not c.closed for c in contours]]] = 0.0
    box = [x.min(), y.min(), x.max(), y.max()]
    arcs = np.flatnonzero(bulge)
    if len(arcs):
        x0, y0, b = x[arcs], y[arcs], bulge[arcs]
        dx, dy = x[after[arcs]] - x0, y[after[arcs]] - y0
        rise = (1.0 - b * b) / (4.0 * b)
        cx, cy = x0 + 0.5 * dx - rise * dy, y0 + 0.5 * dy + rise * dx
        radius = np.hypot(dx, dy) * (1.0 + b * b) / (4.0 * np.abs(b))
        for side, (ex, ey) in enumerate(
            ((cx - radius, cy), (cx, cy - radius), (cx + radius, cy), (cx, cy + radius))
        ):
            # An arc with a positive bulge lies to the right of its chord.
            on_arc = (dx * (ey - y0) - dy * (ex - x0)) * b <= 0.0
            reach = (ex, ey)[side % 2][on_arc]
            if len(reach):
                box[side] = max(box[side], reach.max()) if side > 1 else min(box[side], reach.min())
    return (float(box[0]), float(box[1]), float(box[2]), float(box[3]))
