"""What is near is found, held against looking at each line and arc."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lasernest.domain.contours import Contour, Pose, Segment, Vertex
from lasernest.geometry.extents import segment_room_mm, segment_table
from lasernest.geometry.near_segments import NearSegments

numbers = st.floats(-50.0, 50.0)
vertices = st.builds(Vertex, numbers, numbers, st.sampled_from([0.0, 0.3, -1.0, 1.0, 2.5, -4.0]))
runs = st.builds(
    lambda corners, closed: Contour(tuple(corners), closed),
    st.lists(vertices, min_size=3, max_size=8),
    st.booleans(),
)


def points_of(segment: Segment) -> list[tuple[float, float]]:
    return [segment.point_at(i / 16) for i in range(17)]


@given(st.lists(runs, min_size=1, max_size=4))
def test_the_table_holds_each_line_and_arc(contours: list[Contour]) -> None:
    rows = segment_table(contours)
    assert [tuple(row) for row in rows.tolist()] == [
        tuple(s) for contour in contours for s in contour.segments()
    ]


@given(st.lists(runs, min_size=1, max_size=4))
def test_no_line_or_arc_leaves_its_room(contours: list[Contour]) -> None:
    rooms = segment_room_mm(segment_table(contours))
    segments = [s for contour in contours for s in contour.segments()]
    for (x0, y0, x1, y1), segment in zip(rooms.tolist(), segments, strict=True):
        for x, y in points_of(segment):
            assert x0 - 1e-9 <= x <= x1 + 1e-9
            assert y0 - 1e-9 <= y <= y1 + 1e-9


@given(st.lists(runs, min_size=1, max_size=4), numbers, numbers, st.floats(0.1, 20.0))
def test_all_that_is_near_is_found(
    contours: list[Contour], x: float, y: float, within: float
) -> None:
    found = NearSegments(contours).near(x, y, within)
    for contour in contours:
        for segment in contour.segments():
            centre = [segment.centre] if segment.is_arc else []
            if any(math.dist((x, y), p) <= within - 1e-9 for p in (*points_of(segment), *centre)):
                assert segment in found


def test_few_of_many_are_found() -> None:
    corners = [(math.cos(a), math.sin(a)) for a in np.linspace(0.0, 6.28, 20_000)]
    ring = Contour.polygon(corners)
    near = NearSegments([ring, Contour.circle(5.0, 0.0, 0.5)])
    assert 1 <= len(near.near(1.0, 0.0, 0.002)) < 20
    assert near.near(0.0, 0.0, 0.5) == []
    assert [s.radius_mm for s in near.near(5.0, 0.0, 0.1)] == pytest.approx([0.5, 0.5])


def test_a_flat_arc_is_found_by_its_far_centre() -> None:
    for turn in range(4):
        arc = Contour((Vertex(50.0, 0.0, 0.1), Vertex(50.0, 10.0)), closed=False)
        (segment,) = arc.posed(Pose(turn_deg=90.0 * turn)).segments()
        assert NearSegments([arc.posed(Pose(turn_deg=90.0 * turn))]).near(*segment.centre, 0.1) == [
            segment
        ]


def test_nothing_is_near_no_contour() -> None:
    assert NearSegments([]).near(0.0, 0.0, 10.0) == []
