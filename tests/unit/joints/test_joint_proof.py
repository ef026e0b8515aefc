"""The proof measures what is there: here finished polygons are made with shapely's buffer."""

import pytest
import shapely

from lasernest.domain.joints import Joint, JointKind, PanelSheet
from lasernest.joints.joint_proof import CALLIPER_U_MM, prove_joints
from tests.joint_kit import BOTTOM, RIGHT, TOP, edge, face, join, mate, plate, polygon_of


def left_by_beam(panel, kerf, offset):
    """The panel cut along lines moved out by `offset`, by a beam as wide as `kerf`."""
    body = polygon_of(panel)
    path = body.buffer(offset, join_style="mitre", mitre_limit=4)
    return shapely.difference(path, path.boundary.buffer(kerf / 2, quad_segs=32))


def two_plates(interference, thickness=3.05):
    a, b = plate("a", 120, 60), plate("b", 120, 80)
    joined = join([a, b], [mate(a, TOP, b, BOTTOM)], thickness=thickness,
                  interference=interference)  # fmt: skip
    return joined, {n: PanelSheet(thickness, "birch plywood", 0.01, 0.004) for n in "ab"}


@pytest.mark.parametrize("kerf", [0.08, 0.2, 0.35])
@pytest.mark.parametrize("interference", [-0.05, 0.0, 0.08, 0.15])
def test_v7_a_rightly_compensated_cut_leaves_the_wanted_interference(kerf, interference):
    joined, sheets = two_plates(interference)
    finished = {p.name: [left_by_beam(p, kerf, kerf / 2)] for p in joined.panels}
    (proof,), problems = prove_joints(joined.joints, finished, sheets)
    assert problems == ()
    assert proof.interference_mm == pytest.approx(interference, abs=1e-6)
    assert proof.worst_mm == pytest.approx(interference, abs=1e-6)
    assert proof.u_mm == pytest.approx(0.008)


@pytest.mark.parametrize("offset", [0.05, 0.2, 0.0])
def test_v8_half_or_double_kerf_fails(offset):
    # k = 0.2; each finger errs by 2 (offset - k/2) and each gap by as much the other way.
    joined, sheets = two_plates(0.08)
    finished = {p.name: [left_by_beam(p, 0.2, offset)] for p in joined.panels}
    expected = 0.08 + 4 * (offset - 0.1)
    (proof,), problems = prove_joints(joined.joints, finished, sheets)
    assert proof.worst_mm == pytest.approx(expected, abs=1e-6)
    assert problems == (
        f"the joint of a and b comes out with an interference of {expected:.3f} mm "
        "where 0.080 mm is wanted",
    )


def test_one_bad_finger_is_found():
    joined, sheets = two_plates(0.05)
    finished = {p.name: [polygon_of(p)] for p in joined.panels}
    burn = shapely.box(17, 57, 29, 60)
    gap = next(p.gap for p in joined.joints[0].pairs if p.gap.panel == "b")
    x, y = gap.middle
    nibble = shapely.box(x + gap.width_mm / 2 - 0.01, y - 0.5, x + gap.width_mm / 2 + 0.03, y + 0.5)
    finished["b"] = [finished["b"][0].difference(nibble)]
    (proof,), problems = prove_joints(joined.joints, finished, sheets)
    assert proof.worst_mm == pytest.approx(0.02, abs=1e-9)
    assert proof.interference_mm > 0.04
    assert len(problems) == 1
    finished["a"] = [finished["a"][0].difference(burn)]
    _, problems = prove_joints(joined.joints, finished, sheets)
    assert "panel a: there is no finger at 23.08, 58.48 mm after the cut" in problems


def test_copies_count_with_the_loosest_and_the_tightest_pair():
    joined, sheets = two_plates(0.05)
    right = {p.name: left_by_beam(p, 0.2, 0.1) for p in joined.panels}
    finished = {"a": [right["a"], left_by_beam(joined.panel("a"), 0.2, 0.11)], "b": [right["b"]]}
    (proof,), problems = prove_joints(joined.joints, finished, sheets)
    assert proof.worst_mm == pytest.approx(0.07, abs=1e-6)
    assert len(problems) == 1


def test_slots_are_measured_against_the_thickness_and_its_uncertainty():
    shelf, side = plate("shelf", 80, 50), plate("side", 200, 80)
    joint = Joint(edge(shelf, RIGHT), face(side, (70, 15), (70, 65)), JointKind.SLOT)
    joined = join([shelf, side], [joint], thickness=3.05, interference=0.05)
    sheets = {n: PanelSheet(3.05, "acrylic", None, 0.004) for n in ("shelf", "side")}
    finished = {p.name: [left_by_beam(p, 0.18, 0.09)] for p in joined.panels}
    (proof,), problems = prove_joints(joined.joints, finished, sheets)
    assert problems == ()
    assert proof.interference_mm == pytest.approx(0.05, abs=1e-6)
    assert proof.u_mm == pytest.approx((CALLIPER_U_MM**2 + 0.004**2) ** 0.5)
    assert proof.fit == "press"
    forgotten = {p.name: [left_by_beam(p, 0.18, 0.0)] for p in joined.panels}
    (proof,), problems = prove_joints(joined.joints, forgotten, sheets)
    assert proof.worst_mm == pytest.approx(0.05 - 0.18, abs=1e-6)
    assert len(problems) == 1


def test_panels_that_are_not_on_the_sheet_are_not_judged():
    joined, sheets = two_plates(0.05)
    finished = {"a": [polygon_of(joined.panel("a"))]}
    assert prove_joints(joined.joints, finished, sheets) == ((), ())
