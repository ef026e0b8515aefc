from __future__ import annotations

import math
from pathlib import Path

import ezdxf
import pytest

from lasernest.domain.contours import Circle
from lasernest.domain.findings import Severity
from lasernest.errors import UnreadableFileError
from lasernest.units import LengthUnit

from .drawings import bring_in, codes, dxf_text, read, write

SQUARE = (
    "LINE 8 0 10 0 20 0 11 100 21 0",
    "LINE 8 0 10 100 20 0 11 100 21 60",
    "LINE 8 0 10 100 20 60 11 0 21 60",
    "LINE 8 0 10 0 20 60 11 0 21 0",
)


def test_lines_become_a_panel_named_after_the_file(tmp_path: Path) -> None:
    outlines = bring_in(write(tmp_path, dxf_text(*SQUARE), "lid.dxf"))
    (panel,) = outlines.panels
    assert panel.name == "lid"
    assert panel.outer.area_mm2 == 6000.0
    assert outlines.findings == ()
    assert outlines.drawing.unit == "mm"


@pytest.mark.parametrize(
    ("code", "mm"), [(1, 25.4), (2, 304.8), (4, 1.0), (5, 10.0), (6, 1000.0), (10, 914.4)]
)
def test_units_are_the_exact_published_factors(tmp_path: Path, code: int, mm: float) -> None:
    # trade-facts X8; a small part, so that none of them is implausible.
    side = 200 / mm
    header = f"9\n$INSUNITS\n70\n{code}\n"
    text = dxf_text(f"CIRCLE 8 0 10 0 20 0 40 {side}", header=header)
    drawing = read(write(tmp_path, text))
    assert drawing.mm_per_unit == mm
    assert drawing.unit_stated
    circle = drawing.strokes[0].path.as_circle()
    assert circle is not None
    assert circle.radius_mm == pytest.approx(200.0, rel=1e-15)


@pytest.mark.parametrize("header", ["", "9\n$ACADVER\n1\nAC1009\n", "9\n$INSUNITS\n70\n0\n"])
def test_no_unit_is_taken_as_mm_and_said(tmp_path: Path, header: str) -> None:
    drawing = read(write(tmp_path, dxf_text(*SQUARE, header=header)))
    assert drawing.mm_per_unit == 1.0
    assert not drawing.unit_stated
    (finding,) = drawing.findings
    assert finding.code == "unit-assumed"
    assert finding.message == "The file states no unit; its numbers were taken as mm."


def test_an_inch_header_over_millimetre_numbers_is_asked_about(tmp_path: Path) -> None:
    text = dxf_text(
        "CIRCLE 8 0 10 0 20 0 40 315", header="9\n$INSUNITS\n70\n1\n9\n$MEASUREMENT\n70\n1\n"
    )
    drawing = read(write(tmp_path, text))
    (finding,) = drawing.findings
    assert finding.code == "unit-implausible"
    assert finding.message == (
        "The file says inches, which makes the drawing 16002 x 16002 mm; "
        "it was taken to be in millimetres, 630 x 630 mm."
    )
    assert drawing.unit == "mm"
    sizes = {c.value: c.size_mm for c in finding.choices}
    assert sizes["in"] == pytest.approx((16002.0, 16002.0))
    assert sizes["mm"] == pytest.approx((630.0, 630.0))
    assert [c.value for c in finding.choices if c.preset] == ["mm"]
    answered = read(write(tmp_path, text), LengthUnit.INCH)
    assert answered.findings == ()
    assert answered.mm_per_unit == 25.4


def test_a_library_default_of_metre_does_not_make_a_panel_of_300_m(tmp_path: Path) -> None:
    drawing = read(write(tmp_path, dxf_text(*SQUARE, header="9\n$INSUNITS\n70\n6\n")))
    assert drawing.unit == "mm"
    assert codes(drawing) == ["unit-implausible"]


def test_a_circle_stays_a_circle_and_an_arc_an_arc(tmp_path: Path) -> None:
    drawing = read(
        write(
            tmp_path, dxf_text("CIRCLE 8 0 10 5 20 6 40 7.5", "ARC 8 0 10 0 20 0 40 9 50 350 51 10")
        )
    )
    assert drawing.strokes[0].path.as_circle() == Circle(5.0, 6.0, 7.5)
    (arc,) = drawing.strokes[1].path.segments()
    # trade-facts X7: 350 -> 10 sweeps 20 degrees.
    assert math.degrees(arc.sweep_rad) == pytest.approx(20.0)
    assert arc.length_mm == pytest.approx(9 * math.pi / 9)


