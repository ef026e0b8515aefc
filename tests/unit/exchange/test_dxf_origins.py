"""Habits of drawing programs: old code pages, escaped letters, heights, paper layouts.

Source of the names of code pages and of the escape: the published DXF reference, header
variable $DWGCODEPAGE and "String group codes"; of the bytes: Python's own codecs.
"""

from __future__ import annotations

from pathlib import Path

import ezdxf
import pytest

from lasernest.domain.control import QuietControl
from lasernest.domain.findings import Severity
from lasernest.domain.line_uses import LineUses
from lasernest.services.importing import import_drawing

from .drawings import bring_in, codes, dxf_text, read, write


@pytest.mark.parametrize(
    ("page", "encoding"),
    [
        ("ANSI_1252", "cp1252"),
        ("dos850", "cp850"),
        ("DOS437", "cp437"),
        ("8859_1", "latin-1"),
        ("ISO8859-1", "latin-1"),
        ("mac-roman", "mac_roman"),
    ],
)
def test_layer_names_in_old_code_pages(tmp_path: Path, page: str, encoding: str) -> None:
    header = f"9\n$ACADVER\n1\nAC1009\n9\n$DWGCODEPAGE\n3\n{page}\n"
    text = dxf_text("CIRCLE 8 Gr\xfcne-L\xf6cher 10 0 20 0 40 5", header=header)
    (stroke,) = read(write(tmp_path, text.encode(encoding))).strokes
    assert stroke.layer == "Gr\xfcne-L\xf6cher"


def test_layer_names_in_a_page_for_several_bytes(tmp_path: Path) -> None:
    header = "9\n$DWGCODEPAGE\n3\ngb2312\n"
    text = dxf_text("CIRCLE 8 \u5207\u5272 10 0 20 0 40 5", header=header)
    (stroke,) = read(write(tmp_path, text.encode("gb2312"))).strokes
    assert stroke.layer == "\u5207\u5272"


def test_escaped_letters_in_names(tmp_path: Path) -> None:
    text = dxf_text(r"CIRCLE 8 Au\U+00DFen\U+000Akontur 10 0 20 0 40 5")
    (stroke,) = read(write(tmp_path, text)).strokes
    # A line end is not put in: it would shift all that follows.
    assert stroke.layer == r"Au\xdfen\U+000Akontur".replace(r"\xdf", "\xdf")


@pytest.mark.parametrize(("z", "said"), [(3.0, ["flattened"]), (0.0, [])])
def test_a_block_placed_at_a_height_is_laid_flat_and_told(
    tmp_path: Path, z: float, said: list[str]
) -> None:
    doc = ezdxf.new("R2000", units=4)
    doc.blocks.new("PART").add_circle((0, 0), 5)
    doc.blocks.new("PAIR").add_blockref("PART", (20, 0))
    attribs = {"column_count": 3, "column_spacing": 15}
    doc.modelspace().add_blockref("PAIR", (0, 0, z), dxfattribs=attribs)
    doc.saveas(tmp_path / "part.dxf")
    outlines = bring_in(tmp_path / "part.dxf")
    assert len(outlines.panels) == 3
    assert codes(outlines) == said
    assert [f.count for f in outlines.findings] == [1] * len(said)


@pytest.mark.parametrize(("plain", "asked"), [(True, True), (False, False)])
def test_layers_that_are_never_printed_are_asked_about(
    tmp_path: Path, plain: bool, asked: bool
) -> None:
    """Unless all of them are: then it is how the program writes its layers."""
    doc = ezdxf.new("R2000", units=4)
    doc.layers.add("HELP").dxf.plot = 0
    space = doc.modelspace()
    space.add_circle((0, 0), 20, dxfattribs={"layer": "0" if plain else "HELP"})
    space.add_circle((0, 0), 5, dxfattribs={"layer": "HELP"})
    doc.saveas(tmp_path / "part.dxf")
    outlines = bring_in(tmp_path / "part.dxf")
    assert len(outlines.panels[0].inner) == 1
    assert codes(outlines) == (["layer-not-printed"] if asked else [])
    for value, holes in (("HELP=cut", 1), ("HELP=ignore", 0)) if asked else ():
        uses = LineUses().with_row(value)
        again = import_drawing(tmp_path / "part.dxf", control=QuietControl(), uses=uses)
        assert "layer-not-printed" not in codes(again)
        assert len(again.panels[0].inner) == holes


def test_blocks_that_grow_beyond_all_numbers_are_told(tmp_path: Path) -> None:
    doc = ezdxf.new("R2000", units=4)
    doc.blocks.new("B0").add_circle((1, 1), 5)
    for k in range(1, 25):
        scale = {"xscale": 9e14, "yscale": 2e14, "zscale": 1.0}
        doc.blocks.new(f"B{k}").add_blockref(f"B{k - 1}", (0, 0), dxfattribs=scale)
    doc.modelspace().add_blockref("B22", (0, 0))
    doc.modelspace().add_circle((0, 0), 5)
    doc.saveas(tmp_path / "part.dxf")
    outlines = bring_in(tmp_path / "part.dxf")
    assert len(outlines.panels) == 1
    assert "it is too far away or too large" in outlines.findings[0].message


def test_an_ellipse_that_is_tilted_in_space_is_told(tmp_path: Path) -> None:
    """Tilted by 60 degrees about its long axis: half as wide seen from above."""
    doc = ezdxf.new("R2000", units=4)
    tilt = {"extrusion": (0, 3**0.5 / 2, 0.5)}
    doc.modelspace().add_ellipse((0, 0), (20, 0), 0.5, dxfattribs=tilt)
    doc.saveas(tmp_path / "part.dxf")
    outlines = bring_in(tmp_path / "part.dxf")
    assert outlines.panels[0].size_mm == pytest.approx((40, 10), abs=0.01)
    assert codes(outlines) == ["tilted"]


def test_a_drawing_on_paper_only_says_what_to_do(tmp_path: Path) -> None:
    doc = ezdxf.new("R2010", units=4)
    doc.layout("Layout1").add_circle((0, 0), 5)
    doc.saveas(tmp_path / "part.dxf")
    paper, nothing = bring_in(tmp_path / "part.dxf").findings
    assert (paper.code, paper.severity) == ("paper-left-out", Severity.WARNING)
    assert paper.todo == "Export the layout to model space in the drawing program."
    assert nothing.code == "no-panels"
