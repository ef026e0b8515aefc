"""Where a disc cannot reach: the fast way of closing against the plain one."""

from __future__ import annotations

import math

import numpy as np
import pyclipper
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from lasernest.domain.contours import Contour
from lasernest.geometry import sweeping
from lasernest.geometry.flatten import ring_points
from lasernest.geometry.sweeping import ROUNDING_MM, closed_by_disc
from tests.properties.strategies import star_contours


def _plainly(ring: np.ndarray, radius_mm: float, *, outer: bool) -> list[shapely.Polygon]:
    """Grow by a disc, shrink by a disc, as the word closing is defined."""
    sign = 1.0 if outer else -1.0
    there = sweeping._offset([ring], pyclipper.ET_CLOSEDPOLYGON, sign * radius_mm)
    rings = [r for part in there for r in sweeping._rings(part)]
    if not rings:
        return []
    return sweeping._offset(rings, pyclipper.ET_CLOSEDPOLYGON, -sign * radius_mm)


def _sound(parts: list[shapely.Polygon]) -> shapely.Geometry:
    return shapely.union_all(shapely.make_valid(parts), grid_size=1e-6)


@settings(deadline=None, max_examples=80)
@given(star_contours(), st.sampled_from([0.05, 0.4, 3.0]), st.booleans(), st.booleans())
def test_sharp_corners_close_like_round_ones(
    contour: Contour, radius_mm: float, outer: bool, backwards: bool
) -> None:
    ring = ring_points(contour, chord_error_mm=0.01)
    ring = ring[::-1] if backwards else ring
    fast = closed_by_disc(ring, radius_mm=radius_mm, outer=outer)
    plain = _plainly(ring, radius_mm, outer=outer)
    off = shapely.symmetric_difference(*map(_sound, (fast, plain)), grid_size=1e-6)
    # The plain way has chords within ROUNDING_MM of each arc, once there and once back.
    assert off.buffer(-1.5 * ROUNDING_MM).is_empty


def test_an_ell_keeps_its_outer_corners_and_rounds_the_inner_one() -> None:
    ell = np.array([[0, 0], [30, 0], [30, 10], [10, 10], [10, 30], [0, 30]], dtype=float)
    assert sweeping._moved_sharp(ell, 2.0) is not None
    (closed,) = closed_by_disc(ell, radius_mm=2.0, outer=True)
    # The corner's square of side r less a quarter disc is filled: (1 - pi / 4) r^2.
    assert closed.area - 500.0 == pytest.approx((1.0 - math.pi / 4.0) * 4.0, abs=2e-3)
    (hole,) = closed_by_disc(ell, radius_mm=2.0, outer=False)
    # In a hole the other five corners are the material's inner ones.
    assert 500.0 - hole.area == pytest.approx(5.0 * (1.0 - math.pi / 4.0) * 4.0, abs=1e-2)


def test_a_corner_near_another_wall_goes_the_plain_way() -> None:
    # A tooth whose tip comes within a radius of the wall across: its mitre would fill the gap.
    inside = np.array(
        [(0, 0), (20, 0), (20, 20), (0, 20), (0, 10.2), (19.5, 10.0), (0, 9.8)], dtype=float
    )
    assert sweeping._moved_sharp(inside, -1.0) is None
    fast = shapely.union_all(closed_by_disc(inside, radius_mm=1.0, outer=False))
    plain = shapely.union_all(_plainly(inside, 1.0, outer=False))
    assert fast.equals(plain)
