"""Gaps closed so that edges stay what they were; expected places are those of the whole outline."""

from __future__ import annotations

import math
import random
from itertools import pairwise
from pathlib import Path

import ezdxf
import pytest
import shapely

from lasernest.domain.answers import Answers
from lasernest.domain.contours import Contour, Point, Segment, Vertex
from lasernest.domain.control import QuietControl
from lasernest.domain.drawing import Outlines
from lasernest.geometry.chaining import chain
from lasernest.geometry.flatten import polygon
from lasernest.geometry.gap_joining import joined
from lasernest.geometry.tracing import trace
from lasernest.joints.edges import straight_edges
from lasernest.services.importing import import_drawing

MICRON = 1e-3


def line(*ends: float) -> Segment:
    return Segment(*ends, 0.0)


def closed(*paths: Contour, gap_mm: float) -> Contour:
    (ring,) = trace(paths, joining_gap_mm=gap_mm).rings
    return ring.path


def corners(path: Contour) -> list[Point]:
    return sorted((round(v.x_mm, 9), round(v.y_mm, 9)) for v in path.vertices)


@pytest.mark.parametrize(("x", "y"), [(0.5, 0.4), (0.5, 0.0), (0.0, 0.4)])
def test_two_sides_run_on_to_their_corner(x: float, y: float) -> None:
    run = Contour.polyline([(0, y), (0, 30), (40, 30), (40, 0), (x, 0)])
    assert corners(closed(run, gap_mm=0.7)) == [(0, 0), (0, 30), (40, 0), (40, 30)]


def test_a_gap_in_the_middle_of_a_side_leaves_one_side() -> None:
    ring = closed(
        Contour.polyline([(19.8, 0), (0, 0), (0, 30), (40, 30), (40, 0), (20.3, 0)]), gap_mm=0.5
    )
    assert corners(ring) == [(0, 0), (0, 30), (40, 0), (40, 30)]


def test_a_dashed_outline_becomes_a_rectangle() -> None:
    """Dashes of 3 mm, 1 mm apart: gaps in sides and one at a corner."""
    dashes = [Contour.polyline([(x, y), (x + 3, y)]) for x in range(0, 40, 4) for y in (0, 31)]
    dashes += [Contour.polyline([(x, y), (x, y + 3)]) for y in range(0, 31, 4) for x in (0, 39)]
    assert corners(closed(*dashes, gap_mm=1.0)) == [(0, 0), (0, 31), (39, 0), (39, 31)]


def test_a_line_and_an_arc_run_on_to_where_they_touch() -> None:
    """A slot of 20 x 10: a side ends 0.3 mm before its round end begins."""
    arc = math.tan(0.25 * math.pi)
    slot = Contour(
        (
            Vertex(9.7, 0.0),
            Vertex(0.0, 0.0, -arc),
            Vertex(0.0, 10.0),
            Vertex(10.0, 10.0, -arc),
            Vertex(10.0, 0.0),
        ),
        closed=False,
    )
    ring = closed(slot, gap_mm=0.4)
    assert corners(ring) == [(0, 0), (0, 10), (10, 0), (10, 10)]
    assert ring.area_mm2 == pytest.approx(100 + 25 * math.pi, abs=1e-9)


def test_an_arc_of_nearly_a_whole_circle_becomes_one() -> None:
    sweep = math.radians(358)
    ends = [(5 * math.cos(a), 5 * math.sin(a)) for a in (0.0, sweep)]
    path = Contour((Vertex(*ends[0], math.tan(sweep / 4)), Vertex(*ends[1])), closed=False)
    ring = closed(path, gap_mm=0.2)
    assert abs(ring.area_mm2) == pytest.approx(25 * math.pi, abs=1e-9)


def test_sides_that_are_no_line_and_meet_nowhere_are_bridged() -> None:
    """Two halves of a frame, 0.5 mm out of step: both sides stay where they are."""
    apart = [
        Contour.polyline([(10, 0), (0, 0), (0, 30), (10, 30)]),
        Contour.polyline([(10, 30.5), (20, 30.5), (20, 0.5), (10, 0.5)]),
    ]
    ring = closed(*apart, gap_mm=0.6)
    assert corners(ring) == sorted(
        [(0, 0), (0, 30), (10, 0), (10, 0.5), (10, 30), (10, 30.5), (20, 0.5), (20, 30.5)]
    )


def test_rounding_that_is_no_corner_lies_in_the_middle() -> None:
    assert joined(line(0, 0, 10, 0), line(10, 0.004, 20, 0.004), narrow_mm=0.01) is None


@pytest.mark.parametrize(
    ("before", "after"),
    [
        (line(0, 0, 10, 0), line(10.3, 0.05, 10.35, 0.1)),  # too short to trust
        (line(0, 0, 10, 0), line(10.2, 0.2, 30, 0.9)),  # meets far before the gap
    ],
)
def test_lines_that_meet_elsewhere_are_bridged(before: Segment, after: Segment) -> None:
    made = joined(before, after, narrow_mm=0.01)
    assert made is not None
    assert (made.before, made.after) == (before, after)
    assert made.bridge == Segment(*before.end, *after.start, 0.0)


