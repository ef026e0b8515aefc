"""Joints of a whole case: corners shared once, angles found, everything parametric."""

import itertools
import math
import random

import pytest

from lasernest.domain.contours import Contour, Pose
from lasernest.domain.joints import EdgeMeaning, Joint, JointRules, PanelSheet
from lasernest.domain.panels import Panel
from lasernest.joints.assembly import assemble
from lasernest.joints.corners import FoundJoint, corners_of, interior_deg, meeting_of
from lasernest.joints.edges import edge_near, line_of, sides_of, straight_edges
from lasernest.joints.joined import apply_joints
from tests.joint_kit import (
    BOTTOM,
    CUBE,
    LEFT,
    RIGHT,
    TOP,
    box_joints,
    box_panels,
    edge,
    join,
    mate,
    plate,
)

L, W, H, T = 120.0, 80.0, 50.0, 3.05


@pytest.mark.parametrize("meaning", EdgeMeaning)
@pytest.mark.parametrize("seed", range(12))
def test_the_panels_of_a_box_fill_its_shell_exactly_whatever_the_order_of_joints(meaning, seed):
    """Closed form: outer box less inner box, plus what fingers overlap by interference."""
    panels = box_panels(L, W, H)
    mates = [m if random.Random(seed + k).random() < 0.5 else (*m[2:], *m[:2])
             for k, m in enumerate(CUBE)]  # fmt: skip
    random.Random(seed).shuffle(mates)
    interference = 0.08
    joined = join(panels.values(), box_joints(panels, mates), thickness=T, meaning=meaning,
                  interference=interference)  # fmt: skip
    assert joined.findings == ()
    grow = {EdgeMeaning.OUTSIDE: 0.0, EdgeMeaning.CENTRE: T, EdgeMeaning.INSIDE: 2 * T}[meaning]
    length, width, height = L + grow, W + grow, H + grow
    shell = length * width * height - (length - 2 * T) * (width - 2 * T) * (height - 2 * T)
    overlap = sum((j.fingers - 1) * 0.5 * interference * T * T for j in joined.joints)
    volume = sum(p.net_area_mm2 for p in joined.panels) * T
    assert volume == pytest.approx(shell + overlap, abs=1e-6)


def test_outer_and_inner_size_stay_exact():
    for meaning, grow in ((EdgeMeaning.OUTSIDE, 0.0), (EdgeMeaning.INSIDE, 2 * T)):
        panels = box_panels(L, W, H)
        joined = join(panels.values(), box_joints(panels), thickness=T, meaning=meaning)
        for panel in joined.panels:
            drawn = panels[panel.name].size_mm
            assert panel.size_mm == pytest.approx((drawn[0] + grow, drawn[1] + grow), abs=1e-9)


def test_the_side_a_panel_is_drawn_from_follows_from_its_neighbours():
    panels = box_panels(L, W, H)
    joined = join(panels.values(), box_joints(panels))
    ways = {j.name: j.same_way for j in joined.joints}
    # Floor and lid are drawn from above; only the floor is so seen from inside.
    assert all(ways[f"floor = {w}"] for w in ("front", "back", "left", "right"))
    assert not any(ways[n] for n in ("front = right", "right = back", "back = left"))


def test_the_angle_between_walls_follows_from_the_floor():
    corners = [(60 * math.cos(k * math.pi / 3), 60 * math.sin(k * math.pi / 3)) for k in range(6)]
    floor = Panel.of("floor", Contour.polygon(corners))
    walls = [plate(f"wall-{k}", 60, 40) for k in range(6)]
    edges = straight_edges(floor)
    joints = [Joint(line_of(edges[k], floor), edge(walls[k], BOTTOM)) for k in range(6)]
    joints += [mate(walls[k], LEFT, walls[(k + 1) % 6], RIGHT) for k in range(6)]
    joined = join([floor, *walls], joints)
    assert joined.findings == ()
    angles = [j.angle_deg for j in joined.joints]
    assert angles[:6] == [90.0] * 6
    assert angles[6:] == pytest.approx([120.0] * 6)


