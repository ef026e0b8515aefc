"""Which ways a panel may be laid: few for the first plan, more for the search."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely

from lasernest.domain.plan import Axis, PanelOrder, Turns
from lasernest.nesting.outlines import (
    Stance,
    covering_polygon,
    distinct_stances,
    posed_polygon,
)

FEWEST_ANGLES, MOST_ANGLES = 8, 16
"""Of a panel that may be turned by any angle, in the search."""

ALL_ANGLES = 120
"""Of all such panels together: their no-fit regions grow with the square."""

LONG_EDGES = 3
"""Edges of a panel's hull that are laid along the walls."""

SQUARE = 1e-6
"""Sides that differ by less than this share are equally long."""


def first_stances(order: PanelOrder, along: Axis | None = None) -> tuple[Stance, ...]:
    """The stances for rows of boxes; with any angle allowed, also those of the smallest box.

    Args:
        order: the panel with its allowed turns.
        along: where its longer side shall lie.
    """
    shape = covering_polygon(order.panel, chord_error_mm=0.05)
    angles = list(order.turns.angles_deg)
    if order.turns is Turns.FREE:
        boxed = [] if order.turn_step_deg else _box_angles_deg(shape)
        quarters = [a for a in angles if _is_step(a, order.turn_step_deg)]
        # The smallest box says best which side is the longer one.
        angles = boxed if along and boxed else [*quarters, *boxed]
        if order.turn_step_deg and along:
            angles = _steps_deg(order.turn_step_deg, MOST_ANGLES)
    return _laid_along(shape, distinct_stances(shape, angles, may_mirror=order.may_mirror), along)


def search_stances(
    order: PanelOrder,
    first: tuple[Stance, ...],
    along: Axis | None = None,
    *,
    free_orders: int = 1,
) -> tuple[Stance, ...]:
    """The stances for the search: the first ones, and more angles where any is allowed.

    Args:
        order: the panel with its allowed turns.
        first: its `first_stances`.
        along: where its longer side shall lie.
        free_orders: how many orders may be turned by any angle.
    """
    if order.turns is not Turns.FREE or along is not None:
        return first
    most = max(FEWEST_ANGLES, min(MOST_ANGLES, ALL_ANGLES // max(1, free_orders)))
    shape = covering_polygon(order.panel, chord_error_mm=0.05)
    if order.turn_step_deg:
        more = _steps_deg(order.turn_step_deg, most)
    else:
        more = [*free_angles_deg(shape), *_steps_deg(360.0 / FEWEST_ANGLES, most)]
    # What looks alike is left out before it is counted.
    known = [stance.turn_deg for stance in first if not stance.mirrored]
    angles = list(dict.fromkeys([*known, *more]))
    found = distinct_stances(shape, angles[:most], may_mirror=order.may_mirror)
    return tuple(dict.fromkeys([*first, *found]))


def free_angles_deg(shape: shapely.Polygon) -> list[float]:
    """Angles that lay a long edge of the hull along a wall, the longest first."""
    ring = shapely.get_coordinates(shape.convex_hull.exterior)
    steps = np.diff(ring, axis=0)
    lengths = np.hypot(steps[:, 0], steps[:, 1])
    longest = np.argsort(-lengths, kind="stable")[:LONG_EDGES]
    turned = [-math.degrees(math.atan2(steps[k, 1], steps[k, 0])) for k in longest]
    return [round((angle + 90.0 * k) % 360.0, 9) for angle in turned for k in range(4)]


def _box_angles_deg(shape: shapely.Polygon) -> list[float]:
    """Turns that make the panel's box smallest."""
    box = shapely.minimum_rotated_rectangle(shape)
    (x0, y0), (x1, y1) = shapely.get_coordinates(box)[:2]
    if math.hypot(x1 - x0, y1 - y0) == 0.0:
        return []
    angle = -math.degrees(math.atan2(y1 - y0, x1 - x0))
    return [(angle + 90.0 * k) % 360.0 for k in range(4)]


def _steps_deg(step_deg: float, most: int) -> list[float]:
    """Multiples of a step all round; spread evenly when there are more than wanted."""
    count = max(1, math.ceil(360.0 / step_deg - 1e-9))
    every = math.ceil(count / most)
    return [k * step_deg for k in range(0, count, every)]


def _is_step(angle_deg: float, step_deg: float | None) -> bool:
    return step_deg is None or abs(math.remainder(angle_deg, step_deg)) < 1e-9


def _laid_along(
    shape: shapely.Polygon, found: Sequence[Stance], along: Axis | None
) -> tuple[Stance, ...]:
    """The stances with the longer side along an axis; all of them if there is none."""
    if along is None:
        return tuple(found)
    kept = []
    for stance in found:
        x0, y0, x1, y1 = posed_polygon(shape, stance.pose).bounds
        width, height = (x1 - x0, y1 - y0) if along is Axis.X else (y1 - y0, x1 - x0)
        if width >= height * (1.0 - SQUARE):
            kept.append(stance)
    return tuple(kept or found)
