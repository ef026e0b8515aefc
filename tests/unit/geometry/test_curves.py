"""Curves against closed forms; sources beside each check."""

from __future__ import annotations

import cmath
import math
import random
from itertools import pairwise, product
from pathlib import Path

import pytest
import shapely

from lasernest.domain.contours import Contour, Vertex
from lasernest.domain.control import QuietControl
from lasernest.exchange.registry import read_drawing
from lasernest.geometry.affine import Affine
from lasernest.geometry.curves import Curve, Draft, beziers, settled, spans_of, spline
from lasernest.geometry.ellipses import ellipse_path
from lasernest.geometry.extents import extent_mm, measured
from lasernest.geometry.mapping import contour_of, map_draft, map_path

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


def arcs_of(part: Curve | Draft, error_mm: float = 0.01) -> list[Vertex]:
    """The arcs of one curve or one draft alone."""
    draft: Draft = [part] if isinstance(part, Curve) else part
    return settled([draft], chord_error_mm=error_mm)[0]


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
    path = arcs_of(beziers(control[0], [control[1:]]), 0.01)
    assert len(path) == 2
    assert path[0].bulge == pytest.approx(math.tan(math.pi / 8), abs=1e-9)
    radii = [abs(cubic(control, k / 1000)) / 20 for k in range(1001)]
    assert max(radii) == pytest.approx(1.00027253, abs=1e-8)


def test_a_large_quarter_circle_cubic_takes_more_arcs_to_keep_the_chord_error() -> None:
    control = [100 + 0j, complex(100, 100 * KAPPA), complex(100 * KAPPA, 100), 100j]
    path = arcs_of(beziers(control[0], [control[1:]]), 0.01)
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
    path = arcs_of(beziers(control[0], [control[1:]]), error_mm)
    assert (path[0].x_mm, path[0].y_mm) == (0.0, 0.0)
    assert complex(path[-1].x_mm, path[-1].y_mm) == control[-1]
    points = [cubic(control, k / 150) for k in range(151)]
    assert deviation(path, points) <= error_mm * 1.01 + 1e-4
    assert kinks(path) <= 0.011
    assert len(path) <= 2 + 18 * (0.1 / error_mm) ** 0.5


def test_a_straight_bezier_is_one_line() -> None:
    path = arcs_of(beziers(0j, [[1j, 2j, 3j]]), 0.01)
    assert path == [Vertex(0.0, 0.0, 0.0), Vertex(0.0, 3.0, 0.0)]


def test_an_ellipse_has_the_area_and_perimeter_of_the_closed_form() -> None:
    # trade-facts G15: a 30, b 20: perimeter 158.654396, area 1884.955592.
    path = arcs_of(ellipse_path(0j, 30 + 0j, 20j, 0.0, 2 * math.pi), 0.001)
    ring = contour_of(path, True)
    assert ring is not None
    assert ring.area_mm2 == pytest.approx(1884.955592, abs=0.001 * 158.7)
    assert ring.length_mm == pytest.approx(158.654396, abs=0.01)
    assert ring.bounds_mm() == pytest.approx((-30, -20, 30, 20), abs=0.001)


def test_equal_half_diameters_at_right_angles_are_a_circle_exactly() -> None:
    path = arcs_of(ellipse_path(5 + 5j, 3 + 4j, -4 + 3j, 0.3, 2 * math.pi), 0.01)
    ring = contour_of(path, True)
    assert ring is not None
    circle = ring.as_circle(tolerance_mm=1e-12)
    assert circle is not None
    assert circle.radius_mm == pytest.approx(5.0, abs=1e-12)


def test_a_mirrored_frame_turns_the_arc_the_other_way() -> None:
    path = arcs_of(ellipse_path(0j, 2 + 0j, -2j, 0.0, math.pi / 2), 0.01)
    assert path[-1].y_mm == pytest.approx(-2.0)
    assert path[0].bulge == pytest.approx(-math.tan(math.pi / 8))


