from __future__ import annotations

import math
import random
from itertools import pairwise

import pytest

from lasernest.domain.contours import Contour, Vertex
from lasernest.geometry.tracing import Traced, trace, trace_marks


def lines(*points: tuple[float, float]) -> list[Contour]:
    """One stroke for each step between points."""
    return [Contour.polyline([a, b]) for a, b in pairwise(points)]


def run(*points: tuple[float, float]) -> Contour:
    return Contour.polyline(list(points))


def traced(*paths: Contour, gap: float = 0.01) -> Traced:
    return trace(paths, joining_gap_mm=gap)


def areas(made: Traced) -> list[float]:
    return sorted(round(r.path.area_mm2, 6) for r in made.rings)


def mends(made: Traced) -> dict[str, int]:
    return {m.code: len(m.places) for m in made.mends}


BOX = ((0, 0), (40, 0), (40, 20), (0, 20), (0, 0))


def test_a_clean_outline_needs_no_mend() -> None:
    made = traced(*lines(*BOX))
    assert areas(made) == [800.0]
    assert made.mends == ()
    assert made.runs == ()


@pytest.mark.parametrize("seed", range(5))
def test_exact_copies_of_half_the_lines_go(seed: int) -> None:
    rng = random.Random(seed)
    drawn = lines(*BOX)
    copies = [c if rng.random() < 0.5 else c.reversed() for c in drawn[:2]]
    paths = [*drawn, *copies]
    rng.shuffle(paths)
    made = traced(*paths)
    assert areas(made) == [800.0]
    assert mends(made) == {"double-removed": 2}


def test_a_hole_drawn_twice_goes_once_however_it_is_cut_up() -> None:
    whole = Contour.circle(10, 10, 4)
    quarters = [
        Contour(
            (
                Vertex(
                    10 + 4 * math.cos(k * math.pi / 2),
                    10 + 4 * math.sin(k * math.pi / 2),
                    math.tan(math.pi / 8),
                ),
                Vertex(
                    10 + 4 * math.cos((k + 1) * math.pi / 2),
                    10 + 4 * math.sin((k + 1) * math.pi / 2),
                ),
            ),
            closed=False,
        )
        for k in range(4)
    ]
    made = traced(whole, *quarters, whole)
    assert len(made.rings) == 1
    assert mends(made) == {"double-removed": 2}


def test_a_short_line_on_a_longer_one_is_dropped() -> None:
    made = traced(*lines(*BOX), run((10, 0), (25, 0)))
    assert areas(made) == [800.0]
    assert made.runs == ()
    assert mends(made) == {"overlap-removed": 1}


def test_a_line_that_overlaps_two_neighbours_is_kept_once() -> None:
    sides = [run((0, 0), (25, 0)), run((15, 0), (40, 0)), *lines(*BOX[1:])]
    made = traced(*sides)
    assert areas(made) == [800.0]
    assert mends(made) == {"overlap-removed": 1}


def test_arcs_that_overlap_are_kept_once() -> None:
    def arc(start_deg: float, end_deg: float) -> Contour:
        a, b = math.radians(start_deg), math.radians(end_deg)
        return Contour(
            (
                Vertex(9 * math.cos(a), 9 * math.sin(a), math.tan((b - a) / 4)),
                Vertex(9 * math.cos(b), 9 * math.sin(b)),
            ),
            closed=False,
        )

    made = traced(arc(0, 150), arc(100, 270), arc(250, 360))
    assert areas(made) == [round(math.pi * 81, 6)]
    assert mends(made) == {"overlap-removed": 2}


def test_an_outline_that_runs_past_its_own_start_is_closed() -> None:
    made = traced(run(*BOX, (15, 0)))
    assert areas(made) == [800.0]
    assert made.runs == ()
    assert mends(made) == {"overlap-removed": 1}


def test_a_closed_outline_that_runs_past_its_start_and_back_is_trimmed() -> None:
    made = traced(Contour.polygon([*BOX[:-1], (0, 0), (15, 0)]))
    assert areas(made) == [800.0]
    assert mends(made) == {"doubled-back": 1}


def test_a_spike_on_a_closed_outline_is_trimmed() -> None:
    made = traced(
        Contour.polygon([(0, 0), (40, 0), (40, 20), (20, 20), (20, 35), (20, 20), (0, 20)])
    )
    assert areas(made) == [800.0]
    assert mends(made) == {"doubled-back": 1}
    assert made.rings[0].path.length_mm == pytest.approx(120.0)


def test_a_doubled_back_end_of_an_open_outline_goes() -> None:
    made = traced(run((0, 0), (40, 0), (40, 20), (0, 20), (0, 0), (0, 12)))
    assert areas(made) == [800.0]
    assert mends(made) == {"overlap-removed": 1}


def test_tails_that_cross_are_trimmed_when_short() -> None:
    made = traced(run((0, -0.4), (0, 20), (40, 20), (40, 0), (-0.6, 0)))
    assert areas(made) == [800.0]
    assert mends(made) == {"overrun-trimmed": 1}
    assert made.mends[0].size_mm == pytest.approx(0.6)
    long = traced(run((0, -5), (0, 20), (40, 20), (40, 0), (-0.6, 0)))
    assert long.rings == ()


