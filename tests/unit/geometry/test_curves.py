"""Curves against closed forms; sources beside each check."""

from __future__ import annotations

import cmath
import math
from itertools import pairwise

import pytest
import shapely

from lasernest.domain.contours import Contour, Vertex
from lasernest.geometry.curves import arcs_along, bezier, spline_spans
from lasernest.geometry.ellipses import ellipse_path
from lasernest.geometry.mapping import contour_of

KAPPA = 0.5522847498307936


def deviation(path: list[Vertex], points: list[complex]) -> float:
    """Largest distance from points to the lines and arcs of a path, by shapely."""
    walked = [(path[0].x_mm, path[0].y_mm)]
    for segment in Contour(tuple(path), closed=False).segments():
        # Chords that leave an arc by less than a micrometre.
        count = 1
        if segment.is_arc:
            count += int(abs(segment.sweep_rad) * math.sqrt(segment.radius_mm / 0.002))
        walked += [segment.point_at(k / count) for k in range(1, count + 1)]
    drawn = shapely.LineString(walked)
    return max(shapely.distance(drawn, shapely.points([(p.real, p.imag) for p in points])))


def kinks(path: list[Vertex]) -> float:
    """Largest angle between neighbouring segments' tangents."""
    segments = list(Contour(tuple(path), closed=False).segments())
    angles = [0.0]
    for a, b in pairwise(segments):
        ax, ay = a.tangent_at(1.0)
        bx, by = b.tangent_at(0.0)
        angles.append(abs(math.atan2(ax * by - ay * bx, ax * bx + ay * by)))
    return max(angles)


def cubic(control: list[complex], t: float) -> complex:
    a, b, c, d = control
    s = 1 - t
    return s**3 * a + 3 * s * s * t * b + 3 * s * t * t * c + t**3 * d


def test_a_quarter_circle_drawn_as_a_cubic_becomes_one_arc_of_the_true_radius() -> None:
    # trade-facts X18: radial error of the cubic is 2.7253e-4 R, under 0.01 mm for R = 20.
    control = [20 + 0j, complex(20, 20 * KAPPA), complex(20 * KAPPA, 20), 20j]
    path = arcs_along([bezier(control, chord_error_mm=0.01)], chord_error_mm=0.01)
    assert len(path) == 2
    assert path[0].bulge == pytest.approx(math.tan(math.pi / 8), abs=1e-9)
    radii = [abs(cubic(control, k / 1000)) / 20 for k in range(1001)]
    assert max(radii) == pytest.approx(1.00027253, abs=1e-8)


def test_a_large_quarter_circle_cubic_takes_more_arcs_to_keep_the_chord_error() -> None:
    control = [100 + 0j, complex(100, 100 * KAPPA), complex(100 * KAPPA, 100), 100j]
    path = arcs_along([bezier(control, chord_error_mm=0.01)], chord_error_mm=0.01)
    assert len(path) > 2
    assert deviation(path, [cubic(control, k / 200) for k in range(201)]) <= 0.0101


@pytest.mark.parametrize(
    "control",
    [
        [0j, 0 + 10j, 10 + 10j, 10 + 0j],
        [0j, 40 + 0j, -30 + 10j, 10 + 10j],
        [0j, 100 + 100j, 0 + 100j, 100 + 0j],
        [0j, 0j, 50 + 20j, 50 + 20j],
        [0j, 60 + 1j, 61 + 0j, 120 + 30j],
    ],
)
@pytest.mark.parametrize("error_mm", [0.1, 0.01, 0.002])
def test_cubics_keep_the_chord_error_and_their_tangents(
    control: list[complex], error_mm: float
) -> None:
    path = arcs_along([bezier(control, chord_error_mm=error_mm)], chord_error_mm=error_mm)
    assert (path[0].x_mm, path[0].y_mm) == (0.0, 0.0)
    assert complex(path[-1].x_mm, path[-1].y_mm) == control[-1]
    points = [cubic(control, k / 150) for k in range(151)]
    assert deviation(path, points) <= error_mm * 1.01 + 1e-4
    assert kinks(path) <= 0.011
    assert len(path) <= 2 + 18 * (0.1 / error_mm) ** 0.5


def test_a_straight_bezier_is_one_line() -> None:
    path = arcs_along([bezier([0j, 1j, 2j, 3j], chord_error_mm=0.01)], chord_error_mm=0.01)
    assert path == [Vertex(0.0, 0.0, 0.0), Vertex(0.0, 3.0, 0.0)]


def test_an_ellipse_has_the_area_and_perimeter_of_the_closed_form() -> None:
    # trade-facts G15: a 30, b 20: perimeter 158.654396, area 1884.955592.
    path = ellipse_path(0j, 30 + 0j, 20j, 0.0, 2 * math.pi, chord_error_mm=0.001)
    ring = contour_of(path, True)
    assert ring is not None
    assert ring.area_mm2 == pytest.approx(1884.955592, abs=0.001 * 158.7)
    assert ring.length_mm == pytest.approx(158.654396, abs=0.01)
    assert ring.bounds_mm() == pytest.approx((-30, -20, 30, 20), abs=0.001)


def test_equal_half_diameters_at_right_angles_are_a_circle_exactly() -> None:
    path = ellipse_path(5 + 5j, 3 + 4j, -4 + 3j, 0.3, 2 * math.pi, chord_error_mm=0.01)
    ring = contour_of(path, True)
    assert ring is not None
    circle = ring.as_circle(tolerance_mm=1e-12)
    assert circle is not None
    assert circle.radius_mm == pytest.approx(5.0, abs=1e-12)


