"""Offsets against closed forms (Steiner and mitre formulas; numbers G1 to G8, G14, G16, G17)."""

from __future__ import annotations

import math

import pytest

from lasernest.domain.contours import Contour, Vertex
from lasernest.errors import BadContourError, BadValueError
from lasernest.geometry.offsets import offset_contour

QUARTER = math.tan(math.pi / 8)
TRIANGLE = Contour.polygon([(0, 0), (40, 0), (0, 30)])
ELL = Contour.polygon([(0, 0), (40, 0), (40, 20), (20, 20), (20, 50), (0, 50)])


def rounded_rectangle(width: float, height: float, radius: float) -> Contour:
    w, h, r = width, height, radius
    return Contour(
        (
            Vertex(r, 0), Vertex(w - r, 0, QUARTER), Vertex(w, r), Vertex(w, h - r, QUARTER),
            Vertex(w - r, h), Vertex(r, h, QUARTER), Vertex(0, h - r), Vertex(0, r, QUARTER),
        )
    )  # fmt: skip


def one(contour: Contour, distance_mm: float, **options: float) -> Contour:
    (ring,) = offset_contour(contour, distance_mm, **options)
    return ring


def test_rectangle() -> None:
    ring = one(Contour.rectangle(0, 0, 100, 60), 0.1)  # G1
    assert ring.area_mm2 == pytest.approx(6032.04, abs=1e-9)
    assert ring.length_mm == pytest.approx(320.8, abs=1e-9)
    assert len(ring.vertices) == 4


@pytest.mark.parametrize(("distance", "area"), [(0.5, 661.5), (-0.5, 541.5)])
def test_triangle(distance: float, area: float) -> None:
    assert one(TRIANGLE, distance).area_mm2 == pytest.approx(area, abs=1e-9)  # G2


@pytest.mark.parametrize("distance", [-10.0, -10.5, -300.0])
def test_triangle_shrunk_by_its_inradius_is_gone(distance: float) -> None:
    assert offset_contour(TRIANGLE, distance) == ()  # G3


@pytest.mark.parametrize(("distance", "area"), [(1, 1584), (-1, 1224)])
def test_ell(distance: float, area: float) -> None:
    assert one(ELL, distance).area_mm2 == pytest.approx(area, abs=1e-9)  # G4
    assert one(ELL.reversed(), distance).signed_area_mm2 == pytest.approx(-area, abs=1e-9)


@pytest.mark.parametrize("r", [0.05, 0.1, 0.7, 0.99])
def test_rectilinear_identity(r: float) -> None:
    # G5: A + P r + 4 r^2, P + 8 r while r is under half of the smallest gap (2)
    comb = Contour.polygon(
        [(0, 0), (20, 0), (20, 9), (15, 9), (15, 4), (13, 4), (13, 9), (7, 9), (7, 5), (4, 5),
         (4, 9), (0, 9)]
    )  # fmt: skip
    ring = one(comb, r)
    assert ring.area_mm2 == pytest.approx(comb.area_mm2 + comb.length_mm * r + 4 * r * r, abs=1e-9)
    assert ring.length_mm == pytest.approx(comb.length_mm + 8 * r, abs=1e-9)
    assert len(ring.vertices) == 12


def test_hexagon() -> None:
    hexagon = Contour.polygon(
        [(10 * math.cos(a), 10 * math.sin(a)) for a in [i * math.pi / 3 for i in range(6)]]
    )
    ring = one(hexagon, 0.25)  # G6
    assert ring.area_mm2 == pytest.approx(275.024127, abs=1e-6)
    assert ring.length_mm == pytest.approx(61.732051, abs=1e-6)


def test_rounded_rectangle_keeps_its_arcs() -> None:
    ring = one(rounded_rectangle(100, 60, 8), 0.1)  # G7
    assert ring.area_mm2 == pytest.approx(5975.719894, abs=1e-6)
    assert len(ring.vertices) == 8
    radii = [s.radius_mm for s in ring.segments() if s.is_arc]
    assert radii == pytest.approx([8.1] * 4, abs=1e-9)
    assert ring.bounds_mm() == pytest.approx((-0.1, -0.1, 100.1, 60.1), abs=1e-9)


