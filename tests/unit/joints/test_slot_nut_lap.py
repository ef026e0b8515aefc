"""Tabs, slots, captive nuts and laps. N5 to N7: derived design rules of trade practice."""

import math

import pytest

from lasernest.domain.contours import Contour
from lasernest.domain.joints import EdgeMeaning, Joint, JointKind, PanelLine, PanelSheet
from lasernest.domain.panels import Panel
from lasernest.joints.hardware import hardware
from lasernest.joints.nut import least_screw_mm, loosest_play_mm, nut_pocket
from tests.joint_kit import (
    BOTTOM,
    LEFT,
    RIGHT,
    TOP,
    edge,
    face,
    gaps_between,
    join,
    mate,
    plate,
    polygon_of,
    runs_along,
    widths,
)


def slot_joint(a, a_at, b, line, kind=JointKind.SLOT, **choices):
    return Joint(edge(a, a_at), face(b, *line), kind, **choices)


def size_of(hole):
    x0, y0, x1, y1 = hole.bounds_mm()
    return (x1 - x0, y1 - y0)


def test_f13_slot_is_as_wide_as_the_measured_tongue_less_the_press():
    shelf, side = plate("shelf", 80, 50), plate("side", 200, 80)
    sheets = {"shelf": PanelSheet(3.05), "side": PanelSheet(6.1)}
    joint = slot_joint(shelf, RIGHT, side, ((70.0, 15.0), (70.0, 65.0)))
    joined = join([shelf, side], [joint], sheets=sheets, interference=0.05)
    (laid,) = joined.joints
    assert joined.findings == ()
    tabs = runs_along(polygon_of(joined.panel("shelf")), (77, -5), (77, 55))
    assert len(tabs) == laid.fingers == len(joined.panel("side").inner)
    for tab, hole in zip(tabs, sorted(joined.panel("side").inner, key=lambda h: h.bounds_mm()[1]),
                         strict=True):  # fmt: skip
        x0, y0, x1, y1 = hole.bounds_mm()
        assert (x1 - x0) == pytest.approx(3.00, abs=1e-9)
        assert 0.5 * (x0 + x1) == pytest.approx(70.0, abs=1e-9)
        assert (y1 - y0) - (tab[1] - tab[0]) == pytest.approx(0.1, abs=1e-9)
        assert 0.5 * (y0 + y1) == pytest.approx(0.5 * (tab[0] + tab[1]) - 5 + 15, abs=1e-9)
    # Tabs end flush with the far face, shoulders stand on the near one.
    assert {round(v.x_mm, 9) for v in joined.panel("shelf").outer.vertices} == {0.0, 73.9, 80.0}


@pytest.mark.parametrize(
    ("meaning", "root", "tip"),
    [(EdgeMeaning.INSIDE, 80.0, 83.0), (EdgeMeaning.CENTRE, 78.5, 81.5)],
)
def test_tabs_by_the_meaning_of_the_edge(meaning, root, tip):
    shelf, side = plate("shelf", 80, 50), plate("side", 200, 80)
    joint = slot_joint(shelf, RIGHT, side, ((70.0, 15.0), (70.0, 65.0)))
    joined = join([shelf, side], [joint], meaning=meaning)
    assert {round(v.x_mm, 9) for v in joined.panel("shelf").outer.vertices} == {0.0, root, tip}


def test_slots_follow_a_line_at_any_angle_on_the_face():
    shelf, side = plate("shelf", 80, 50), plate("side", 200, 120)
    c, s = math.cos(math.radians(30)), math.sin(math.radians(30))
    line = ((60.0, 40.0), (60.0 + 50 * c, 40.0 + 50 * s))
    joined = join([shelf, side], [slot_joint(shelf, RIGHT, side, line)], interference=0.1)
    for hole in joined.panel("side").inner:
        lengths = sorted(round(seg.chord_mm, 9) for seg in hole.segments())
        assert lengths[:2] == [2.9, 2.9]
        middle = [sum(v[k] for v in hole.vertices) / 4 for k in (0, 1)]
        assert (middle[1] - 40) * c - (middle[0] - 60) * s == pytest.approx(0.0, abs=1e-9)


def test_a_leaning_tab_gets_a_wider_slot_and_stays_behind_the_far_face():
    shelf, side = plate("shelf", 80, 50), plate("side", 200, 80)
    joint = slot_joint(shelf, RIGHT, side, ((70.0, 15.0), (70.0, 65.0)), angle_deg=60.0)
    joined = join([shelf, side], [joint])
    sin, cos = math.sin(math.radians(60)), math.cos(math.radians(60))
    for hole in joined.panel("side").inner:
        assert size_of(hole)[0] == pytest.approx((3 + 3 * cos) / sin, abs=1e-9)
    refused = join([shelf, side], [slot_joint(shelf, RIGHT, side, ((70, 15), (70, 65)),
                                              angle_deg=30.0)])  # fmt: skip
    assert refused.findings[0].message == (
        "panels that meet at 30.0 degrees cannot be held by tabs"
    )


