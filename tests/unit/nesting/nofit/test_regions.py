"""No-fit regions against a union of convex pieces, and cells against a plain distance."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
import shapely
import shapely.affinity

from lasernest.nesting.nofit.regions import bridged, no_fit_rings
from lasernest.nesting.outlines import Stance
from lasernest.nesting.search import _kernels
from lasernest.nesting.search.model import Outline, build_model, turned_ring

ELL = shapely.Polygon([(0, 0), (3, 0), (3, 1), (1, 1), (1, 3), (0, 3)])
STAR = shapely.Polygon([(0, 0), (2, 1), (4, 0), (3, 2), (4, 4), (2, 3), (0, 4), (1, 2)])
KITE = shapely.Polygon([(0, 0), (1.3, -0.7), (2.1, 0.4), (0.9, 1.8)])
COMB = shapely.Polygon(
    [
        (0, 0),
        (7, 0),
        (7, 2),
        (6, 2),
        (6, 1),
        (5, 1),
        (5, 2),
        (4, 2),
        (4, 1),
        (2.5, 1),
        (2.5, 3),
        (0, 3),
    ]
)
RING = shapely.Polygon(shapely.box(0, 0, 6, 5).exterior, [shapely.box(1, 1, 5, 4).exterior])
TILE = shapely.box(0, 0, 2, 1.5)
SHAPES = {"ell": ELL, "star": STAR, "kite": KITE, "comb": COMB, "ring": RING, "tile": TILE}


def pieces(shape: shapely.Polygon) -> list[np.ndarray]:
    triangles = shapely.get_parts(shapely.constrained_delaunay_triangles(shape))
    return [shapely.get_coordinates(t)[:-1] for t in triangles]


def union_of_pieces(a: shapely.Polygon, b: shapely.Polygon) -> shapely.Geometry:
    """The Minkowski sum of a and -b as the union of the sums of triangles."""
    sums = [
        shapely.MultiPoint((p[:, None] - q[None]).reshape(-1, 2)).convex_hull
        for p, q in itertools.product(pieces(a), pieces(b))
    ]
    return shapely.union_all(sums)


@pytest.mark.parametrize(
    ("first", "second"), list(itertools.combinations_with_replacement(sorted(SHAPES), 2))
)
def test_regions_equal_the_union_of_convex_sums(first: str, second: str) -> None:
    # Minkowski sum of a union = union of the Minkowski sums (set algebra)
    a, b = SHAPES[first], SHAPES[second]
    expected = union_of_pieces(a, b)
    rings = no_fit_rings(bridged(a), bridged(b))
    area = sum(
        shapely.Polygon(r).area * (1 if shapely.is_ccw(shapely.LinearRing(r)) else -1)
        for r in rings
    )
    assert area == pytest.approx(expected.area, rel=1e-9)
    for ring in rings:
        for corner in ring:
            assert expected.boundary.distance(shapely.Point(corner)) < 1e-9


def test_a_hole_that_fits_leaves_an_inner_ring() -> None:
    # 4 x 3 hole, 2 x 1.5 tile: the tile may move 2 x 1.5 inside
    inner = [
        r
        for r in no_fit_rings(bridged(RING), bridged(TILE))
        if not shapely.is_ccw(shapely.LinearRing(r))
    ]
    assert [shapely.Polygon(r).area for r in inner] == pytest.approx([3.0])


def test_depth_is_the_distance_to_the_border_of_the_region() -> None:
    stances = (Stance(0.0), Stance(90.0), Stance(33.0), Stance(180.0, True))
    shapes = list(SHAPES.values())
    model = build_model([Outline(shape, stances) for shape in shapes])
    rng = np.random.default_rng(7)
    rings = [bridged(shape) for shape in shapes]
    for _ in range(300):
        a, b = rng.integers(len(model.stance_of), size=2)
        low = model.boxes[a, :2] - model.boxes[b, 2:]
        high = model.boxes[a, 2:] - model.boxes[b, :2]
        x, y = low + rng.random(2) * (high - low)
        found = _kernels.pair_depth(
            a, 0.0, 0.0, b, x, y,
            model.pairs, model.frames, model.heads, model.edges, model.cells,
        )  # fmt: skip
        ka, kb = a // len(stances), b // len(stances)
        pa = turned_ring(rings[ka], model.stance_of[a]) + model.origins[a]
        pb = turned_ring(rings[kb], model.stance_of[b]) + model.origins[b] + (x, y)
        meet = shapely.make_valid(shapely.Polygon(pa)).intersection(
            shapely.make_valid(shapely.Polygon(pb))
        )
        assert (found > 1e-9) == (meet.area > 1e-9)
        if found > 1e-6:
            # moved by the depth in the best direction they touch; by less they never part
            for angle in np.linspace(0.0, 2 * np.pi, 24, endpoint=False):
                step = 0.999 * found * np.array([np.cos(angle), np.sin(angle)])
                assert _kernels.pair_depth(
                    a, 0.0, 0.0, b, x + step[0], y + step[1],
                    model.pairs, model.frames, model.heads, model.edges, model.cells,
                ) > 0.0  # fmt: skip


def test_no_slit_where_the_outlines_overlap() -> None:
    # Two parts of poly2b: a hollow edge of one runs along an edge of the other. The fold of
    # the convolution between them is no place to be: they overlap there by 6.3 of 21.
    first = shapely.Polygon([(0, 0), (10, 0), (9, 4), (4, 2), (2, 3)])
    second = shapely.Polygon([(0, 8), (3, 4), (11, 0), (10, 7), (2, 10)])
    (ring,) = no_fit_rings(bridged(first), bridged(second))
    for x, y in ring:
        moved = shapely.affinity.translate(second, x, y)
        assert first.intersection(moved).area < 1e-9
