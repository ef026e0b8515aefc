import math

import pytest

from lasernest.domain.contours import Contour, Vertex
from lasernest.domain.findings import Severity
from lasernest.domain.joints import Joint, JointKind
from lasernest.domain.panels import Mark, Panel
from tests.joint_kit import BOTTOM, RIGHT, TOP, edge, face, join, mate, plate


def codes(joined):
    return [f.code for f in joined.findings]


def with_hole(x, y, r=2.0):
    return Panel.of("a", Contour.rectangle(0, 0, 120, 60), [Contour.circle(x, y, r)])


def fingers(a):
    b = plate("b", 120, 80)
    return join([a, b], [mate(a, TOP, b, BOTTOM, target_width_mm=9.0)])


def test_a_hole_far_from_the_joint_is_no_conflict():
    assert codes(fingers(with_hole(60, 30))) == []


def test_a_gap_opens_into_a_hole():
    joined = fingers(with_hole(1.5 * 120 / 13, 57))
    (finding,) = joined.findings
    assert finding.severity is Severity.ERROR
    assert finding.code == "gap-opens-hole"
    assert finding.panel == "a"
    assert finding.where_mm == pytest.approx((1.5 * 120 / 13, 57), abs=2.5)


def test_a_hole_in_a_finger_is_covered_by_the_mate():
    joined = fingers(with_hole(0.5 * 120 / 13, 57.5, 1.0))
    assert codes(joined) == ["hole-under-finger"]
    assert joined.findings[0].where_mm == pytest.approx((0.5 * 120 / 13, 57.5), abs=1.5)


def test_a_gap_leaves_too_little_beside_a_hole():
    joined = fingers(with_hole(1.5 * 120 / 13, 53))
    (finding,) = joined.findings
    assert finding.code == "hole-near-joint"
    assert finding.message == (
        "a joint leaves 2.00 mm beside a hole; 3.00 mm is the least that holds"
    )


def shelf_in(side, x, **choices):
    shelf = plate("shelf", 80, 50)
    joint = Joint(edge(shelf, RIGHT), face(side, (x, 15), (x, 65)), JointKind.SLOT, **choices)
    return join([shelf, side], [joint], material="acrylic", interference=0.0)


def test_a_slot_too_near_the_edge_of_acrylic():
    side = plate("side", 200, 80)
    assert codes(shelf_in(side, 6.3, relief_mm=0.0)) == []
    joined = shelf_in(side, 5.0, relief_mm=0.0)
    assert set(codes(joined)) == {"slot-near-edge"}
    assert joined.findings[0].message == (
        "a slot leaves 3.50 mm to the edge; 4.50 mm is the least that holds"
    )
    assert set(codes(shelf_in(side, 1.0))) == {"slot-off-panel"}


def test_a_slot_into_and_beside_a_hole():
    side = Panel.of("side", Contour.rectangle(0, 0, 200, 80), [Contour.circle(75, 40, 4)])
    assert "slot-into-hole" in codes(shelf_in(side, 72.0))
    near = shelf_in(side, 67.0)
    assert set(codes(near)) == {"slot-near-hole"}


def test_a_slot_through_a_mark_and_a_gap_through_a_mark():
    marks = (Mark(Contour.polyline([(0, 40), (120, 40)])),)
    side = Panel.of("side", Contour.rectangle(0, 0, 200, 80), marks=marks)
    joined = shelf_in(side, 60.0)
    assert codes(joined) == ["joint-through-mark"]
    assert joined.panel("side").marks == marks
    along = (Mark(Contour.polyline([(0, 59), (120, 59)])),)
    assert codes(fingers(Panel.of("a", Contour.rectangle(0, 0, 120, 60), marks=along))) == [
        "joint-through-mark"
    ]


def test_fingers_that_end_at_a_rounded_corner():
    quarter = math.tan(math.pi / 8)
    ring = Contour((Vertex(0, 0), Vertex(120, 0), Vertex(120, 50, quarter), Vertex(110, 60),
                    Vertex(0, 60)))  # fmt: skip
    a, b = Panel.of("a", ring), plate("b", 110, 40)
    joined = join([a, b], [mate(a, (0.4, 1.0), b, BOTTOM)])
    (finding,) = joined.findings
    assert finding.code == "finger-at-rounded-corner"
    assert finding.where_mm == (110.0, 60.0)
    assert finding.message.startswith("the joint ends at a rounded corner of 10.00 mm radius")
