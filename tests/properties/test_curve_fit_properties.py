"""Lines and arcs laid along curves stay within the chord error, needles and cusps too.

The distance is taken by dense points on both and shapely, which share nothing with the
fitting: from the curve to the arcs and from the arcs to the curve.
"""

from __future__ import annotations

import numpy as np
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from lasernest.domain.contours import Contour
from lasernest.geometry.curves import beziers, settled

CHORD_ERROR_MM = 0.01
# Chords between dense points lie off their curves by up to 0.0004 mm here.
MOST_MM = CHORD_ERROR_MM + 0.0005

Cubic = list[complex]
SHARES = st.integers(-1000, 1000).map(lambda k: k / 1000)


@st.composite
def needles(draw: st.DrawFn) -> Cubic:
    """Control points that nearly lie on a line: the curve runs out and back."""
    length_mm = 10 ** draw(st.floats(-1, 1.7))
    width_mm = length_mm * 10 ** draw(st.floats(-5, -1))
    return [complex(draw(SHARES) * length_mm, draw(SHARES) * width_mm) for _ in range(4)]


@st.composite
def near_cusps(draw: st.DrawFn) -> Cubic:
    """Curves that all but stop on the way: the slope at t is zero but for a little."""
    size_mm = 10 ** draw(st.floats(-0.5, 1.3))
    first, second = (complex(draw(SHARES), draw(SHARES)) * size_mm for _ in range(2))
    t = draw(st.integers(20, 80)) / 100
    third = second - ((1 - t) ** 2 * first + 2 * t * (1 - t) * (second - first)) / t**2
    little_mm = size_mm * 10 ** draw(st.floats(-6, -1))
    return [0j, first + complex(draw(SHARES), draw(SHARES)) * little_mm, second, third]


def along_arcs(path: Contour) -> list[tuple[float, float]]:
    points = [path.start]
    for segment in path.segments():
        count = 1 + int(segment.length_mm / 0.02) if segment.is_arc else 1
        count = max(count, 1 + int(abs(segment.sweep_rad) / 0.1))
        points += [segment.point_at(k / count) for k in range(1, count + 1)]
    return points


def apart_mm(cubic: Cubic, arcs: Contour) -> float:
    """Hausdorff distance by dense points."""
    a, b, c, d = cubic
    t = np.linspace(0, 1, 501)
    s = 1 - t
    p = s**3 * a + 3 * s * s * t * b + 3 * s * t * t * c + t**3 * d
    curve = shapely.LineString(np.column_stack([p.real, p.imag]))
    laid = shapely.segmentize(shapely.LineString(along_arcs(arcs)), max(0.05, arcs.length_mm / 500))
    there = shapely.distance(shapely.points(p.real, p.imag), laid).max()
    back = shapely.distance(shapely.points(shapely.get_coordinates(laid)), curve).max()
    return float(max(there, back))


@settings(max_examples=25, deadline=None)
@given(st.lists(st.one_of(needles(), near_cusps()), min_size=8, max_size=8))
def test_needles_and_cusps_are_laid_within_the_chord_error(cubics: list[Cubic]) -> None:
    curves = [beziers(cubic[0], [cubic[1:]]) for cubic in cubics]
    paths = settled([[curve] for curve in curves], chord_error_mm=CHORD_ERROR_MM)
    for cubic, path in zip(cubics, paths, strict=True):
        if len(path) < 2:
            assert max(abs(p - cubic[0]) for p in cubic) <= 1e-9
            continue
        assert apart_mm(cubic, Contour(tuple(path), closed=False)) <= MOST_MM


def test_the_tip_of_a_needle_is_kept() -> None:
    """These lost up to 0.056 mm of their tip between the samples that were looked at."""
    for cubic in (
        [-2.956565 + 0.006189j, -2.809764 + 0.003455j, -4.691281 - 0.005499j, 5.101276 - 0.000762j],
        [-1.07447 + 0.000142j, 0.677965 - 0.000225j, 0.033182 - 0.000219j, 0.115682 - 0.000153j],
        [0j, 0.145239 + 0.194093j, -0.045006 - 0.315231j, 0.186632 + 0.839979j],
    ):
        curve = beziers(cubic[0], [cubic[1:]])
        (path,) = settled([[curve]], chord_error_mm=CHORD_ERROR_MM)
        assert apart_mm(cubic, Contour(tuple(path), closed=False)) <= MOST_MM
