"""Ellipses as lines and arcs: circles exactly, others within a chord error.

Points are complex numbers x + iy, as in `curves`. A whole ellipse is fitted in
one quarter and reflected, so that it stays as symmetric as it was drawn.
"""

from __future__ import annotations

import math

from lasernest.domain.contours import Vertex
from lasernest.geometry.curves import arcs_along, ellipse_spans


def ellipse_path(
    centre: complex,
    u: complex,
    v: complex,
    start_rad: float,
    sweep_rad: float,
    *,
    chord_error_mm: float,
) -> list[Vertex]:
    """Lines and arcs for centre + u cos t + v sin t; exact arcs where it is a circle.

    Args:
        centre: the middle.
        u: half diameter at t = 0.
        v: half diameter at t = 90 degrees, conjugate to u.
        start_rad: where t starts.
        sweep_rad: how far it goes, positive from u towards v; at most a full turn.
        chord_error_mm: largest distance from the ellipse to its arcs.
    """
    radius = abs(u)
    if abs(abs(v) - radius) <= 1e-9 * radius and abs((u.conjugate() * v).real) <= 1e-9 * radius**2:
        turn = sweep_rad if (u.conjugate() * v).imag > 0 else -sweep_rad
        count = max(1, math.ceil(abs(sweep_rad) / math.pi - 1e-9))
        bulge = math.tan(0.25 * turn / count)
        path = []
        for i in range(count + 1):
            t = start_rad + sweep_rad * i / count
            point = centre + u * math.cos(t) + v * math.sin(t)
            path.append(Vertex(point.real, point.imag, bulge if i < count else 0.0))
        return path
    is_whole = abs(abs(sweep_rad) - math.tau) <= 1e-9
    on_axis = abs(math.remainder(start_rad, 0.5 * math.pi)) <= 1e-9
    upright = abs((u.conjugate() * v).real) <= 1e-9 * radius * abs(v)
    if is_whole and on_axis and upright:
        return _whole_ellipse(centre, u, v, start_rad, sweep_rad, chord_error_mm)
    return arcs_along(
        ellipse_spans(centre, u, v, start_rad, sweep_rad, chord_error_mm=chord_error_mm),
        chord_error_mm=chord_error_mm,
    )


def _whole_ellipse(
    centre: complex,
    u: complex,
    v: complex,
    start_rad: float,
    sweep_rad: float,
    chord_error_mm: float,
) -> list[Vertex]:
    """A whole ellipse from its axes: one quarter is fitted, the others are its reflections."""
    spans = ellipse_spans(0j, u, v, start_rad, 0.25 * sweep_rad, chord_error_mm=chord_error_mm)
    quarter = arcs_along(spans, chord_error_mm=chord_error_mm)
    points = [complex(x, y) for x, y, _ in quarter]
    bulges = [bulge for *_, bulge in quarter[:-1]]
    axis = points[-1] / abs(points[-1])
    half = points + [axis * axis * p.conjugate() for p in reversed(points[:-1])]
    # A reflection turns the bend, and so does walking back.
    along = bulges + bulges[::-1]
    ring = [*half[:-1], *(-p for p in half[:-1]), half[0]]
    return [
        Vertex((centre + p).real, (centre + p).imag, bulge)
        for p, bulge in zip(ring, [*along, *along, 0.0], strict=True)
    ]
