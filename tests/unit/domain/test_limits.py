"""F1 to F12 of the trade's check table: limits and fits after ISO 286-1."""

from __future__ import annotations

import pytest

from lasernest.domain.limits import (
    FitClass,
    FitLimits,
    fit_limits,
    shaft_limits_um,
    tolerance_um,
    tolerance_unit_um,
)
from lasernest.errors import BadValueError


@pytest.mark.parametrize(
    ("size_mm", "fit", "loosest", "tightest", "fit_class"),
    [
        (10, "H7/p6", 0, -24, FitClass.INTERFERENCE),  # F1: ISO 286 tables (JIS B 0401:1999)
        (20, "H7/g6", 41, 7, FitClass.CLEARANCE),  # F2: NIMI, CITS Engineering Drawing, p. 232
        (50, "H8/f7", 89, 25, FitClass.CLEARANCE),  # F3: worked example, "Engineering fit"
        (20, "H6/e7", 74, 40, FitClass.CLEARANCE),  # F4: machine-design textbook, example 3.1
        (20, "H7/s6", -14, -48, FitClass.INTERFERENCE),  # F5: example 3.2
        (50, "H7/s6", -18, -59, FitClass.INTERFERENCE),  # F6: example 3.3
        (40, "H7/r6", -9, -50, FitClass.INTERFERENCE),  # F7: civil-service exam item
        (10, "H7/n6", 5, -19, FitClass.TRANSITION),  # from the same tables
        (10, "H7/k6", 14, -10, FitClass.TRANSITION),
        (10, "H7/g6", 29, 5, FitClass.CLEARANCE),
        (10, "H7/s6", -8, -32, FitClass.INTERFERENCE),
    ],
)
def test_fits(
    size_mm: float, fit: str, loosest: float, tightest: float, fit_class: FitClass
) -> None:
    limits = fit_limits(size_mm, fit)
    assert (limits.max_clearance_um, limits.min_clearance_um) == (loosest, tightest)
    assert limits.fit_class is fit_class


def test_fits_from_limits() -> None:
    # F8, F9: Machine Drawing, figures 15.12 and 15.11, pp. 228-229
    tight = FitLimits.of((30.15, 30.25), (30.30, 30.40))
    assert (tight.max_clearance_um, tight.min_clearance_um) == pytest.approx((-50, -250))
    assert tight.fit_class is FitClass.INTERFERENCE
    both = FitLimits.of((29.95, 30.05), (29.95, 30.00))
    assert (both.max_clearance_um, both.min_clearance_um) == pytest.approx((100, -50))
    assert both.fit_class is FitClass.TRANSITION


def test_standard_tolerances() -> None:
    # F10: published IT table; F11: ranges are over one size up to and including the next
    assert (tolerance_um(10, 14), tolerance_um(100, 14)) == (360, 870)
    assert (tolerance_um(10.0, 7), tolerance_um(10.001, 7)) == (15, 18)


def test_tolerance_unit() -> None:
    # F12: published formula; 16 i of the range 6 to 10 is 14.37, which the table rounds to 15
    unit = tolerance_unit_um(6, 10)
    assert unit == pytest.approx(0.8981, abs=1e-4)
    assert 16 * unit == pytest.approx(14.37, abs=5e-3)


def test_shaft_table_at_grade_six() -> None:
    # JIS B 0401:1999 shaft extract, row 6 to 10 mm
    row = {"g6": (-14, -5), "h6": (-9, 0), "k6": (1, 10), "m6": (6, 15), "n6": (10, 19)}
    row |= {"p6": (15, 24), "r6": (19, 28), "s6": (23, 32)}
    assert {name: shaft_limits_um(8, name) for name in row} == row


def test_what_is_not_listed() -> None:
    for size_mm, fit in ((10, "H7/z6"), (10, "G7/h6"), (60, "H7/p6"), (10, "H7"), (0, "H7/h6")):
        with pytest.raises(BadValueError):
            fit_limits(size_mm, fit)
    with pytest.raises(BadValueError, match="IT99 is not listed here"):
        tolerance_um(10, 99)
