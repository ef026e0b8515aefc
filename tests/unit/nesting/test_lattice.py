"""Patterns against closed forms: the grid, the hexagonal packing, pairs that close up."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from lasernest.nesting.lattice import Lattices
from lasernest.nesting.nofit.regions import bridged
from lasernest.nesting.outlines import Stance
from lasernest.nesting.search.model import turned_ring

QUARTERS = tuple(Stance(angle) for angle in (0.0, 90.0, 180.0, 270.0))
ROOM = (4.0, 4.0, 596.0, 396.0)
SHAPES = {
    "rectangle": shapely.box(0, 0, 102, 62),
    "triangle": shapely.Polygon([(0, 0), (60, 0), (20, 50)]),
    "ell": shapely.Polygon([(0, 0), (90, 0), (90, 25), (25, 25), (25, 90), (0, 90)]),
    "disc": shapely.Point(0, 0).buffer(21, quad_segs=8),
    "tee": shapely.Polygon(
        [(0, 0), (60, 0), (60, 20), (40, 20), (40, 60), (20, 60), (20, 20), (0, 20)]
    ),
}


@pytest.mark.parametrize("name", sorted(SHAPES))
def test_patterns_never_overlap_and_stay_in_the_room(name: str) -> None:
    shape = SHAPES[name]
    lattices = Lattices(shape, QUARTERS)
    ring = bridged(shape)
    ring = ring - 0.5 * (ring.min(axis=0) + ring.max(axis=0))
    assert lattices.patterns
    for pattern in lattices.patterns[:12]:
        laid = lattices.fill(pattern, ROOM, 10**6)
        assert laid
        shapes = [
            shapely.Polygon(turned_ring(ring, QUARTERS[s]) + np.array([x, y])) for s, x, y in laid
        ]
        tree = shapely.STRtree(shapes)
        for a, one in enumerate(shapes):
            x0, y0, x1, y1 = one.bounds
            assert min(x0 - 4, y0 - 4, 596 - x1, 396 - y1) > -1e-6
            for b in tree.query(one):
                if b > a:
                    assert one.intersection(shapes[int(b)]).area < 1e-6 * shape.area


def test_discs_come_out_hexagonal() -> None:
    # densest lattice of discs: area per disc = sqrt(12) r^2 (Lagrange 1773); the disc here is a
    # polygon of 32 corners, so its pattern may be a little denser than for the full circle
    best = Lattices(SHAPES["disc"], QUARTERS[:1]).patterns[0]
    assert math.sqrt(12) * 21**2 * 0.99 < best.area < math.sqrt(12) * 21**2 * 1.0005


@pytest.mark.parametrize("name", ["rectangle", "triangle"])
def test_tiles_leave_nothing_over(name: str) -> None:
    # every triangle tiles the plane with its half turn, every rectangle by itself
    best = Lattices(SHAPES[name], QUARTERS).patterns[0]
    assert best.area == pytest.approx(SHAPES[name].area, rel=1e-9)


def test_rectangles_fill_the_grid() -> None:
    # floor(592 / 102) x floor(392 / 62)
    lattices = Lattices(SHAPES["rectangle"], QUARTERS[:1])
    assert max(len(lattices.fill(p, ROOM, 999)) for p in lattices.patterns) == 5 * 6
    assert len(lattices.fill(lattices.patterns[0], ROOM, 17)) == 17