def test_extrusion_downwards_mirrors_an_arc(tmp_path: Path) -> None:
    # trade-facts X5.
    text = dxf_text("ARC 8 0 10 10 20 5 40 2 50 0 51 90 210 0 220 0 230 -1")
    (arc,) = read(write(tmp_path, text)).strokes[0].path.segments()
    assert arc.start == pytest.approx((-12.0, 5.0))
    assert arc.end == pytest.approx((-10.0, 7.0))
    assert arc.centre == pytest.approx((-10.0, 5.0))
    assert arc.sweep_rad < 0


def test_extrusion_downwards_flips_a_bulge(tmp_path: Path) -> None:
    # trade-facts X6.
    text = dxf_text("LWPOLYLINE 8 0 90 2 70 0 10 0 20 0 42 0.5 10 10 20 0 210 0 220 0 230 -1")
    vertices = read(write(tmp_path, text)).strokes[0].path.vertices
    assert [tuple(v) for v in vertices] == [(0.0, 0.0, -0.5), (-10.0, 0.0, 0.0)]


def test_the_stadium_polyline_has_its_closed_form(tmp_path: Path) -> None:
    # trade-facts X4, also with its first corner repeated at the end.
    stadium = "10 0 20 0 10 40 20 0 42 1 10 40 20 10 10 0 20 10 42 1"
    for extra in ("", " 10 0 20 0"):
        text = dxf_text(f"LWPOLYLINE 8 0 90 4 70 1 {stadium}{extra}")
        ring = read(write(tmp_path, text)).strokes[0].path
        assert ring.area_mm2 == pytest.approx(478.5398163, abs=1e-6)
        assert ring.length_mm == pytest.approx(111.4159265, abs=1e-6)
        assert len(ring.vertices) == 4


def test_unusual_group_order_is_accepted_silently(tmp_path: Path) -> None:
    plain = read(write(tmp_path, dxf_text("LINE 8 A 10 1 20 2 11 30 21 4")))
    odd = read(write(tmp_path, dxf_text("LINE 21 4 11 30 20 2 10 1 8 A")))
    assert odd.strokes == plain.strokes
    assert odd.findings == ()
    spread = read(write(tmp_path, dxf_text("LWPOLYLINE 70 1 10 0 10 4 10 4 20 0 20 0 20 3 8 A")))
    assert spread.strokes[0].path.area_mm2 == 6.0


@pytest.mark.parametrize("ending", ["\r", "\r\n", "\n"])
def test_every_kind_of_line_end_is_read(tmp_path: Path, ending: str) -> None:
    text = dxf_text(*SQUARE).replace("\n", ending)
    assert bring_in(write(tmp_path, text)).panels[0].outer.area_mm2 == 6000.0


@pytest.mark.parametrize("version", ["R12", "R2000", "R2004", "R2007", "R2010", "R2013", "R2018"])
@pytest.mark.parametrize("form", ["asc", "bin"])
def test_all_versions_in_text_and_binary_read_the_same(
    tmp_path: Path, version: str, form: str
) -> None:
    doc = ezdxf.new(version, units=4)
    space = doc.modelspace()
    space.add_circle((10, 20), 5.25)
    space.add_polyline2d([(0, 0, 0.5), (10, 0, 0), (10, 10, 0)], format="xyb", close=True)
    if version != "R12":
        space.add_lwpolyline([(50, 0, 0.5), (60, 0, 0), (60, 10, 0)], format="xyb", close=True)
        space.add_ellipse((100, 0), (20, 0, 0), 0.5)
    path = tmp_path / "part.dxf"
    doc.saveas(path, fmt=form)
    drawing = read(path)
    assert drawing.format.startswith(f"DXF {version}")
    assert drawing.strokes[0].path.as_circle() == Circle(10.0, 20.0, 5.25)
    assert [v.bulge for v in drawing.strokes[1].path.vertices] == [0.5, 0.0, 0.0]
    if version != "R12":
        assert [v.x_mm for v in drawing.strokes[2].path.vertices] == [50.0, 60.0, 60.0]
        assert drawing.strokes[3].path.area_mm2 == pytest.approx(math.pi * 200, abs=0.01 * 97)