def past_each_corner(past_mm: float) -> list[Contour]:
    """The four sides of a box of 40 x 20, each too long at both ends."""
    return [
        run((-past_mm, 0), (40 + past_mm, 0)),
        run((40, -past_mm), (40, 20 + past_mm)),
        run((40 + past_mm, 20), (-past_mm, 20)),
        run((0, 20 + past_mm), (0, -past_mm)),
    ]


def test_sides_that_run_past_each_other_at_every_corner_are_cut_back() -> None:
    aside = [run((100, 0), (101, 1)), run((100, 1), (101, 0)), run((10, 5), (30, 5))]
    made = traced(*past_each_corner(0.5), *aside)
    assert areas(made) == [800.0]
    assert made.rings[0].path.bounds_mm() == pytest.approx((0, 0, 40, 20), abs=1e-9)
    assert made.mends[0].code == "overrun-trimmed"
    assert made.mends[0].size_mm == pytest.approx(0.5)
    # A cross of two lines and a line inside stay as they were drawn.
    lengths = sorted(r.path.length_mm for r in made.runs)
    assert lengths == pytest.approx([math.sqrt(2), math.sqrt(2), 20.0])


def test_an_arc_that_runs_past_its_line_is_cut_back() -> None:
    """A half disc of 10 mm: its line is too long, its arc goes on by 4 degrees either way."""
    sweep = math.radians(188)
    x, y = 10 * math.cos(math.radians(4)), -10 * math.sin(math.radians(4))
    arc = Contour((Vertex(x, y, math.tan(sweep / 4)), Vertex(-x, y)), closed=False)
    made = traced(arc, run((-11, 0), (11, 0)))
    assert areas(made) == [round(50 * math.pi, 6)]


def test_lines_that_cross_all_over_make_no_outline() -> None:
    """A hatch whose ends are short, and crosses with arms of 1 mm."""
    hatch = [run((-0.3, y), (3.3, y)) for y in (0, 0.9, 19.1, 20)]
    hatch += [run((x, -0.3), (x, 20.3)) for x in (0, 1, 2, 3)]
    crosses = [run((30, 0), (32, 0)), run((31, -1), (31, 1)), run((29, 0.5), (31.5, -0.5))]
    made = traced(*hatch, *crosses)
    assert made.rings == ()
    assert made.mends == ()
    assert len(made.runs) == 11


def test_sides_far_past_each_other_stay_open_lines() -> None:
    made = traced(*past_each_corner(2.5))
    assert made.rings == ()
    assert made.mends == ()
    assert len(made.runs) == 4


def test_ends_in_the_middle_of_lines_rebuild_each_part() -> None:
    # Two boxes on one long base line: no line of the base ends where the boxes meet it.
    base = run((0, 0), (90, 0))
    made = traced(
        base, run((0, 0), (0, 20), (40, 20), (40, 0)), run((50, 0), (50, 30), (90, 30), (90, 0))
    )
    assert areas(made) == [800.0, 1200.0]
    assert mends(made)["tee-joined"] == 2
    assert all(len(r.path.vertices) == 4 for r in made.rings)


def test_a_tab_outside_a_plate_shares_its_edge() -> None:
    plate = Contour.rectangle(0, 0, 40, 20)
    made = traced(plate, run((10, 20), (10, 28), (30, 28), (30, 20)))
    assert areas(made) == [160.0, 800.0]
    assert mends(made) == {"edge-shared": 1, "tab-closed": 1}
    assert all(len(r.path.vertices) == 4 for r in made.rings)


def test_a_line_across_a_plate_stays_a_line_unless_it_is_to_divide() -> None:
    plate = Contour.rectangle(0, 0, 40, 20)
    across = run((10, 0), (10, 20))
    made = traced(plate, across)
    assert areas(made) == [800.0]
    assert len(made.runs) == 1
    cut = trace([plate, across], joining_gap_mm=0.01, cut_dividing=True)
    assert areas(cut) == [200.0, 600.0]
    assert cut.runs == ()


def test_lines_within_a_net_can_be_kept_as_lines() -> None:
    drawn = [*lines(*BOX[:2], (80, 0), (80, 20), (40, 20), (0, 20), (0, 0)), run((40, 0), (40, 20))]
    assert areas(trace(drawn, joining_gap_mm=0.01)) == [800.0, 800.0]
    one = trace(drawn, joining_gap_mm=0.01, split_shared=False)
    assert areas(one) == [1600.0]
    assert [r.path.length_mm for r in one.runs] == [20.0]


def test_closed_neighbours_keep_their_common_edge_each() -> None:
    made = traced(Contour.rectangle(0, 0, 10, 10), Contour.rectangle(10, 0, 10, 10))
    assert areas(made) == [100.0, 100.0]
    assert made.mends == ()


def test_a_neighbour_drawn_in_lines_beside_a_closed_one_stays_whole() -> None:
    made = traced(
        Contour.rectangle(0, 0, 10, 10), *lines((10, 0), (25, 0), (25, 10), (10, 10), (10, 0))
    )
    assert areas(made) == [100.0, 150.0]
    assert made.runs == ()


def test_marks_are_drawn_once_and_never_built_upon() -> None:
    letter_b = lines((0, 0), (0, 10), (5, 10), (5, 5), (0, 5)) + lines((5, 5), (5, 0), (0, 0))
    made = trace_marks([*letter_b, letter_b[0]], joining_gap_mm=0.01)
    total = sum(c.path.length_mm for c in (*made.rings, *made.runs))
    assert total == pytest.approx(10 + 5 + 5 + 5 + 5 + 5)