def test_slots_in_acrylic_have_round_reliefs_outside_the_tongue():
    shelf, side = plate("shelf", 80, 50), plate("side", 200, 80)
    joint = slot_joint(shelf, RIGHT, side, ((70.0, 15.0), (70.0, 65.0)))
    joined = join([shelf, side], [joint], material="acrylic", interference=-0.05)
    for hole in joined.panel("side").inner:
        arcs = [s for s in hole.segments() if s.is_arc]
        assert [a.radius_mm for a in arcs] == pytest.approx([0.5] * 4)
        plain = 3.05 * hole_length(hole)
        # Each half circle adds the disc's half beyond the chord less the corner triangle.
        extra = 4 * (math.pi * 0.25 / 2 - 0.5 * (0.5 * math.sqrt(2)) ** 2)
        assert hole.area_mm2 == pytest.approx(plain + extra, abs=1e-6)


def hole_length(hole):
    # Beyond the ends the relief reaches r (1 - 1/sqrt 2).
    return size_of(hole)[1] - 2 * 0.5 * (1 - math.sqrt(0.5))


@pytest.mark.parametrize(
    ("name", "grip", "least", "length", "channel"),
    [("M3", 6.0, 11.9, 12, 9.5), ("M4", 8.0, 14.9, 16, 13.5)],
)
def test_n6_n7_screw_length_and_channel(name, grip, least, length, channel):
    through = 3.0
    size = hardware(name)
    assert least_screw_mm(size, through_mm=through, grip_mm=grip) == pytest.approx(least)
    pocket = nut_pocket(size, through_mm=through)
    assert pocket.grip_mm == grip
    assert pocket.screw_length_mm == length
    assert pocket.channel_depth_mm >= channel - 1e-9


def test_n5_pocket_holds_the_nut():
    size = hardware("M3")
    pocket = nut_pocket(size, through_mm=3.0)
    assert pocket.pocket_width_mm == pytest.approx(5.6)
    assert pocket.pocket_width_mm < 6.01
    assert pocket.pocket_length_mm == pytest.approx(2.5)
    assert loosest_play_mm(size) == pytest.approx(0.28)
    for name in ("M4", "M5"):
        assert nut_pocket(hardware(name), through_mm=3.0).pocket_width_mm == pytest.approx(
            {"M4": 7.1, "M5": 8.1}[name]
        )


def test_a_bolted_joint_has_a_hole_a_channel_and_a_pocket_in_line():
    shelf, side = plate("shelf", 80, 60), plate("side", 200, 80)
    joint = slot_joint(shelf, RIGHT, side, ((70.0, 10.0), (70.0, 70.0)), JointKind.NUT)
    joined = join([shelf, side], [joint], interference=0.05)
    assert joined.findings == ()
    (hole,) = [h.as_circle() for h in joined.panel("side").inner if h.as_circle()]
    assert (hole.x_mm, hole.y_mm, 2 * hole.radius_mm) == pytest.approx((70, 40, 3.4))
    body = polygon_of(joined.panel("shelf"))
    face_at = 77.0  # shoulders stand on the near face: 80 less the thickness of 3
    channel = gaps_between(runs_along(body, (face_at - 1, 15), (face_at - 1, 45)))
    assert channel == [pytest.approx((13.3, 16.7))]
    pocket = gaps_between(runs_along(body, (face_at - 6 - 1.25, 0), (face_at - 6 - 1.25, 60)))
    assert pocket == [pytest.approx((27.2, 32.8))]
    deep = runs_along(body, (80, 30), (0, 30))
    assert deep[0][0] == pytest.approx(3 + 12 - 3 + 0.5)
    assert len([h for h in joined.panel("side").inner if not h.as_circle()]) == 2


def test_a_bolted_joint_needs_room_and_square_panels():
    shelf, side = plate("shelf", 80, 25), plate("side", 200, 80)
    joint = slot_joint(shelf, RIGHT, side, ((70.0, 10.0), (70.0, 35.0)), JointKind.NUT)
    (finding,) = join([shelf, side], [joint]).findings
    assert finding.message == ("an edge of 25.00 mm is too short for 1 bolt M3 between tabs")
    assert finding.todo.startswith("It needs 47.20 mm")
    wide = plate("shelf", 80, 60)
    leaning = slot_joint(wide, RIGHT, side, ((70.0, 10.0), (70.0, 70.0)), JointKind.NUT,
                         angle_deg=80.0)  # fmt: skip
    assert "meet at 80.0 degrees" in join([wide, side], [leaning]).findings[0].message


def lap_joint(a, place_a, b, place_b, **choices):
    (a_at, share_a), (b_at, share_b) = place_a, place_b
    one, two = edge(a, a_at), edge(b, b_at)
    return Joint(
        PanelLine(a.name, one.start, one.end, one.panel_bounds_mm, share_a),
        PanelLine(b.name, two.start, two.end, two.panel_bounds_mm, share_b),
        JointKind.LAP,
        **choices,
    )