def test_blocks_nest_scale_mirror_and_array(tmp_path: Path) -> None:
    doc = ezdxf.new("R2010", units=4)
    inner = doc.blocks.new("HOLE", base_point=(1, 0))
    inner.add_circle((1, 0), 2)
    plate = doc.blocks.new("PLATE")
    plate.add_lwpolyline([(0, 0), (40, 0), (40, 20), (0, 20)], close=True)
    plate.add_blockref("HOLE", (10, 10))
    plate.add_blockref("HOLE", (30, 10), dxfattribs={"xscale": -1.5, "yscale": 1.5})
    doc.modelspace().add_blockref("PLATE", (100, 0), dxfattribs={"rotation": 90})
    doc.modelspace().add_blockref(
        "HOLE",
        (300, 0),
        dxfattribs={"row_count": 2, "column_count": 3, "row_spacing": 10, "column_spacing": 8},
    )
    path = tmp_path / "plates.dxf"
    doc.saveas(path)
    outlines = bring_in(path)
    assert len(outlines.panels) == 7
    plate_panel = next(p for p in outlines.panels if p.name == "PLATE")
    assert plate_panel.bounds_mm() == pytest.approx((80, 0, 100, 40))
    assert sorted(round(r.area_mm2 / math.pi, 9) for r in plate_panel.inner) == [4.0, 9.0]
    centres = sorted(
        (round(c.x_mm, 9), round(c.y_mm, 9))
        for p in outlines.panels
        if (c := p.outer.as_circle()) is not None
    )
    assert centres == [(300, 0), (300, 10), (308, 0), (308, 10), (316, 0), (316, 10)]


def test_a_block_scaled_unevenly_makes_ellipses_of_circles(tmp_path: Path) -> None:
    doc = ezdxf.new("R2010", units=4)
    doc.blocks.new("C").add_circle((0, 0), 10)
    doc.modelspace().add_blockref("C", (0, 0), dxfattribs={"xscale": 3, "yscale": 2})
    doc.saveas(tmp_path / "e.dxf")
    ring = read(tmp_path / "e.dxf").strokes[0].path
    assert ring.area_mm2 == pytest.approx(1884.955592, rel=1e-4)  # trade-facts G15
    assert ring.as_circle() is None


def test_layer_zero_in_a_block_is_the_layer_of_its_reference(tmp_path: Path) -> None:
    doc = ezdxf.new("R2010", units=4)
    doc.layers.add("TOP", color=1)
    doc.layers.add("OTHER", color=3)
    block = doc.blocks.new("B")
    block.add_circle((0, 0), 10)
    block.add_circle((0, 0), 5, dxfattribs={"layer": "OTHER"})
    doc.modelspace().add_blockref("B", (0, 0), dxfattribs={"layer": "TOP"})
    doc.saveas(tmp_path / "b.dxf")
    strokes = read(tmp_path / "b.dxf").strokes
    assert [(s.layer, s.colour, s.block) for s in strokes] == [
        ("TOP", "#ff0000", "B"),
        ("OTHER", "#00ff00", "B"),
    ]


def test_a_block_that_holds_itself_does_not_hang(tmp_path: Path) -> None:
    blocks = "0\nBLOCK\n2\nB\n0\nINSERT\n2\nB\n0\nCIRCLE\n10\n0\n20\n0\n40\n9\n0\nENDBLK\n"
    drawing = read(write(tmp_path, dxf_text("INSERT 2 B 10 0 20 0", blocks=blocks)))
    assert len(drawing.strokes) == 1
    assert codes(drawing) == ["block-in-itself"]


def test_what_is_never_a_contour_is_counted(tmp_path: Path) -> None:
    doc = ezdxf.new("R2010", units=4)
    space = doc.modelspace()
    space.add_circle((0, 0), 20)
    space.add_text("A")
    space.add_text("B")
    space.add_point((1, 1))
    space.add_hatch().paths.add_polyline_path([(0, 0), (1, 0), (1, 1)])
    space.add_solid([(0, 0), (1, 0), (0, 1)])
    doc.saveas(tmp_path / "t.dxf")
    messages = [f.message for f in read(tmp_path / "t.dxf").findings]
    assert messages == ["Left out: 1 HATCH, 1 POINT, 1 SOLID, 2 TEXT."]