def test_a_rational_quadratic_quarter_circle_has_radius_one_everywhere() -> None:
    # trade-facts X17.
    curve = spline([1 + 0j, 1 + 1j, 1j], 2, [0, 0, 0, 1, 1, 1], [1, math.sqrt(0.5), 1])
    points = spans_of([curve]).points(50)
    assert points.shape == (1, 50)
    assert all(abs(abs(p) - 1) < 1e-12 for p in points[0])
    path = arcs_of(curve, 0.001)
    assert len(path) == 2
    assert path[0].bulge == pytest.approx(math.tan(math.pi / 8), abs=1e-9)


def test_a_cubic_bezier_as_a_spline_passes_its_known_middle() -> None:
    # trade-facts 6.3: p(0.5) = (5, 7.5).
    spans = spans_of([spline([0j, 10j, 10 + 10j, 10 + 0j], 3, [0] * 4 + [1] * 4)])
    for i, p in enumerate(spans.points(20)[0], start=1):
        assert p == pytest.approx(cubic([0j, 10j, 10 + 10j, 10 + 0j], i / 20), abs=1e-12)
    assert cubic([0j, 10j, 10 + 10j, 10 + 0j], 0.5) == 5 + 7.5j


def test_spline_spans_agree_with_a_second_evaluator() -> None:
    ezmath = pytest.importorskip("ezdxf.math")
    control = [(0, 0), (1, 4), (5, 5), (8, 1), (12, 2), (13, 7)]
    knots = [0, 0, 0, 0, 0.3, 0.7, 1, 1, 1, 1]
    weights = [1, 2, 0.5, 1, 3, 1]
    curve = ezmath.BSpline(control, order=4, knots=knots, weights=weights)
    spans = spans_of([spline([complex(*p) for p in control], 3, knots, weights)])
    for points, (a, b) in zip(spans.points(20), [(0, 0.3), (0.3, 0.7), (0.7, 1)], strict=True):
        for i, p in enumerate(points, start=1):
            q = curve.point(a + (b - a) * i / 20)
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
        spline(control, degree, knots, weights)


@pytest.mark.parametrize("start", [0.0, math.pi / 2, -math.pi])
@pytest.mark.parametrize("way", [1, -1])
def test_a_whole_ellipse_is_symmetric_and_true(start: float, way: int) -> None:
    """x = a cos t, y = b sin t, turned by 30 degrees; a point is on it where the sum is 1."""
    a, b, turned = 40.0, 11.0, cmath.exp(1j * math.pi / 6)
    centre = 7 - 3j
    path = arcs_of(ellipse_path(centre, a * turned, 1j * b * turned, start, way * math.tau), 0.01)
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


def test_an_open_spline_without_repeated_knots_is_drawn_where_its_basis_adds_up_to_one() -> None:
    """A uniform cubic: it starts at (a + 4 b + c) / 6, as every book on splines has it."""
    control = [0j, 10 + 10j, 20 + 0j, 30 + 10j, 40 + 0j]
    path = arcs_of(spline(control, 3, list(range(9))))
    assert path[0][:2] == pytest.approx((10.0, 40.0 / 6.0))
    assert path[-1][:2] == pytest.approx((30.0, 40.0 / 6.0))


@pytest.mark.timeout(20)
@pytest.mark.parametrize("far", [1e7 - 3e7j, 4e14 + 5e14j])
def test_a_curve_far_from_the_origin_comes_to_an_end(far: complex) -> None:
    """At 5e14 mm numbers are 0.06 mm apart, more than the chord error: this went on for ever."""
    control = [far, far + 18 + 14j, far + 26 + 36j, far + 24 + 54j]
    path = arcs_of(beziers(control[0], [control[1:]]))
    assert 2 <= len(path) <= 8
    near = [p - far for p in control]
    ring = [Vertex(x - far.real, y - far.imag, bulge) for x, y, bulge in path]
    off = deviation(ring, [cubic(near, k / 60) for k in range(61)])
    assert off <= 0.0105 + 2e-16 * abs(far)


