from __future__ import annotations

import pytest

from lasernest.domain.contours import Contour
from lasernest.domain.offcuts import Offcut
from lasernest.errors import BadContourError, BadValueError

L_SHAPE = Contour.polygon([(10, 20), (110, 20), (110, 50), (40, 50), (40, 90), (10, 90)])


def test_an_offcut_is_brought_home_from_its_sheet() -> None:
    offcut = Offcut.of("A01", "MDF 3 mm", L_SHAPE.reversed(), (Contour.circle(25, 35, 5),))
    assert offcut.outline.bounds_mm() == (0, 0, 100, 70)
    assert offcut.outline.is_anticlockwise
    assert not offcut.holes[0].is_anticlockwise
    assert offcut.holes[0].bounds_mm() == pytest.approx((10, 10, 20, 20))
    assert offcut.size_mm == (100, 70)
    # 100 x 30 + 30 x 40 less the circle of radius 5: by hand
    assert offcut.area_mm2 == pytest.approx(4200 - 78.53981634)


def test_an_offcut_becomes_one_sheet_of_its_shape() -> None:
    plain = Offcut.rectangle("A02", "MDF 3 mm", 300, 140).sheet(margin_mm=3)
    assert (plain.width_mm, plain.height_mm, plain.outline) == (300, 140, None)
    assert (plain.available, plain.is_offcut, plain.label, plain.margin_mm) == (1, True, "A02", 3)
    shaped = Offcut.of("A01", "MDF 3 mm", L_SHAPE).sheet(margin_mm=3)
    assert shaped.outline is not None
    assert shaped.area_mm2 == pytest.approx(4200)


def test_what_cannot_be_an_offcut() -> None:
    with pytest.raises(BadValueError):
        Offcut.rectangle("A", "MDF", 0, 10)
    with pytest.raises(BadValueError, match="belongs to no stock"):
        Offcut.rectangle("A", " ", 10, 10)
    with pytest.raises(BadContourError):
        Offcut("A", "MDF", Contour.polyline([(0, 0), (1, 0), (1, 1)]))
    with pytest.raises(BadValueError):
        Offcut("A", "MDF", L_SHAPE, price=-1)