def test_a_line_shorter_than_the_gap_is_not_joined_to_itself() -> None:
    made = chain([line(0, 0, 0.3, 0), line(50, 0, 90, 0)], joining_gap_mm=0.5)
    assert sorted(run.path.length_mm for run in made.runs) == pytest.approx([0.3, 40.0])


@pytest.mark.parametrize("seed", range(30))
def test_whatever_gap_opens_a_polygon_it_closes_to_the_same(seed: int) -> None:
    """Corners on a circle, 40 to 80 degrees apart, one gap anywhere, turned and far out."""
    rng = random.Random(seed)
    angles = [0.0]
    while angles[-1] < 360.0 - 120.0:
        angles.append(angles[-1] + rng.uniform(40, 80))
    far = rng.choice([0.0, 5000.0])
    whole = [
        (far + 30 * math.cos(math.radians(a + seed)), 30 * math.sin(math.radians(a + seed)))
        for a in angles
    ]
    gap_mm = rng.choice([0.008, 0.3, 1.5])
    before, after = rng.choice([(0.0, gap_mm), (0.5 * gap_mm, 0.5 * gap_mm), (gap_mm, 0.0)])
    if rng.random() < 0.5:  # at a corner
        ends = Segment(*whole[0], *whole[1], 0.0), Segment(*whole[-1], *whole[0], 0.0)
        run = [
            ends[0].point_at(after / ends[0].chord_mm),
            *whole[1:],
            ends[1].point_at(1.0 - before / ends[1].chord_mm),
        ]
    else:
        side = Segment(*whole[-1], *whole[0], 0.0)
        at = rng.uniform(0.2, 0.8)
        run = [
            side.point_at(at + after / side.chord_mm),
            *whole,
            side.point_at(at - before / side.chord_mm),
        ]
    lines = [Contour.polyline(list(ends)) for ends in pairwise(run)]
    rng.shuffle(lines)
    ring = closed(*lines, gap_mm=2.0 * gap_mm)
    assert len(ring.vertices) == len(whole)
    apart = shapely.hausdorff_distance(polygon([ring], chord_error_mm=0.01), shapely.Polygon(whole))
    assert apart <= MICRON


@pytest.mark.parametrize("open_end", [False, True])
@pytest.mark.parametrize("short_mm", [0.3, -0.3, 0.005])
def test_a_wall_that_stops_beside_a_side_leaves_the_side_straight(
    short_mm: float, open_end: bool
) -> None:
    """A frame, or one without its right side, and a wall drawn short of its sides or past them."""
    frame = [(40, 0), (0, 0), (0, 30), (40, 30), (40, 0)]
    lines = [Contour.polyline(list(ends)) for ends in pairwise(frame[:4] if open_end else frame)]
    foot = 10 - short_mm * 10 / (30 - 2 * short_mm)  # where the wall's line meets y = 0
    wall = Contour.polyline([(10, short_mm), (20, 30 - short_mm)])
    rings = trace([*lines, wall], joining_gap_mm=0.4, cut_dividing=True).rings
    areas = sorted(ring.path.area_mm2 for ring in rings)
    assert areas == pytest.approx([450.0] if open_end else [450.0, 750.0], abs=1e-6)
    places = {corner for ring in rings for corner in corners(ring.path)}
    assert (round(foot, 9), 0.0) in places
    assert all(abs(y) < MICRON or abs(y - 30) < MICRON for _, y in places)


def test_a_tab_that_stops_beside_a_plate_leaves_the_plate_straight() -> None:
    plate = Contour.rectangle(0, 0, 40, 30)
    tab = Contour.polyline([(10, 30.2), (10, 40), (20, 40), (20, 30.3)])
    rings = trace([plate, tab], joining_gap_mm=0.4).rings
    assert sorted(ring.path.area_mm2 for ring in rings) == pytest.approx([100.0, 1200.0], abs=1e-6)


def opened_in_inches(folder: Path) -> Path:
    """A plate of 4 x 3 in with 0.02 in missing from a side, as loose lines with five decimals."""
    doc = ezdxf.new("R2000", units=1)
    ends = [(1.98, 0.0), (0.0, 0.0), (0.0, 3.0), (4.0, 3.0), (4.0, 0.0), (2.0, 0.0)]
    turn = math.radians(33.0)
    turned = [
        (
            round(x * math.cos(turn) - y * math.sin(turn), 5),
            round(x * math.sin(turn) + y * math.cos(turn), 5),
        )
        for x, y in ends
    ]
    for a, b in pairwise(turned):
        doc.modelspace().add_line(a, b)
    path = folder / "plate.dxf"
    doc.saveas(path)
    return path


def test_a_joint_finds_one_edge_where_the_gap_was(tmp_path: Path) -> None:
    path = opened_in_inches(tmp_path)
    first: Outlines = import_drawing(path, control=QuietControl())
    (finding,) = [f for f in first.findings if f.code == "open-outline"]
    answers = Answers().with_answer(next(c.value for c in finding.choices if not c.preset))
    (panel,) = import_drawing(path, control=QuietControl(), answers=answers).panels
    lengths = sorted(edge.length_mm for edge in straight_edges(panel))
    # Five decimals of an inch are 0.13 um at each end.
    assert lengths == pytest.approx([76.2, 76.2, 101.6, 101.6], abs=MICRON)
