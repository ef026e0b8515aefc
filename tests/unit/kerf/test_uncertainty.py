"""U1 to U10 of the trade's check table, and quantiles against printed tables."""

from __future__ import annotations

import math

import pytest

from lasernest.errors import BadValueError
from lasernest.kerf.uncertainty import (
    Calliper,
    Sample,
    chi_square_limit,
    combined_u,
    half_width_95,
    readings_needed,
    rectangular_u,
    step_u,
    student_factor,
)

# U10 and the rows of a printed Student table, two-sided 95 %
STUDENT_TABLE = [
    (1, 12.706), (2, 4.303), (3, 3.182), (4, 2.776), (5, 2.571),
    (9, 2.262), (10, 2.228), (20, 2.086), (50, 2.009),
]  # fmt: skip


def test_rectangular_u() -> None:
    # U1: JCGM 100:2008, 4.3.7
    assert rectangular_u(0.02) == pytest.approx(0.0115470, abs=1e-7)


def test_display_step() -> None:
    # U2: JCGM 100:2008, F.2.2.1, "0.29 times the step"
    assert step_u(0.01) == pytest.approx(0.0028868, abs=1e-7)
    assert round(step_u(0.01), 4) == 0.0029


def test_one_length_by_calliper() -> None:
    # U3: JCGM 100:2008, 5.1.2
    assert combined_u(rectangular_u(0.02), step_u(0.01), 0.010) == pytest.approx(
        0.0155456, abs=1e-7
    )
    assert Calliper().u_mm == pytest.approx(0.0155456, abs=1e-7)


def test_repeat_set() -> None:
    # U8: closed form; the half width by Student's t of 4 degrees, 2.776
    sample = Sample.of([0.21, 0.22, 0.20, 0.23, 0.19])
    assert sample.mean == pytest.approx(0.21, abs=1e-12)
    assert sample.s == pytest.approx(0.0158114, abs=1e-6)
    assert sample.u == pytest.approx(0.00707, abs=1e-5)
    assert sample.half_width_95 == pytest.approx(0.0196324, abs=1e-6)
    with pytest.raises(BadValueError):
        Sample.of([0.2])


def test_comb_step() -> None:
    # U9: closed form
    assert step_u(0.05) == pytest.approx(0.0144338, abs=1e-7)


@pytest.mark.parametrize(("degrees", "t"), STUDENT_TABLE)
def test_student_table(degrees: int, t: float) -> None:
    assert student_factor(degrees) == pytest.approx(t, abs=5e-4)


def test_student_closed_forms() -> None:
    # one degree: Cauchy, tan(pi/2 times the share); two: t = p sqrt(2 / (1 - p^2))
    for share in (0.1, 0.5, 0.9, 0.99):
        assert student_factor(1, share) == pytest.approx(math.tan(0.5 * math.pi * share), rel=1e-9)
        assert student_factor(2, share) == pytest.approx(
            share * math.sqrt(2.0 / (1.0 - share * share)), rel=1e-9
        )
    assert student_factor(math.inf) == pytest.approx(1.959964, abs=1e-6)
    assert student_factor(1e6) == pytest.approx(1.959966, abs=1e-5)
    with pytest.raises(BadValueError):
        student_factor(0)


@pytest.mark.parametrize(
    ("degrees", "limit"),
    # printed chi-square table, 95 %
    [(1, 3.841), (2, 5.991), (3, 7.815), (4, 9.488), (10, 18.307), (30, 43.773), (100, 124.342)],
)
def test_chi_square_table(degrees: int, limit: float) -> None:
    assert chi_square_limit(degrees, 0.95) == pytest.approx(limit, abs=5e-4)


@pytest.mark.parametrize(
    ("scatter", "known", "student"),
    # U7 and the rows beside it: closed form
    [(0.02, 16, 18), (0.03, 36, 38), (0.05, 100, 99)],
)
def test_readings_for_a_hundredth(scatter: float, known: int, student: int) -> None:
    assert readings_needed(scatter, 0.01, scatter_is_known=True) == known
    assert readings_needed(scatter, 0.01) == student


def test_readings_for_a_hundredth_with_little_scatter() -> None:
    assert readings_needed(0.01, 0.01) == 7  # closed form, Student's t
    assert readings_needed(0.0, 0.01) == 2
    with pytest.raises(BadValueError):
        readings_needed(0.01, 0.0)


def test_what_cannot_be_a_calliper() -> None:
    with pytest.raises(BadValueError):
        Calliper(mpe_mm=-0.1)
    with pytest.raises(BadValueError):
        Calliper(step_mm=math.nan)


def test_interval_of_a_rectangular_and_a_normal_error() -> None:
    # pure cases: 0.95 of the half width, and 1.95996 standard deviations
    assert half_width_95(rectangular_u(0.02), 0.0) == pytest.approx(0.019)
    assert half_width_95(0.0, 0.01) == pytest.approx(0.0195996, abs=1e-7)
    assert half_width_95(1e-9, 0.01) == pytest.approx(0.0195996, abs=1e-7)
    # mixed: by drawing, as JCGM 101:2008 propagates distributions
    import numpy as np

    dice = np.random.default_rng(1)
    for a, s in ((0.02, 0.01), (0.02, 0.002), (0.005, 0.01)):
        drawn = dice.uniform(-a, a, 400_000) + dice.normal(0.0, s, 400_000)
        share = np.mean(np.abs(drawn) <= half_width_95(rectangular_u(a), s))
        assert share == pytest.approx(0.95, abs=0.002)
