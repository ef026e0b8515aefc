"""Checks F13 to F16. Sources: closed forms; finger and web rules are common practice, no source."""

import pytest

from lasernest.domain.fits import FIT_RANGES, Family, family_of
from lasernest.domain.joints import Joint, JointRules, PanelLine, PanelSheet
from lasernest.domain.stock import Fit
from lasernest.errors import Where
from lasernest.joints.edges import JointError
from lasernest.joints.sizing import (
    divide_length,
    interference_of,
    odd_count,
    relief_radius_mm,
    slot_width_mm,
    tightness_findings,
    web_mm,
)

BOX = (0.0, 0.0, 100.0, 60.0)
JOINT = Joint(
    PanelLine("front", (0.0, 0.0), (100.0, 0.0), BOX),
    PanelLine("floor", (0.0, 0.0), (100.0, 0.0), BOX),
)
PLY = PanelSheet(3.0, "birch plywood")
ACRYLIC = PanelSheet(3.0, "cast acrylic")


def test_f13_slot_for_a_measured_tongue():
    finished = slot_width_mm(3.05, 0.05)
    assert finished == pytest.approx(3.00, abs=1e-9)
    assert finished - 0.18 == pytest.approx(2.82, abs=1e-9)


@pytest.mark.parametrize(
    ("length", "target", "count", "width"),
    [
        (100, 10, 9, 11.111111),
        (120, 9, 13, 9.230769),
        (150, 12, 11, 13.636364),
        (65, 9, 7, 9.285714),
    ],
)
def test_f14_finger_counts(length, target, count, width):
    assert odd_count(length, target) == count
    division = divide_length(length, thickness_mm=3.0, target_mm=target, where=Where())
    assert division.count == count
    assert division.width_mm == pytest.approx(width, abs=1e-6)


@pytest.mark.parametrize("thickness", [2.7, 3.05, 6.1])
@pytest.mark.parametrize("target", [None, 0.5, 9.0, 80.0])
def test_f15_widths_fill_the_edge_and_stay_between_one_and_five_thicknesses(thickness, target):
    for tenths in range(int(30 * thickness) + 1, 4000, 37):
        length = tenths / 10
        division = divide_length(length, thickness_mm=thickness, target_mm=target, where=Where())
        assert division.count % 2 == 1
        assert abs(division.count * division.width_mm - length) <= 1e-9
        assert division.width_mm >= thickness - 1e-9
        assert division.width_mm <= 5 * thickness + 1e-9


def test_an_edge_too_short_for_fingers():
    with pytest.raises(JointError) as error:
        divide_length(8.0, thickness_mm=3.0, target_mm=None, where=Where(panel="lid"))
    assert error.value.sentence() == (
        "panel lid: an edge of 8.00 mm is too short for fingers. It needs 9.00 mm, three times "
        "the thickness; leave this joint out or use one tab and slot."
    )


def test_f16_acrylic_warns_above_a_twentieth():
    assert tightness_findings(JOINT, 0.05, (ACRYLIC, ACRYLIC)) == ()
    (finding,) = tightness_findings(JOINT, 0.06, (PLY, ACRYLIC))
    assert finding.severity.value == "warning"
    assert finding.panel == "floor"
    assert finding.message == (
        "an interference of 0.06 mm is too much for floor in cast acrylic: "
        "acrylic is brittle and cracks"
    )
    assert tightness_findings(JOINT, 0.15, (PanelSheet(3.0, "MDF"), PLY)) == ()
    assert len(tightness_findings(JOINT, 0.16, (PanelSheet(3.0, "MDF"), PLY))) == 1
    assert len(tightness_findings(JOINT, 0.21, (PLY, PLY))) == 2


def test_starting_values_by_material_and_the_more_delicate_one_decides():
    assert interference_of(JOINT, JointRules(), (PLY, PLY)) == 0.05
    assert interference_of(JOINT, JointRules(), (PanelSheet(3, "MDF"), PLY)) == 0.03
    assert interference_of(JOINT, JointRules(fit=Fit.PUSH), (ACRYLIC, PLY)) == -0.025
    assert interference_of(JOINT, JointRules(interference_mm=0.11), (ACRYLIC, PLY)) == 0.11


def test_webs_and_reliefs_by_material():
    assert web_mm(PLY) == 3.0
    assert web_mm(ACRYLIC) == 4.5
    assert relief_radius_mm(JOINT, PLY) == 0.0
    assert relief_radius_mm(JOINT, ACRYLIC) == 0.5


@pytest.mark.parametrize(
    ("name", "family"),
    [
        ("birch plywood", Family.PLYWOOD),
        ("acrylic", Family.CAST_ACRYLIC),
        ("PMMA extruded", Family.EXTRUDED_ACRYLIC),
        ("mdf", Family.MDF),
        ("greyboard", Family.CARD),
        ("slate", Family.OTHER),
    ],
)
def test_families(name, family):
    assert family_of(name) is family


def test_every_start_lies_in_its_range_and_fits_are_told_apart():
    for ranges in FIT_RANGES.values():
        for fit in Fit:
            low, high = ranges.range_of(fit)
            assert low <= ranges.start_mm(fit) <= high <= ranges.most_mm
    ply = FIT_RANGES[Family.PLYWOOD]
    assert ply.fit_of(0.10) is Fit.PRESS
    assert ply.fit_of(0.02) is Fit.PUSH
    assert ply.fit_of(0.05 - 1e-9) is Fit.PRESS
    assert ply.fit_of(-0.08) is Fit.SLIP
    assert ply.fit_of(0.25) is None
    assert ply.fit_of(-0.4) is None
    assert FIT_RANGES[Family.EXTRUDED_ACRYLIC].fit_of(0.0) is Fit.PUSH