def test_heights_are_laid_flat_and_said(tmp_path: Path) -> None:
    drawing = read(write(tmp_path, dxf_text("CIRCLE 8 0 10 0 20 0 30 12 40 9")))
    assert codes(drawing) == ["flattened"]
    assert drawing.strokes[0].path.as_circle() == Circle(0.0, 0.0, 9.0)


def test_frozen_and_off_layers_are_known_but_not_shown(tmp_path: Path) -> None:
    doc = ezdxf.new("R2010", units=4)
    doc.layers.add("OFF").off()
    doc.layers.add("ICE").freeze()
    for layer, x in (("0", 0), ("OFF", 100), ("ICE", 200)):
        doc.modelspace().add_circle((x, 0), 20, dxfattribs={"layer": layer})
    doc.saveas(tmp_path / "l.dxf")
    outlines = bring_in(tmp_path / "l.dxf")
    assert [(i.name, i.visible) for i in outlines.drawing.layers] == [
        ("0", True),
        ("OFF", False),
        ("ICE", False),
    ]
    assert len(outlines.panels) == 1
    assert "hidden-layers" in codes(outlines)


def refusal(path: Path) -> str:
    with pytest.raises(UnreadableFileError) as caught:
        read(path)
    return caught.value.sentence()


def test_a_file_cut_off_midway_is_refused_with_its_line(tmp_path: Path) -> None:
    text = dxf_text(*SQUARE)
    cut = text[: text.index("0\nLINE", 120) + 30]
    message = refusal(write(tmp_path, cut))
    assert message.startswith("part.dxf, line ")
    assert "the file breaks off inside its ENTITIES section" in message


def test_a_missing_end_marker_alone_is_mended_and_said(tmp_path: Path) -> None:
    text = dxf_text(*SQUARE).removesuffix("0\nEOF\n")
    outlines = bring_in(write(tmp_path, text))
    assert outlines.panels[0].outer.area_mm2 == 6000.0
    assert [(f.code, f.mended) for f in outlines.findings] == [("end-marker-missing", True)]


@pytest.mark.parametrize(
    ("broken", "says"),
    [
        ("nan", "a finite number should stand here, not 'nan'"),
        ("inf", "a finite number should stand here, not 'inf'"),
        ("1e999", "a finite number should stand here, not '1e999'"),
        ("100,5", "'100,5' has a decimal comma, which DXF does not know"),
        ("1O0", "a finite number should stand here, not '1O0'"),
    ],
)
def test_numbers_that_are_none_are_refused_with_their_line(
    tmp_path: Path, broken: str, says: str
) -> None:
    text = dxf_text(f"LINE 8 0 10 {broken} 20 0 11 1 21 1")
    line = text.split("\n").index(broken) + 1
    assert refusal(write(tmp_path, text)).startswith(f"part.dxf, line {line}: {says}.")


def test_shifted_groups_are_refused_with_their_line(tmp_path: Path) -> None:
    lines = dxf_text(*SQUARE).split("\n")
    at = lines.index("LINE")
    del lines[at]
    message = refusal(write(tmp_path, "\n".join(lines)))
    assert "a group code should stand here, not 'LINE'" in message


def test_nul_bytes_are_refused(tmp_path: Path) -> None:
    data = dxf_text(*SQUARE).encode()
    message = refusal(write(tmp_path, data[:200] + b"\x00\x00" + data[202:]))
    assert "NUL bytes" in message


def test_an_empty_whole_number_is_taken_as_not_set_and_said(tmp_path: Path) -> None:
    text = dxf_text(*SQUARE, "CIRCLE 8 0 62 X 10 50 20 30 40 5").replace("\nX\n", "\n\n")
    outlines = bring_in(write(tmp_path, text))
    assert len(outlines.panels[0].inner) == 1
    assert codes(outlines) == ["empty-number"]


def test_a_missing_coordinate_is_refused(tmp_path: Path) -> None:
    message = refusal(write(tmp_path, dxf_text("LINE 8 0 10 0 20 0 11 5")))
    assert "this LINE is damaged: it lacks its group 21" in message


