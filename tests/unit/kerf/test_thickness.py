"""S1, S2, S6 to S9 of the trade's check table: thickness of sheets."""

from __future__ import annotations

import pytest

from lasernest.errors import BadValueError
from lasernest.kerf.thickness import (
    allowed_thickness_mm,
    places_mm,
    thickness_findings,
    thickness_of,
)
from lasernest.units import parse_length_mm

EIGHT = (3.02, 2.98, 3.05, 3.01, 2.97, 3.03, 3.00, 2.99)


@pytest.mark.parametrize(
    ("material", "nominal_mm", "low_mm", "high_mm"),
    [
        # S1: ISO 7823-1 as a sheet maker prints it
        ("cast acrylic", 3, 2.3, 3.7),
        ("cast acrylic", 6, 5.0, 7.0),
        ("cast acrylic", 10, 8.6, 11.4),
        # S2: ISO 7823-2; from 3 mm on 5 %
        ("extruded acrylic", 2, 1.80, 2.20),
        ("extruded acrylic", 3, 2.85, 3.15),
        ("extruded acrylic", 5, 4.75, 5.25),
        # S6: EN 315, sanded (from memory of the standard): +0.56 / -0.76 at 12 mm
        ("birch plywood", 12, 11.24, 12.56),
        ("birch plywood", 4, 3.48, 4.32),
        # EN 622-1 (from memory of the standard)
        ("MDF", 3, 2.8, 3.2),
    ],
)
def test_what_a_sheet_may_be(
    material: str, nominal_mm: float, low_mm: float, high_mm: float
) -> None:
    assert allowed_thickness_mm(material, nominal_mm) == pytest.approx((low_mm, high_mm))


def test_makers_plywood_lies_within_the_standard() -> None:
    # S6: a producer prints +0.5 / -0.7 for 12 mm (Plyterra)
    low_mm, high_mm = allowed_thickness_mm("plywood", 12) or (0, 0)
    assert low_mm <= 12 - 0.7
    assert high_mm >= 12 + 0.5
    # a birch plywood data sheet prints tenths: 4 mm is 3.5 to 4.1, 6.5 is 6.1 to 6.9
    for nominal, least, most in ((4, 3.5, 4.1), (6.5, 6.1, 6.9), (9, 8.8, 9.5), (18, 17.1, 18.1)):
        low_mm, high_mm = allowed_thickness_mm("birch plywood", nominal) or (0, 0)
        assert round(low_mm, 1) <= least
        assert most <= round(high_mm, 1)


def test_no_rule_is_known_for_board() -> None:
    assert allowed_thickness_mm("grey board", 2) is None


def test_eight_places() -> None:
    # S7: method EN 324-1; arithmetic by hand
    thickness = thickness_of(EIGHT)
    assert thickness.mean_mm == pytest.approx(3.00625)
    assert thickness.reported_mm == 3.0
    assert (thickness.low_mm, thickness.high_mm, thickness.count) == (2.97, 3.05, 8)
    assert thickness.spread_mm == pytest.approx(0.0266927, abs=1e-6)  # sample s, by hand
    # calliper's fixed part and spread over root eight: JCGM 100, 5.1.2
    assert thickness.u_mm == pytest.approx((0.0115470**2 + 0.0266927**2 / 8) ** 0.5, abs=1e-6)
    assert thickness.local_u_mm > thickness.spread_mm
    assert thickness_findings(thickness, material="cast acrylic", nominal_mm=3.0) == ()


@pytest.mark.parametrize(
    ("measured", "warned"), [(2.2, True), (2.4, False), (2.3, False), (3.71, True)]
)
def test_a_sheet_outside_its_band(measured: float, warned: bool) -> None:
    # S8: ISO 7823-1, 3 mm cast: 2.2 warns, 2.4 does not
    found = thickness_findings(
        thickness_of([measured] * 8), material="cast acrylic", nominal_mm=3.0
    )
    assert [f.code for f in found] == (["thickness-outside-band"] if warned else [])


def test_few_places_and_uneven_sheets_are_told() -> None:
    found = thickness_findings(thickness_of([3.0, 3.2]), material="plywood", nominal_mm=3.0)
    assert [f.code for f in found] == ["few-places", "thickness-varies"]
    one = thickness_of([3.05])
    assert (one.spread_mm, one.count) == (0.0, 1)
    assert one.u_mm == pytest.approx(0.0155456, abs=1e-7)  # U3
    for bad in ([], [0.0], [float("nan")], [3.0, 300.0]):
        with pytest.raises(BadValueError):
            thickness_of(bad)


def test_where_to_measure() -> None:
    places = places_mm(600, 400)
    assert len(set(places)) == 8
    assert places[0] == (50, 50)
    assert places[4] == (550, 350)
    assert all(20 <= y <= 100 for _, y in places_mm(600, 120))


def test_five_feet() -> None:
    # S9: the trade name 1525 is 1524 mm
    assert parse_length_mm("5ft") == pytest.approx(1524.0)
