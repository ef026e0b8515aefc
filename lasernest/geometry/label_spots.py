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

from lasernest.domain.contours import Contour, Pose
from lasernest.domain.panels import Panel
from lasernest.geometry.flatten import all_points

Floats = NDArray[np.float64]

_GRID = 17
_CHORD_SHARE = 0.001
_LEAST_CHORD_MM = 1e-6
"""Chords for arcs: off by this share of the panel's size."""
_MOST_EXACT = 400
"""Edges; more are looked at in cells."""
_CELLS = 128
AS_DRAWN = Pose()
_ENOUGH = 0.8
"""A spot with this share of the best room will do if it is nearer the middle."""


class LabelLines(NamedTuple):
    """What a name must not touch, of a panel as drawn: straight pieces, shape (n, 2, 2)."""

    rim: Floats
    """Outer and inner contours."""
    marks: Floats

    @classmethod
    def of(cls, panel: Panel) -> LabelLines:
        chord_mm = max(_CHORD_SHARE * max(panel.size_mm), _LEAST_CHORD_MM)
        marks = [mark.path for mark in panel.marks]
        return cls(_edges(panel.contours, chord_mm), _edges(marks, chord_mm))

    def posed(self, pose: Pose) -> LabelLines:
        """The lines where the panel lies."""
        a, b, c, d = pose.matrix()
        turn, way = np.array([[a, c], [b, d]]), (pose.x_mm, pose.y_mm)
        return LabelLines(self.rim @ turn + way, self.marks @ turn + way)


class LabelSpot(NamedTuple):
    """The middle of a free rectangle and half its height; its shape is height x aspect."""

    x_mm: float
    y_mm: float
    half_height_mm: float


def label_spot(
    panel: Panel | LabelLines,
    *,
    aspect: float,
    pose: Pose = AS_DRAWN,
    taken_mm: Sequence[tuple[float, float, float, float]] = (),
) -> LabelSpot | None:
    """The best place for a name of a given shape in a panel as it lies.

    Args:
        panel: as drawn, or its lines, where it is asked for more than once.
        aspect: width of the name over its height.
        pose: how the panel lies.
        taken_mm: boxes (x0, y0, x1, y1) where it lies that the name must not lie over.
    """
    drawn = LabelLines.of(panel) if isinstance(panel, Panel) else panel
    rim, marks = drawn.posed(pose)
    corners = rim.reshape(-1, 2)
    (x0, y0), (x1, y1) = corners.min(axis=0), corners.max(axis=0)
    share = (np.arange(_GRID) + 0.5) / _GRID
    xs, ys = x0 + share * (x1 - x0), y0 + share * (y1 - y0)
    points = np.column_stack([axis.ravel() for axis in np.meshgrid(xs, ys)])
    points = points[_inside(xs, ys, rim).ravel()]
    for left, low, right, high in taken_mm:
        x, y = points.T
        points = points[(x < left) | (x > right) | (y < low) | (y > high)]
        box = np.array([(left, low), (right, low), (right, high), (left, high)])
        rim = np.vstack([rim, np.stack([box, np.roll(box, -1, 0)], axis=1)])
    if not len(points):
        return None
    edges = np.vstack([rim, marks])
    room_of = _room if len(edges) <= _MOST_EXACT else _room_in_cells
    squeeze = np.array([1.0 / aspect, 1.0])
    room = room_of(points * squeeze, edges * squeeze)
    good = room >= _ENOUGH * room.max()
    from_middle = np.hypot(points[:, 0] - 0.5 * (x0 + x1), points[:, 1] - 0.5 * (y0 + y1))
    best = int(np.argmin(np.where(good, from_middle, np.inf)))
    return LabelSpot(float(points[best, 0]), float(points[best, 1]), float(room[best]))


def _edges(contours: Sequence[Contour], chord_error_mm: float) -> Floats:
    """Straight pieces along all contours, shape (n, 2, 2): start and end."""
    if not contours:
        return np.empty((0, 2, 2))
    rings = all_points(contours, chord_error_mm=chord_error_mm)
    last = np.cumsum([len(ring) for ring in rings]) - 1
    following = np.arange(1, last[-1] + 2)
    following[last] = np.concatenate([[0], last[:-1] + 1])
    starts_one = np.ones(len(following), dtype=bool)
    starts_one[last] = [contour.closed for contour in contours]
    points = np.vstack(rings)
    edges: Floats = np.stack([points, points[following]], axis=1)[starts_one]
    return edges


def _inside(xs: Floats, ys: Floats, rim: Floats) -> NDArray[np.bool_]:
    """Whether the points of a grid lie inside, by counting crossings to their left.

    Returns:
        Shape (len(ys), len(xs)).
    """
    inside = np.zeros((len(ys), len(xs)), dtype=bool)
    (ax, ay), (bx, by) = rim[:, 0].T, rim[:, 1].T
    for row, y in enumerate(ys):
        spans = (ay > y) != (by > y)
        with_y = ax[spans] + (y - ay[spans]) * (bx - ax)[spans] / (by - ay)[spans]
        inside[row] = np.searchsorted(np.sort(with_y), xs) % 2 == 1
    return inside


def _room(points: Floats, edges: Floats) -> Floats:
    """Half the side of the largest free square around each point.

    The least chessboard distance to an edge; along a straight edge that is least at an
    end or where the two coordinates of the distance are alike or zero.
    """
    d = edges[:, 1] - edges[:, 0]
    from_start = edges[None, :, 0, :] - points[:, None, :]
    best = np.full(len(points), np.inf)
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


def _room_in_cells(points: Floats, edges: Floats) -> Floats:
    """`_room` for edges by the thousand: never more than it, and less by four cells at most.

    The cells that edges run through grow by one cell in each direction, again and again;
    a point's room is as many cells as that takes to reach it.
    """
    corners = edges.reshape(-1, 2)
    low = corners.min(axis=0)
    cell = float((corners.max(axis=0) - low).max()) / _CELLS
    steps = np.ceil(np.abs(edges[:, 1] - edges[:, 0]).max(axis=1) / cell).astype(int) + 1
    edge = np.repeat(np.arange(len(edges)), steps)
    step = np.arange(len(edge)) - np.repeat(np.cumsum(steps) - steps, steps)
    share = (step / np.maximum(steps - 1, 1)[edge])[:, None]
    along = edges[edge, 0] + share * (edges[edge, 1] - edges[edge, 0])
    taken = np.zeros((_CELLS + 2, _CELLS + 2), dtype=bool)
    x, y = ((along - low) / cell).astype(int).T
    taken[y, x] = True
    at_x, at_y = ((points - low) / cell).astype(int).T
    room = np.zeros(len(points))
    # Samples lie a cell apart: between two of them an edge may cross a cell beside theirs.
    grown = -2
    while not taken[at_y, at_x].all():
        grown += 1
        room[~taken[at_y, at_x]] = max(grown, 0) * cell
        taken[1:] |= taken[:-1].copy()
        taken[:-1] |= taken[1:].copy()
        taken[:, 1:] |= taken[:, :-1].copy()
        taken[:, :-1] |= taken[:, 1:].copy()
    return room