@pytest.mark.parametrize("radius", [3, 8, 12.5])
def test_corner_radius_formula(radius: float) -> None:
    # G14: A0 - R^2 (4 - pi), P0 - R (8 - 2 pi), for the grown rectangle and radius
    ring = one(rounded_rectangle(80, 50, radius), -2.0)
    r = radius - 2.0
    assert ring.area_mm2 == pytest.approx(76 * 46 - r * r * (4 - math.pi), abs=1e-9)
    assert ring.length_mm == pytest.approx(2 * (76 + 46) - r * (8 - 2 * math.pi), abs=1e-9)


def test_annulus() -> None:
    # G8: k 0.2 -> radii 25.1 and 9.9, cut length 219.911486
    outer, inner = one(Contour.circle(0, 0, 25), 0.1), one(Contour.circle(0, 0, 10), -0.1)
    for ring, radius in ((outer, 25.1), (inner, 9.9)):
        circle = ring.as_circle()
        assert circle is not None
        assert circle.radius_mm == pytest.approx(radius, abs=1e-12)
    assert outer.length_mm + inner.length_mm == pytest.approx(219.911486, abs=1e-6)


def needle(angle_deg: float) -> Contour:
    half = math.radians(angle_deg) / 2
    x, y = 50 * math.cos(half), 50 * math.sin(half)
    return Contour.polygon([(0, 0), (x, -y), (x, y)])


@pytest.mark.parametrize(
    ("angle_deg", "ratio"), [(90, 1.414), (60, 2.0), (45, 2.613), (30, 3.864), (29, 3.994)]
)
def test_mitre_ratio(angle_deg: float, ratio: float) -> None:
    # mitre ratio 1/sin(alpha/2); G16: limit 4 keeps corners above 28.955 degrees sharp
    x0 = one(needle(angle_deg), 1.0).bounds_mm()[0]
    assert -x0 == pytest.approx(ratio, abs=1e-3)


@pytest.mark.parametrize("angle_deg", [28.9, 20, 5, 1])
def test_sharper_corners_get_a_bevel_that_touches_the_beam(angle_deg: float) -> None:
    ring = one(needle(angle_deg), 1.0)
    assert len(ring.vertices) == 4
    # as near to the corner as the beam's own circle, never nearer
    assert ring.bounds_mm()[0] == pytest.approx(-1.0, abs=1e-9)


def test_mitre_limit_is_an_argument() -> None:
    assert len(one(needle(20), 1.0, mitre_limit=6).vertices) == 3
    assert len(one(Contour.rectangle(0, 0, 9, 9), 1.0, mitre_limit=1.2).vertices) == 8


def test_line_and_arc_meet_on_the_prolonged_circle() -> None:
    half_disc = Contour((Vertex(0, 0, 1), Vertex(10, 0)))
    ring = one(half_disc, 0.1)
    assert len(ring.vertices) == 2
    arc = next(s for s in ring.segments() if s.is_arc)
    assert arc.radius_mm == pytest.approx(5.1, abs=1e-12)
    assert arc.centre == pytest.approx((5, 0), abs=1e-12)
    # the line at y = 0.1 cuts the circle of 5.1 about (5, 0)
    assert ring.bounds_mm()[3] == pytest.approx(0.1, abs=1e-12)
    assert arc.x0_mm == pytest.approx(5 - math.sqrt(5.1**2 - 0.1**2), abs=1e-12)


def test_arcs_that_do_not_cross_are_prolonged_by_tangents() -> None:
    # Two scallops of R 5, centres 5 apart, meet in a cusp of 120 degrees; circles of R 2.4 do not.
    s = math.tan(math.radians(60) / 4)
    ring = Contour(
        (Vertex(0, 0), Vertex(0, -20), Vertex(10, -20), Vertex(10, 0, -s), Vertex(5, 0, -s))
    )
    grown = one(ring, 2.6)
    radii = sorted(s.radius_mm for s in grown.segments() if s.is_arc)
    assert radii == pytest.approx([2.4, 2.4], abs=1e-9)
    # mitre ratio 1 / sin(60 degrees) over the cusp at y = 0
    assert max(v.y_mm for v in grown.vertices if 4 < v.x_mm < 6) == pytest.approx(
        2.6 / math.sin(math.pi / 3), abs=1e-9
    )


