"""Flattening against closed forms; sources named beside the numbers."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from lasernest.domain.contours import Contour, Vertex
from lasernest.domain.panels import Panel
from lasernest.errors import BadValueError
from lasernest.geometry.flatten import (
    all_points,
    chords_of_arc,
    line_string,
    line_strings,
    polygon,
    ring_points,
    ring_polygon,
    ring_polygons,
)


@pytest.mark.parametrize(
    ("radius", "error", "count"),
    [(10, 0.01, 71), (10, 0.05, 32), (100, 0.01, 223), (1, 0.01, 23), (500, 0.01, 497),
     (100, 0.05, 100), (10, 0.1, 23)],
)  # fmt: skip
def test_chords_of_a_full_circle(radius: float, error: float, count: int) -> None:
    # G13 and the flattening row of the closed forms: n = ceil(pi / acos(1 - e/R))
    assert chords_of_arc(radius, 2 * math.pi, chord_error_mm=error) == count


def test_a_coarse_error_still_leaves_a_triangle() -> None:
    assert chords_of_arc(1.0, 2 * math.pi, chord_error_mm=50.0) == 3


@pytest.mark.parametrize("error", [0.0, -0.1, math.nan])
def test_chord_error_must_be_above_zero(error: float) -> None:
    with pytest.raises(BadValueError, match="a chord error of"):
        ring_points(Contour.circle(0, 0, 5), chord_error_mm=error)


def test_points_lie_on_the_arc_and_chords_keep_the_error() -> None:
    points = ring_points(Contour.circle(1000.0, -2000.0, 7.0), chord_error_mm=0.002)
    radii = np.hypot(points[:, 0] - 1000.0, points[:, 1] + 2000.0)
    assert np.abs(radii - 7.0).max() < 1e-9
    middles = 0.5 * (points + np.roll(points, -1, axis=0))
    sagitta = 7.0 - np.hypot(middles[:, 0] - 1000.0, middles[:, 1] + 2000.0)
    assert 0.0015 < sagitta.max() <= 0.002 + 1e-9


def test_a_straight_contour_keeps_its_corners() -> None:
    ring = Contour.rectangle(1, 2, 3, 4)
    assert ring_points(ring, chord_error_mm=0.01).tolist() == [[1, 2], [4, 2], [4, 6], [1, 6]]
    run = Contour.polyline([(0, 0), (1, 0), (1, 1)])
    assert ring_points(run, chord_error_mm=0.01).tolist() == [[0, 0], [1, 0], [1, 1]]


def test_an_open_run_ends_exactly_on_its_last_vertex() -> None:
    run = Contour((Vertex(0, 0, 0.5), Vertex(10, 0, -1), Vertex(20, 3)), closed=False)
    points = ring_points(run, chord_error_mm=0.01)
    assert points[0].tolist() == [0, 0]
    assert points[-1].tolist() == [20, 3]
    assert [10.0, 0.0] in points.tolist()


def test_zero_length_segments_add_no_point() -> None:
    ring = Contour((Vertex(0, 0), Vertex(0, 0, 0.7), Vertex(5, 0), Vertex(5, 5), Vertex(0, 0)))
    assert len(ring_points(ring, chord_error_mm=10)) == 3 + 1  # one point inside the arc
    straight = Contour.polygon([(0, 0), (0, 0), (5, 0), (5, 5)])
    assert len(ring_points(straight, chord_error_mm=1)) == 3


def test_stadium_area_from_its_polygon() -> None:
    # X4: 478.5398163; a chord error e takes about 2/3 e x arc length away
    stadium = Contour((Vertex(0, 0), Vertex(40, 0, 1), Vertex(40, 10), Vertex(0, 10, 1)))
    area = ring_polygon(stadium, chord_error_mm=1e-5).area
    assert area == pytest.approx(478.5398163, abs=2.2e-4)
    assert area < 478.5398163


def test_circumscribed_holds_the_panel_and_stays_near() -> None:
    ring = Contour(
        (
            Vertex(0, 0), Vertex(40, 0, 1), Vertex(40, 10, -0.8), Vertex(20, 10),
            Vertex(0, 10, 0.3),
        )
    )  # fmt: skip
    hole = Contour.circle(6, 5, 3)
    panel = Panel.of("a", ring, [hole])
    fine = polygon(panel, chord_error_mm=1e-5)
    grown = polygon(panel, chord_error_mm=0.05, circumscribed=True)
    assert fine.difference(grown.buffer(2e-5)).is_empty
    # within the chord error of the true panel, from outside only
    assert shapely.hausdorff_distance(grown.exterior, fine.exterior, densify=0.01) < 0.0502
    assert grown.area > fine.area
    inscribed = polygon(panel, chord_error_mm=0.05)
    assert not fine.difference(inscribed.buffer(2e-5)).is_empty


def test_circumscribed_circle_is_a_tangent_polygon() -> None:
    points = ring_points(Contour.circle(0, 0, 10), chord_error_mm=0.05, circumscribed=True)
    edges = shapely.LinearRing(points)
    assert shapely.Point(0, 0).distance(edges) == pytest.approx(10.0, abs=1e-9)
    assert np.hypot(points[:, 0], points[:, 1]).max() <= 10.05 + 1e-9


def test_line_string_of_a_ring_is_closed() -> None:
    line = line_string(Contour.circle(0, 0, 5), chord_error_mm=1e-4)
    assert line.is_closed
    assert line.length == pytest.approx(10 * math.pi, abs=1e-3)


def test_many_contours_in_one_pass() -> None:
    contours = [
        Contour.circle(0, 0, 5),
        Contour((Vertex(0, 0, 0.5), Vertex(10, 0, -1), Vertex(20, 3)), closed=False),
        Contour.rectangle(0, 0, 2, 3),
        Contour.polyline([(0, 0), (1, 0)]),
    ]
    together = all_points(contours, chord_error_mm=0.01)
    assert all_points([], chord_error_mm=0.01) == []
    for contour, points in zip(contours, together, strict=True):
        assert points.tolist() == ring_points(contour, chord_error_mm=0.01).tolist()


def test_a_sliver_of_a_line_and_a_flat_arc_keeps_an_area() -> None:
    # Chord 4 mm, rise b c / 2 = 0.008 mm; one corner on the arc makes a triangle.
    sliver = Contour((Vertex(0, 0, 0.004), Vertex(4, 0, 0.0)))
    (shape,) = ring_polygons([sliver], chord_error_mm=0.01)
    assert shape.area == pytest.approx(0.5 * 4 * 0.008)
    assert shape.equals(ring_polygon(sliver, chord_error_mm=0.01))


def test_many_at_once_are_what_each_is_alone() -> None:
    rings = [
        Contour.circle(3, 4, 20),
        Contour.rectangle(0, 0, 7, 5),
        Contour((Vertex(0, 0, 1.0), Vertex(9, 0, 0.0))),
    ]
    runs = [Contour(ring.vertices, closed=False) for ring in rings[1:]]
    shapes = ring_polygons(rings, chord_error_mm=0.02)
    assert [s.wkb for s in shapes] == [ring_polygon(r, chord_error_mm=0.02).wkb for r in rings]
    lines = line_strings([*rings, *runs], chord_error_mm=0.02)
    assert [line.is_closed for line in lines] == [True, True, True, False, False]
    assert [line.wkb for line in lines] == [
        line_string(c, chord_error_mm=0.02).wkb for c in (*rings, *runs)
    ]
    assert len(ring_polygons([], chord_error_mm=0.02)) == 0
    assert len(line_strings([], chord_error_mm=0.02)) == 0
