from __future__ import annotations

import math
from pathlib import Path

import pytest

from lasernest.domain.contours import Circle
from lasernest.errors import UnreadableFileError
from lasernest.units import LengthUnit

from .drawings import bring_in, codes, read, svg, write


def strokes_of(tmp_path: Path, body: str, attributes: str | None = None):  # type: ignore[no-untyped-def]
    text = svg(body) if attributes is None else svg(body, attributes)
    return read(write(tmp_path, text, "part.svg")).strokes


@pytest.mark.parametrize(
    "width", ["96px", "96", "72pt", "6pc", "25.4mm", "1in", "2.54cm", "101.6q"]
)
def test_absolute_lengths_are_one_inch(tmp_path: Path, width: str) -> None:
    # trade-facts X11, CSS Values.
    body = f'<rect width="{width}" height="{width}"/>'
    (stroke,) = strokes_of(tmp_path, body, 'width="10in" height="10in"')
    x0, y0, x1, y1 = stroke.path.bounds_mm()
    assert (x1 - x0, y1 - y0) == pytest.approx((25.4, 25.4), abs=1e-9)


def test_eight_inches_over_768_units(tmp_path: Path) -> None:
    # trade-facts X12.
    path = write(tmp_path, svg("<rect width='1' height='1'/>", "width='8in' viewBox='0 0 768 768'"))
    drawing = read(path.rename(tmp_path / "a.svg"))
    assert drawing.mm_per_unit == pytest.approx(0.2645833, abs=1e-7)
    assert drawing.unit == "in"


def test_y_points_up_and_millimetres_are_exact(tmp_path: Path) -> None:
    (stroke,) = strokes_of(tmp_path, '<rect x="10" y="20" width="30" height="5"/>')
    assert stroke.path.bounds_mm() == (10.0, 75.0, 40.0, 80.0)
    assert stroke.path.area_mm2 == 150.0


def test_circles_stay_circles_under_turns_mirrors_and_even_scales(tmp_path: Path) -> None:
    body = (
        '<g transform="translate(50 50) rotate(30) scale(-2 2)"><circle cx="3" cy="4" r="5"/></g>'
    )
    (stroke,) = strokes_of(tmp_path, body)
    circle = stroke.path.as_circle(tolerance_mm=1e-9)
    assert circle is not None
    assert circle.radius_mm == pytest.approx(10.0, abs=1e-12)


def test_uneven_scales_make_ellipses(tmp_path: Path) -> None:
    (stroke,) = strokes_of(tmp_path, '<circle r="10" transform="translate(80 50) scale(3 2)"/>')
    assert stroke.path.area_mm2 == pytest.approx(1884.955592, rel=1e-4)  # trade-facts G15


def test_the_specification_s_pie_has_its_closed_form(tmp_path: Path) -> None:
    # trade-facts X13, SVG 1.1 chapter 8.3.8.
    (stroke,) = strokes_of(
        tmp_path, '<path d="M300,200 h-150 a150,150 0 1,0 150,-150 z"/>', 'viewBox="0 0 600 400"'
    )
    mm = 25.4 / 96
    assert stroke.path.area_mm2 / mm**2 == pytest.approx(53014.376, abs=1e-3)
    assert stroke.path.length_mm / mm == pytest.approx(1006.858347, abs=1e-6)


def test_too_small_radii_grow(tmp_path: Path) -> None:
    # trade-facts X14.
    (stroke,) = strokes_of(tmp_path, '<path d="M0,0 A1,1 0 0,1 10,0" fill="none" stroke="#000"/>')
    (arc,) = stroke.path.segments()
    assert arc.radius_mm == pytest.approx(5.0)
    assert arc.centre == pytest.approx((5.0, 100.0))


@pytest.mark.parametrize(
    ("flags", "sweep_deg", "centre_y"),
    [("0 0", -60, -8.66025), ("0 1", 60, 8.66025), ("1 0", -300, 8.66025), ("1 1", 300, -8.66025)],
)
def test_the_four_arcs_between_two_points(
    tmp_path: Path, flags: str, sweep_deg: float, centre_y: float
) -> None:
    # trade-facts X15; y turns over on the way in, so the sweep changes its sign.
    (stroke,) = strokes_of(tmp_path, f'<path d="M0 0A10 10 0 {flags} 10 0"/>')
    segments = list(stroke.path.segments())
    assert math.degrees(sum(s.sweep_rad for s in segments)) == pytest.approx(-sweep_deg)
    assert segments[0].centre == pytest.approx((5.0, 100.0 - centre_y), abs=1e-5)
    assert segments[0].radius_mm == pytest.approx(10.0)


