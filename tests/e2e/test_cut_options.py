"""How a sheet is cut, told on the command line; what was written is read by other libraries."""

from __future__ import annotations

import json
import math
import xml.etree.ElementTree as ET
from pathlib import Path
from typing import Any

import ezdxf
import pypdf
import pytest

from lasernest.domain.cutting import Corner, LayerStyle, MachineProfile
from lasernest.domain.stock import Machine
from lasernest.shop.book import ShopBook

_WORDS = ("--sheet", "200x100", "--kerf", "0.2")


@pytest.fixture
def washers(tmp_path: Path) -> Path:
    """Three washers of radius 10 with a hole, and a scored line on the first."""
    document = ezdxf.new("R2000")
    document.header["$INSUNITS"] = 4
    space = document.modelspace()
    for i in range(3):
        space.add_circle((30 * i, 0), 10)
        space.add_circle((30 * i, 0), 3)
    space.add_line((-7, 5), (7, 5), dxfattribs={"layer": "SCORE"})
    path = tmp_path / "washers.dxf"
    document.saveas(path)
    return path


def test_lead_ins_and_tabs_are_written_and_proved(lasernest, washers: Path, tmp_path: Path) -> None:
    words = ("--lead-in", "1.5", "--tabs", "0.5", "--tabs-below", "25", "--tabs-count", "3")
    report = lasernest("sheet", washers, *_WORDS, *words, "--out", "cut.dxf", "--json").json
    assert report["proof"]["passed"]
    assert report["proof"]["panels_found"] == 3
    space = ezdxf.readfile(tmp_path / "cut.dxf").modelspace()
    outer = space.query("*[layer=='CUT-OUTER']")
    # Three runs round each washer; none of them is a whole circle any more.
    assert len(outer) == 9
    assert not space.query("CIRCLE[layer=='CUT-OUTER']")
    # The chord of each gap is tab plus kerf: 0.5 + 0.2 mm, on the circle of radius 10.1.
    ends = [
        (tuple(e.start_point)[:2], tuple(e.end_point)[:2])
        if e.dxftype() == "ARC"
        else (tuple(e.get_points("xy")[0]), tuple(e.get_points("xy")[-1]))
        for e in outer
    ]
    points = [p for pair in ends for p in pair]
    gaps = [
        min(math.dist(p, q) for q in points if q is not p and math.dist(p, q) > 1e-9)
        for p in points
    ]
    assert sum(abs(gap - 0.7) < 1e-6 for gap in gaps) >= 9
    # A lead-in ends on the circle of each hole, so that no hole is a bare circle.
    assert not space.query("CIRCLE[layer=='CUT-INNER']")


def test_order_by_kind_and_marks_left_out(lasernest, washers: Path, tmp_path: Path) -> None:
    words = ("--order", "kind", "--marks", "left-out", "--out", "cut.dxf", "--json")
    assert lasernest("sheet", washers, *_WORDS, *words).json["proof"]["passed"]
    layers = [e.dxf.layer for e in ezdxf.readfile(tmp_path / "cut.dxf").modelspace()]
    assert [name for name in layers if name != "SHEET"] == ["CUT-INNER"] * 3 + ["CUT-OUTER"] * 3


def test_a_machine_of_the_shop_book_decides_layers_and_zero(
    lasernest, washers: Path, tmp_path: Path
) -> None:
    profile = MachineProfile(outer=LayerStyle("LAST", 1, (255, 0, 0)), origin=Corner.UPPER_RIGHT)
    ShopBook.open().save_machine(Machine("big one", profile=profile))
    done = lasernest("sheet", washers, *_WORDS, "--machine", "big one", "--out", "c.dxf", "--json")
    assert done.json["proof"]["passed"]
    space = ezdxf.readfile(tmp_path / "c.dxf").modelspace()
    assert len(space.query("*[layer=='LAST']")) == 3
    assert all(c.dxf.center.x < 0 and c.dxf.center.y < 0 for c in space.query("CIRCLE"))
    refused = lasernest("sheet", washers, *_WORDS, "--machine", "none", "--out", "x.dxf")
    assert refused.sentence.startswith("the shop book has no machine called 'none'.")


