"""Two panels laid flat beside each other: every finger opposite its gap."""

from dataclasses import replace
from itertools import pairwise

import pytest
import shapely

from lasernest.domain.joints import JointKind
from lasernest.joints.edges import edge_near, line_of
from lasernest.joints.flat_pair import flat_pair
from tests.joint_kit import BOTTOM, LEFT, RIGHT, TOP, face, join, mate, plate, polygon_of

T = 3.0
SIDES = {"bottom": BOTTOM, "right": RIGHT, "top": TOP, "left": LEFT}


def laid(a, b, joint, interference=0.08):
    joined = join([a, b], [joint], thickness=T, interference=interference)
    return joined, joined.joints[0]


@pytest.mark.parametrize("flipped", [False, True])
@pytest.mark.parametrize("a_side", SIDES)
@pytest.mark.parametrize("b_side", SIDES)
def test_pushed_together_the_panels_only_share_the_interference(a_side, b_side, flipped):
    a, b = plate("a", 90, 90, x=5), plate("b", 90, 90, y=-7)
    joined, joint = laid(a, b, mate(a, SIDES[a_side], b, SIDES[b_side], flipped=flipped))
    pair = flat_pair(joint, apart_mm=-T, behind_mm=10.0)
    low = polygon_of(joined.panel("a").posed(pair.a_pose))
    high = polygon_of(joined.panel("b").posed(pair.b_pose))
    # A finger stands 0.04 mm too wide at each side, over the depth of the joint; a
    # joint of n fingers and gaps has n - 1 walls.
    assert shapely.area(low & high) == pytest.approx((joint.fingers - 1) * 0.04 * T, abs=1e-9)
    assert low.bounds[3] == pytest.approx(0.0, abs=1e-9)
    assert low.centroid.y < high.centroid.y


def test_grips_name_finger_gap_and_interference():
    a, b = plate("a", 90, 40), plate("b", 90, 40)
    joined, joint = laid(a, b, mate(a, TOP, b, BOTTOM))
    pair = flat_pair(joint, behind_mm=10.0)
    assert len(pair.grips) == len(joint.pairs)
    low, high = (
        polygon_of(joined.panel(n).posed(p)) for n, p in (("a", pair.a_pose), ("b", pair.b_pose))
    )
    for grip in pair.grips:
        assert grip.along_joint
        assert grip.across_mm == pytest.approx(T)
        assert grip.interference_mm == pytest.approx(0.08, abs=1e-9)
        finger_of, gap_of = (high, low) if grip.gap_on_a else (low, high)
        assert finger_of.contains(shapely.Point(grip.finger_at))
        assert not gap_of.contains(shapely.Point(grip.gap_at))
        assert grip.finger_at[0] == pytest.approx(grip.gap_at[0], abs=1e-9)
    assert pair.apart[1] - pair.apart[0] == pytest.approx(1.5 * T)


def test_slots_lie_above_their_tabs():
    a, b = plate("a", 90, 40), plate("b", 120, 80, x=200)
    edge = line_of(edge_near(a, (45, 40)), a)
    joint = replace(
        mate(a, TOP, b, BOTTOM), a=edge, b=face(b, (230, 10), (230, 70)), kind=JointKind.SLOT
    )
    joined, made = laid(a, b, joint)
    pair = flat_pair(made, behind_mm=10.0)
    tabs = polygon_of(joined.panel("a").posed(pair.a_pose))
    walls = polygon_of(joined.panel("b").posed(pair.b_pose))
    assert len(pair.grips) == made.fingers
    for grip in pair.grips:
        assert not grip.along_joint
        assert grip.finger_mm == pytest.approx(T)
        assert grip.across_mm == pytest.approx(made.width_mm)
        assert grip.interference_mm == pytest.approx(0.08, abs=1e-9)
        assert tabs.contains(shapely.Point(grip.finger_at))
        assert not walls.contains(shapely.Point(grip.gap_at))


def test_both_notches_of_a_lap_are_shown():
    a, b = plate("a", 90, 40), plate("b", 90, 40)
    joint = replace(mate(a, TOP, b, BOTTOM), kind=JointKind.LAP)
    joined, made = laid(a, b, joint)
    pair = flat_pair(made, behind_mm=10.0)
    low, high = (
        polygon_of(joined.panel(n).posed(p)) for n, p in (("a", pair.a_pose), ("b", pair.b_pose))
    )
    for grip in pair.grips:
        tongue_of = high if grip.gap_on_a else low
        assert tongue_of.contains(shapely.Point(grip.finger_at))
    assert [g.gap_on_a for g in pair.grips] == [True, False]
    assert all(g.along_joint for g in pair.grips)
    assert pair.band_mm[0] < 0.0 < pair.band_mm[2]


def test_a_long_joint_is_cut_into_rows_between_its_fingers():
    a, b = plate("a", 300, 40), plate("b", 300, 40)
    _, made = laid(a, b, mate(a, TOP, b, BOTTOM))
    pair = flat_pair(made, behind_mm=5.0)
    assert len(pair.rows) > 1
    assert pair.rows[0].start_mm == pytest.approx(-150.0)
    assert pair.rows[-1].end_mm == pytest.approx(150.0)
    for row, after in pairwise(pair.rows):
        assert row.end_mm == pytest.approx(after.start_mm)
        # A cut between two fingers lies whole widths from the start.
        widths = (row.end_mm + 150.0) / made.width_mm
        assert widths == pytest.approx(round(widths), abs=1e-6)
        assert all(abs(g.x_mm - row.end_mm) >= 0.5 * g.along_mm for g in pair.grips)
        assert after.dy_mm < row.dy_mm - (pair.band_mm[3] - pair.band_mm[1])
    assert {row.start_mm + row.dx_mm for row in pair.rows} == {pair.rows[0].start_mm}


def test_rows_of_a_bolted_joint_go_round_its_tabs():
    a, b = plate("a", 300, 40), plate("b", 300, 80)
    edge = line_of(edge_near(a, (150, 40)), a)
    joint = replace(
        mate(a, TOP, b, BOTTOM), a=edge, b=face(b, (0, 40), (300, 40)), kind=JointKind.NUT
    )
    _, made = laid(a, b, joint)
    pair = flat_pair(made, behind_mm=5.0)
    assert len(pair.rows) > 1
    for row in pair.rows[:-1]:
        assert all(abs(g.x_mm - row.end_mm) > 0.5 * g.along_mm for g in pair.grips)
