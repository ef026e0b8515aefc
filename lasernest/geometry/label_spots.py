"""Where a panel's name may stand: inside the panel, over no hole and no edge.

A name is a wide rectangle. For points on a grid over the panel the largest
rectangle of that shape around the point that touches no line is found; of the
points with enough room the one nearest the middle is taken.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lasernest.domain.contours import Contour
from lasernest.domain.panels import Panel

Floats = NDArray[np.float64]

_GRID = 17
_ENOUGH = 0.8
"""A spot with this share of the best room will do if it is nearer the middle."""


class LabelSpot(NamedTuple):
    """The middle of a free rectangle and half its height; its shape is height x aspect."""

    x_mm: float
    y_mm: float
    half_height_mm: float


def label_spot(
    panel: Panel,
    *,
    aspect: float,
    taken_mm: Sequence[tuple[float, float, float, float]] = (),
) -> LabelSpot | None:
    """The best place for a name of a given shape in a panel as it lies.

    Args:
        panel: already turned and moved.
        aspect: width of the name over its height.
        taken_mm: boxes (x0, y0, x1, y1) that the name must not lie over.
    """
    starts, ends = _edges(panel.contours)
    marks = [m.path for m in panel.marks]
    x0, y0, x1, y1 = panel.bounds_mm()
    share = (np.arange(_GRID) + 0.5) / _GRID
    grid_x, grid_y = np.meshgrid(x0 + share * (x1 - x0), y0 + share * (y1 - y0))
    points = np.column_stack([grid_x.ravel(), grid_y.ravel()])
    points = points[_inside(points, starts, ends)]
    for left, low, right, high in taken_mm:
        x, y = points.T
        points = points[(x < left) | (x > right) | (y < low) | (y > high)]
        corners = np.array([(left, low), (right, low), (right, high), (left, high)])
        starts, ends = np.vstack([starts, corners]), np.vstack([ends, np.roll(corners, -1, 0)])
    if not len(points):
        return None
    if marks:
        mark_starts, mark_ends = _edges(marks)
        starts, ends = np.vstack([starts, mark_starts]), np.vstack([ends, mark_ends])
    room = _room(points, starts, ends, aspect)
    good = room >= _ENOUGH * room.max()
    from_middle = np.hypot(points[:, 0] - 0.5 * (x0 + x1), points[:, 1] - 0.5 * (y0 + y1))
    best = int(np.argmin(np.where(good, from_middle, np.inf)))
    return LabelSpot(float(points[best, 0]), float(points[best, 1]), float(room[best]))


def _edges(contours: list[Contour] | tuple[Contour, ...]) -> tuple[Floats, Floats]:
    """Straight pieces along all contours; arcs in steps of about 7 degrees."""
    starts: list[tuple[float, float]] = []
    ends: list[tuple[float, float]] = []
    for contour in contours:
        for segment in contour.segments():
            pieces = max(1, round(abs(segment.sweep_rad) / 0.13)) if segment.is_arc else 1
            run = [segment.point_at(i / pieces) for i in range(pieces)] + [segment.end]
            starts += run[:-1]
            ends += run[1:]
    return np.array(starts), np.array(ends)


def _inside(points: Floats, starts: Floats, ends: Floats) -> NDArray[np.bool_]:
    """Whether points lie inside, by counting crossings to the right."""
    px, py = points[:, :1], points[:, 1:]
    ax, ay, bx, by = starts[:, 0], starts[:, 1], ends[:, 0], ends[:, 1]
    spans = (ay > py) != (by > py)
    with np.errstate(divide="ignore", invalid="ignore"):
        cross_x = ax + (py - ay) * (bx - ax) / (by - ay)
    inside: NDArray[np.bool_] = np.count_nonzero(spans & (px < cross_x), axis=1) % 2 == 1
    return inside


def _room(points: Floats, starts: Floats, ends: Floats, aspect: float) -> Floats:
    """Half the height of the largest free rectangle around each point.

    With x divided by the aspect the rectangle is a square, so the room is the
    least chessboard distance to an edge; along a straight edge that is least
    at an end or where the two coordinates of the distance are alike or zero.
    """
    squeeze = np.array([1.0 / aspect, 1.0])
    p = points * squeeze
    a, b = starts * squeeze, ends * squeeze
    d = b - a
    from_start = a[None, :, :] - p[:, None, :]
    best = np.full(len(p), np.inf)
    dx, dy = d[:, 0], d[:, 1]
    rx, ry = from_start[:, :, 0], from_start[:, :, 1]
    with np.errstate(divide="ignore", invalid="ignore"):
        shares = (
            np.zeros_like(rx),
            np.ones_like(rx),
            -rx / dx,
            -ry / dy,
            (ry - rx) / (dx - dy),
            -(rx + ry) / (dx + dy),
        )
    for share in shares:
        t = np.clip(np.nan_to_num(share, nan=0.0, posinf=1.0, neginf=0.0), 0.0, 1.0)
        distance = np.maximum(np.abs(rx + t * dx), np.abs(ry + t * dy))
        best = np.minimum(best, distance.min(axis=1))
    return best
