from __future__ import annotations

import math
import random

import numpy as np
import pytest

from lasernest.domain.contours import Segment
from lasernest.geometry.chaining import SAME_PLACE_MM, chain, same_place_labels


def line(x0: float, y0: float, x1: float, y1: float) -> Segment:
    return Segment(x0, y0, x1, y1, 0.0)


def square(x: float, y: float, side: float) -> list[Segment]:
    corners = [(x, y), (x + side, y), (x + side, y + side), (x, y + side)]
    return [line(*corners[i], *corners[(i + 1) % 4]) for i in range(4)]


def test_lines_in_any_order_and_direction_close_to_one_ring() -> None:
    rng = random.Random(7)
    lines = [p.reversed() if rng.random() < 0.5 else p for p in square(3, 4, 10)]
    rng.shuffle(lines)
    made = chain(lines)
    assert len(made.rings) == 1
    assert made.runs == ()
    assert made.rings[0].path.area_mm2 == pytest.approx(100.0, abs=1e-12)
    assert sorted(made.rings[0].members) == [0, 1, 2, 3]


def test_arcs_stay_arcs_and_keep_their_ends_when_a_line_can_come_to_them() -> None:
    half = Segment(0, 0, 0, 10, 1.0)
    made = chain([half, line(0.003, 10, 0, 0)])
    ring = made.rings[0].path
    assert [s.bulge for s in ring.segments()].count(0.0) == 1
    arc = next(s for s in ring.segments() if s.bulge)
    assert arc.radius_mm == 5.0
    assert made.joined != ()


@pytest.mark.parametrize(("gap_mm", "closes"), [(0.009, True), (0.02, False)])
def test_only_gaps_within_the_joining_gap_are_closed(gap_mm: float, closes: bool) -> None:
    lines = square(0, 0, 10)
    lines[3] = line(0, 10, 0, gap_mm)
    made = chain(lines, joining_gap_mm=0.01)
    assert len(made.rings) == (1 if closes else 0)
    assert len(made.runs) == (0 if closes else 1)
    assert len(made.joined) == (1 if closes else 0)
    if closes:
        assert made.widest_gap_mm == pytest.approx(gap_mm)


def test_strokes_shorter_than_the_gap_do_not_collapse() -> None:
    # A circle of 2000 chords of 0.003 mm each: every chord is shorter than the gap.
    corners = [
        (math.cos(2 * math.pi * k / 2000), math.sin(2 * math.pi * k / 2000)) for k in range(2000)
    ]
    lines = [line(*corners[k], *corners[(k + 1) % 2000]) for k in range(2000)]
    made = chain(lines, joining_gap_mm=0.01)
    assert len(made.rings) == 1
    assert made.joined == ()
    exact = 0.5 * 2000 * math.sin(2 * math.pi / 2000)  # area of a regular polygon
    assert made.rings[0].path.area_mm2 == pytest.approx(exact, abs=1e-9)


def test_an_edge_drawn_once_belongs_to_both_neighbours() -> None:
    lines = [
        *square(0, 0, 10),
        line(10, 0, 25, 0),
        line(25, 0, 25, 10),
        line(25, 10, 10, 10),
    ]
    made = chain(lines)
    areas = sorted(round(r.path.area_mm2, 9) for r in made.rings)
    assert areas == [100.0, 150.0]
    assert made.runs == ()
    assert made.shared == ((10.0, 5.0),)
    assert all(1 in r.members for r in made.rings)


def test_rings_that_touch_in_a_point_stay_two_rings() -> None:
    made = chain([*square(0, 0, 10), *square(10, 10, 5)])
    assert sorted(round(r.path.area_mm2, 9) for r in made.rings) == [25.0, 100.0]
    assert made.shared == ()


def test_a_tail_on_an_outline_is_a_run_and_the_outline_a_ring() -> None:
    made = chain([*square(0, 0, 10), line(10, 10, 20, 20)])
    assert [round(r.path.area_mm2, 9) for r in made.rings] == [100.0]
    assert [r.path.length_mm for r in made.runs] == [pytest.approx(math.hypot(10, 10))]


