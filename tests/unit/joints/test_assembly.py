"""Cases folded up: they close, and one panel a millimetre short is named.

Sizes and angles of the solids are closed forms; the places of panels in the
folded case are checked against them, not against the folding itself.
"""

import math
from dataclasses import replace

import numpy as np
import pytest

from lasernest.domain.contours import Contour
from lasernest.domain.joints import EdgeMeaning, Joint, JointKind
from lasernest.domain.panels import Panel
from lasernest.joints.assembly import assemble
from lasernest.joints.case import CaseSpec, plain_case
from lasernest.joints.edges import line_of, straight_edges
from lasernest.joints.folding import base_of
from lasernest.joints.joined import Joined
from tests.joint_kit import (
    BOTTOM,
    LEFT,
    RIGHT,
    TOP,
    box_joints,
    box_panels,
    edge,
    face,
    join,
    mate,
    plate,
)

T = 3.05


def assembled(panels, joints, **choices):
    panels = list(panels)
    joined = join(panels, joints, thickness=T, **choices)
    assert not [f for f in joined.findings if f.severity.value == "error"]
    return assemble(panels, joined), joined


def points_in_space(assembly, joined):
    return np.array(
        [
            assembly.stances[p.name].point((v.x_mm, v.y_mm), depth)
            for p in joined.panels
            for v in p.outer.vertices
            for depth in (0.0, T)
        ]
    )


def cube(short=None):
    panels = box_panels(60, 60, 60)
    if short:
        panels[short] = plate(short, 59, 60)
    return panels.values(), box_joints(panels)


def drawer(short=None):
    case = plain_case(CaseSpec(180, 120, 50, T, lid=False, dividers_across=2, dividers_along=1))
    panels = {p.name: p for p in case.panels}
    joints = list(case.joints)
    if short:
        w, h = panels[short].size_mm
        panels[short] = plate(short, w - 1, h)
        joints = [
            replace(j, **{s: edge_again(panels[short], getattr(j, s))
                          for s in "ab" if getattr(j, s).panel == short})
            for j in joints
        ]  # fmt: skip
    return panels.values(), joints


def edge_again(panel, line):
    """The same edge of a panel that became a millimetre shorter."""
    x0, y0, x1, y1 = panel.bounds_mm()
    ends = [(min(x, x1), min(y, y1)) for x, y in (line.start, line.end)]
    return replace(line, start=ends[0], end=ends[1], panel_bounds_mm=(x0, y0, x1, y1))


def prism(short=None, side=60.0, height=45.0):
    corners = [
        (side * math.cos(k * math.pi / 3), side * math.sin(k * math.pi / 3)) for k in range(6)
    ]
    floor, lid = (Panel.of(n, Contour.polygon(corners)) for n in ("floor", "lid"))
    walls = [
        plate(f"wall-{k}", side - 1 if short == f"wall-{k}" else side, height) for k in range(6)
    ]
    # Floor and lid are both drawn from above, so their edges run round alike.
    joints = []
    for panel, where in ((floor, BOTTOM), (lid, TOP)):
        edges = straight_edges(panel)
        joints += [Joint(line_of(edges[k], panel), edge(walls[k], where)) for k in range(6)]
    joints += [mate(walls[k], RIGHT, walls[(k + 1) % 6], LEFT) for k in range(6)]
    return [floor, lid, *walls], joints


SLANT = math.hypot(25, 60)


def slanted(short=None, length=140.0):
    side = [(0, 0), (80, 0), (80, 60), (25, 60)]
    right = Panel.of("right", Contour.polygon(side))
    left = Panel.of("left", Contour.polygon([(-x, y) for x, y in side]))
    front = plate("front", length, SLANT - (1 if short == "front" else 0))
    back = plate("back", length, 60 - (1 if short == "back" else 0))
    floor, lid = plate("floor", length, 80), plate("lid", length, 55)
    panels = [floor, front, back, left, right, lid]
    slope_right, slope_left = (0.15, 0.5), (0.85, 0.5)
    joints = [
        mate(floor, BOTTOM, front, BOTTOM), mate(floor, TOP, back, BOTTOM),
        mate(floor, LEFT, left, BOTTOM), mate(floor, RIGHT, right, BOTTOM),
        mate(front, RIGHT, right, slope_right), mate(front, LEFT, left, slope_left),
        mate(back, LEFT, right, RIGHT), mate(back, RIGHT, left, LEFT),
        mate(lid, BOTTOM, front, TOP), mate(lid, TOP, back, TOP),
        mate(lid, LEFT, left, (0.2, 1.0)), mate(lid, RIGHT, right, (0.8, 1.0)),
    ]  # fmt: skip
    return panels, joints


SOLIDS = {"cube": cube, "drawer": drawer, "prism": prism, "slanted": slanted}


@pytest.mark.parametrize("interference", [-0.05, 0.0, 0.08, 0.15])
@pytest.mark.parametrize("name", SOLIDS)
def test_it_closes_nothing_overlaps_and_every_gap_is_filled(name, interference):
    assembly, joined = assembled(*SOLIDS[name](), interference=interference)
    assert joined.findings == ()
    assert assembly.findings == ()
    assert assembly.goes_together
    assert len(assembly.groups) == 1


