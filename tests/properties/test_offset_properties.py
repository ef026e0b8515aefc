"""Offsets of generated contours against polygon offsets by GEOS and by Clipper."""

from __future__ import annotations

import numpy as np
import pyclipper
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry.base import BaseGeometry

from lasernest.domain.contours import Contour
from lasernest.geometry.flatten import ring_polygon
from lasernest.geometry.offsets import offset_contour
from tests.properties.strategies import notched_contours, star_contours

CHORD_MM = 2e-4
SLACK_MM = 1e-3
DISTANCES = st.sampled_from([0.05, 0.1, 0.185, 0.5, 1.3, 4.0])
CONTOURS = st.one_of(star_contours(), notched_contours())


def region(rings: tuple[Contour, ...]) -> BaseGeometry:
    """The area of rings, those that run clockwise being voids."""
    shape: BaseGeometry = shapely.Polygon()
    for ring in rings:
        if ring.is_anticlockwise:
            part = ring_polygon(ring, chord_error_mm=CHORD_MM)
            assert part.is_valid
            shape = shape.union(part)
    for ring in rings:
        if not ring.is_anticlockwise:
            shape = shape.difference(ring_polygon(ring, chord_error_mm=CHORD_MM))
    return shape


def clipper_round(shape: BaseGeometry, d: float) -> BaseGeometry:
    """A round offset by Clipper (GEOS takes bends within 1 % of the distance away first)."""
    scale = 1e6
    offsetter = pyclipper.PyclipperOffset(2.0, CHORD_MM * scale)
    parts = getattr(shape, "geoms", [shape])
    for part in parts:
        for ring in (part.exterior, *part.interiors):
            points = np.rint(np.array(ring.coords)[:-1] * scale).astype(np.int64).tolist()
            offsetter.AddPath(points, pyclipper.JT_ROUND, pyclipper.ET_CLOSEDPOLYGON)
    solids, voids = [], []
    for path in offsetter.Execute(d * scale):
        ring = shapely.Polygon(np.array(path) / scale).buffer(0)
        (solids if pyclipper.Orientation(path) else voids).append(ring)
    return shapely.union_all(solids).difference(shapely.union_all(voids))


def within(a: BaseGeometry, b: BaseGeometry, slack_mm: float = SLACK_MM) -> bool:
    """True when a lies in b but for strips thinner than about the slack."""
    # On a grid of a nanometre: without one, GEOS may return all of a where edges all but coincide.
    return shapely.difference(a, b, grid_size=1e-6).buffer(-0.5 * slack_mm).is_empty


@settings(deadline=None, max_examples=150)
@given(CONTOURS, DISTANCES)
def test_grown_contours(ring: Contour, d: float) -> None:
    drawn = ring_polygon(ring, chord_error_mm=CHORD_MM)
    grown = region(offset_contour(ring, d))
    rounded = clipper_round(drawn, d)
    # nothing nearer than d, nothing further than the mitre limit
    assert within(rounded, grown)
    assert within(grown, clipper_round(drawn, 4.0 * d))
    # what the mitres add lies in the corners: no more than a kite for each
    kites_mm2 = 8.0 * d * d * len(ring.vertices)
    assert grown.area - rounded.area <= kites_mm2 + SLACK_MM * ring.length_mm
    # the beam leaves the drawn shape, its inner corners rounded: the morphological closing
    left = clipper_round(grown, -d)
    assert within(drawn, left)
    assert within(clipper_round(rounded, -d), left)


@settings(deadline=None, max_examples=150)
@given(CONTOURS, DISTANCES)
def test_shrunk_contours(ring: Contour, d: float) -> None:
    drawn = ring_polygon(ring, chord_error_mm=CHORD_MM)
    shrunk = region(offset_contour(ring, -d))
    rounded = clipper_round(drawn, -d)
    assert within(shrunk, rounded)
    if not shrunk.is_empty:
        assert within(clipper_round(shrunk, d), drawn)
    kites_mm2 = 8.0 * d * d * len(ring.vertices)
    assert rounded.area - shrunk.area <= kites_mm2 + SLACK_MM * ring.length_mm


@settings(deadline=None, max_examples=100)
@given(st.one_of(star_contours(arcs=False), notched_contours()), DISTANCES, st.booleans())
def test_straight_contours_equal_mitred_polygons(ring: Contour, d: float, grow: bool) -> None:
    signed = d if grow else -d
    ours = region(offset_contour(ring, signed, mitre_limit=1e9))
    theirs = ring_polygon(ring, chord_error_mm=1.0).buffer(
        signed, join_style="mitre", mitre_limit=1e9
    )
    assert within(ours, theirs, max(SLACK_MM, 0.011 * d))
    assert within(theirs, ours, max(SLACK_MM, 0.011 * d))


@settings(deadline=None, max_examples=100)
@given(CONTOURS, DISTANCES)
def test_direction_does_not_matter(ring: Contour, d: float) -> None:
    for signed in (d, -d):
        one = offset_contour(ring, signed)
        other = offset_contour(ring.reversed(), signed)
        assert len(one) == len(other)
        for a, b in zip(one, other, strict=True):
            assert a.signed_area_mm2 == pytest.approx(-b.signed_area_mm2, abs=1e-5)