def test_a_corner_whose_angles_cannot_close_is_noticed():
    floor = Panel.of("floor", Contour.polygon([(0, 0), (100, 0), (150, 80), (0, 80)]))
    # A wall that leans in at both of its ends beside walls that lean away.
    front = Panel.of("front", Contour.polygon([(0, 0), (100, 0), (90, 50), (-60, 50)]))
    side = Panel.of("side", Contour.polygon([(0, 0), (80, 0), (150, 50), (0, 50)]))
    joints = [
        mate(floor, (0.3, 0.0), front, (0.6, 0.0)),
        mate(floor, LEFT, side, (0.3, 0.0)),
        mate(front, (0.15, 0.5), side, (0.75, 0.5)),
    ]
    joined = join([floor, front, side], joints)
    assert "corner-cannot-close" in {f.code for f in joined.findings}


def test_a_given_angle_that_the_corner_denies_is_noticed():
    panels = box_panels(L, W, H)
    joints = box_joints(panels)
    joints[4] = mate(panels["front"], RIGHT, panels["right"], LEFT, angle_deg=100.0)
    joined = join(panels.values(), joints)
    assert [f.message for f in joined.findings] == [
        "front and right would meet at 100.0 degrees and, by the panel at the corner, at 90.0"
    ]


def test_interior_angles():
    sides = sides_of(Contour.polygon([(0, 0), (100, 0), (100, 50), (50, 50), (50, 100), (0, 100)]))
    angles = [interior_deg(sides, i) for i in range(6)]
    assert sorted(angles) == pytest.approx([90, 90, 90, 90, 90, 270])


def test_without_corners_panels_are_taken_as_drawn_from_one_side_at_square():
    a, b = plate("a", 100, 40), plate("b", 100, 50)
    joint = mate(a, TOP, b, BOTTOM)
    one = FoundJoint(joint, edge_near(a, (50, 40)), edge_near(b, (50, 0)))
    sides = {"a": sides_of(a.outer), "b": sides_of(b.outer)}
    assert corners_of(one, [one], sides) == ()
    meeting = meeting_of(one, ())
    assert (meeting.angle_deg, meeting.same_way) == (90.0, False)


def test_a_change_of_thickness_or_of_a_drawing_reaches_all_edges():
    panels = box_panels(L, W, H)
    joints = box_joints(panels)
    rules = JointRules(interference_mm=0.05)
    thick = dict.fromkeys(panels, PanelSheet(3.0)) | {"floor": PanelSheet(6.0)}
    joined = apply_joints(list(panels.values()), joints, rules=rules, sheets=thick)
    assert joined.findings == ()
    front = joined.panel("front")
    assert {6.0, 47.0} <= {round(v.y_mm, 9) for v in front.outer.vertices}
    # The same joints find their edges in a drawing that moved and grew.
    moved = {
        name: plate(name, *[s + 10 for s in p.size_mm]).posed(Pose(500.0, 20.0))
        for name, p in panels.items()
    }
    again = apply_joints(list(moved.values()), joints, rules=rules, sheets=thick)
    assert again.findings == ()
    assert len(again.joints) == 12
    assert again.panel("floor").size_mm == pytest.approx((L + 10, W + 10))


def test_the_drawn_panels_are_left_alone():
    panels = box_panels(L, W, H)
    before = list(panels.values())
    join(before, box_joints(panels))
    assert before == list(box_panels(L, W, H).values())


def test_one_refused_joint_leaves_the_others():
    panels = box_panels(L, W, H)
    joints = box_joints(panels)
    joints[0] = mate(panels["floor"], BOTTOM, panels["front"], BOTTOM, angle_deg=170.0)
    joined = join(panels.values(), joints)
    assert len(joined.joints) == 11
    assert joined.findings[0].code == "joint-refused"


def test_every_pair_of_gauges_wants_the_interference():
    panels = box_panels(L, W, H)
    joined = join(panels.values(), box_joints(panels), interference=0.11)
    pairs = list(itertools.chain.from_iterable(j.pairs for j in joined.joints))
    assert len(pairs) == sum(j.fingers - 2 for j in joined.joints)
    for pair in pairs:
        assert pair.finger.width_mm - pair.gap.width_mm == pytest.approx(0.11, abs=1e-9)


def test_a_panel_used_twice_as_copies_is_shaped_once_and_said_in_the_assembly():
    floor, side = plate("floor", 100, 80), plate("side", 80, 50)
    joints = [mate(floor, LEFT, side, BOTTOM), mate(floor, RIGHT, side, BOTTOM)]
    joined = join([floor, side], joints, interference=0.05)
    assert joined.findings == ()
    assert len(joined.joints) == 2
    assembly = assemble([floor, side], joined)
    (finding,) = assembly.findings
    assert finding.severity.value == "note"
    assert finding.message.startswith("side is used more than once by the joints")
