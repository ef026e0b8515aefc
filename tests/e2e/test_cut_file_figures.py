"""Figures of written cut files, read by GDAL's DXF driver rather than by our own reader.

Expected numbers are closed forms: a mitred outward offset by r adds P r + 4 r^2
to the area of a rectilinear outline; what the beam leaves is the path eroded by
a disc of half the kerf.
"""

from __future__ import annotations

import math
from pathlib import Path

import pyogrio.raw
import pytest
import shapely

KERF = 0.2
RECTANGLE = [(0, 0), (100, 0), (100, 60), (0, 60)]
FINGERS = [(0, 0), (100, 0), (100, 60), (80, 60), (80, 57), (60, 57), (60, 60), (40, 60)]
FINGERS += [(40, 57), (20, 57), (20, 60), (0, 60)]


def _paths(path: Path, layer: str) -> list[shapely.Polygon]:
    """Closed paths of a layer as GDAL reads them."""
    meta, _, geometry, fields = pyogrio.raw.read(path, layer="entities")
    layers = fields[list(meta["fields"]).index("Layer")]
    shapes = shapely.from_wkb(geometry)
    return [
        shapely.Polygon(shape.coords) if shape.geom_type == "LineString" else shape
        for shape, on in zip(shapes, layers, strict=True)
        if on == layer
    ]


def _sheet(lasernest, tmp_path: Path, drawing: Path, *more: object) -> Path:
    out = tmp_path / "cut.dxf"
    report = lasernest(
        "sheet", drawing, "--sheet", "600x400", "--kerf", KERF, "--out", out, "--json", *more
    ).json
    assert report["proof"]["passed"] is True
    return out


def test_rectangle(lasernest, draw, tmp_path: Path) -> None:
    cut = _sheet(lasernest, tmp_path, draw("plate.dxf", RECTANGLE))
    (path,) = _paths(cut, "CUT-OUTER")
    assert path.area == pytest.approx(6032.04, abs=1e-3)  # 100.2 x 60.2
    assert path.length == pytest.approx(320.8, abs=1e-4)
    # Eroding a convex outline by a disc moves its edges inward: exactly 100 x 60.
    assert path.buffer(-KERF / 2).area == pytest.approx(6000, abs=1e-3)


def test_fingers(lasernest, draw, tmp_path: Path) -> None:
    cut = _sheet(lasernest, tmp_path, draw("fingers.dxf", FINGERS))
    (path,) = _paths(cut, "CUT-OUTER")
    assert path.area == pytest.approx(5913.24, abs=1e-3)  # 5880 + 332 x 0.1 + 4 x 0.01
    assert path.length == pytest.approx(332.8, abs=1e-4)
    # Four inner corners keep the radius of the beam: 4 (1 - pi/4) 0.1^2 more than drawn.
    finished = path.buffer(-KERF / 2, quad_segs=64).area
    assert finished == pytest.approx(5880 + 4 * (1 - math.pi / 4) * 0.01, abs=2e-4)


def test_hole(lasernest, draw, tmp_path: Path) -> None:
    cut = _sheet(lasernest, tmp_path, draw("hole.dxf", RECTANGLE, circles=((50, 30, 5),)))
    (hole,) = _paths(cut, "CUT-INNER")
    x0, y0, x1, y1 = hole.bounds
    assert (x1 - x0, y1 - y0) == pytest.approx((9.8, 9.8), abs=1e-2)  # GDAL parts circles
    assert "AcDbCircle" in cut.read_text("cp1252")


def test_svg_in_inches(lasernest, tmp_path: Path) -> None:
    drawing = tmp_path / "plate.svg"
    drawing.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="4in" height="3in" viewBox="0 0 400 300">'
        '<rect x="50" y="50" width="200" height="100" fill="none" stroke="black"/></svg>'
    )
    cut = _sheet(lasernest, tmp_path, drawing)
    (path,) = _paths(cut, "CUT-OUTER")
    assert path.area == pytest.approx((50.8 + KERF) * (25.4 + KERF), abs=1e-3)


def test_kerf_apart_in_x_and_y(lasernest, draw, tmp_path: Path) -> None:
    out = tmp_path / "cut.dxf"
    drawing = draw("plate.dxf", [(0, 0), (60, 0), (60, 40), (0, 40)])
    words = ["sheet", drawing, "--sheet", "600x400", "--kerf-xy", "0.22,0.16", "--out", out]
    report = lasernest(*words, "--json").json
    (path,) = _paths(out, "CUT-OUTER")
    sides = sorted((path.bounds[2] - path.bounds[0], path.bounds[3] - path.bounds[1]))
    # The panel may lie turned: the kerf belongs to the sheet's axes, not to the panel's.
    turned = report["sheets"][0]["panels"][0]["turn_deg"] % 180 == 90
    assert sides == pytest.approx([40.22, 60.16] if turned else [40.16, 60.22], abs=1e-4)


def test_marks_stay_where_they_are_drawn(lasernest, tmp_path: Path) -> None:
    drawing = tmp_path / "marked.svg"
    drawing.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="60mm" viewBox="0 0 100 60">'
        '<rect width="100" height="60"/><g id="SCORE"><line x1="10" y1="30" x2="90" y2="30"/></g>'
        "</svg>"
    )
    cut = _sheet(lasernest, tmp_path, drawing)
    meta, _, geometry, fields = pyogrio.raw.read(cut, layer="entities")
    layers = list(fields[list(meta["fields"]).index("Layer")])
    score = shapely.from_wkb(geometry)[layers.index("SCORE")]
    assert score.length == pytest.approx(80, abs=1e-4)
    (outer,) = _paths(cut, "CUT-OUTER")
    assert score.centroid.distance(outer.centroid) == pytest.approx(0, abs=1e-4)
    assert list(dict.fromkeys(layers)).index("SCORE") < list(dict.fromkeys(layers)).index(
        "CUT-OUTER"
    )
