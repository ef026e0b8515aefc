"""Exact contours against closed forms; numbers from the sources named beside them."""

from __future__ import annotations

import math

import pytest

from lasernest.domain.contours import Contour, Pose, Segment, Vertex
from lasernest.errors import BadContourError


@pytest.mark.parametrize(
    ("theta_deg", "bulge"),
    [(90, 0.4142135624), (180, 1.0), (120, 0.5773502692), (270, 2.4142135624)],
)
def test_bulge_is_the_tangent_of_a_quarter_angle(theta_deg: float, bulge: float) -> None:
    # X1: published bulge definition, tan(theta/4)
    assert math.degrees(Segment(0, 0, 10, 0, bulge).sweep_rad) == pytest.approx(theta_deg, abs=1e-7)


def test_half_circle_centre_radius_and_lowest_point() -> None:
    # X2
    s = Segment(0, 0, 10, 0, 1.0)
    assert s.centre == pytest.approx((5, 0))
    assert s.radius_mm == pytest.approx(5)
    assert s.middle == pytest.approx((5, -5))


def test_negative_bulge() -> None:
    # X3: centre (5, -3.75), R 6.25, arc 11.59119
    s = Segment(0, 0, 10, 0, -0.5)
    assert s.centre == pytest.approx((5, -3.75))
    assert s.radius_mm == pytest.approx(6.25)
    assert s.length_mm == pytest.approx(11.59119, abs=5e-6)
    assert s.middle == pytest.approx((5, 2.5))


def test_stadium_area_and_perimeter() -> None:
    # X4
    stadium = Contour((Vertex(0, 0), Vertex(40, 0, 1), Vertex(40, 10), Vertex(0, 10, 1)))
    assert stadium.area_mm2 == pytest.approx(478.5398163, abs=1e-6)
    assert stadium.length_mm == pytest.approx(111.4159265, abs=1e-6)
    assert stadium.bounds_mm() == pytest.approx((-5, 0, 45, 10))


def test_circular_segment() -> None:
    # G9: chord 21, rise 6 -> R 12.1875, 118.97953 deg, arc 25.308373, area 89.254148
    s = Segment(0, 0, 21, 0, 2 * 6 / 21)
    assert s.radius_mm == pytest.approx(12.1875)
    assert math.degrees(s.sweep_rad) == pytest.approx(118.97953, abs=1e-5)
    assert s.length_mm == pytest.approx(25.308373, abs=1e-6)
    ring = Contour((Vertex(0, 0, 2 * 6 / 21), Vertex(21, 0)))
    assert ring.area_mm2 == pytest.approx(89.254148, abs=1e-6)


@pytest.mark.parametrize(
    ("rise", "area"), [(0.5, 1.022), (1, 2.796), (1.5, 4.954), (2, 7.334), (2.5, 9.817)]
)
def test_segment_areas_of_a_radius_of_2_5(rise: float, area: float) -> None:
    # G11
    half_chord = math.sqrt(2.5**2 - (2.5 - rise) ** 2)
    ring = Contour((Vertex(0, 0, rise / half_chord), Vertex(2 * half_chord, 0)))
    assert ring.area_mm2 == pytest.approx(area, abs=5e-4)


def test_very_flat_arc_keeps_its_area() -> None:
    # area of a flat segment tends to 2/3 chord x rise
    rise_mm = 1e-4
    ring = Contour((Vertex(0, 0, 2 * rise_mm / 100), Vertex(100, 0)))
    assert ring.area_mm2 == pytest.approx(2 / 3 * 100 * rise_mm, rel=1e-6)


def test_shoelace() -> None:
    # G12
    ell = Contour.polygon([(0, 0), (40, 0), (40, 20), (20, 20), (20, 50), (0, 50)])
    assert ell.signed_area_mm2 == 1400
    assert ell.reversed().signed_area_mm2 == -1400
    pentagon = Contour.polygon([(1, 6), (3, 1), (7, 2), (4, 4), (8, 5)])
    assert pentagon.signed_area_mm2 == 16.5


def test_rounded_rectangle() -> None:
    # G7: 100x60 with corners of R 8
    b = math.tan(math.pi / 8)
    ring = Contour(
        (
            Vertex(8, 0), Vertex(92, 0, b), Vertex(100, 8), Vertex(100, 52, b),
            Vertex(92, 60), Vertex(8, 60, b), Vertex(0, 52), Vertex(0, 8, b),
        )
    )  # fmt: skip
    assert ring.area_mm2 == pytest.approx(5945.061930, abs=1e-6)
    assert ring.length_mm == pytest.approx(306.265482, abs=1e-6)
    assert ring.bounds_mm() == pytest.approx((0, 0, 100, 60))


def test_circle_round_trips() -> None:
    ring = Contour.circle(3, 4, 5)
    circle = ring.as_circle()
    assert circle is not None
    assert tuple(circle) == pytest.approx((3, 4, 5))
    assert ring.area_mm2 == pytest.approx(25 * math.pi)
    assert ring.bounds_mm() == pytest.approx((-2, -1, 8, 9))
    assert Contour.rectangle(0, 0, 1, 1).as_circle() is None
    half_disc = Contour((Vertex(0, 0, 1), Vertex(10, 0)))
    assert half_disc.as_circle() is None


def test_reversal_keeps_curve_and_flips_area() -> None:
    ring = Contour((Vertex(0, 0, 0.3), Vertex(10, 0), Vertex(10, 8, -0.2), Vertex(0, 8)))
    back = ring.reversed()
    assert back.signed_area_mm2 == pytest.approx(-ring.signed_area_mm2)
    assert back.start == ring.start
    assert back.reversed() == ring
    run = Contour((Vertex(0, 0, 0.3), Vertex(10, 0), Vertex(10, 8)), closed=False)
    assert run.reversed().vertices[-2] == Vertex(10, 0, -0.3)
    assert run.reversed().reversed() == run


def test_pose_mirrors_then_turns_then_moves() -> None:
    pose = Pose(10, 20, 90, mirrored=True)
    # (1, 2) -> mirror (-1, 2) -> turn 90 (-2, -1) -> move (8, 19)
    assert pose.apply(1, 2) == (8.0, 19.0)
    arc = Contour((Vertex(0, 0, 0.5), Vertex(10, 0), Vertex(5, 8)))
    placed = arc.posed(pose)
    assert placed.vertices[0].bulge == -0.5
    assert placed.area_mm2 == pytest.approx(arc.area_mm2)


@pytest.mark.parametrize(
    "vertices",
    [(), (Vertex(0, 0),), (Vertex(0, 0), Vertex(1, 0)), (Vertex(0, 0), Vertex(1, math.nan))],
)
def test_contours_that_cannot_be(vertices: tuple[Vertex, ...]) -> None:
    with pytest.raises(BadContourError):
        Contour(vertices)