def test_old_polylines_with_a_spline_fit_do_not_cut_their_frame(tmp_path: Path) -> None:
    vertex = "VERTEX 8 0 10 {} 20 {} 70 {}"
    text = dxf_text(
        "POLYLINE 8 0 66 1 70 5 10 0 20 0",
        vertex.format(0, 50, 16),
        vertex.format(0, 0, 8),
        vertex.format(10, 0, 8),
        vertex.format(10, 10, 8),
        "SEQEND",
    )
    (stroke,) = read(write(tmp_path, text)).strokes
    assert stroke.path.area_mm2 == 50.0
    assert len(stroke.path.vertices) == 3


def test_groups_in_brackets_and_behind_an_embedded_object_are_no_vertices(tmp_path: Path) -> None:
    ring = "LWPOLYLINE 8 0 70 1 10 0 20 0 10 9 20 0 42 1 10 9 20 6"
    plain = read(write(tmp_path, dxf_text(ring)))
    odd = dxf_text(f"{ring} 102 {{A 10 5 42 3 102 }} 101 E 10 7 20 7 42 2")
    assert read(write(tmp_path, odd)).strokes == plain.strokes


def test_a_closed_periodic_spline_closes(tmp_path: Path) -> None:
    doc = ezdxf.new("R2010", units=4)
    doc.modelspace().add_spline().set_closed([(0, 0, 0), (30, 0, 0), (30, 20, 0), (0, 20, 0)])
    doc.saveas(tmp_path / "s.dxf")
    outlines = bring_in(tmp_path / "s.dxf")
    assert len(outlines.panels) == 1
    assert outlines.open_chains == 0


def test_a_spline_without_degree_takes_it_from_its_knots(tmp_path: Path) -> None:
    text = dxf_text(
        "SPLINE 8 0 40 0 40 0 40 0 40 1 40 1 40 1 10 0 20 0 10 10 20 20 10 20 20 0", header=""
    )
    path = read(write(tmp_path, text)).strokes[0].path
    # A parabola with its top half way up the control polygon.
    assert path.bounds_mm() == pytest.approx((0, 0, 20, 10), abs=0.011)


def test_a_circle_without_radius_is_left_out_and_blocks_nothing(tmp_path: Path) -> None:
    text = dxf_text("CIRCLE 8 0 10 5 20 5 40 0", "CIRCLE 8 0 10 50 20 50 40 20")
    drawing = read(write(tmp_path, text))
    assert len(drawing.strokes) == 1
    (said,) = drawing.findings
    assert (said.severity, said.message) == (
        Severity.NOTE,
        "Left out: 1 CIRCLE without length.",
    )


@pytest.mark.parametrize("empty", ["LWPOLYLINE 8 0 90 0 70 1", "LWPOLYLINE 8 0 90 1 70 0"])
def test_a_polyline_without_corners_is_left_out_and_blocks_nothing(
    tmp_path: Path, empty: str
) -> None:
    circle = "CIRCLE 8 0 10 50 20 50 40 20"
    drawing = read(write(tmp_path, dxf_text(empty, circle)))
    assert len(drawing.strokes) == 1
    assert [f.message for f in drawing.findings] == ["Left out: 1 LWPOLYLINE without length."]


def test_a_polyline_in_space_is_flattened_with_a_note(tmp_path: Path) -> None:
    corners = [
        f"VERTEX 8 0 10 {x} 20 {y} 30 5 70 32" for x, y in ((0, 0), (50, 0), (50, 50), (0, 50))
    ]
    text = dxf_text("POLYLINE 8 0 66 1 10 0 20 0 30 0 70 9", *corners, "SEQEND 8 0")
    drawing = read(write(tmp_path, text))
    assert drawing.strokes[0].path.area_mm2 == pytest.approx(2500)
    assert codes(drawing) == ["flattened"]


@pytest.mark.parametrize(("on", "said"), [(1, ["clip-ignored"]), (0, [])])
def test_a_clipped_block_is_told(tmp_path: Path, on: int, said: list[str]) -> None:
    """SPATIAL_FILTER, group 71: the boundary is shown. Source: the published DXF reference."""
    objects = f"0\nSECTION\n2\nOBJECTS\n0\nSPATIAL_FILTER\n5\n38\n71\n{on}\n0\nENDSEC\n0\nEOF\n"
    text = dxf_text("CIRCLE 8 0 10 50 20 50 40 20").removesuffix("0\nEOF\n") + objects
    assert codes(read(write(tmp_path, text))) == said
