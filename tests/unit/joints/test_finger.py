"""Finger joints measured by shapely on the shaped outlines."""

import math

import pytest

from lasernest.domain.contours import Contour, Vertex
from lasernest.domain.joints import EdgeMeaning, PanelSheet
from lasernest.domain.panels import Panel
from tests.joint_kit import (
    BOTTOM,
    LEFT,
    RIGHT,
    TOP,
    gaps_between,
    join,
    mate,
    plate,
    polygon_of,
    runs_along,
    widths,
)


def test_fingers_exceed_their_gaps_by_the_interference_and_ends_stay_as_drawn():
    a, b = plate("a", 120, 60), plate("b", 120, 80)
    joined = join([a, b], [mate(a, TOP, b, BOTTOM, target_width_mm=9.0)], interference=0.08)
    (joint,) = joined.joints
    assert joined.findings == ()
    assert joint.fingers == 13
    assert joint.width_mm == pytest.approx(120 / 13, abs=1e-9)
    fingers_a = runs_along(polygon_of(joined.panel("a")), (-5, 58.5), (125, 58.5))
    fingers_b = runs_along(polygon_of(joined.panel("b")), (-5, 1.5), (125, 1.5))
    assert len(fingers_a) == 7
    assert len(fingers_b) == 6
    w = 120 / 13
    assert widths(fingers_b) == pytest.approx([w + 0.04] * 6, abs=1e-9)
    assert widths(gaps_between(fingers_a)) == pytest.approx([w - 0.04] * 6, abs=1e-9)
    assert widths(fingers_a)[1:-1] == pytest.approx([w + 0.04] * 5, abs=1e-9)
    assert widths(gaps_between(fingers_b)) == pytest.approx([w - 0.04] * 5, abs=1e-9)
    assert (fingers_a[0][0], fingers_a[-1][1]) == (5.0, 125.0)
    assert widths(fingers_a)[0] == pytest.approx(w + 0.02, abs=1e-9)


@pytest.mark.parametrize(
    ("meaning", "top_a", "root_a"),
    [
        (EdgeMeaning.OUTSIDE, 60.0, 53.9),
        (EdgeMeaning.INSIDE, 66.1, 60.0),
        (EdgeMeaning.CENTRE, 63.05, 56.95),
    ],
)
def test_depth_is_the_measured_thickness_of_the_mate(meaning, top_a, root_a):
    a, b = plate("a", 120, 60), plate("b", 120, 80)
    sheets = {"a": PanelSheet(3.05), "b": PanelSheet(6.1)}
    joined = join([a, b], [mate(a, TOP, b, BOTTOM)], meaning=meaning, sheets=sheets)
    levels = {round(v.y_mm, 9) for v in joined.panel("a").outer.vertices if v.y_mm > 30}
    assert levels == {top_a, root_a}
    deep_b = {round(v.y_mm, 9) for v in joined.panel("b").outer.vertices if v.y_mm < 40}
    assert max(deep_b) - min(deep_b) == pytest.approx(3.05, abs=1e-9)


def test_the_first_named_panel_has_the_fingers_at_the_ends():
    a, b = plate("a", 100, 60), plate("b", 100, 80)
    joined = join([a, b], [mate(b, BOTTOM, a, TOP)])
    assert len(runs_along(polygon_of(joined.panel("b")), (-5, 1), (105, 1))) == 6
    assert len(runs_along(polygon_of(joined.panel("a")), (-5, 59), (105, 59))) == 5


def test_a_shorter_edge_is_joined_in_the_middle_and_said():
    a, b = plate("a", 60, 40), plate("b", 100, 50)
    joined = join([a, b], [mate(a, TOP, b, BOTTOM)], interference=0.1)
    (finding,) = joined.findings
    assert finding.message == (
        "the edges of a (60.00 mm) and b (100.00 mm) differ in length; "
        "they are joined middle to middle"
    )
    fingers_a = runs_along(polygon_of(joined.panel("a")), (0, 38.5), (60, 38.5))
    gaps_b = gaps_between(runs_along(polygon_of(joined.panel("b")), (0, 1.5), (100, 1.5)))
    # The longer edge has a gap with two walls for every finger, the end ones too.
    assert len(fingers_a) == len(gaps_b)
    tight = [f - g for f, g in zip(widths(fingers_a), widths(gaps_b), strict=True)]
    assert tight == pytest.approx([0.1] * len(tight), abs=1e-9)
    assert gaps_b[0][0] == pytest.approx(20.05, abs=1e-9)


