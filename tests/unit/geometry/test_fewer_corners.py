"""Lines for looking at have fewer corners and lie where they lay."""

from __future__ import annotations

import math

import shapely

from lasernest.domain.contours import Contour
from lasernest.geometry.fewer_corners import with_fewer_corners


def wavy(*, closed: bool) -> Contour:
    """Two thousand corners."""
    points = [
        ((50.0 + math.sin(0.1 * i)) * math.cos(i / 330.0), 50.0 * math.sin(i / 330.0))
        for i in range(2000)
    ]
    return Contour.polygon(points) if closed else Contour.polyline(points)


def test_what_is_left_lies_within_what_was_asked_for() -> None:
    for closed in (True, False):
        contour = wavy(closed=closed)
        few = with_fewer_corners(contour, within_mm=0.05)
        assert few.closed is closed
        assert len(few.vertices) < 500
        assert set(few.vertices) <= set(contour.vertices)
        lines = [
            shapely.LineString([(v.x_mm, v.y_mm) for v in c.vertices] + [c.end])
            for c in (few, contour)
        ]
        assert shapely.hausdorff_distance(*lines) <= 0.05 + 1e-9


def test_what_has_arcs_or_would_vanish_stays() -> None:
    circle = Contour.circle(0.0, 0.0, 10.0)
    assert with_fewer_corners(circle, within_mm=1.0) is circle
    triangle = Contour.polygon([(0.0, 0.0), (10.0, 0.0), (5.0, 0.01)])
    assert with_fewer_corners(triangle, within_mm=5.0) is triangle
