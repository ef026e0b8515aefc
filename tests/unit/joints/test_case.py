"""Plain cases made here; sizes against closed forms."""

from itertools import pairwise

import numpy as np
import pytest

from lasernest.domain.joints import EdgeMeaning
from lasernest.errors import BadValueError
from lasernest.joints.assembly import assemble
from lasernest.joints.case import CaseSpec, plain_case
from tests.joint_kit import join

T = 3.05
SHAPES = [
    {},
    {"lid": False},
    {"feet_mm": 12.0},
    {"feet_mm": 15.0, "lid": False, "dividers_across": 2, "dividers_along": 2},
    {"dividers_across": 3},
    {"dividers_along": 2},
]


@pytest.mark.parametrize("meaning", EdgeMeaning)
@pytest.mark.parametrize("shape", SHAPES, ids=str)
def test_the_case_goes_together_and_has_the_wanted_size(meaning, shape):
    spec = CaseSpec(150, 110, 60, T, meaning, **shape)
    case = plain_case(spec)
    joined = join(case.panels, case.joints, thickness=T, meaning=meaning, interference=0.05)
    assert joined.findings == ()
    assembly = assemble(case.panels, joined)
    assert assembly.findings == ()
    up = assembly.stances["floor"].outward
    points = np.array(
        [
            assembly.stances[p.name].point((v.x_mm, v.y_mm), d)
            for p in joined.panels
            for v in p.outer.vertices
            for d in (0.0, T)
        ]
    )
    sides = [assembly.stances[n].outward for n in ("right", "front")]
    grow = {EdgeMeaning.OUTSIDE: 0.0, EdgeMeaning.CENTRE: T, EdgeMeaning.INSIDE: 2 * T}[meaning]
    assert np.ptp(points @ sides[0]) == pytest.approx(150 + grow, abs=1e-9)
    assert np.ptp(points @ sides[1]) == pytest.approx(110 + grow, abs=1e-9)
    lid_side = 0.5 * grow if shape.get("lid", True) else 0.0
    height = 60 + 0.5 * grow + lid_side + shape.get("feet_mm", 0.0)
    assert np.ptp(points @ up) == pytest.approx(height, abs=1e-9)


def test_dividers_make_equal_compartments():
    case = plain_case(CaseSpec(150, 110, 60, T, lid=False, dividers_across=2))
    joined = join(case.panels, case.joints, thickness=T)
    stances = assemble(case.panels, joined).stances
    way = stances["right"].outward
    faces = []
    for name in ("left", "right", "divider-across-1", "divider-across-2"):
        ends = [stances[name].point((10.0, 20.0), d) @ way for d in (0.0, T)]
        faces.append((min(ends), max(ends)))
    faces.sort()
    clear = [b[0] - a[1] for a, b in pairwise(faces)]
    assert clear == pytest.approx([(150 - 4 * T) / 3] * 3, abs=1e-9)


def test_a_case_stands_upright_with_its_floor_below_and_faces_outward():
    case = plain_case(CaseSpec(150, 110, 60, T, lid=False, dividers_across=2, dividers_along=1))
    joined = join(case.panels, case.joints, thickness=T)
    stances = assemble(case.panels, joined).stances
    assert stances["floor"].outward[2] == pytest.approx(-1.0)
    assert not stances["floor"].from_outside
    assert all(stances[n].from_outside for n in ("front", "back", "left", "right"))
    top = stances["front"].point((10.0, 60.0))
    assert top[2] > stances["floor"].point((10.0, 10.0))[2] + 50.0


@pytest.mark.parametrize(
    ("sizes", "choices", "message"),
    [
        ((10, 100, 60), {}, "a case with a length of 10 mm is too small for panels of 3.05 mm"),
        ((100, 100, float("nan")), {}, "a case with a height of nan mm is too small"),
        ((100, 100, 60), {"feet_mm": 4.0}, "feet of 4 mm are too low"),
        ((100, 100, 60), {"dividers_across": 9}, "9 dividers do not fit into the length"),
        ((100, 100, 60), {"dividers_along": -1}, "fewer than no dividers"),
    ],
)
def test_cases_that_cannot_be(sizes, choices, message):
    with pytest.raises(BadValueError, match=message):
        CaseSpec(*sizes, T, **choices)


def test_feet_leave_the_floors_slots_a_web_that_holds_even_in_acrylic():
    case = plain_case(CaseSpec(200.0, 140.0, 80.0, 3.0, feet_mm=12.0))
    joined = join(case.panels, case.joints, thickness=3.0, material="cast acrylic")
    assert [f.code for f in joined.findings] == []