def test_a_mirrored_frame_turns_the_arc_the_other_way() -> None:
    path = ellipse_path(0j, 2 + 0j, -2j, 0.0, math.pi / 2, chord_error_mm=0.01)
    assert path[-1].y_mm == pytest.approx(-2.0)
    assert path[0].bulge == pytest.approx(-math.tan(math.pi / 8))


def test_a_rational_quadratic_quarter_circle_has_radius_one_everywhere() -> None:
    # trade-facts X17.
    spans = spline_spans(
        [1 + 0j, 1 + 1j, 1j],
        2,
        [0, 0, 0, 1, 1, 1],
        [1, math.sqrt(0.5), 1],
        chord_error_mm=0.001,
    )
    assert len(spans) == 1
    assert all(abs(abs(p) - 1) < 1e-12 for p in spans[0].points)
    path = arcs_along(spans, chord_error_mm=0.001)
    assert len(path) == 2
    assert path[0].bulge == pytest.approx(math.tan(math.pi / 8), abs=1e-9)


def test_a_cubic_bezier_as_a_spline_passes_its_known_middle() -> None:
    # trade-facts 6.3: p(0.5) = (5, 7.5).
    spans = spline_spans([0j, 10j, 10 + 10j, 10 + 0j], 3, [0] * 4 + [1] * 4, chord_error_mm=0.01)
    points = spans[0].points
    last = len(points) - 1
    for i, p in enumerate(points):
        assert p == pytest.approx(cubic([0j, 10j, 10 + 10j, 10 + 0j], i / last), abs=1e-12)
    assert cubic([0j, 10j, 10 + 10j, 10 + 0j], 0.5) == 5 + 7.5j


def test_spline_spans_agree_with_a_second_evaluator() -> None:
    ezmath = pytest.importorskip("ezdxf.math")
    control = [(0, 0), (1, 4), (5, 5), (8, 1), (12, 2), (13, 7)]
    knots = [0, 0, 0, 0, 0.3, 0.7, 1, 1, 1, 1]
    weights = [1, 2, 0.5, 1, 3, 1]
    curve = ezmath.BSpline(control, order=4, knots=knots, weights=weights)
    spans = spline_spans([complex(*p) for p in control], 3, knots, weights, chord_error_mm=0.01)
    for span, (a, b) in zip(spans, [(0, 0.3), (0.3, 0.7), (0.7, 1)], strict=True):
        last = len(span.points) - 1
        for i, p in enumerate(span.points):
            q = curve.point(a + (b - a) * i / last)
            assert p == pytest.approx(complex(q.x, q.y), abs=1e-9)


@pytest.mark.parametrize(
    ("control", "degree", "knots", "weights"),
    [
        ([0j, 1j], 3, [0, 0, 1, 1], None),
        ([0j, 1j, 2j], 2, [0, 0, 0, 1, 1], None),
        ([0j, 1j, 2j], 2, [0, 0, 1, 0, 1, 1], None),
        ([0j, 1j, 2j], 2, [0, 0, 0, 1, 1, 1], [1, 0, 1]),
        ([0j, 1j, 2j], 2, [0, 0, 0, 0, 0, 0], None),
    ],
)
def test_numbers_that_make_no_spline_are_refused(
    control: list[complex], degree: int, knots: list[float], weights: list[float] | None
) -> None:
    with pytest.raises(ValueError, match=r"knots|weights|control"):
        spline_spans(control, degree, knots, weights, chord_error_mm=0.01)


@pytest.mark.parametrize("start", [0.0, math.pi / 2, -math.pi])
@pytest.mark.parametrize("way", [1, -1])
def test_a_whole_ellipse_is_symmetric_and_true(start: float, way: int) -> None:
    """x = a cos t, y = b sin t, turned by 30 degrees; a point is on it where the sum is 1."""
    a, b, turned = 40.0, 11.0, cmath.exp(1j * math.pi / 6)
    centre = 7 - 3j
    path = ellipse_path(
        centre, a * turned, 1j * b * turned, start, way * math.tau, chord_error_mm=0.01
    )
    assert math.dist(path[0][:2], path[-1][:2]) < 1e-12
    ring = Contour(tuple(path[:-1]))
    assert ring.is_anticlockwise is (way > 0)
    assert ring.area_mm2 == pytest.approx(math.pi * a * b, rel=1e-3)
    for segment in ring.segments():
        for share in (0.0, 0.25, 0.5, 0.75):
            p = (complex(*segment.point_at(share)) - centre) / turned
            # Distance to first order: value of the implicit form over its gradient.
            form = (p.real / a) ** 2 + (p.imag / b) ** 2 - 1
            slope = 2 * math.hypot(p.real / a**2, p.imag / b**2)
            assert abs(form / slope) < 0.0105
    corners = {(round(v.x_mm - 7, 6), round(v.y_mm + 3, 6)) for v in ring.vertices}
    assert all(any(math.dist((-x, -y), other) < 1e-5 for other in corners) for x, y in corners)
    segments = list(ring.segments())
    for before, after in pairwise([segments[-1], *segments]):
        assert math.dist(before.tangent_at(1.0), after.tangent_at(0.0)) < 1e-3