def test_compact_flags_and_numbers_without_gaps(tmp_path: Path) -> None:
    (a,) = strokes_of(tmp_path, '<path d="M1.5.5a10,10,0,0110-5-3"/>'.replace("0110-5-3", "0110-5"))
    (b,) = strokes_of(tmp_path, '<path d="M 1.5 0.5 a 10 10 0 0 1 10 -5"/>')
    assert a.path == b.path


def test_all_commands_relative_and_absolute_draw_the_same(tmp_path: Path) -> None:
    absolute = "M10 10 L20 10 H30 V20 C35 20 40 25 40 30 S45 40 50 40 Q60 40 60 50 T70 60 Z"
    relative = "m10 10 l10 0 h10 v10 c5 0 10 5 10 10 s5 10 10 10 q10 0 10 10 t10 10 z"
    (a,) = strokes_of(tmp_path, f'<path d="{absolute}"/>')
    (b,) = strokes_of(tmp_path, f'<path d="{relative}"/>')
    assert [tuple(v) for v in a.path.vertices] == [
        pytest.approx(tuple(v), abs=1e-9) for v in b.path.vertices
    ]


def test_pixels_are_asked_about_with_sizes_side_by_side(tmp_path: Path) -> None:
    path = write(tmp_path, svg("<rect width='96' height='48'/>", "viewBox='0 0 96 96'"), "p.svg")
    drawing = read(path)
    (finding,) = drawing.findings
    assert finding.code == "unit-unknown"
    sizes = {c.value: c.size_mm for c in finding.choices}
    assert sizes["px"] == pytest.approx((25.4, 12.7))
    assert sizes["px90"] == pytest.approx((25.4 * 96 / 90, 12.7 * 96 / 90))
    assert sizes["pt"] == pytest.approx((25.4 * 4 / 3, 12.7 * 4 / 3))
    assert sizes["mm"] == pytest.approx((96, 48))
    for value in ("px", "px90", "pt", "mm", "in"):
        unit = next(u for u in LengthUnit if u.symbol == value)
        answered = read(path, unit)
        x0, y0, x1, y1 = answered.strokes[0].path.bounds_mm()
        assert (x1 - x0, y1 - y0) == pytest.approx(sizes[value])
        assert answered.findings == ()


def test_an_old_editor_hints_at_90(tmp_path: Path) -> None:
    attributes = (
        'xmlns:i="http://www.inkscape.org/namespaces/inkscape" i:version="0.48.4 r9939" '
        'width="90" height="90"'
    )
    drawing = read(write(tmp_path, svg("<rect width='90' height='90'/>", attributes), "p.svg"))
    assert drawing.unit == "px90"
    assert drawing.strokes[0].path.area_mm2 == pytest.approx(25.4**2)


def test_nested_views_symbols_and_uses(tmp_path: Path) -> None:
    body = (
        '<defs><symbol id="tag" viewBox="0 0 10 10"><circle cx="5" cy="5" r="5"/></symbol></defs>'
        '<use href="#tag" x="20" y="30" width="20" height="40"/>'
        '<svg x="100" y="0" width="50" height="50" viewBox="0 0 100 100">'
        '<rect width="100" height="100"/></svg>'
    )
    strokes = strokes_of(tmp_path, body)
    # meet: the smaller scale, in the middle of the taller box.
    assert strokes[0].path.as_circle(tolerance_mm=1e-9) == Circle(
        *(pytest.approx(v) for v in (30.0, 100.0 - 50.0, 10.0))
    )
    assert strokes[1].path.bounds_mm() == pytest.approx((100, 50, 150, 100))


