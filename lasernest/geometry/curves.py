"""Curves: ellipses, Béziers and splines turned into lines and arcs within a chord error.

Every curve is kept as one (rational) B-spline until all curves of a drawing are
known; then they are fitted together (`fitting`), which costs a tenth of fitting
them one by one. Until then a path is a *draft*: vertices, and curves between them.

Points are complex numbers x + iy; a path out is a list of `Vertex`, open, its
last bulge zero.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache, partial
from itertools import pairwise
from typing import cast

import numpy as np

from lasernest.domain.contours import Point, Vertex
from lasernest.domain.control import Control, QuietControl
from lasernest.geometry.fitting import Arcs, Spans, arcs_along

CHORD_ERROR_MM = 0.01
"""The default: largest distance between a drawn curve and the arcs that stand for it."""

_SPANS_AT_ONCE = 4000
_FAR_MM = 1e6


@dataclass(frozen=True, slots=True)
class Curve:
    """A B-spline: control points, degree, knots and weights (None: all the same).

    `quarter_about` is set for a quarter of an ellipse about this point, from the end of
    one axis to that of the other; it stands for the whole ellipse.
    """

    control: Sequence[complex]
    degree: int
    knots: Sequence[float]
    weights: Sequence[float] | None = None
    quarter_about: complex | None = None


Draft = list[Vertex | Curve]
"""A path on its way. A curve stands for its arcs; it ends where the part after it begins, and
in its own last point where it comes last."""


def spline(
    control: Sequence[complex],
    degree: int,
    knots: Sequence[float],
    weights: Sequence[float] | None = None,
) -> Curve:
    """A (rational) B-spline.

    Args:
        control: control points.
        degree: one or more.
        knots: as many as control points, plus the degree, plus one; not falling.
        weights: one per control point, above zero, or None.

    Raises:
        ValueError: the counts do not fit together, a weight is not above zero,
            or the knots fall or leave nothing to draw.
    """
    count = len(control)
    if degree < 1 or count <= degree or len(knots) != count + degree + 1:
        raise ValueError("control points, knots and degree do not fit together")
    if any(b < a for a, b in pairwise(knots)):
        raise ValueError("the knots fall")
    if weights is not None:
        if len(weights) != count or any(not value > 0.0 for value in weights):
            raise ValueError("the weights do not fit the control points")
        if all(value == weights[0] for value in weights):
            weights = None
    if not knots[degree] < knots[count]:
        raise ValueError("the knots leave no stretch to draw")
    return Curve(control, degree, knots, weights)


def beziers(start: complex, pieces: Sequence[Sequence[complex]]) -> Curve:
    """Bézier curves that follow on each other, as one cubic spline.

    Args:
        start: where the first begins.
        pieces: of each the control points after its first, one to three.
    """
    control = [start]
    for piece in pieces:
        p, q = control[-1], piece[-1]
        if len(piece) == 3:
            control += piece
        elif len(piece) == 2:
            # A quadratic piece is a cubic one, too.
            control += [(p + 2.0 * piece[0]) / 3.0, (q + 2.0 * piece[0]) / 3.0, q]
        else:
            control += [(2.0 * p + q) / 3.0, (p + 2.0 * q) / 3.0, q]
    return Curve(control, 3, chained_knots(len(pieces), 3))


@cache
def chained_knots(count: int, degree: int) -> tuple[float, ...]:
    """Knots of a spline that is a chain of Bézier curves."""
    inner = [float(k) for k in range(count + 1) for _ in range(degree)]
    return (0.0, *inner, float(count))


def start_of(draft: Draft) -> Point:
    """Where a draft begins, near enough to be shown."""
    first = draft[0]
    if isinstance(first, Vertex):
        return (first.x_mm, first.y_mm)
    return (first.control[0].real, first.control[0].imag)


def settled(
    drafts: Sequence[Draft], *, chord_error_mm: float, control: Control | None = None
) -> list[list[Vertex]]:
    """All curves of all drafts fitted, for each draft its vertices.

    Args:
        drafts: any number.
        chord_error_mm: largest distance between a curve and its lines and arcs.
        control: who watches.
    """
    curves = [part for draft in drafts for part in draft if isinstance(part, Curve)]
    if not curves:
        return cast("list[list[Vertex]]", list(drafts))
    fitted = iter(_fitted(curves, chord_error_mm, control or QuietControl()))
    paths = []
    for draft in drafts:
        path = [part for part in draft if isinstance(part, Vertex)]
        paths.append(path if len(path) == len(draft) else _with_arcs(draft, fitted))
    return paths


def _with_arcs(draft: Draft, fitted: Iterator[list[Vertex]]) -> list[Vertex]:
    path: list[Vertex] = []
    after_curve = False
    for part in draft:
        if after_curve:
            path.pop()
        after_curve = isinstance(part, Curve)
        if isinstance(part, Curve):
            path += next(fitted)
        else:
            path.append(part)
    return path


def _fitted(curves: Sequence[Curve], chord_error_mm: float, control: Control) -> list[list[Vertex]]:
    """The vertices of each curve, last point included; curves of one degree go together."""
    groups: dict[tuple[int, bool], list[int]] = {}
    for i, curve in enumerate(curves):
        groups.setdefault((curve.degree, curve.weights is not None), []).append(i)
    paths: list[list[Vertex]] = [[] for _ in curves]
    for members in groups.values():
        batch: list[int] = []
        size = 0
        for i in members:
            batch.append(i)
            size += len(curves[i].control)
            if size >= _SPANS_AT_ONCE or i == members[-1]:
                control.check()
                for k, path in zip(
                    batch, _fitted_alike([curves[k] for k in batch], chord_error_mm), strict=True
                ):
                    paths[k] = path
                batch, size = [], 0
    return paths


def _fitted_alike(curves: Sequence[Curve], chord_error_mm: float) -> list[list[Vertex]]:
    """Curves of one degree, all with weights or none."""
    spans = spans_of(curves)
    # Far from the origin rounding is coarser than the chord error: there from their own start.
    starts = np.array([c.control[0] for c in curves])
    origins = np.where(np.abs(starts) > _FAR_MM, starts, 0.0)
    away = origins[spans.curve][:, None]
    spans.tops[:] -= away if spans.downs is None else away * spans.downs
    arcs = arcs_along(spans, len(curves), chord_error_mm=chord_error_mm)
    arcs = arcs._replace(
        starts=arcs.starts + np.repeat(origins, arcs.counts), ends=arcs.ends + origins
    )
    quarters = np.array([c.quarter_about is not None for c in curves])
    if quarters.any():
        arcs = _reflected(arcs, quarters, np.array([c.quarter_about or 0j for c in curves]))
    starts, bulges, counts, ends = arcs
    numbers = zip(starts.real.tolist(), starts.imag.tolist(), bulges.tolist(), strict=True)
    # What `Vertex._make` does, without its check, for hundreds of thousands of them.
    vertices = list(map(partial(tuple.__new__, Vertex), numbers))
    paths = []
    here = 0
    for count, end in zip(counts.tolist(), ends.tolist(), strict=True):
        path = vertices[here : here + count]
        path.append(Vertex(end.real, end.imag))
        paths.append(path)
        here += count
    return paths


def _reflected(arcs: Arcs, quarters: np.ndarray, middles: np.ndarray) -> Arcs:
    """Where a curve is a quarter of an ellipse, the other three by reflection.

    A reflection turns the bend, and so does walking back: bulges stay.
    """
    starts, bulges, counts, ends = arcs
    total = np.where(quarters, 4 * counts, counts)
    curve = np.repeat(np.arange(len(counts)), total)
    within = np.arange(len(curve)) - np.repeat(np.cumsum(total) - total, total)
    quarter, step = np.divmod(within, counts[curve])
    back = quarter % 2 == 1
    source = (np.cumsum(counts) - counts)[curve] + np.where(back, counts[curve] - step, step)
    # Walking back begins at the end of the quarter, which is no start of an arc.
    at_end = back & (step == 0)
    points = np.where(at_end, ends[curve], starts[np.where(at_end, 0, source)]) - middles[curve]
    axis = ends - middles
    mirror = np.ones(len(axis), dtype=complex)
    np.divide(axis, axis.conj(), out=mirror, where=quarters)
    points = np.where(back, mirror[curve] * points.conj(), points)
    points = np.where(quarter >= 2, -points, points) + middles[curve]
    firsts = points[np.cumsum(total) - total]
    return Arcs(points, bulges[source - back], total, np.where(quarters, firsts, ends))


def spans_of(curves: Sequence[Curve]) -> Spans:
    """The Bézier pieces of B-splines of one degree, by blossoming.

    Source: L. Ramshaw, Blossoms are polar forms, 1989: control point j of the
    Bézier piece on [a, b] is the blossom at (a repeated, b repeated j times).
    """
    degree = curves[0].degree
    sizes = np.array([len(c.control) for c in curves])
    control = np.array([p for c in curves for p in c.control], dtype=complex)
    knots = np.array([k for c in curves for k in c.knots], dtype=float)
    curve = np.repeat(np.arange(len(curves)), sizes)
    # Knot k of a curve stands (degree + 1) times the curve's number further on.
    at = np.arange(len(control)) + curve * (degree + 1)
    inside = np.arange(len(control)) - np.repeat(np.cumsum(sizes) - sizes, sizes) >= degree
    k = np.flatnonzero(inside & (knots[at + 1] > knots[at]))
    window = k[:, None] + np.arange(-degree, 1)
    near = knots[at[k][:, None] + np.arange(-degree, degree + 1)]
    points = control[window]
    if curves[0].weights is None:
        return Spans(_blossomed(points, near), None, curve[k])
    weights = np.array([w for c in curves for w in c.weights or ()], dtype=float)[window]
    return Spans(_blossomed(points * weights, near), _blossomed(weights, near), curve[k])


def _blossomed(control: np.ndarray, knots: np.ndarray) -> np.ndarray:
    """Bézier control points from control points (n, d+1) and the knots about, (n, 2d+1)."""
    degree = control.shape[1] - 1
    a, b = knots[:, degree], knots[:, degree + 1]
    pieces = np.empty_like(control)
    for j in range(degree + 1):
        row = control
        for level in range(1, degree + 1):
            t = (a if level <= degree - j else b)[:, None]
            low = knots[:, level : degree + 1]
            high = knots[:, degree + 1 : 2 * degree + 2 - level]
            share = (t - low) / (high - low)
            row = (1.0 - share) * row[:, :-1] + share * row[:, 1:]
        pieces[:, j] = row[:, 0]
    return pieces