@pytest.mark.parametrize(
    ("name", "short"),
    [
        ("cube", "front"),
        ("cube", "lid"),
        ("cube", "left"),
        ("drawer", "front"),
        ("drawer", "divider-across-1"),
        ("drawer", "divider-along-1"),
        ("prism", "wall-2"),
        ("slanted", "front"),
        ("slanted", "back"),
    ],
)
def test_one_panel_a_millimetre_short_does_not_close_and_is_named(name, short):
    assembly, _ = assembled(*SOLIDS[name](short))
    assert not assembly.closes
    assert not assembly.goes_together
    assert [f.panel for f in assembly.findings] == [short]
    (finding,) = assembly.findings
    assert finding.code == "case-does-not-close"
    assert f"{short} does not fit the other panels, which close without it" in finding.message
    assert finding.where_mm is not None


@pytest.mark.parametrize(
    ("meaning", "grow"),
    [(EdgeMeaning.OUTSIDE, 0.0), (EdgeMeaning.CENTRE, T), (EdgeMeaning.INSIDE, 2 * T)],
)
def test_the_outer_size_of_the_folded_case(meaning, grow):
    panels = box_panels(120, 80, 50)
    assembly, joined = assembled(panels.values(), box_joints(panels), meaning=meaning)
    size = np.ptp(points_in_space(assembly, joined), axis=0)
    assert sorted(size) == pytest.approx([50 + grow, 80 + grow, 120 + grow], abs=1e-9)


def test_the_folded_prism_is_as_wide_as_its_hexagon():
    assembly, joined = assembled(*prism())
    points = points_in_space(assembly, joined)
    up = assembly.stances["floor"].outward
    assert np.ptp(points @ up) == pytest.approx(45.0, abs=1e-9)
    for k in range(6):
        normal = assembly.stances[f"wall-{k}"].outward
        assert abs(normal @ up) < 1e-9
        # Across flats of a hexagon: side times the square root of three.
        assert np.ptp(points @ normal) == pytest.approx(60 * math.sqrt(3), abs=1e-6)


def test_the_slanted_front_leans_as_its_sides_say():
    assembly, joined = assembled(*slanted())
    angles = {j.name: j.angle_deg for j in joined.joints}
    lean = math.degrees(math.atan2(60, 25))
    assert angles["floor = front"] == pytest.approx(lean)
    assert angles["lid = front"] == pytest.approx(180 - lean)
    assert angles["front = right"] == pytest.approx(90.0)
    up = -assembly.stances["floor"].outward
    assert assembly.stances["front"].outward @ up == pytest.approx(
        math.cos(math.radians(lean)), abs=1e-9
    )


def test_sides_drawn_as_copies_of_one_outline_are_turned_over():
    panels, joints = slanted()
    right = next(p for p in panels if p.name == "right")
    copy = Panel.of("left", right.outer)
    panels = [copy if p.name == "left" else p for p in panels]
    joints = [j for j in joints if "left" not in (j.a.panel, j.b.panel)]
    by_name = {p.name: p for p in panels}
    slope = (0.15, 0.5)
    joints += [
        mate(by_name["floor"], LEFT, copy, BOTTOM), mate(by_name["front"], LEFT, copy, slope),
        mate(by_name["back"], RIGHT, copy, RIGHT), mate(by_name["lid"], LEFT, copy, (0.8, 1.0)),
    ]  # fmt: skip
    assembly, _ = assembled(panels, joints)
    assert assembly.goes_together
    assert assembly.stances["left"].from_outside != assembly.stances["right"].from_outside


@pytest.mark.parametrize("order", [1, -1])
def test_a_case_stands_on_its_base_whatever_joint_comes_first(order):
    panels = box_panels(100.0, 60.0, 200.0)  # taller than wide, so the base is not the largest
    assembly, joined = assembled(list(panels.values()), box_joints(panels)[::order])
    heights = points_in_space(assembly, joined)[:, 2]
    assert np.ptp(heights) == pytest.approx(200.0)
    floor = assembly.stances["floor"]
    assert (floor.outward[2], floor.point((50.0, 30.0), 0.0)[2]) == (
        pytest.approx(-1.0),
        pytest.approx(heights.min()),
    )


def test_the_base_is_called_so_or_large_and_without_holes():
    def named(name, width, height, *holes):
        return Panel.of(name, Contour.rectangle(0, 0, width, height), holes)

    hole = Contour.circle(20, 20, 5)
    assert base_of([named("left", 80, 60), named("lid", 120, 80, hole), named("b", 120, 80)]) == "b"
    assert base_of([named("side", 300, 200), named("drawer-base", 50, 50)]) == "drawer-base"
    assert base_of([named("baseball", 30, 20), named("front", 31, 20)]) == "front"


def test_a_forgotten_joint_leaves_two_panels_in_one_place():
    panels = box_panels(120, 80, 50)
    assembly, _ = assembled(panels.values(), box_joints(panels)[:-1])
    (finding,) = assembly.findings
    assert finding.code == "panels-overlap"
    assert finding.message == "lid and left would occupy the same space over 73.90 mm"