def test_an_overhang_thinner_than_the_sheet_is_no_wall():
    a, b = plate("a", 60, 40), plate("b", 64, 50)
    joined = join([a, b], [mate(a, TOP, b, BOTTOM)])
    fingers_b = runs_along(polygon_of(joined.panel("b")), (-1, 1.5), (65, 1.5))
    # 2 mm on each side are less than the thickness: b starts and ends with a gap.
    assert fingers_b[0][0] > 5.0
    assert len(fingers_b) == joined.joints[0].fingers // 2


def test_a_longer_first_edge_keeps_its_ends_as_drawn():
    a, b = plate("a", 100, 40), plate("b", 60, 50)
    for meaning, ends in ((EdgeMeaning.OUTSIDE, 40.0), (EdgeMeaning.INSIDE, 40.0)):
        joined = join([a, b], [mate(a, TOP, b, BOTTOM)], meaning=meaning)
        outer = joined.panel("a").outer
        assert {(0.0, 40.0), (100.0, ends)} <= {v[:2] for v in outer.vertices}


def test_a_shift_moves_the_second_edge_along_the_first():
    a, b = plate("a", 100, 40), plate("b", 60, 50)
    joined = join([a, b], [mate(a, BOTTOM, b, BOTTOM, shift_mm=15.0)])
    first_gap = gaps_between(runs_along(polygon_of(joined.panel("a")), (0, 1), (100, 1)))[0]
    assert joined.joints[0].span_mm == (35.0, 95.0)
    assert first_gap[0] > 35.0


def test_edges_beside_each_other_are_refused():
    a, b = plate("a", 100, 40), plate("b", 60, 50)
    joined = join([a, b], [mate(a, BOTTOM, b, BOTTOM, shift_mm=81.0)])
    assert joined.joints == ()
    (finding, *_) = joined.findings
    assert finding.code == "joint-refused"
    assert finding.message == "the edges of a and b do not lie beside each other"
    assert joined.panels == (a, b)


def test_reliefs_are_half_circles_through_the_corner_and_leave_the_walls():
    a, b = plate("a", 60, 60), plate("b", 60, 60)
    joined = join([a, b], [mate(a, TOP, b, BOTTOM)], material="cast acrylic", interference=-0.05)
    outer = joined.panel("a").outer
    arcs = [s for s in outer.segments() if s.is_arc]
    gaps = joined.joints[0].fingers // 2
    assert len(arcs) == 2 * gaps
    for arc in arcs:
        assert arc.bulge == -1.0
        assert arc.radius_mm == pytest.approx(0.5, abs=1e-9)
        # The corner the walls would have made lies on the circle.
        corner = max(
            ((arc.x0_mm, arc.y1_mm), (arc.x1_mm, arc.y0_mm)), key=lambda p: -abs(p[1] - 57.0)
        )
        assert math.dist(arc.centre, corner) == pytest.approx(0.5, abs=1e-9)
    fingers = runs_along(_flat(joined.panel("a")), (-5, 58.5), (65, 58.5))
    w = joined.joints[0].width_mm
    assert widths(gaps_between(fingers)) == pytest.approx([w + 0.025] * gaps, abs=1e-9)


def _flat(panel):
    import shapely

    from lasernest.geometry.flatten import polygon

    found = polygon(panel, chord_error_mm=0.0005)
    assert shapely.is_valid(found)
    return found


def test_chamfers_lead_in_at_the_tips_only():
    a, b = plate("a", 60, 60), plate("b", 60, 60)
    joined = join([a, b], [mate(a, TOP, b, BOTTOM, chamfer_mm=0.4)])
    plain = join([a, b], [mate(a, TOP, b, BOTTOM)])
    at_tip = runs_along(polygon_of(joined.panel("a")), (-5, 59.9), (65, 59.9))
    at_root = runs_along(polygon_of(joined.panel("a")), (-5, 57.5), (65, 57.5))
    straight = runs_along(polygon_of(plain.panel("a")), (-5, 57.5), (65, 57.5))
    assert widths(at_root) == pytest.approx(widths(straight), abs=1e-9)
    assert widths(at_tip)[1] == pytest.approx(widths(straight)[1] - 2 * 0.3, abs=1e-9)
    assert widths(at_tip)[0] == pytest.approx(widths(straight)[0] - 0.3, abs=1e-9)


def test_a_rounded_corner_stays_round_and_the_gap_gets_its_own_wall():
    quarter = math.tan(math.pi / 8)
    ring = Contour((Vertex(0, 0), Vertex(90, 0, quarter), Vertex(100, 10), Vertex(100, 60),
                    Vertex(0, 60)))  # fmt: skip
    a, b = Panel.of("a", ring), plate("b", 50, 40)
    joined = join([b, a], [mate(b, TOP, a, RIGHT)])
    outer = joined.panel("a").outer
    assert [s.radius_mm for s in outer.segments() if s.is_arc] == [pytest.approx(10.0)]
    assert {(100.0, 10.0), (97.0, 10.0), (97.0, 60.0)} <= {
        (round(v.x_mm, 9), round(v.y_mm, 9)) for v in outer.vertices
    }


