"""Distances to lines and arcs against hand figures and finely flattened curves."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from lasernest.domain.contours import Contour, Vertex
from lasernest.geometry import distances
from lasernest.geometry.distances import distances_to_contours, distances_to_ring
from lasernest.geometry.flatten import line_string, ring_points
from tests.properties.strategies import star_contours


def one(contour: Contour, *points: tuple[float, float]) -> list[float]:
    (found,) = distances_to_contours([np.array(points, dtype=float)], [contour])
    return found.tolist()


def test_lines() -> None:
    square = Contour.rectangle(0, 0, 10, 10)
    assert one(square, (5, 5), (5, 1), (-3, -4), (12, 5), (0, 3)) == pytest.approx([5, 1, 5, 2, 0])
    run = Contour.polyline([(0, 0), (10, 0), (10, 10)])
    assert one(run, (0, 10)) == pytest.approx([10])  # no way back to the start


def test_arcs() -> None:
    circle = Contour.circle(3, 4, 5)
    assert one(circle, (3, 4), (3, 10), (4, 4)) == pytest.approx([5, 1, 4])
    half = Contour((Vertex(0, 0, 1.0), Vertex(10, 0)), closed=False)  # below the chord
    assert one(half, (5, -7), (5, 3), (12, 0), (5, -5)) == pytest.approx(
        [2, math.hypot(5, 3), 2, 0], abs=1e-12
    )
    most = Contour((Vertex(0, 0, -3.0), Vertex(6, 0)), closed=False)  # above, R 5, centre (3, 4)
    assert one(most, (3, 4), (3, 0), (3, 10)) == pytest.approx([5, 3, 1])


@settings(deadline=None, max_examples=60)
@given(st.lists(star_contours(), min_size=1, max_size=3), st.integers(0, 1000))
def test_like_finely_flattened(contours: list[Contour], seed: int) -> None:
    rng = np.random.default_rng(seed)
    points = [rng.uniform(-60, 60, (i * 7, 2)) for i in range(len(contours))]
    for contour, some, found in zip(
        contours, points, distances_to_contours(points, contours), strict=True
    ):
        line = line_string(contour, chord_error_mm=1e-5)
        expected = shapely.distance(shapely.points(some), line)
        assert np.abs(found - expected).max(initial=0.0) <= 1.1e-5


def test_many_pairs_go_in_parts(monkeypatch: pytest.MonkeyPatch) -> None:
    contours = [Contour.circle(0, 0, 5), Contour.rectangle(0, 0, 9, 9), Contour.circle(9, 0, 2)]
    points = [np.random.default_rng(i).uniform(-9, 9, (50 * i + 3, 2)) for i in range(3)]
    whole = distances_to_contours(points, contours)
    monkeypatch.setattr(distances, "PAIRS_AT_ONCE", 7)
    parts = distances_to_contours(points, contours)
    assert [w.tolist() for w in whole] == [p.tolist() for p in parts]


def test_no_points() -> None:
    (found,) = distances_to_contours([np.empty((0, 2))], [Contour.circle(0, 0, 1)])
    assert found.tolist() == []


def test_ring_of_short_segments() -> None:
    ring = np.array([[0, 0], [10, 0], [10, 10], [0, 10]], dtype=float)
    found = distances_to_ring(np.array([[5, 5], [-1, 5], [12, 12.0]]), ring)
    assert found.tolist() == pytest.approx([5, 1, math.hypot(2, 2)])
    assert distances_to_ring(np.empty((0, 2)), ring).tolist() == []


@settings(deadline=None, max_examples=40)
@given(star_contours(), st.integers(0, 1000), st.sampled_from([1e-4, 1.0, 50.0]))
def test_ring_like_geos(contour: Contour, seed: int, spread_mm: float) -> None:
    # GEOS looks at every segment; here whole blocks of segments are passed over.
    ring = ring_points(contour, chord_error_mm=0.01)
    rng = np.random.default_rng(seed)
    near = ring[rng.integers(0, len(ring), 90)] + rng.uniform(-spread_mm, spread_mm, (90, 2))
    expected = shapely.distance(shapely.points(near), shapely.LinearRing(ring))
    assert np.abs(distances_to_ring(near, ring) - expected).max() <= 1e-12


def test_ring_in_parts(monkeypatch: pytest.MonkeyPatch) -> None:
    ring = ring_points(Contour.circle(0, 0, 5), chord_error_mm=1e-4)
    points = np.random.default_rng(3).uniform(-9, 9, (80, 2))
    whole = distances_to_ring(points, ring)
    monkeypatch.setattr(distances, "PAIRS_AT_ONCE", 100)
    assert distances_to_ring(points, ring).tolist() == whole.tolist()