def test_laps_are_as_wide_as_the_other_panel_and_share_the_height():
    a, b = plate("a", 100, 40), plate("b", 80, 40)
    sheets = {"a": PanelSheet(3.05), "b": PanelSheet(2.7)}
    joint = lap_joint(a, (TOP, 0.25), b, (BOTTOM, 0.5))
    joined = join([a, b], [joint], sheets=sheets, interference=0.08)
    gap_a = gaps_between(runs_along(polygon_of(joined.panel("a")), (0, 39), (100, 39)))
    gap_b = gaps_between(runs_along(polygon_of(joined.panel("b")), (0, 1), (80, 1)))
    assert gap_a == [pytest.approx((75 - 1.31, 75 + 1.31))]
    assert gap_b == [pytest.approx((40 - 1.485, 40 + 1.485))]
    left_a = runs_along(polygon_of(joined.panel("a")), (75, 0), (75, 40))
    left_b = runs_along(polygon_of(joined.panel("b")), (40, 0), (40, 40))
    assert left_a == [pytest.approx((0, 20))]
    assert left_b == [pytest.approx((20, 40))]


def test_a_lower_divider_is_slotted_over_half_and_the_higher_over_the_rest():
    a, b = plate("a", 100, 50), plate("b", 80, 30)
    joined = join([a, b], [lap_joint(a, (TOP, 0.5), b, (BOTTOM, 0.5))])
    assert joined.joints[0].depth_mm == 35.0
    assert runs_along(polygon_of(joined.panel("b")), (40, 0), (40, 30)) == [pytest.approx((15, 30))]


def test_laps_that_cannot_be():
    a, b = plate("a", 100, 50), plate("b", 80, 50)
    sharp = join([a, b], [lap_joint(a, (TOP, 0.5), b, (BOTTOM, 0.5), angle_deg=20.0)])
    assert "cross at 20.0 degrees" in sharp.findings[0].message
    near = join([a, b], [lap_joint(a, (TOP, 0.02), b, (BOTTOM, 0.5))])
    assert near.findings[0].message == "this lap leaves less than 3.00 mm beside it"


def test_tabs_and_a_lap_share_an_edge_when_the_lap_falls_between_tabs():
    shelf, side, other = plate("shelf", 80, 90), plate("side", 200, 120), plate("other", 80, 80)
    slot = slot_joint(shelf, RIGHT, side, ((70.0, 15.0), (70.0, 105.0)))
    free = join([shelf, side, other], [slot, lap_joint(shelf, (RIGHT, 0.5), other, (TOP, 0.5))])
    tabs = runs_along(polygon_of(free.panel("shelf")), (79, 0), (79, 90))
    on_tab = any(start < 45 < end for start, end in tabs)
    messages = [f.message for f in free.findings]
    assert on_tab == ("two joints claim the same stretch of this edge" in messages)
    start, end = gaps_between(tabs)[0]
    share = 0.5 * (start + end) / 90
    merged = join([shelf, side, other], [slot, lap_joint(shelf, (RIGHT, share), other, (TOP, 0.5))])
    assert not merged.findings
    notch = gaps_between(runs_along(polygon_of(merged.panel("shelf")), (70, 0), (70, 90)))
    assert widths(notch) == pytest.approx([3.0])


def test_two_joints_on_the_same_stretch_are_refused():
    a, b, c = plate("a", 100, 40), plate("b", 100, 50), plate("c", 100, 60)
    joined = join([a, b, c], [mate(a, TOP, b, BOTTOM), mate(a, TOP, c, BOTTOM, chamfer_mm=0.2)])
    assert [f.message for f in joined.findings] == [
        "two joints claim the same stretch of this edge"
    ]
    assert len(joined.joints) == 1


def test_a_joint_without_its_panel_is_a_finding():
    a, b = plate("a", 100, 40), plate("b", 100, 50)
    joint = mate(a, TOP, b, BOTTOM)
    joined = join([a], [joint])
    assert joined.findings[0].message == "the panel b of a joint is no longer there"


def test_a_panel_too_small_for_its_joints_says_where():
    a = plate("a", 40, 5)
    b, c = plate("b", 40, 50), plate("c", 40, 50)
    joined = join(
        [a, b, c], [mate(b, LEFT, c, LEFT), mate(b, TOP, a, TOP), mate(c, TOP, a, BOTTOM)]
    )
    assert [f.code for f in joined.findings] == ["joint-refused"]
    assert joined.findings[0].panel == "a"
    assert joined.findings[0].where_mm is not None


def test_a_lap_shares_the_height_of_the_bar_it_crosses():
    ring = Panel.of("ring", Contour.rectangle(0, 0, 100, 50), [Contour.rectangle(40, 10, 20, 30)])
    other = plate("other", 80, 50)
    joined = join([ring, other], [lap_joint(ring, (TOP, 0.5), other, (BOTTOM, 0.5))])
    # The bar above the hole is 10 high, so that is what the lap shares.
    assert joined.joints[0].depth_mm == pytest.approx(5.0)
