from __future__ import annotations

import math
from dataclasses import replace

import pytest

from lasernest.domain.stock import Kerf, Machine, SheetSize, Stock
from lasernest.errors import BadValueError

BIRCH = Stock("birch", "birch plywood", 3.0, (SheetSize(600, 400),), Kerf.same(0.18))


def test_offset_of_a_slanted_edge_with_unlike_kerfs() -> None:
    # K11 of the trade's check table: kx .22 ky .16, edge at 45 degrees, closed form
    kerf = Kerf(0.22, 0.16)
    assert kerf.half_width_mm(math.radians(45)) == pytest.approx(0.0961769, abs=1e-6)
    assert kerf.half_width_mm(0.0) == pytest.approx(0.11)
    assert kerf.half_width_mm(math.radians(90)) == pytest.approx(0.08)
    assert not kerf.is_round
    assert Kerf(0.20, 0.18).is_round


@pytest.mark.parametrize(
    "change",
    [
        {"name": "  "},
        {"thickness_mm": 0.0},
        {"measured_thickness_mm": -3.0},
        {"thickness_u_mm": -0.1},
        {"density_g_per_cm3": 0.0},
        {"interference_mm": 5.0},
        {"sizes": ()},
        {"cut_speed_mm_per_s": math.inf},
    ],
)
def test_what_cannot_be_a_stock(change: dict[str, object]) -> None:
    with pytest.raises(BadValueError):
        replace(BIRCH, **change)


@pytest.mark.parametrize("width_mm", [-0.1, 1.1, math.nan])
def test_what_cannot_be_a_kerf(width_mm: float) -> None:
    with pytest.raises(BadValueError, match="cannot be right"):
        Kerf.same(width_mm)


@pytest.mark.parametrize(
    "change",
    [{"name": ""}, {"bed_width_mm": 0.0}, {"acceleration_mm_per_s2": -1.0}, {"pierce_s": math.nan}],
)
def test_what_cannot_be_a_machine(change: dict[str, object]) -> None:
    with pytest.raises(BadValueError):
        replace(Machine(), **change)


def test_the_measured_thickness_works_once_there_is_one() -> None:
    assert BIRCH.working_thickness_mm == 3.0
    assert replace(BIRCH, measured_thickness_mm=3.12).working_thickness_mm == 3.12