def test_svg_by_the_ending_in_millimetres(lasernest, washers: Path, tmp_path: Path) -> None:
    report = lasernest("sheet", washers, *_WORDS, "--out", "cut.svg", "--json").json
    assert report["proof"]["passed"]
    root = ET.parse(tmp_path / "cut.svg").getroot()
    assert (root.get("width"), root.get("height")) == ("200mm", "100mm")
    assert root.get("viewBox") == "0 -100 200 100"  # y runs down in SVG


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("--out", "cut.pdf"), "a cut file cannot be written as .pdf. Let its name end in .dxf or "
         ".svg (lasernest template writes PDFs)."),
        (("--out", "c.dxf", "--dxf-version", "R9"), "DXF version 'R9' cannot be written. Use one "
         "of R12, R2000, R2004, R2007, R2010, R2013, R2018."),
        (("--out", "c.dxf", "--order", "wild"), "--order: 'wild' is not known. Use panel, kind, "
         "heat."),
        (("--out", "c.dxf", "--lead-in", "50"), "--lead-in: a lead-in of 50 mm cannot be. Give 0 "
         "to 20 mm."),
        (("--out", "c.dxf", "--tabs", "0"), "--tabs: a tab 0 mm wide cannot hold. Give 0.1 to 5 "
         "mm."),
    ],
)  # fmt: skip
def test_what_cannot_be_is_told_before_anything_is_done(
    lasernest, washers: Path, tmp_path: Path, words: tuple[str, ...], sentence: str
) -> None:
    done = lasernest("sheet", washers, *_WORDS, *words)
    assert (done.code, done.out, done.err.strip()) == (2, "", sentence)
    assert not list(tmp_path.glob("c*.*"))


def test_a_template_is_tiled_over_the_paper(lasernest, draw, tmp_path: Path) -> None:
    plate = draw("plate.dxf", [(0, 0), (300, 0), (300, 200), (0, 200)])
    done = lasernest("template", plate, "--out", "plate.pdf", "--json")
    assert done.json["panels"] == ["plate"]
    reader = pypdf.PdfReader(tmp_path / "plate.pdf")
    assert len(reader.pages) == done.json["pages"] > 1
    # A4 is 210 x 297 mm (ISO 216), a point 1/72 inch (ISO 32000-1).
    box = reader.pages[0].mediabox
    sides = sorted(float(side) / 72 * 25.4 for side in (box.width, box.height))
    assert sides == pytest.approx([210, 297], abs=0.01)
    assert all("100 mm" in page.extract_text() for page in reader.pages)
    letter = lasernest("template", plate, "--out", "l.pdf", "--paper", "letter", "--json").json
    assert letter["paper"] == "LETTER"
    assert lasernest("template", plate, "--out", "l.txt").code == 2
    assert lasernest("template", plate, "--out", "l.pdf", "--sheet", 1).err.strip() == (
        "there is no sheet 1: the job has no plan. Arrange the job first (or leave --sheet out)."
    )


@pytest.mark.parametrize("corner", ["lower-right", "upper-left"])
def test_what_sheet_wrote_proof_proves_with_the_same_options(
    lasernest, washers: Path, tmp_path: Path, corner: str
) -> None:
    options = ("--origin", corner, "--tabs", "0.5", "--tabs-below", "25", "--marks", "all-engraved")
    written = lasernest(
        "sheet", washers, *_WORDS, *options, "--lead-in", "1.5", "--out", "cut.dxf", "--json"
    ).json
    assert written["proof"]["passed"]

    def prove(*words: str, fails: bool = False) -> dict[str, Any]:
        against = ("--kerf", "0.2", "--against", washers, "--json")
        done = lasernest("proof", tmp_path / "cut.dxf", *against, *words)
        assert done.code == int(fails), done.err
        found: dict[str, Any] = json.loads(done.out)
        return found

    proof = prove(*options)
    assert (proof["passed"], proof["panels_found"]) == (True, 3)
    wrong = prove(*options[2:], "--origin", "lower-left", fails=True)
    assert "was written for another corner" in wrong["problems"][0]
    document = ezdxf.readfile(tmp_path / "cut.dxf")
    hole = document.modelspace().query("*[layer=='CUT-INNER']")[0]
    hole.translate(0.05, 0.0, 0.0)
    document.saveas(tmp_path / "cut.dxf")
    assert prove(*options, fails=True)["max_deviation_mm"] == pytest.approx(0.05, abs=0.003)
    document.modelspace().delete_entity(hole)
    document.saveas(tmp_path / "cut.dxf")
    assert not prove(*options, fails=True)["passed"]


def test_a_beam_wider_along_x_is_proved_as_it_was_cut(lasernest, tmp_path: Path) -> None:
    document = ezdxf.new("R2000")
    document.header["$INSUNITS"] = 4
    document.modelspace().add_lwpolyline([(0, 0), (40, 0), (40, 30), (0, 30)], close=True)
    document.saveas(tmp_path / "plate.dxf")
    words = ("--sheet", "200x100", "--kerf-xy", "0.22,0.16")
    assert lasernest("sheet", "plate.dxf", *words, "--out", "cut.dxf").code == 0
    against = ("--against", "plate.dxf", "--json")
    assert lasernest("proof", "cut.dxf", "--kerf-xy", "0.22,0.16", *against).json["passed"]
    for wrong in (("--kerf-xy", "0.16,0.22"), ("--kerf", "0.22")):
        done = lasernest("proof", "cut.dxf", *wrong, *against)
        assert done.code == 1
        # Half of the 0.06 mm that one beam is narrower than the other.
        assert json.loads(done.out)["max_deviation_mm"] == pytest.approx(0.03, abs=1e-6)
    assert lasernest("proof", "cut.dxf").code == 2