def test_a_use_of_itself_is_dropped_and_said(tmp_path: Path) -> None:
    body = '<g id="a"><rect width="9" height="9"/><use href="#a" x="20"/></g>'
    drawing = read(write(tmp_path, svg(body), "p.svg"))
    assert len(drawing.strokes) == 1
    assert codes(drawing) == ["use-of-itself"]


def test_styles_from_classes_attributes_and_style(tmp_path: Path) -> None:
    body = (
        "<style>.cut{stroke:#f00;fill:none} g > .fold {stroke: rgb(0,0,255)} "
        "#gone{display:none}</style>"
        '<rect class="cut" width="5" height="5"/>'
        '<g><rect class="cut fold" width="5" height="5"/></g>'
        '<rect id="gone" width="5" height="5"/>'
        '<rect style="stroke:lime" class="cut" width="5" height="5"/>'
        '<rect visibility="hidden" width="5" height="5"/>'
        '<rect fill="none" width="5" height="5"/>'
    )
    drawing = read(write(tmp_path, svg(body), "p.svg"))
    assert [s.colour for s in drawing.strokes] == ["#ff0000", "#0000ff", "#00ff00"]
    (finding,) = drawing.findings
    assert (finding.code, finding.count) == ("hidden-left-out", 3)


def test_text_asks_to_be_made_paths(tmp_path: Path) -> None:
    drawing = read(write(tmp_path, svg("<text>a</text><image/>"), "p.svg"))
    assert codes(drawing) == ["text-left-out", "left-out"]


def test_layers_of_the_editor_and_hidden_ones(tmp_path: Path) -> None:
    attributes = (
        'xmlns:i="http://www.inkscape.org/namespaces/inkscape" '
        'width="200mm" height="100mm" viewBox="0 0 200 100"'
    )
    body = (
        '<g i:groupmode="layer" i:label="Front"><rect width="20" height="20"/></g>'
        '<g i:groupmode="layer" i:label="Back" style="display:none">'
        '<rect x="50" width="20" height="20"/></g>'
    )
    outlines = bring_in(write(tmp_path, svg(body, attributes), "p.svg"))
    assert [(i.name, i.visible) for i in outlines.drawing.layers] == [
        ("Front", True),
        ("Back", False),
    ]
    assert len(outlines.panels) == 1
    assert codes(outlines) == ["hidden-layers"]


def refusal(tmp_path: Path, text: str | bytes) -> str:
    with pytest.raises(UnreadableFileError) as caught:
        read(write(tmp_path, text, "part.svg"))
    return caught.value.sentence()


@pytest.mark.parametrize(
    ("d", "says"),
    [
        ("M0 0 L10 0 20", "the path data needs a number where it has the end"),
        ("L0 0", "the path does not start with a move"),
        ("M0 0 L NaN 5", "the path data needs a number where it has 'NaN 5'"),
        ("M0 0 A 5 5 0 2 0 5 5", "the path data needs an arc flag, 0 or 1"),
        ("M0 0 L1e999 0", "the number 1e999 is out of all bounds"),
        ("M0 0 z 5", "'5' is no path command"),
    ],
)
def test_damaged_path_data_is_refused_with_its_line(tmp_path: Path, d: str, says: str) -> None:
    message = refusal(tmp_path, svg(f'\n<path id="lid" d="{d}"/>'))
    assert message.startswith(f"part.svg, line 2: the path 'lid' cannot be drawn: {says}.")


def test_a_truncated_file_is_refused_with_its_line(tmp_path: Path) -> None:
    message = refusal(tmp_path, svg("\n\n<rect width='5' height='5'/>")[:-20])
    assert message.startswith("part.svg, line 3: the file is cut off or damaged")


def test_entities_that_unfold_are_refused(tmp_path: Path) -> None:
    bomb = (
        '<!DOCTYPE svg [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;">]>'
        '<svg xmlns="http://www.w3.org/2000/svg"><text>&b;</text></svg>'
    )
    assert "declares entities" in refusal(tmp_path, bomb)
    outside = (
        '<!DOCTYPE svg [<!ENTITY a SYSTEM "file:///etc/passwd">]>'
        '<svg xmlns="http://www.w3.org/2000/svg"><text>&a;</text></svg>'
    )
    assert "declares entities" in refusal(tmp_path, outside)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16"])
