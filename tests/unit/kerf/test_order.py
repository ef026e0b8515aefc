"""The order of work (T6) and where contours begin."""

from __future__ import annotations

import math
import random
from itertools import pairwise

import pytest

from lasernest.domain.contours import Contour, Pose, Vertex
from lasernest.domain.cutting import CutPath, PathKind, WorkOrder
from lasernest.domain.panels import Mark, MarkKind, Panel
from lasernest.domain.stock import Kerf
from lasernest.geometry.flatten import ring_polygon
from lasernest.kerf.compensate import cut_paths
from lasernest.kerf.cut_time import travel_moves_mm
from lasernest.kerf.order import order_paths
from lasernest.kerf.route import short_route
from tests.cut_kit import front, plate, posed_sheet

KERF = Kerf.same(0.2)
MARKED = Panel.of(
    "marked",
    Contour.rectangle(0, 0, 80, 40),
    [Contour.circle(20, 20, 5)],
    [
        Mark(Contour.polyline([(40, 5), (40, 35)])),
        Mark(Contour.polyline([(60, 5), (60, 35)]), MarkKind.ENGRAVE),
    ],
)


def ring_panel(name: str, size: float, hole: float) -> Panel:
    edge = (size - hole) / 2
    return Panel.of(
        name,
        Contour.rectangle(0, 0, size, size),
        [Contour.rectangle(edge, edge, hole, hole)],
    )


def test_marks_then_inner_then_outer() -> None:
    poses = [Pose(10 + 90 * i, 10 + 50 * j) for i in range(5) for j in range(4)]
    cut, _ = posed_sheet([(MARKED, pose) for pose in poses], KERF)
    kinds = [path.kind for path in cut.paths]
    assert kinds[:40] == [PathKind.ENGRAVE] * 20 + [PathKind.SCORE] * 20
    assert kinds[40:] == [PathKind.CUT_INNER, PathKind.CUT_OUTER] * 20
    # each panel is finished before the next
    copies = [path.copy for path in cut.paths[40:]]
    assert copies[::2] == copies[1::2]


def test_deepest_first() -> None:
    # a disc in the hole of a ring in the hole of a ring
    big, middle = ring_panel("big", 200, 160), ring_panel("middle", 100, 60)
    disc = Panel.of("disc", Contour.circle(0, 0, 20))
    cut, _ = posed_sheet(
        [(big, Pose(10, 10)), (middle, Pose(60, 60)), (disc, Pose(110, 110))], KERF
    )
    assert [(p.panel_name, p.kind) for p in cut.paths] == [
        ("disc", PathKind.CUT_OUTER),
        ("middle", PathKind.CUT_INNER),
        ("middle", PathKind.CUT_OUTER),
        ("big", PathKind.CUT_INNER),
        ("big", PathKind.CUT_OUTER),
    ]


