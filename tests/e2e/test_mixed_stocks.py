"""Sides of plywood, a front of acrylic: one job from drawings to the cut files of both."""

from __future__ import annotations

import json
from pathlib import Path

import pyogrio.raw
import pytest
import shapely

BIRCH, CAST = "birch plywood 3 mm", "cast acrylic 3 mm"


@pytest.fixture
def drawings(draw) -> list[Path]:
    side = draw("side.dxf", [(0, 0), (100, 0), (100, 60), (0, 60)])
    return [side, draw("front.dxf", [(0, 0), (120, 0), (120, 50), (0, 50)])]


def cut_length_mm(file: Path) -> float:
    """Length of all outer cuts, as GDAL reads them."""
    meta, _, geometry, fields = pyogrio.raw.read(file, layer="entities")
    layers = fields[list(meta["fields"]).index("Layer")]
    shapes = shapely.from_wkb(geometry)
    return sum(s.length for s, on in zip(shapes, layers, strict=True) if on == "CUT-OUTER")


def test_from_drawings_to_proved_files_and_back(lasernest, drawings, tmp_path: Path) -> None:
    words = ("sheet", *drawings, "--stock", BIRCH, "--sheet", "600x400", "--count", "side=4",
             "--panel-stock", f"front={CAST}@300x200", "--save", "case.lasernest")  # fmt: skip
    told = lasernest(*words, "--out", "cut.dxf", "--json").json
    assert [(s["stock"], s["width_mm"], s["height_mm"]) for s in told["sheets"]] == [
        (BIRCH, 600.0, 400.0), (CAST, 300.0, 200.0),
    ]  # fmt: skip
    assert told["proof"]["passed"]
    assert told["proof"]["panels_found"] == 5
    assert {f["code"] for f in told["findings"]} == {"kerf-unmeasured"}
    assert [f["message"].split(":")[0] for f in told["findings"]] == [BIRCH, CAST]
    # Paths are longer than the outlines by four kerfs: 0.18 of the plywood, 0.20 of the acrylic.
    files = [tmp_path / "cut-1.dxf", tmp_path / "cut-2.dxf"]
    assert cut_length_mm(files[0]) == pytest.approx(4 * (320 + 4 * 0.18), abs=1e-3)
    assert cut_length_mm(files[1]) == pytest.approx(340 + 4 * 0.20, abs=1e-3)
    # The job carries it: cut again, proved from disk, on paper, in an order.
    said = lasernest("sheet", "case.lasernest", "--out", "again.dxf").out
    assert f"sheet 2 of 2, {CAST}, kerf 0.2 mm, 300 x 200 mm: again-2.dxf" in said
    assert lasernest("proof", *files[::-1], "--against", "case.lasernest").code == 0
    wrong = lasernest("proof", *files, "--against", "case.lasernest", "--kerf", 0.18)
    assert wrong.code == 1
    paper = lasernest("report", "case.lasernest", "--cut", files[0], "--cut", files[1], "--out",
                      "paper.html", "--json").json  # fmt: skip
    assert paper["figures"][f"Material, Sheet of {CAST}"]["value"] == "cast acrylic"
    assert [one["proved"] for one in paper["sheets"]] == [True, True]
    order = lasernest("order", "case.lasernest=3", "--seconds", 0, "--json").json
    assert {line["panel"]: (line["stock"], line["to_cut"]) for line in order["panels"]} == {
        "side": (BIRCH, 12), "front": (CAST, 3),
    }  # fmt: skip
    moved = lasernest("order", "case.lasernest=3", "--stock", CAST, "--seconds", 0, "--json").json
    assert [part["stock"] for part in moved["stocks"]] == [CAST]
    compared = lasernest("compare", "case.lasernest", "--stock", BIRCH, "--stock",
                         "poplar plywood 3 mm", "--seconds", 0)  # fmt: skip
    assert f"Panels of {CAST} stay on it in every column" in compared.out


def test_the_sample_of_two_stocks(lasernest, sample_panels: Path, tmp_path: Path) -> None:
    """The moth case as its folder tells it. Lengths by hand: an edge of n fingers, an odd number,
    runs down and up n - 1 times, by 3 mm each; that and the sides are the outline, less twice
    3 mm where gaps meet at a corner."""
    drawings = [sample_panels / f"moth-case-{part}.dxf" for part in ("walls", "front")]
    told = lasernest("sheet", *drawings, "--stock", BIRCH, "--sheet", "600x400",
                     "--panel-stock", f"moth-case-front={CAST}@300x200",
                     "--count", "case-wall-long=2", "--count", "case-wall-short=2",
                     "--out", "case.dxf",
                     "--json").json  # fmt: skip
    assert told["proof"]["passed"]
    assert [(s["stock"], sorted(p["name"] for p in s["panels"])) for s in told["sheets"]] == [
        (BIRCH, ["case-back", *["case-wall-long"] * 2, *["case-wall-short"] * 2]),
        (CAST, ["moth-case-front"]),
    ]
    shown = lasernest("inspect", *drawings, "--json").json["files"]
    outer = {p["name"]: p["outer"]["length_mm"] for file in shown for p in file["panels"]}
    wide, high, deep = (2 * 3 * (n - 1) for n in (9, 7, 5))
    assert outer["moth-case-front"] == pytest.approx(2 * (120 + 90) + wide + high - 4 * 2 * 3)
    assert outer["case-back"] == outer["moth-case-front"]
    assert outer["case-wall-long"] == pytest.approx(2 * (120 + 40) + wide + deep)


def test_what_must_not_be_cut_and_what_cannot_be_read(lasernest, drawings, tmp_path: Path) -> None:
    book = lasernest("stock", "add", "foam 3", "--material", "PVC foam", "--thickness", 3,
                     "--sheet", "600x400", "--kerf", 0.2)  # fmt: skip
    assert book.code == 0, book.err
    words = ("sheet", *drawings, "--stock", BIRCH, "--out", "cut.dxf")
    refused = lasernest(*words, "--panel-stock", "front=foam 3", "--accept-material").sentence
    assert refused.startswith("front of foam 3: PVC foam must not be laser cut")
    assert list(tmp_path.glob("cut*")) == []
    assert "is not PANEL=STOCK" in lasernest(*words, "--panel-stock", "front").err
    assert "does not come in 1x1" in lasernest(*words, "--panel-stock", f"front={CAST}@1x1").err
    assert "no panel lid" in lasernest(*words, "--panel-stock", f"lid={CAST}").sentence
    assert "no stock called 'glass'" in lasernest(*words, "--panel-stock", "front=glass").sentence


def test_a_job_of_one_stock_says_so_in_its_file_only_once(lasernest, drawings, tmp_path) -> None:
    words = ("sheet", drawings[0], "--stock", BIRCH, "--out", "cut.dxf", "--save", "one.lasernest")
    assert [s["stock"] for s in lasernest(*words, "--json").json["sheets"]] == [BIRCH]
    job = json.loads((tmp_path / "one.lasernest").read_text())["job"]
    assert (job["setup"]["other_stocks"], job["panels"][0]["stock_name"]) == ([], "")