def test_a_grid_of_shared_edges_gives_every_cell() -> None:
    lines = []
    for i in range(4):
        for j in range(3):
            lines += [line(i, j, i + 1, j), line(i, j, i, j + 1)]
    lines += [line(i, 3, i + 1, 3) for i in range(4)] + [line(4, j, 4, j + 1) for j in range(3)]
    made = chain(lines)
    assert len(made.rings) == 12
    assert all(r.path.area_mm2 == pytest.approx(1.0) for r in made.rings)


def test_two_arcs_between_the_same_ends_are_a_lens() -> None:
    up = Segment(0, 0, 10, 0, 0.5)
    down = Segment(0, 0, 10, 0, -0.5)
    straight = line(0, 0, 10, 0)
    assert len(chain([up, down]).rings) == 1
    made = chain([up, straight, down])
    assert len(made.rings) == 2
    # Circular segment of bulge 0.5, chord 10: R 6.25, sweep 4 atan 0.5 (closed form).
    sweep = 4 * math.atan(0.5)
    segment = 0.5 * 6.25**2 * (sweep - math.sin(sweep))
    assert [r.path.area_mm2 for r in made.rings] == [pytest.approx(segment)] * 2


def test_places_are_told_apart_as_by_comparing_all_pairs() -> None:
    """Points within the reach share a label, those beyond a cell's diagonal never do."""
    rng = random.Random(5)
    points = [(rng.randint(0, 6) / 2, rng.randint(0, 6) / 2) for _ in range(300)]
    points += [(x + rng.gauss(0, 1e-4), y + rng.gauss(0, 1e-4)) for x, y in points[:100]]
    points += [(x + 1e4, y - 3e3) for x, y in points[:50]] + points[:40]
    labels = same_place_labels(np.array(points)).tolist()
    near: dict[int, set[int]] = {}
    for i, p in enumerate(points):
        for j, q in enumerate(points):
            if math.dist(p, q) <= SAME_PLACE_MM:
                assert labels[i] == labels[j]
            if math.dist(p, q) <= 2.0**1.5 * SAME_PLACE_MM:
                near.setdefault(i, set()).add(j)
    for i, label in enumerate(labels):
        reached, todo = {i}, [i]
        while todo:
            fresh = near[todo.pop()] - reached
            reached |= fresh
            todo += fresh
        assert label in reached
        assert label <= i


def test_a_walk_of_several_lines_between_corners_of_a_net_belongs_to_both_areas() -> None:
    """A frame of 20 x 10 parted by a stair of three lines, the middle one an arc."""
    frame = [line(0, 0, 8, 0), line(8, 0, 20, 0), line(20, 0, 20, 10), line(20, 10, 12, 10)]
    frame += [line(12, 10, 0, 10), line(0, 10, 0, 0)]
    stair = [line(8, 0, 8, 4), Segment(12, 6, 8, 4, 0.3), line(12, 6, 12, 10)]
    made = chain([*frame, *stair])
    # The halves are each other turned by 180 degrees, but for the arc's segment.
    arc = Segment(12, 6, 8, 4, 0.3)
    slice_mm2 = 0.5 * arc.radius_mm**2 * (arc.sweep_rad - math.sin(arc.sweep_rad))
    areas = sorted(ring.path.area_mm2 for ring in made.rings)
    assert areas == pytest.approx([100.0 - slice_mm2, 100.0 + slice_mm2], abs=1e-9)
    assert len(made.shared) == 1
    assert all({6, 7, 8} <= set(ring.members) for ring in made.rings)


def test_two_squares_that_hang_together_by_one_corner_or_a_line_are_pieces_of_their_own() -> None:
    made = chain([*square(0, 0, 10), *square(10, 10, 5), line(15, 15, 20, 20), *square(20, 20, 3)])
    assert sorted(round(r.path.area_mm2, 9) for r in made.rings) == [9.0, 25.0, 100.0]
    assert [run.members for run in made.runs] == [(8,)]
