"""The pointer snaps to the best point of a panel as it lies, however many corners it has."""

from __future__ import annotations

import math
import random

import pytest

from lasernest.domain.contours import Contour, Point, Pose, Vertex
from lasernest.geometry.near_segments import NearSegments
from lasernest.gui.board.snapping import snap_point

PLATE = (
    Contour(
        (
            Vertex(0.0, 0.0),
            Vertex(40.0, 0.0, 0.4),
            Vertex(40.0, 30.0),
            Vertex(20.0, 35.0, -1.7),
            Vertex(0.0, 30.0),
        )
    ),
    Contour.circle(12.0, 10.0, 4.0).reversed(),
)


def best_of_all(pose: Pose, at: Point, within_mm: float) -> float | None:
    """The rank of the best point, each line and arc looked at as it lies."""
    ranks = []
    for contour in PLATE:
        for segment in contour.posed(pose).segments():
            points = [(1.0, segment.start), (1.0, segment.end), (1.2, segment.point_at(0.5))]
            if segment.is_arc:
                points.append((1.2, segment.centre))
            foot = min(
                (segment.point_at(i / 4000) for i in range(4001)),
                key=lambda p: math.dist(p, at),
            )
            points.append((2.5, foot))
            ranks += [worth * math.dist(point, at) for worth, point in points]
    return min((rank for rank in ranks if rank <= within_mm), default=None)


@pytest.mark.parametrize("pose", [Pose(), Pose(100.0, -20.0, 90.0), Pose(3.0, 4.0, 33.0, True)])
def test_the_best_point_is_found_as_if_each_line_were_looked_at(pose: Pose) -> None:
    rng = random.Random(7)
    segments = NearSegments(PLATE)
    hits = 0
    for _ in range(60):
        at = pose.apply(rng.uniform(-10.0, 60.0), rng.uniform(-10.0, 45.0))
        expected = best_of_all(pose, at, 6.0)
        found = snap_point(segments, pose, *at, 6.0)
        if expected is None:
            assert found is None or found[0] == pytest.approx(6.0, abs=0.1)
            continue
        assert found is not None
        hits += 1
        assert found[0] == pytest.approx(expected, abs=0.02)
        assert math.dist(found[1], at) <= found[0] + 1e-9
    assert hits > 15


def test_corners_are_met_exactly() -> None:
    pose = Pose(100.0, -20.0, 90.0, True)
    corner = pose.apply(40.0, 30.0)
    found = snap_point(NearSegments(PLATE), pose, corner[0] + 0.5, corner[1], 2.0)
    assert found is not None
    assert found[1] == pytest.approx(corner, abs=1e-12)