def test_fillet_smaller_than_the_distance_becomes_a_corner() -> None:
    plain = Contour.polygon([(0, 0), (10, 0), (10, 5), (5, 5), (5, 10), (0, 10)])
    fillet = Contour(
        (Vertex(0, 0), Vertex(10, 0), Vertex(10, 5), Vertex(5.05, 5, -QUARTER), Vertex(5, 5.05),
         Vertex(5, 10), Vertex(0, 10))
    )  # fmt: skip
    assert one(fillet, 0.1).area_mm2 == pytest.approx(one(plain, 0.1).area_mm2, abs=1e-9)


def test_hole_smaller_than_the_beam_is_gone() -> None:
    assert offset_contour(Contour.circle(3, 3, 0.05), -0.1) == ()
    assert offset_contour(Contour.circle(3, 3, 0.1), -0.1) == ()
    assert offset_contour(Contour.rectangle(0, 0, 0.15, 10), -0.1) == ()  # G17
    assert offset_contour(Contour.rectangle(0, 0, 0.2, 10), -0.1) == ()


def test_notch_narrower_than_the_beam_is_closed() -> None:
    plate = Contour.polygon(
        [(0, 0), (9, 0), (9, 4), (9.15, 4), (9.15, 0), (20, 0), (20, 10), (0, 10)]
    )
    assert one(plate, 0.1).area_mm2 == pytest.approx(20.2 * 10.2, abs=1e-6)
    assert one(plate, 0.05).area_mm2 == pytest.approx(20.1 * 10.1 - 0.05 * 4, abs=1e-6)


def test_dumbbell_splits_in_two() -> None:
    slot = Contour.polygon(
        [(0, 0), (5, 0), (5, 2), (6, 2), (6, 0), (11, 0), (11, 5), (6, 5), (6, 2.15), (5, 2.15),
         (5, 5), (0, 5)]
    )  # fmt: skip
    parts = offset_contour(slot, -0.1)
    assert [p.area_mm2 for p in parts] == pytest.approx([4.8 * 4.8] * 2, abs=1e-6)


def test_closing_ring_leaves_a_void_that_runs_the_other_way() -> None:
    c_shape = Contour.polygon(
        [(0, 0), (10, 0), (10, 4.9), (7, 4.9), (7, 3), (3, 3), (3, 7), (7, 7), (7, 5.05),
         (10, 5.05), (10, 10), (0, 10)]
    )  # fmt: skip
    outer, void = offset_contour(c_shape, 0.1)
    assert outer.signed_area_mm2 == pytest.approx(10.2**2, abs=1e-6)
    assert void.signed_area_mm2 == pytest.approx(-(3.8**2), abs=1e-6)


def test_noise_in_the_drawing_is_swallowed() -> None:
    jagged = Contour.polygon([(0, 0), (50, 0), (50, 3e-7), (100, 0), (100, 60), (0, 60), (0, 1e-9)])
    ring = one(jagged, 0.1)
    assert ring.area_mm2 == pytest.approx(6032.04, abs=1e-4)
    assert len(ring.vertices) <= 5


def test_zero_distance_changes_nothing() -> None:
    assert offset_contour(ELL, 0.0) == (ELL,)


def test_what_cannot_be_shifted() -> None:
    with pytest.raises(BadContourError, match="an open line has no inside"):
        offset_contour(Contour.polyline([(0, 0), (1, 1)]), 0.1)
    with pytest.raises(BadValueError, match="an offset of nan mm cannot be"):
        offset_contour(ELL, math.nan)
    with pytest.raises(BadValueError, match=r"a mitre limit of 0.5 cannot be"):
        offset_contour(ELL, 0.1, mitre_limit=0.5)