@pytest.mark.parametrize(
    "doctype",
    [
        # as SVG 1.1 asks for it: https://www.w3.org/TR/SVG11/struct.html#NewDocument
        '<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN"\n'
        '  "http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd">',
        '<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 20010904//EN" "svg10.dtd">',
        '<!DOCTYPE svg SYSTEM "no/such/file.dtd" [<!ATTLIST svg xmlns:a CDATA #IMPLIED>]>',
        "<!DOCTYPE svg>",
    ],
)
def test_a_document_type_is_passed_over(tmp_path: Path, doctype: str, encoding: str) -> None:
    text = (
        f'<?xml version="1.0" encoding="{encoding}" standalone="no"?>\n{doctype}\n'
        '<svg xmlns="http://www.w3.org/2000/svg" width="10mm" height="10mm" viewBox="0 0 10 10">'
        '<rect width="10" height="10"/></svg>'
    )
    path = tmp_path / "part.svg"
    path.write_bytes(text.encode(encoding))
    assert read(path).strokes[0].path.area_mm2 == pytest.approx(100.0)


@pytest.mark.parametrize(
    ("attributes", "corner"),
    [
        # CSS Transforms Module Level 1, 5: rotate(90) takes (x, y) to (ox + oy - y, oy - ox + x)
        ('transform="rotate(90)"', (-10.0, 0.0)),
        ('transform="rotate(90)" transform-origin="20 10"', (20.0, -10.0)),
        ('style="transform: rotate(90deg); transform-origin: 20px 10px"', (20.0, -10.0)),
        ('transform="rotate(90)" transform-origin="50% 50%"', (70.0, -20.0)),
        ('transform="rotate(90)" transform-origin="center"', (70.0, -20.0)),
        ('transform="rotate(90)" transform-origin="top right"', (90.0, -100.0)),
        ('transform="rotate(90)" transform-origin="left"', (20.0, 30.0)),
        ('transform-origin="20 10"', (0.0, 0.0)),
    ],
)
def test_transforms_turn_about_their_origin(
    tmp_path: Path, attributes: str, corner: tuple[float, float]
) -> None:
    text = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="60mm" '
        f'viewBox="0 0 100 60"><rect width="30" height="10" {attributes}/></svg>'
    )
    x0, _, _, y1 = read(write(tmp_path, text, "part.svg")).strokes[0].path.bounds_mm()
    # SVG counts y down from the top, the drawing up from the bottom
    assert (x0, 60.0 - y1) == pytest.approx(corner)


def test_a_transform_about_its_own_box_is_refused(tmp_path: Path) -> None:
    text = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="60mm" '
        'viewBox="0 0 100 60"><rect width="30" height="10" '
        'style="transform:rotate(9deg);transform-origin:center;transform-box:fill-box"/></svg>'
    )
    assert "turns about a place in its own box" in refusal(tmp_path, text)


def test_plain_entities_of_drawing_programs_are_accepted(tmp_path: Path) -> None:
    text = (
        '<?xml version="1.0"?>\n<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "x" [\n'
        '<!ENTITY ns_svg "http://www.w3.org/2000/svg">\n]>\n'
        '<svg xmlns="&ns_svg;" width="10mm" height="10mm" viewBox="0 0 10 10">'
        '<rect width="10" height="10"/></svg>'
    )
    drawing = read(write(tmp_path, text, "part.svg"))
    assert drawing.strokes[0].path.area_mm2 == pytest.approx(100.0)


@pytest.mark.parametrize(
    ("sheet", "inline", "shown"),
    [
        (".a{display:none !important}", "display:inline", 0),
        (".a{display:none ! IMPORTANT} #x{display:inline}", "", 0),
        (".a{display:none!important} #x{display:inline!important}", "", 1),
        (".a{display:none!important}", "display:inline!important", 1),
        (".a{display:none}", "display:inline", 1),
    ],
)
def test_important_declarations_count_first(
    tmp_path: Path, sheet: str, inline: str, shown: int
) -> None:
    """CSS Cascading and Inheritance Level 4, 6.1."""
    body = f'<style>{sheet}</style><rect id="x" class="a" style="{inline}" width="9" height="9"/>'
    assert len(read(write(tmp_path, svg(body), "part.svg")).strokes) == shown