def moved(joined, name, change):
    panels = tuple(change(p) if p.name == name else p for p in joined.panels)
    return Joined(panels, joined.joints, joined.findings)


def with_outer(panel, polygon):
    return Panel.of(panel.name, Contour.polygon(list(polygon.exterior.coords)[:-1]))


def test_a_finger_without_its_gap_and_a_gap_without_its_finger_are_found():
    import shapely

    from tests.joint_kit import polygon_of

    panels = box_panels(120, 80, 50)
    joined = join(panels.values(), box_joints(panels), thickness=T)
    w = joined.joints[0].width_mm
    gap = shapely.box(w, 0, 2 * w, T)
    # floor = front: the floor's second division is a gap for the front's finger.
    filled = moved(joined, "floor", lambda p: with_outer(p, polygon_of(p).union(gap)))
    found = assemble(list(panels.values()), filled)
    assert [f.code for f in found.findings] == ["panels-overlap"]
    assert (
        f"floor and front would occupy the same space over {w:.2f} mm" in found.findings[0].message
    )
    assert found.findings[0].where_mm == pytest.approx((1.5 * w, T / 2), abs=1e-6)
    finger = shapely.box(2 * w, 0, 3 * w, T)
    cut = moved(joined, "floor", lambda p: with_outer(p, polygon_of(p).difference(finger)))
    found = assemble(list(panels.values()), cut)
    assert [f.code for f in found.findings] == ["gap-without-finger"]
    assert f"leaves a hole {w:.2f} mm long" in found.findings[0].message


def test_a_corner_nobody_fills_is_found():
    import shapely

    from tests.joint_kit import polygon_of

    panels = box_panels(120, 80, 50)
    joined = join(panels.values(), box_joints(panels), thickness=T)
    notch = shapely.box(0, 0, T, T)
    cut = moved(joined, "floor", lambda p: with_outer(p, polygon_of(p).difference(notch)))
    codes = {f.code for f in assemble(list(panels.values()), cut).findings}
    assert codes == {"corner-not-filled", "gap-without-finger"}


def test_interference_beyond_the_wanted_is_an_overlap():
    panels = box_panels(120, 80, 50)
    tight = join(panels.values(), box_joints(panels), thickness=T, interference=0.3)
    loose = Joined(tight.panels, tuple(replace(j, interference_mm=0.1) for j in tight.joints), ())
    assert assemble(list(panels.values()), tight).goes_together
    found = assemble(list(panels.values()), loose)
    assert {f.code for f in found.findings} == {"panels-overlap"}


def test_acrylic_with_reliefs_and_chamfers_still_goes_together():
    panels = box_panels(120, 80, 50)
    assembly, joined = assembled(
        panels.values(), box_joints(panels, chamfer_mm=0.3), material="acrylic", interference=-0.05
    )
    assert any(p.outer.has_arcs for p in joined.panels)
    assert assembly.findings == ()


def test_panels_of_different_stock_meet():
    from lasernest.domain.joints import PanelSheet

    panels = box_panels(120, 80, 50)
    sheets = dict.fromkeys(panels, PanelSheet(3.0)) | {
        "floor": PanelSheet(6.1), "lid": PanelSheet(2.7),
    }  # fmt: skip
    joined = join(panels.values(), box_joints(panels), sheets=sheets, interference=0.05)
    assert assemble(list(panels.values()), joined).findings == ()


def test_groups_that_nothing_holds_together_are_said():
    a, b, c, d = (plate(n, 80, 40) for n in "abcd")
    assembly, _ = assembled([a, b, c, d], [mate(a, TOP, b, BOTTOM), mate(c, TOP, d, BOTTOM)])
    (finding,) = assembly.findings
    assert finding.message == "the joints do not hold all panels together: a and b; c and d"


def test_a_shelf_stands_square_on_the_face_it_is_set_into():
    side, shelf = plate("side", 200, 80), plate("shelf", 80, 60)
    joint = Joint(edge(shelf, BOTTOM), face(side, (70, 0), (70, 80)), JointKind.SLOT)
    for kind in (JointKind.SLOT, JointKind.NUT):
        assembly, _ = assembled([side, shelf], [replace(joint, kind=kind)])
        assert assembly.findings == ()
        stand = assembly.stances
        assert abs(stand["shelf"].outward @ stand["side"].outward) < 1e-9
        tips = [stand["shelf"].point((40, 0), d) for d in (0.0, T)]
        for tip in tips:
            at, depth = stand["side"].local(tip)
            assert depth == pytest.approx(0.0, abs=1e-9)
            assert abs(at[0] - 70) == pytest.approx(T / 2, abs=1e-9)


def test_a_pose_as_a_matrix_takes_points_to_the_same_place():
    assembly, _ = assembled(*cube())
    stance = assembly.stances["front"]
    assert stance.matrix() @ [10.0, 20.0, -T, 1.0] == pytest.approx(
        [*stance.point((10.0, 20.0), T), 1.0]
    )
    assert np.abs(np.linalg.det(stance.matrix()[:3, :3])) == pytest.approx(1.0)