def test_holes_and_marks_travel_with_their_panel():
    hole = Contour.circle(50, 30, 5)
    a = Panel.of("a", Contour.rectangle(0, 0, 100, 60), [hole])
    b = plate("b", 100, 60)
    joined = join([a, b], [mate(a, TOP, b, BOTTOM)])
    assert joined.panel("a").inner == a.inner
    assert a.outer == Contour.rectangle(0, 0, 100, 60)


@pytest.mark.parametrize("angle", [60.0, 90.0, 120.0, 135.0])
def test_a_square_cut_finger_reaches_the_far_face_of_its_mate_at_any_angle(angle):
    # In the cross-section the plates are strips; a gap clears the mate's strip, a tip
    # stays behind its outer face, and both touch (trigonometry done here again).
    t = math.radians(angle)
    own, other = 3.0, 4.0
    a, b = plate("a", 100, 60), plate("b", 100, 60)
    sheets = {"a": PanelSheet(own), "b": PanelSheet(other)}
    joined = join([a, b], [mate(a, TOP, b, BOTTOM, angle_deg=angle)], sheets=sheets)
    levels = joined.joints[0].a.levels
    tip, root = -levels.tip_mm, -levels.root_mm
    depths = [u * math.sin(t) - v * math.cos(t) for u in (root,) for v in (0.0, own)]
    assert min(depths) == pytest.approx(other, abs=1e-9)
    out = [tip * math.sin(t) - v * math.cos(t) for v in (0.0, own)]
    assert min(out) == pytest.approx(0.0, abs=1e-9)


def test_too_flat_an_angle_is_refused():
    a, b = plate("a", 100, 60), plate("b", 100, 60)
    joined = join([a, b], [mate(a, TOP, b, BOTTOM, angle_deg=165.0)])
    (finding,) = joined.findings
    assert finding.message == "panels that meet at 165.0 degrees cannot be held by fingers"
    assert finding.todo == (
        "Square-cut fingers hold from 45 to 150 degrees: change the angle, or leave this joint "
        "out and glue it over a strip."
    )
    assert (finding.panel, finding.where_mm) == ("a", (50.0, 60.0))


def test_too_large_a_chamfer_is_refused():
    a, b = plate("a", 100, 60), plate("b", 100, 60)
    joined = join([a, b], [mate(a, TOP, b, BOTTOM, chamfer_mm=2.0)])
    assert [f.message for f in joined.findings] == [
        "a chamfer of 2.00 mm leaves too little of fingers that are 3.00 mm deep"
    ]
    assert joined.panels == (a, b)


def test_two_panels_share_a_long_edge_and_each_reaches_its_corner():
    floor, one, two, side = (
        plate("floor", 200, 80), plate("one", 100, 50), plate("two", 100, 50), plate("side", 80, 50)
    )  # fmt: skip
    joints = [
        mate(floor, BOTTOM, one, BOTTOM, shift_mm=-50.0),
        mate(floor, BOTTOM, two, BOTTOM, shift_mm=50.0),
        mate(side, BOTTOM, floor, LEFT),
    ]
    joined = join([floor, one, two, side], joints, meaning=EdgeMeaning.INSIDE)
    assert joined.findings == ()
    assert len(joined.joints) == 3
    # Inside: the floor keeps its corner towards "one", a thickness out, and starts there.
    start, end = joined.joints[2].span_mm
    assert end - start == pytest.approx(83.0)
    fingers = runs_along(polygon_of(joined.panel("floor")), (-10, -1.5), (210, -1.5))
    assert (fingers[0][0], fingers[-1][1]) == pytest.approx((7.0, 210.0))


def test_a_shallow_corner_gets_a_step_and_no_spike():
    lean = 60 * math.tan(math.radians(80))
    panel = Panel.of("a", Contour.polygon([(0, 0), (100, 0), (100 + lean, 60), (0, 60)]))
    b = plate("b", 100, 40)
    joined = join([panel, b], [mate(panel, (0.1, 0.0), b, TOP)], meaning=EdgeMeaning.INSIDE)
    points = {(round(x, 6), round(y, 6)) for x, y, _ in joined.panel("a").outer.vertices}
    assert {(100.0, 0.0), (100.0, -3.0), (0.0, -3.0)} <= points
