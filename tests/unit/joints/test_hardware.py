"""Checks N1 to N4 and N8: ISO 4032, ISO 273, ISO 4762 as reproduced on trade pages."""

import pytest

from lasernest.joints.edges import JointError
from lasernest.joints.hardware import HARDWARE, HoleFit, hardware, next_screw_length_mm


def test_n1_corners_follow_from_flats():
    given = {"M2": 4.32, "M2.5": 5.45, "M3": 6.01, "M4": 7.66, "M5": 8.79, "M6": 11.05}
    for name, corners in given.items():
        size = HARDWARE[name]
        assert size.nut_across_corners_min_mm == corners
        assert 1.13 * size.nut_across_flats_min_mm == pytest.approx(corners, abs=0.01)


def test_n2_nut_m3():
    m3 = hardware("m3")
    assert (m3.nut_across_flats_max_mm, m3.nut_across_flats_min_mm) == (5.50, 5.32)
    assert (m3.nut_height_max_mm, m3.nut_height_min_mm) == (2.40, 2.15)


def test_n3_nut_heights_are_those_of_iso_4032():
    assert hardware("M5").nut_height_max_mm == 4.7
    assert hardware("M6").nut_height_max_mm == 5.2


def test_n4_medium_holes():
    sizes = [hardware(n).hole_mm(HoleFit.MEDIUM) for n in ("M3", "M4", "M5", "M6")]
    assert sizes == [3.4, 4.5, 5.5, 6.6]
    for size in HARDWARE.values():
        assert size.hole_fine_mm < size.hole_medium_mm < size.hole_coarse_mm


def test_n8_cap_head_m3():
    m3 = hardware("M3")
    assert (m3.cap_head_mm, m3.cap_head_height_mm, m3.key_mm) == (5.5, 3.0, 2.5)


def test_screw_lengths_and_sizes_that_are_not_there():
    assert next_screw_length_mm(11.9) == 12
    assert next_screw_length_mm(12.0) == 12
    with pytest.raises(JointError, match=r"bolt of 61\.0 mm"):
        next_screw_length_mm(61.0)
    with pytest.raises(JointError, match="no nut and bolt M7"):
        hardware("M7")