def random_chains(count: int) -> list[list[list[complex]]]:
    """Chains of cubics of 1 to 300 mm, every other one smooth."""
    rng = random.Random(11)
    chains = []
    for i in range(count):
        size = 10 ** rng.uniform(0, 2.5)

        def place(size: float = size) -> complex:
            return complex(rng.uniform(-size, size), rng.uniform(-size, size))

        p, way = place(), place() / 3
        chain = []
        for _ in range(rng.randint(1, 6)):
            q, onward = place(), place() / 3
            chain.append([p, p + way, q - onward, q])
            p, way = q, onward if i % 2 else place() / 3
        chains.append(chain)
    return chains


def test_curves_fitted_together_keep_the_chord_error_and_are_what_they_are_alone() -> None:
    chains = random_chains(60)
    curves = [beziers(chain[0][0], [piece[1:] for piece in chain]) for chain in chains]
    together = settled([[curve] for curve in curves], chord_error_mm=0.01)
    for i, (path, chain) in enumerate(zip(together, chains, strict=True)):
        points = [cubic(piece, k / 97) for piece in chain for k in range(98)]
        assert deviation(path, points) <= 0.0101
        if i % 2:
            assert kinks(path) <= 0.011
        if i % 10 == 0:
            assert path == arcs_of(curves[i])


def test_an_ellipse_takes_hardly_more_arcs_than_the_closed_form_says() -> None:
    """A biarc of length h is off by |k'| h**3 / 324 where the curvature's slope is k'.

    Source: series of the biarc with equal tangent lengths, to third order; the fewest
    pieces are then the integral of the third root of |k'| / (324 e) along the curve.
    """
    a, b, error_mm = 60.0, 25.0, 0.85 * 0.01
    steps = 20000
    pieces = 0.0
    curvature = []
    for i in range(steps + 1):
        t = 0.5 * math.pi * i / steps
        speed = math.hypot(a * math.sin(t), b * math.cos(t))
        curvature.append((speed, a * b / speed**3))
    for (speed, k0), (_, k1) in pairwise(curvature):
        length = speed * 0.5 * math.pi / steps
        pieces += length * (abs(k1 - k0) / length / (324.0 * error_mm)) ** (1 / 3)
    path = arcs_of(ellipse_path(0j, a + 0j, b * 1j, 0.0, 2 * math.pi))
    assert (len(path) - 1) % 4 == 0
    # Two arcs to a piece, and one piece more for what is left over at the end.
    assert (len(path) - 1) / 4 <= 2 * (math.ceil(1.05 * pieces) + 1)


def test_a_draft_with_curves_between_vertices_is_one_path_without_doubled_points() -> None:
    arch = beziers(10 + 0j, [[10 + 5j, 20 + 5j, 20 + 0j]])
    more = beziers(20 + 0j, [[20 - 5j, 30 - 5j, 30 + 0j]])
    path = arcs_of([Vertex(0.0, 0.0), arch, more, Vertex(30.0, 0.0), Vertex(40.0, 0.0)])
    assert path[:2] == [Vertex(0.0, 0.0), Vertex(10.0, 0.0, path[1].bulge)]
    assert path[-2:] == [Vertex(30.0, 0.0), Vertex(40.0, 0.0)]
    assert all(math.dist(p[:2], q[:2]) > 1e-6 for p, q in pairwise(path))


def test_a_bezier_without_length_leaves_nothing_to_draw() -> None:
    assert contour_of(arcs_of(beziers(1 + 1j, [[1 + 1j, 1 + 1j, 1 + 1j]])), False) is None


