"""What the beam leaves where swept bands are awkward."""

from __future__ import annotations

import pytest
import shapely

from lasernest.domain.contours import Contour
from lasernest.domain.stock import Kerf
from lasernest.kerf import leftovers as module
from lasernest.kerf.leftovers import leftovers


def test_a_band_that_touches_itself_is_put_right(monkeypatch: pytest.MonkeyPatch) -> None:
    # GEOS refuses such rings in its overlays; Clipper may give them where a line all but closes.
    pinched = shapely.Polygon([(8, -2), (12, -2), (10, 5), (12, 12), (8, 12), (10, 5)])
    assert not pinched.is_valid
    monkeypatch.setattr(module, "swept_area", lambda *_, **__: [pinched])
    cut = Contour.polygon([(0, 0), (1, 0), (1, 1)])
    pieces = leftovers([cut], shapely.box(0, 0, 20, 10), Kerf.same(0.2)).pieces
    # the upper and the lower triangle are taken, in the part of them that lies on the sheet
    taken = shapely.intersection(shapely.make_valid(pinched), shapely.box(0, 0, 20, 10)).area
    assert sum(p.shape.area for p in pieces) == pytest.approx(200 - taken)


def test_lines_over_the_edge_part_the_rim() -> None:
    cut = Contour.polyline([(5, -5), (5, 15)])
    pieces = leftovers([cut], shapely.box(0, 0, 20, 10), Kerf.same(0.2)).pieces
    assert sorted(round(p.shape.area, 3) for p in pieces) == [49.0, 149.0]
    assert all(p.on_rim for p in pieces)
