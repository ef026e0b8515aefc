from __future__ import annotations

import pytest

from lasernest.errors import BadValueError
from lasernest.units import (
    LengthUnit,
    format_rough_time,
    format_time,
    parse_length_mm,
    parse_size_mm,
    plain_mm,
)


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("3", 3.0),
        ("3mm", 3.0),
        ("3,05", 3.05),
        ("3.2in", 81.28),
        ("1/8in", 3.175),  # trade table: 1/8 in = 3.175 mm
        ("3/16 in", 4.7625),
        ("1 1/2in", 38.1),
        ('0.5"', 12.7),
        ("-.05", -0.05),
        ("2cm", 20.0),
        ("1e-1", 0.1),
    ],
)
def test_lengths_as_makers_write_them(text: str, mm: float) -> None:
    assert parse_length_mm(text) == pytest.approx(mm, abs=1e-12)


@pytest.mark.parametrize("text", ["", "abc", "3 furlong", "1/0in", "nan", "inf", "3..2", "1e999"])
def test_what_is_not_a_length_is_refused(text: str) -> None:
    with pytest.raises(BadValueError):
        parse_length_mm(text)


def test_error_names_what_and_what_to_do() -> None:
    with pytest.raises(BadValueError) as caught:
        parse_length_mm("wide")
    assert caught.value.sentence() == (
        "'wide' is not a length. Write it like 3, 3mm, 3.2in or 1/8in."
    )


def test_sheet_sizes() -> None:
    assert parse_size_mm("600x400") == (600.0, 400.0)
    assert parse_size_mm("24in x 12in") == pytest.approx((609.6, 304.8))
    with pytest.raises(BadValueError):
        parse_size_mm("600x0")
    with pytest.raises(BadValueError):
        parse_size_mm("600")


def test_drawing_unit_factors_are_exact() -> None:
    # X8 of the check table: DXF reference, $INSUNITS 1, 2, 4, 5, 6, 10
    units = (
        LengthUnit.INCH,
        LengthUnit.FOOT,
        LengthUnit.MM,
        LengthUnit.CM,
        LengthUnit.METRE,
        LengthUnit.YARD,
    )
    assert [u.mm for u in units] == [25.4, 304.8, 1.0, 10.0, 1000.0, 914.4]


def test_times_for_people() -> None:
    assert format_time(48.2) == "48 s"
    assert format_time(700) == "11 min 40 s"
    assert format_time(4 * 3600 + 12 * 60) == "4 h 12 min"


def test_rough_times_for_people() -> None:
    assert [format_rough_time(s) for s in (0.4, 99.4, 99.6, 1561.0, 3569.0, 3571.0, 15100.0)] == [
        "0 s", "99 s", "2 min", "26 min", "59 min", "1 h 00 min", "4 h 12 min",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("length_mm", "digits", "said"),
    [
        (0.0, 3, "0 mm"),
        (16002.0, 4, "16002 mm"),
        (630.0, 4, "630 mm"),
        (0.30000000000000004, 3, "0.3 mm"),
        (0.0123456, 3, "0.0123 mm"),
        (4e-5, 1, "less than 0.001 mm"),
        (99.96, 3, "100 mm"),
        (12.3456, 4, "12.35 mm"),
    ],
)
def test_lengths_of_any_size_are_told_without_powers_of_ten(
    length_mm: float, digits: int, said: str
) -> None:
    assert plain_mm(length_mm, digits) == said
