import math

import pytest

from lasernest.domain.contours import Contour, Pose, Vertex
from lasernest.domain.findings import Finding
from lasernest.domain.panels import Panel
from lasernest.joints.edges import (
    JointError,
    StraightEdge,
    edge_near,
    find_edge,
    line_of,
    sides_of,
    straight_edges,
)


def plate(name="plate", x=0.0, y=0.0, w=100.0, h=60.0):
    return Panel.of(name, Contour.rectangle(x, y, w, h))


def test_an_edge_drawn_in_pieces_is_one_edge_wherever_the_contour_starts():
    points = [(0, 0), (30, 0), (70, 0.001), (100, 0), (100, 60), (40, 60), (0, 60), (0, 20)]
    for start in range(len(points)):
        ring = Contour.polygon(points).started_at(start)
        assert sorted(round(s.chord_mm) for s in sides_of(ring)) == [60, 60, 100, 100]


def test_a_flat_polygon_around_a_circle_is_not_merged_into_a_chord():
    n = 720
    ring = Contour.polygon(
        [(50 * math.cos(2 * math.pi * k / n), 50 * math.sin(2 * math.pi * k / n)) for k in range(n)]
    )
    sides = sides_of(ring)
    area = 0.5 * sum(s.x0_mm * s.y1_mm - s.x1_mm * s.y0_mm for s in sides)
    assert area == pytest.approx(math.pi * 2500, rel=2e-4)
    assert len(sides) > 100


def test_arcs_are_sides_but_not_straight_edges():
    ring = Contour((Vertex(0, 0), Vertex(90, 0, math.tan(math.pi / 8)), Vertex(100, 10),
                    Vertex(100, 60), Vertex(0, 60)))  # fmt: skip
    panel = Panel.of("rounded", ring)
    assert len(sides_of(ring)) == 5
    assert [round(e.length_mm) for e in straight_edges(panel)] == [90, 50, 100, 60]


def test_the_nearest_edge_and_its_frame():
    edge = edge_near(plate(), (97.0, 31.0))
    assert (edge.start, edge.end) == ((100.0, 0.0), (100.0, 60.0))
    assert edge.outward == (1.0, 0.0)
    assert edge.point(10.0, 3.0) == (103.0, 10.0)
    assert edge.station_mm((55.0, 12.0)) == 12.0
    assert edge.level_mm((55.0, 12.0)) == -45.0


def test_a_corner_is_no_answer():
    with pytest.raises(JointError) as error:
        edge_near(plate(), (100.0, 60.0))
    assert error.value.sentence() == (
        "panel plate, at 100.00, 60.00 mm: this point is as near to one edge as to another. "
        "Give a point near the middle of the edge."
    )


def test_a_disc_has_no_edge_to_join():
    with pytest.raises(JointError, match="no straight edge"):
        edge_near(Panel.of("disc", Contour.circle(0, 0, 20)), (20.0, 0.0))


def test_an_edge_is_found_again_in_a_panel_moved_and_made_longer():
    old = plate()
    top = edge_near(old, (50.0, 60.0))
    new = plate(x=300.0, y=-40.0, w=112.0, h=60.0)
    found = find_edge(new, line_of(top, old))
    assert isinstance(found, StraightEdge)
    assert found.outward == (0.0, 1.0)
    assert found.length_mm == 112.0


def test_the_same_place_wins_over_a_likeness():
    old = plate()
    left = line_of(edge_near(old, (0.0, 30.0)), old)
    found = find_edge(old.posed(Pose(0.01, -0.01)), left)
    assert isinstance(found, StraightEdge)
    assert found.start == (0.01, 59.99)


def test_an_edge_that_is_gone_says_so():
    old = plate()
    right = line_of(edge_near(old, (100.0, 30.0)), old)
    cut = Panel.of("plate", Contour.polygon([(0, 0), (100, 0), (60, 60), (0, 60)]))
    finding = find_edge(cut, right)
    assert isinstance(finding, Finding)
    assert finding.message == (
        "the joint's edge of 60.00 mm on plate was not found again: "
        "no edge faces the same way near there"
    )


def test_an_edge_split_in_two_alike_pieces_is_not_guessed():
    old = plate()
    top = line_of(edge_near(old, (50.0, 60.0)), old)
    notched = Panel.of(
        "plate",
        Contour.polygon(
            [(0, 0), (100, 0), (100, 60), (55, 60), (55, 50), (45, 50), (45, 60), (0, 60)]
        ),
    )
    finding = find_edge(notched, top)
    assert isinstance(finding, Finding)
    assert finding.code == "joint-edge-gone"
    assert finding.where_mm == (50.0, 60.0)
