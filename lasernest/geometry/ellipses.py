"""Ellipses as lines and arcs: circles exactly, others as curves that are still to be fitted.

Points are complex numbers x + iy, as in `curves`. Of a whole ellipse one quarter is
fitted and the others are its reflections, so that it stays as symmetric as it was drawn.
"""

from __future__ import annotations

import math
from itertools import pairwise

from lasernest.domain.contours import Vertex
from lasernest.geometry.curves import Curve, Draft, chained_knots

_QUARTER = 0.5 * math.pi


def ellipse_path(
    centre: complex, u: complex, v: complex, start_rad: float, sweep_rad: float
) -> Draft:
    """Lines and arcs for centre + u cos t + v sin t where it is a circle, else a curve.

    Args:
        centre: the middle.
        u: half diameter at t = 0.
        v: half diameter at t = 90 degrees, conjugate to u.
        start_rad: where t starts.
        sweep_rad: how far it goes, positive from u towards v; at most a full turn.
    """
    radius = abs(u)
    if abs(abs(v) - radius) <= 1e-9 * radius and abs((u.conjugate() * v).real) <= 1e-9 * radius**2:
        return [*circle_path(centre, u, v, start_rad, sweep_rad)]
    is_whole = abs(abs(sweep_rad) - math.tau) <= 1e-9
    on_axis = abs(math.remainder(start_rad, _QUARTER)) <= 1e-9
    upright = abs((u.conjugate() * v).real) <= 1e-9 * radius * abs(v)
    if is_whole and on_axis and upright:
        start_rad = _QUARTER * round(start_rad / _QUARTER)
        return [_piece(centre, u, v, [start_rad, start_rad + 0.25 * sweep_rad], whole=True)]
    phase = 0.5 * math.atan2(2.0 * (u.real * v.real + u.imag * v.imag), abs(u) ** 2 - abs(v) ** 2)
    cos, sin = math.cos(phase), math.sin(phase)
    u, v = u * cos + v * sin, v * cos - u * sin
    start_rad -= phase
    # Cut at the ends of the axes, where the curvature is extreme.
    low, high = sorted((start_rad, start_rad + sweep_rad))
    steps = range(math.floor(low / _QUARTER) + 1, math.ceil(high / _QUARTER))
    cuts = [k * _QUARTER for k in steps if low + 1e-9 < k * _QUARTER < high - 1e-9]
    ends = [low, *cuts, high]
    return [_piece(centre, u, v, ends if sweep_rad > 0 else ends[::-1])]


def circle_path(
    centre: complex, u: complex, v: complex, start_rad: float, sweep_rad: float
) -> list[Vertex]:
    """Arcs up to half a circle each; half diameters of equal length at right angles."""
    turn = sweep_rad if (u.conjugate() * v).imag > 0 else -sweep_rad
    count = max(1, math.ceil(abs(sweep_rad) / math.pi - 1e-9))
    bulge = math.tan(0.25 * turn / count)
    path = []
    for i in range(count + 1):
        t = start_rad + sweep_rad * i / count
        point = centre + u * math.cos(t) + v * math.sin(t)
        path.append(Vertex(point.real, point.imag, bulge if i < count else 0.0))
    return path


def _piece(
    centre: complex, u: complex, v: complex, ends_rad: list[float], *, whole: bool = False
) -> Curve:
    """A chain of pieces of an ellipse, each a quarter at most, as a rational quadratic spline.

    The middle control point is where the tangents at both ends meet, its weight the cosine
    of half the angle.

    Source: L. Piegl and W. Tiller, The NURBS Book, 1997, section 7.3.
    """

    def at(t: float) -> complex:
        return u * math.cos(t) + v * math.sin(t)

    control = [centre + at(ends_rad[0])]
    weights = [1.0]
    for t0, t1 in pairwise(ends_rad):
        weight = math.cos(0.5 * (t1 - t0))
        control += [centre + at(0.5 * (t0 + t1)) / weight, centre + at(t1)]
        weights += [weight, 1.0]
    knots = chained_knots(len(ends_rad) - 1, 2)
    return Curve(control, 2, knots, weights, centre if whole else None)