@pytest.mark.parametrize("mirrored", [False, True])
def test_a_similarity_after_drawing_is_a_similarity_before(mirrored: bool) -> None:
    turn = Affine(1.2, 1.6, 1.6 if mirrored else -1.6, -1.2 if mirrored else 1.2, 5.0, -3.0)
    drafts: list[Draft] = [
        [Vertex(0.0, 0.0, 0.4), beziers(9 + 0j, [[9 + 5j, 20 + 5j, 20 + 0j]]), Vertex(20.0, 0.0)],
        ellipse_path(4 + 4j, 9 + 0j, 3j, 0.0, 2 * math.pi),
        ellipse_path(4 + 4j, 9 + 0j, 3j, 0.4, 2.0),
        [Vertex(0.0, 0.0, 0.4), Vertex(20.0, 0.0), Vertex(20.0, 5.0, -0.2), Vertex(3.0, 4.0)],
    ]
    for draft in drafts:
        after = arcs_of(map_draft(draft, turn), 0.02)
        before = map_path(arcs_of(draft, 0.01), False, turn)
        assert len(after) == len(before)
        for p, q in zip(after, before, strict=True):
            assert isinstance(q, Vertex)
            assert tuple(p) == pytest.approx(tuple(q), abs=1e-6)


def test_many_contours_measure_what_each_one_does() -> None:
    """Against the closed forms of `Contour`, which go arc by arc."""
    rng = random.Random(3)
    contours = [
        Contour(
            tuple(
                Vertex(rng.uniform(-9, 9), rng.uniform(-9, 9), rng.choice([0.0, rng.gauss(0, 1)]))
                for _ in range(rng.randint(3, 6))
            ),
            closed=rng.random() < 0.5,
        )
        for _ in range(200)
    ]
    for some in (contours, *([c] for c in contours)):
        boxes = [c.bounds_mm() for c in some]
        x0, y0, x1, y1 = zip(*boxes, strict=True)
        assert extent_mm(some) == pytest.approx((min(x0), min(y0), max(x1), max(y1)), abs=1e-9)
    assert extent_mm([]) is None
    many = measured(contours)
    for k, contour in enumerate(contours):
        assert many.boxes_mm[k] == pytest.approx(contour.bounds_mm(), abs=1e-9)
        assert many.lengths_mm[k] == pytest.approx(contour.length_mm, rel=1e-9)
        assert many.areas_mm2[k] == pytest.approx(contour.signed_area_mm2, abs=1e-7)


def test_cusps_needles_and_curves_there_and_back_come_to_an_end_and_keep_the_chord_error() -> None:
    """Every cubic from 0 with its other points among these, most of them degenerate."""
    places = [0j, 1 + 0j, 5 + 0j, 5 + 3j, 1e-9 + 0j, -2 + 0j, 1e-4j]
    controls = [[0j, *others] for others in product(places, repeat=3)]
    paths = settled([[beziers(c[0], [c[1:]])] for c in controls], chord_error_mm=0.01)
    for control, path in zip(controls, paths, strict=True):
        points = [cubic(control, k / 40) for k in range(41)]
        if contour_of(path, False) is None:
            assert max(abs(p) for p in points) <= 0.01
        else:
            assert deviation(path, points) <= 0.0102


def test_a_symbol_whose_path_runs_there_and_back_is_read(tmp_path: Path) -> None:
    # As some drawing programs leave them: curves that end where they begin, on a line.
    path = tmp_path / "screen.svg"
    data = "M4 2h5c0 .317 0-.316 0 0v6H4s0 .044 0 0V2c0-.044 0 0 0 0z"
    path.write_text(
        f'<svg xmlns="http://www.w3.org/2000/svg" width="16mm" height="16mm" '
        f'viewBox="0 0 16 16"><path d="{data}"/></svg>'
    )
    (stroke,) = read_drawing(path, control=QuietControl()).strokes
    assert stroke.path.area_mm2 == pytest.approx(30.0, abs=0.01)