@pytest.mark.parametrize(
    ("shape", "area_mm2"),
    [
        ('<path d="M20 10H60V40H20" fill="#000"/>', 1200.0),
        ('<polyline points="20,10 60,10 60,40"/>', 600.0),
        ('<path d="M20 10a20 20 0 0 0 40 0" style="stroke:none"/>', 200.0 * math.pi),
        ('<path d="M20 10H60V40H20" stroke="red" stroke-opacity="0"/>', 1200.0),
    ],
)
def test_a_filling_closes_its_outline(tmp_path: Path, shape: str, area_mm2: float) -> None:
    """SVG 1.1, 11.3: the fill operation closes open subpaths."""
    outlines = bring_in(write(tmp_path, svg(shape), "part.svg"))
    (panel,) = outlines.panels
    assert panel.outer.area_mm2 == pytest.approx(area_mm2, rel=1e-9)
    assert codes(outlines) == ["filling-closed"]


def test_what_has_a_line_or_comes_back_by_itself_is_not_closed(tmp_path: Path) -> None:
    body = (
        '<path d="M20 10H60V40H20V10" fill="#000"/>'
        '<path d="M30 20H50V30" stroke="#000"/><path d="M100 20H150" fill="#000"/>'
    )
    outlines = bring_in(write(tmp_path, svg(body), "part.svg"))
    assert [panel.outer.area_mm2 for panel in outlines.panels] == [1200.0]
    assert outlines.open_chains == 2
    assert "filling-closed" not in codes(outlines)


@pytest.mark.parametrize(
    "page",
    [
        '<rect width="100%" height="100%" fill="white"/>',
        '<rect width="200" height="100" style="fill:#fff;stroke:none"/>',
        '<g fill="#ffffff"><rect x="-5" y="-5" width="300" height="300"/></g>',
    ],
)
def test_a_white_page_behind_everything_is_left_out_and_told(tmp_path: Path, page: str) -> None:
    plate = '<g fill="none" stroke="#000"><rect x="10" y="10" width="50" height="30"/>{}</g>'
    for holes in (0, 1, 3):
        circles = "".join(f'<circle cx="{20 + 12 * k}" cy="25" r="4"/>' for k in range(holes))
        text = svg(page + plate.format(circles))
        outlines = bring_in(write(tmp_path, text, "part.svg"))
        (panel,) = outlines.panels
        assert (panel.outer.area_mm2, len(panel.inner)) == (1500.0, holes)
        assert "page-left-out" in codes(outlines)


@pytest.mark.parametrize(
    "body",
    [
        '<rect width="50" height="30" fill="#fff"/>',
        '<rect width="50" height="30" fill="#fff"/><circle cx="9" cy="9" r="4"/>',
        '<rect width="50" height="30" fill="#fff" stroke="#000"/><circle cx="9" cy="9" r="4"/>',
        '<rect width="50" height="30" fill="#eee"/><circle cx="9" cy="9" r="4"/>',
        '<circle cx="9" cy="9" r="4"/><rect width="50" height="30" fill="#fff"/>',
    ],
)
def test_other_rectangles_are_panels(tmp_path: Path, body: str) -> None:
    outlines = bring_in(write(tmp_path, svg(body), "part.svg"))
    assert max(panel.outer.area_mm2 for panel in outlines.panels) == 1500.0
    assert "page-left-out" not in codes(outlines)


def test_what_is_fully_transparent_is_not_shown(tmp_path: Path) -> None:
    body = (
        '<rect width="50" height="30" fill="none" stroke="#000"/>'
        '<circle cx="9" cy="9" r="4" opacity="0"/>'
        '<g style="opacity:0%"><rect width="9" height="9"/></g>'
        '<g fill-opacity="0"><circle cx="25" cy="9" r="4"/></g>'
        '<circle cx="40" cy="9" r="4" opacity=".5" fill-opacity="x"/>'
    )
    outlines = bring_in(write(tmp_path, svg(body), "part.svg"))
    (panel,) = outlines.panels
    assert len(panel.inner) == 1
    (finding,) = [f for f in outlines.findings if f.code == "hidden-left-out"]
    assert finding.count == 3
