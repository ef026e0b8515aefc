"""Cut files as DXF, read back by another library and by their group codes."""

from __future__ import annotations

import time
from pathlib import Path

import ezdxf
import pyogrio.raw
import pytest
import shapely

from lasernest.domain.contours import Contour, Pose, Vertex
from lasernest.domain.cutting import CutPath, LayerStyle, MachineProfile, PathKind, SheetCut
from lasernest.domain.stock import Kerf
from lasernest.errors import UnwritableFileError, UsageError
from lasernest.exchange.writers.dxf import VERSIONS, cut_dxf, write_cut_dxf
from lasernest.geometry.flatten import line_string
from tests.cut_kit import front, posed_sheet, read_back

STADIUM = Contour((Vertex(200, 100), Vertex(240, 100, 1), Vertex(240, 110), Vertex(200, 110, 1)))
CUT = SheetCut(
    600,
    400,
    (
        CutPath(PathKind.ENGRAVE, Contour((Vertex(10, 10, -0.5), Vertex(20, 10)), closed=False)),
        CutPath(PathKind.SCORE, Contour.polyline([(1, 1), (5, 5)])),
        CutPath(PathKind.SCORE, Contour((Vertex(30, 5, 0.2), Vertex(40, 5), Vertex(40, 9)), False)),
        CutPath(PathKind.CUT_INNER, Contour.circle(220, 105, 2.4)),
        CutPath(PathKind.CUT_OUTER, STADIUM),
    ),
)


def header(data: bytes, name: str) -> list[str]:
    lines = [line.strip() for line in data.decode("cp1252").splitlines()]
    at = lines.index(name)
    return lines[at + 2 : at + 7 : 2]


def test_header() -> None:
    # X9: version, unit and extents
    data = cut_dxf(CUT)
    assert header(data, "$ACADVER")[0] == "AC1015"
    assert header(data, "$INSUNITS")[0] == "4"
    assert header(data, "$MEASUREMENT")[0] == "1"
    assert [float(v) for v in header(data, "$EXTMIN")[:2]] == [0.0, 0.0]
    assert [float(v) for v in header(data, "$EXTMAX")[:2]] == [600.0, 400.0]


def test_extents_hold_lines_off_the_sheet_too() -> None:
    off = SheetCut(100, 100, (CutPath(PathKind.CUT_OUTER, Contour.circle(100, 50, 10)),))
    data = cut_dxf(off)
    assert [float(v) for v in header(data, "$EXTMAX")[:2]] == pytest.approx([110.0, 100.0])


def test_old_controllers_get_r12(tmp_path: Path) -> None:
    data = cut_dxf(CUT, version="R12")
    assert header(data, "$ACADVER")[0] == "AC1009"
    assert [float(v) for v in header(data, "$EXTMAX")[:2]] == [600.0, 400.0]
    (tmp_path / "cut.dxf").write_bytes(data)
    kinds = [e.dxftype() for e in ezdxf.readfile(tmp_path / "cut.dxf").modelspace()]
    assert kinds == ["POLYLINE", "ARC", "LINE", "POLYLINE", "CIRCLE", "POLYLINE"]


def test_entities_in_the_order_of_work(tmp_path: Path) -> None:
    write_cut_dxf(CUT, tmp_path / "cut.dxf")
    entities = list(ezdxf.readfile(tmp_path / "cut.dxf").modelspace())
    assert [(e.dxftype(), e.dxf.layer) for e in entities] == [
        ("LWPOLYLINE", "SHEET"),
        ("ARC", "ENGRAVE"),
        ("LINE", "SCORE"),
        ("LWPOLYLINE", "SCORE"),
        ("CIRCLE", "CUT-INNER"),
        ("LWPOLYLINE", "CUT-OUTER"),
    ]


@pytest.mark.parametrize("version", VERSIONS)
def test_every_version_reads_back_equal(tmp_path: Path, version: str) -> None:
    cut, _ = posed_sheet(
        [(front(), Pose(10, 20, 90)), (front(), Pose(300, 200, 33))], Kerf.same(0.2)
    )
    cut = SheetCut(600, 400, (*CUT.paths, *cut.paths))
    path = tmp_path / "cut.dxf"
    write_cut_dxf(cut, path, version=version)
    read = read_back(path)
    assert [kind for kind, _ in read] == [p.kind for p in cut.paths]
    for (_, ours), given in zip(read, cut.paths, strict=True):
        assert ours.length_mm == pytest.approx(given.path.length_mm, abs=1e-6)
        if given.path.closed:
            assert ours.area_mm2 == pytest.approx(given.path.area_mm2, abs=1e-5)
        lines = [line_string(c, chord_error_mm=1e-4) for c in (ours, given.path)]
        assert shapely.hausdorff_distance(*lines) < 1.2e-4
    # and no complaint from the library's own audit
    assert not ezdxf.readfile(path).audit().errors


def test_gdal_reads_the_same_areas(tmp_path: Path) -> None:
    write_cut_dxf(CUT, tmp_path / "cut.dxf")
    meta, _, geometry, fields = pyogrio.raw.read(tmp_path / "cut.dxf", layer="entities")
    layers = list(fields[list(meta["fields"]).index("Layer")])
    lines = shapely.from_wkb(geometry)
    assert layers == ["SHEET", "ENGRAVE", "SCORE", "SCORE", "CUT-INNER", "CUT-OUTER"]
    assert shapely.Polygon(lines[0]).area == pytest.approx(240000)
    # X4: the stadium's area, less what GDAL's own chords (4 degrees) take: under 0.3 %
    assert shapely.Polygon(lines[5]).area == pytest.approx(478.5398163, rel=3e-3)


def test_same_cut_same_bytes() -> None:
    first = cut_dxf(CUT)
    time.sleep(1.1)  # dates in DXF count seconds
    assert cut_dxf(CUT) == first


def test_layers_are_the_machines(tmp_path: Path) -> None:
    profile = MachineProfile(
        inner=LayerStyle("first", 1, (255, 0, 0)), outer=LayerStyle("last", 5, (0, 0, 255))
    )
    write_cut_dxf(CUT, tmp_path / "cut.dxf", profile=profile, version="R2004")
    document = ezdxf.readfile(tmp_path / "cut.dxf")
    layers = [e.dxf.layer for e in document.modelspace()]
    assert layers[-2:] == ["first", "last"]
    assert document.layers.get("first").color == 1
    assert document.layers.get("last").rgb == (0, 0, 255)
    assert document.layers.get("SHEET").dxf.plot == 0


def test_shape_of_an_offcut(tmp_path: Path) -> None:
    outline = Contour.polygon([(0, 0), (300, 0), (300, 100), (100, 200), (0, 200)])
    write_cut_dxf(SheetCut(300, 200, (), outline), tmp_path / "cut.dxf")
    (only,) = ezdxf.readfile(tmp_path / "cut.dxf").modelspace()
    assert len(only) == 5


def test_what_cannot_be_written(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="DXF version 'R9' cannot be written"):
        cut_dxf(CUT, version="R9")
    with pytest.raises(UnwritableFileError, match="the file cannot be written"):
        write_cut_dxf(CUT, tmp_path / "nowhere" / "cut.dxf")