def random_sheet(seed: int) -> list[CutPath]:
    rng = random.Random(seed)
    paths: list[CutPath] = []
    for i in range(40):
        panel = ring_panel(f"p{i % 7}", 40, 24) if i % 3 else front()
        width, height = panel.size_mm
        turned = rng.random() < 0.5
        x, y = 120 * (i % 8), 80 * (i // 8)
        pose = Pose(x + width, y + height, 180.0) if turned else Pose(x, y)
        paths += cut_paths(panel.posed(pose), KERF, copy=i)
        if i % 3:
            x0, y0, x1, y1 = panel.posed(pose).bounds_mm()
            spot = Panel.of("spot", Contour.circle((x0 + x1) / 2, (y0 + y1) / 2, 6))
            paths += cut_paths(spot, KERF, copy=i)
    rng.shuffle(paths)
    return paths


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_nothing_is_cut_after_what_holds_it(seed: int) -> None:
    paths = order_paths(random_sheet(seed))
    shapes = [ring_polygon(path.path, chord_error_mm=0.05) for path in paths]
    for i, outer in enumerate(shapes):
        for j in range(i + 1, len(shapes)):
            assert not outer.contains(shapes[j])
    # every panel in one run, panels in its holes excepted
    for name, copy in {(p.panel_name, p.copy) for p in paths if p.panel_name != "spot"}:
        at = [i for i, p in enumerate(paths) if (p.panel_name, p.copy) == (name, copy)]
        assert at == list(range(at[0], at[0] + len(at)))


def test_same_paths_same_order() -> None:
    first, again = order_paths(random_sheet(5)), order_paths(random_sheet(5))
    assert first == again
    assert len(first) == len(random_sheet(5))
    assert sorted(p.path.area_mm2 for p in first) == pytest.approx(
        sorted(p.path.area_mm2 for p in random_sheet(5)), abs=1e-9
    )


def test_travel_is_much_shorter_than_as_drawn() -> None:
    paths = random_sheet(7)
    assert sum(travel_moves_mm(order_paths(paths))) < 0.35 * sum(travel_moves_mm(paths))


def test_contours_begin_on_a_straight_run() -> None:
    cut, _ = posed_sheet([(front(), Pose(10, 10))], KERF)
    outline = cut.paths[-1].path
    assert len(outline.vertices) == len(front().outer.vertices) + 1
    first, last = next(outline.segments()), list(outline.segments())[-1]
    assert not first.is_arc
    assert not last.is_arc
    assert first.tangent_at(0) == pytest.approx(last.tangent_at(1))
    # half way along one of the longest runs: the fingers are 20 wide
    assert first.chord_mm == pytest.approx(last.chord_mm)
    assert first.chord_mm > 20


def test_four_corners_and_circles_get_no_vertex_more() -> None:
    panel = Panel.of("p", Contour.rectangle(0, 0, 50, 50), [Contour.circle(25, 25, 4)])
    circle, outline = order_paths(cut_paths(panel, KERF))
    assert len(outline.path.vertices) == 4
    assert circle.path.as_circle() is not None


def test_the_whole_ring_begins_near_the_last_one() -> None:
    left, right = (
        CutPath(PathKind.CUT_OUTER, Contour.rectangle(x, 0, 50, 50), name, 1)
        for x, name in ((0, "left"), (60, "right"))
    )
    paths = order_paths([right, left])
    assert [p.panel_name for p in paths] == ["left", "right"]
    assert sum(travel_moves_mm(paths)) == pytest.approx(60)


def test_open_marks_are_walked_the_short_way() -> None:
    marks = [
        CutPath(PathKind.SCORE, Contour((Vertex(x, 0, 0.3), Vertex(x, 50)), closed=False))
        for x in (0, 10, 20)
    ]
    paths = order_paths(marks)
    assert sum(travel_moves_mm(paths)) == pytest.approx(20)
    assert paths[1].path.vertices[0].bulge == -0.3


def test_no_paths_no_order() -> None:
    assert order_paths([]) == ()


def test_route_around_a_circle_is_the_circle() -> None:
    # the shortest open walk over points on a circle leaves out one chord
    points = [(math.cos(a), math.sin(a)) for a in [2 * math.pi * i / 40 for i in range(40)]]
    mixed = list(range(40))
    random.Random(3).shuffle(mixed)
    order = short_route([points[i] for i in mixed], points[0])
    walk = [points[mixed[i]] for i in order]
    length = sum(math.dist(a, b) for a, b in pairwise(walk))
    assert sorted(order) == list(range(40))
    assert length == pytest.approx(39 * 2 * math.sin(math.pi / 40), rel=1e-9)


def test_route_of_one_and_none() -> None:
    assert short_route([], (0, 0)) == []
    assert short_route([(5, 5)], (0, 0)) == [0]


def test_plates_on_a_grid_are_near_the_bound() -> None:
    # between neighbours on a grid there are at least n - 1 steps of the smaller pitch
    poses = [Pose(5 + 102 * i, 5 + 62 * j) for i in range(5) for j in range(6)]
    cut, _ = posed_sheet([(plate(), pose) for pose in poses], KERF)
    moves = travel_moves_mm(cut.paths)
    assert sum(moves[1:]) <= 1.25 * 29 * 62


@pytest.mark.parametrize("order", list(WorkOrder))
@pytest.mark.parametrize("seed", [4, 5])
def test_holes_before_what_holds_them_in_every_order(order: WorkOrder, seed: int) -> None:
    given = random_sheet(seed)
    paths = order_paths(given, order=order)
    assert len(paths) == len(given)
    shapes = [ring_polygon(path.path, chord_error_mm=0.05) for path in paths]
    for i, outer in enumerate(shapes):
        assert not any(outer.contains(shapes[j]) for j in range(i + 1, len(shapes)))


def test_by_kind_cuts_all_holes_first() -> None:
    poses = [Pose(10 + 90 * i, 10 + 50 * j) for i in range(5) for j in range(4)]
    cut, _ = posed_sheet([(MARKED, pose) for pose in poses], KERF)
    kinds = [path.kind for path in order_paths(cut.paths, order=WorkOrder.BY_KIND)]
    assert kinds[40:] == [PathKind.CUT_INNER] * 20 + [PathKind.CUT_OUTER] * 20


def test_heat_is_spread() -> None:
    # a plate full of holes: nearest neighbours follow each other, or none of them does
    holes = [Contour.circle(10 + 10 * i, 10 + 10 * j, 3) for i in range(8) for j in range(8)]
    panel = Panel.of("grille", Contour.rectangle(0, 0, 90, 90), holes)
    near, spread = (
        travel_moves_mm(order_paths(cut_paths(panel, KERF), order=order))[1:-1]
        for order in (WorkOrder.BY_PANEL, WorkOrder.SPREAD_HEAT)
    )
    assert max(near) < 15
    assert min(spread[:40]) > 20
    assert sum(move > 20 for move in spread) > 0.8 * len(spread)


def test_spreading_the_heat_goes_no_farther_than_it_must() -> None:
    """40 washers in a row of 2.4 m: each next one 50 mm off, not at the other end."""
    paths = [
        CutPath(PathKind.CUT_OUTER, Contour.circle(60.0 * i, 0, 20), f"washer-{i}", 1)
        for i in range(40)
    ]
    moves = travel_moves_mm(order_paths(paths, order=WorkOrder.SPREAD_HEAT))[1:-1]
    assert min(moves) > 50 - 40  # middles 50 mm apart, starts anywhere on the rings
    assert sum(moves) < 40 * 130
