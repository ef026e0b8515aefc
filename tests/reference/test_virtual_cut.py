"""The virtual cut (V1 to V8): written files read by GDAL and swept by GEOS, without our code.

Finished outer = erosion of the path by a disc of half the kerf, finished hole
= dilation of its path. Expected areas are closed forms.
"""

from __future__ import annotations

import math
from itertools import pairwise
from pathlib import Path

import pyogrio.raw
import pytest
import shapely

from lasernest.domain.contours import Contour, Pose
from lasernest.domain.panels import Panel
from lasernest.domain.stock import Kerf
from lasernest.exchange.writers.dxf import write_cut_dxf
from tests.cut_kit import finger_panel, plate, posed_sheet

K = 0.2
O = K / 2  # noqa: E741 - the offset's usual letter
ELL = Panel.of("ell", Contour.polygon([(0, 0), (40, 0), (40, 20), (20, 20), (20, 50), (0, 50)]))
CORNER = (1 - math.pi / 4) * O * O
FINE = 128


def written(panel: Panel, tmp_path: Path, kerf: float, version: str) -> dict[str, shapely.Polygon]:
    """The paths of a written cut file by layer, as GDAL reads them."""
    cut, _ = posed_sheet([(panel, Pose(10, 10))], Kerf.same(kerf))
    path = tmp_path / "cut.dxf"
    write_cut_dxf(cut, path, version=version)
    meta, _, geometry, fields = pyogrio.raw.read(path, layer="entities")
    layers = fields[list(meta["fields"]).index("Layer")]
    return {
        layer: shapely.Polygon(shapely.force_2d(line).coords)
        for layer, line in zip(layers, shapely.from_wkb(geometry), strict=True)
    }


def eroded(path: shapely.Polygon) -> shapely.Polygon:
    return path.buffer(-O, quad_segs=FINE)


def dilated(path: shapely.Polygon) -> shapely.Polygon:
    return path.buffer(O, quad_segs=FINE)


@pytest.fixture(params=["R2000", "R12"])
def version(request: pytest.FixtureRequest) -> str:
    return str(request.param)


def test_v1_plate(tmp_path: Path, version: str) -> None:
    path = written(plate(), tmp_path, K, version)["CUT-OUTER"]
    assert path.area == pytest.approx(6032.04, abs=1e-6)
    assert eroded(path).area == pytest.approx(6000.0, abs=1e-6)


def test_v2_ell(tmp_path: Path, version: str) -> None:
    path = written(ELL, tmp_path, K, version)["CUT-OUTER"]
    assert path.length == pytest.approx(180.8, abs=1e-6)
    assert eroded(path).area == pytest.approx(1400 + CORNER, abs=1e-5)


def test_v3_square_hole(tmp_path: Path, version: str) -> None:
    panel = Panel.of("p", Contour.rectangle(0, 0, 30, 30), [Contour.rectangle(10, 10, 10, 10)])
    hole = written(panel, tmp_path, K, version)["CUT-INNER"]
    assert dilated(hole).area == pytest.approx(100 - 4 * CORNER, abs=1e-5)  # 99.991416


def test_v4_without_compensation(tmp_path: Path, version: str) -> None:
    panel = Panel.of("p", Contour.rectangle(0, 0, 100, 60), [Contour.rectangle(10, 10, 10, 10)])
    paths = written(panel, tmp_path, 0.0, version)
    assert eroded(paths["CUT-OUTER"]).area == pytest.approx(5968.04, abs=1e-5)
    assert dilated(paths["CUT-INNER"]).area == pytest.approx(100 + 4 + math.pi * O * O, abs=1e-5)


def test_v5_finger_panel(tmp_path: Path, version: str) -> None:
    path = written(finger_panel(), tmp_path, K, version)["CUT-OUTER"]
    assert path.area == pytest.approx(5913.24, abs=1e-6)
    assert path.length == pytest.approx(332.8, abs=1e-6)
    assert path.bounds == pytest.approx((9.9, 9.9, 110.1, 70.1), abs=1e-6)
    assert eroded(path).area == pytest.approx(5880 + 4 * CORNER, abs=1e-5)  # 5880.008584


def test_hole_of_10(tmp_path: Path, version: str) -> None:
    panel = Panel.of("p", Contour.rectangle(0, 0, 30, 30), [Contour.circle(15, 15, 5)])
    hole = written(panel, tmp_path, K, version)["CUT-INNER"]
    x0, y0, x1, y1 = hole.bounds
    # GDAL draws circles with chords of 4 degrees: corners lie on the circle of 9.8
    assert max(x1 - x0, y1 - y0) == pytest.approx(9.8, abs=3e-3)
    far = max(math.hypot(x - 25, y - 25) for x, y in hole.exterior.coords)
    assert far == pytest.approx(4.9, abs=1e-9)


def widths(finished: shapely.Polygon, y: float) -> tuple[list[float], list[float]]:
    """Widths of fingers and of the gaps between them along a level."""
    x0, _, x1, _ = finished.bounds
    cut = finished.intersection(shapely.LineString([(x0 - 1, y), (x1 + 1, y)]))
    spans = sorted(part.bounds[0::2] for part in cut.geoms)
    tabs = [b - a for a, b in spans]
    gaps = [b[0] - a[1] for a, b in pairwise(spans)]
    return tabs, gaps


@pytest.mark.parametrize(
    ("compensated", "interference"),
    [(K, 0.0), (0.0, -0.4), (K / 2, -0.2), (2 * K, 0.4)],
)
@pytest.mark.parametrize("wanted", [0.0, 0.05, -0.05])
def test_v6_to_v8_joints(
    tmp_path: Path, compensated: float, interference: float, wanted: float
) -> None:
    # V6 and V7: drawn with interference i the finished joint has i; V8: half, none and double
    # compensation change it by -k, -2k and +2k.
    g = wanted / 4
    tongues = [(0, 0), (100, 0), (100, 60), (80 - g, 60), (80 - g, 57), (60 + g, 57), (60 + g, 60)]
    tongues += [(40 - g, 60), (40 - g, 57), (20 + g, 57), (20 + g, 60), (0, 60)]
    path = written(Panel.of("a", Contour.polygon(tongues)), tmp_path, compensated, "R2000")
    tabs, gaps = widths(eroded(path["CUT-OUTER"]), 68.5)
    for tab, gap in [(tabs[1], gaps[0]), (tabs[1], gaps[1])]:
        assert tab - gap == pytest.approx(interference + wanted, abs=1e-6)
