"""Cut files as SVG, read by a parser of the tests' own, after the W3C's formulas."""

from __future__ import annotations

import math
import re
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest

from lasernest.domain.contours import Contour, Pose, Vertex
from lasernest.domain.control import QuietControl
from lasernest.domain.cutting import CutPath, LayerStyle, MachineProfile, PathKind, SheetCut
from lasernest.domain.stock import Kerf
from lasernest.errors import BadValueError, UnwritableFileError
from lasernest.exchange.registry import read_drawing
from lasernest.exchange.writers.svg import cut_svg, write_cut_svg
from lasernest.services.cutting import cut_lines
from tests.cut_kit import front, posed_sheet
from tests.svg_kit import Shape, shapes_of

MOST = Contour((Vertex(300, 300, -3.0), Vertex(306, 300)), closed=False)  # more than half a circle
CUT = SheetCut(
    600,
    400,
    (
        CutPath(PathKind.ENGRAVE, MOST),
        CutPath(PathKind.SCORE, Contour.polyline([(1, 1), (5, 5)])),
        CutPath(PathKind.CUT_INNER, Contour.circle(220, 105, 2.4)),
        CutPath(
            PathKind.CUT_OUTER,
            Contour((Vertex(200, 100), Vertex(240, 100, 1), Vertex(240, 110), Vertex(200, 110, 1))),
        ),
        CutPath(PathKind.CUT_OUTER, Contour((Vertex(20, 100, 0.5), Vertex(40, 100)))),
    ),
)


def test_page_is_the_sheet_in_millimetres() -> None:
    root = ET.fromstring(cut_svg(CUT))
    assert root.get("width") == "600mm"
    assert root.get("height") == "400mm"
    assert root.get("viewBox") == "0 -400 600 400"


def test_elements_in_the_order_of_work_with_the_profiles_colours() -> None:
    shapes = shapes_of(cut_svg(CUT))
    profile = MachineProfile()
    expected = [profile.sheet.hex, *(profile.style(path.kind).hex for path in CUT.paths)]
    assert [shape.stroke for shape in shapes] == expected
    assert [shape.tag for shape in shapes] == ["path", "path", "path", "circle", "path", "path"]


def same(shape: Shape, contour: Contour, tolerance: float) -> None:
    """Points of the shape lie where the contour has them, and lengths agree."""
    assert shape.closed == contour.closed
    assert shape.length == pytest.approx(contour.length_mm, abs=tolerance)
    if contour.as_circle() is not None:
        x0, y0, x1, y1 = contour.bounds_mm()
        xs, ys = [p[0] for p in shape.points], [p[1] for p in shape.points]
        assert (min(xs), min(ys), max(xs), max(ys)) == pytest.approx(
            (x0, y0, x1, y1), abs=tolerance
        )
        return
    ours = [s.point_at(share) for s in contour.segments() for share in (0.0, 0.25, 0.5, 0.75)]
    for (x, y), (px, py) in zip(ours, shape.points, strict=True):
        assert math.hypot(x - px, y - py) <= tolerance


def test_every_curve_is_where_it_was() -> None:
    cut, _ = posed_sheet(
        [(front(), Pose(10, 20, 90)), (front(), Pose(300, 200, 33))], Kerf.same(0.2)
    )
    paths = (*CUT.paths, *cut.paths)
    _, *shapes = shapes_of(cut_svg(SheetCut(600, 400, paths)))
    for shape, path in zip(shapes, paths, strict=True):
        same(shape, path.path, 1e-6)


def test_our_own_reader_reads_it_back(tmp_path: Path) -> None:
    write_cut_svg(CUT, tmp_path / "cut.svg")
    drawing = read_drawing(tmp_path / "cut.svg", control=QuietControl())
    assert (drawing.unit, drawing.mm_per_unit) == ("mm", 1.0)
    read = cut_lines(drawing, MachineProfile())
    assert [kind for kind, _ in read] == [path.kind for path in CUT.paths]
    for (_, contour), path in zip(read, CUT.paths, strict=True):
        assert contour.length_mm == pytest.approx(path.path.length_mm, abs=1e-6)
        assert contour.bounds_mm() == pytest.approx(path.path.bounds_mm(), abs=1e-6)
        assert contour.has_arcs == path.path.has_arcs


def test_same_cut_same_bytes() -> None:
    assert cut_svg(CUT) == cut_svg(CUT)


def test_numbers_have_no_needless_digits() -> None:
    text = cut_svg(CUT).decode()
    assert "-0 " not in text
    assert 'cx="220" cy="-105" r="2.4"' in text
    numbers = " ".join(re.findall(r' (?:d|cx|cy|r|viewBox)="([^"]*)"', text))
    assert "e" not in numbers  # no exponents, which some programs cannot read


def test_colours_must_tell_kinds_apart() -> None:
    black = (0, 0, 0)
    twins = MachineProfile(inner=LayerStyle("IN", 1, black), outer=LayerStyle("OUT", 2, black))
    with pytest.raises(BadValueError, match="inner cut and outer cut have the same colour #000000"):
        cut_svg(CUT, profile=twins)


def test_where_it_cannot_be_written(tmp_path: Path) -> None:
    with pytest.raises(UnwritableFileError):
        write_cut_svg(CUT, tmp_path / "nowhere" / "cut.svg")
