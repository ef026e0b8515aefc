"""The everyday jobs in the real window, by mouse and keys on a screen of its own.

Pictures of each step are kept in `out/real-window` of the working folder.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import ezdxf
import pytest
from ezdxf.document import Drawing
from PySide6.QtGui import QImage

from lasernest.job import load_job
from lasernest.shop.book import ShopBook
from tests.e2e.screen import RealWindow, Screen, lacking, real_window, screen

pytestmark = pytest.mark.skipif(
    bool(lacking()), reason=f"not on this system: {', '.join(lacking())}"
)


@pytest.fixture
def on(tmp_path: Path) -> Iterator[Screen]:
    folder = tmp_path / "screen"
    folder.mkdir()
    with screen(folder) as made:
        yield made


def _colours(picture: QImage) -> int:
    """How many colours a picture has, on a coarse grid."""
    return len({picture.pixel(x, y) for x in range(0, 1280, 4) for y in range(0, 800, 4)})


def _yields(window: RealWindow) -> list[str]:
    return [part.text for part in window.parts if part.text.endswith(" %")]


def _plate(path: Path) -> None:
    """A plate with round corners, a hole and a scored line; as one may draw it."""
    doc: Drawing = ezdxf.new("R2010")
    doc.header["$INSUNITS"] = 4  # millimetres, DXF reference of Autodesk
    space = doc.modelspace()
    quarter = 0.41421356237  # tan(90 deg / 4), the bulge of a quarter circle
    corners = [
        (10, 0, 0.0), (110, 0, quarter), (120, 10, 0.0), (120, 60, quarter),
        (110, 70, 0.0), (10, 70, quarter), (0, 60, 0.0), (0, 10, quarter),
    ]  # fmt: skip
    space.add_lwpolyline(corners, format="xyb", close=True)
    space.add_circle((60, 35), 12)
    doc.layers.add("score", color=3)
    space.add_line((20, 20), (100, 20), dxfattribs={"layer": "score"})
    doc.saveas(path)


def test_outlines_become_a_proved_cut_file(on: Screen, tmp_path: Path) -> None:
    drawing = tmp_path / "plate.dxf"
    _plate(drawing)
    with real_window(on, tmp_path) as window:
        window.click("Open drawings…")
        window.name_file("Open drawings", drawing)
        window.keep("outlines-1-dialog")
        window.press("Return")
        window.wait_for("Arrange on sheets")
        assert _colours(window.keep("outlines-2-opened")) > 20
        window.click("Arrange on sheets")
        window.wait_for("Write cut file", most_s=240)
        window.keep("outlines-3-arranged")
        window.click("Write cut file")
        window.wait_for("1 file written. The proof passed.", most_s=120)
        window.keep("outlines-4-proved")
        window.press("ctrl+z")  # nothing of the file; the plan goes
        window.wait_for("Sheets: nothing yet")
        window.press("ctrl+y")
        window.wait_for("Sheets: done")
        window.press("ctrl+shift+s")
        window.name_file("Save the job", tmp_path / "plate.lasernest")
        window.press("Return")
        window.wait((tmp_path / "plate.lasernest").exists, "the job file")
        window.take_keys()
        window.press("ctrl+w")
        assert window.process.wait(30) == 0
    cut = ezdxf.readfile(tmp_path / "plate-cut.dxf")
    kinds = sorted(entity.dxftype() for entity in cut.modelspace())
    assert kinds.count("LWPOLYLINE") + kinds.count("CIRCLE") >= 2
    assert load_job(tmp_path / "plate.lasernest").plan is not None


def test_a_comb_tells_the_kerf(on: Screen, tmp_path: Path) -> None:
    with real_window(on, tmp_path) as window:
        window.press("ctrl+3")
        window.wait_for("Write the comb")
        window.keep("kerf-1-comb")
        window.press("ctrl+Return")
        documents = tmp_path / "home" / "Documents"
        window.wait(lambda: list(documents.glob("*.dxf")), "the comb's cut file", most_s=240)
        window.keep("kerf-2-written")
        window.click("Gap across x strips", "field")
        for reading in ("1,98", "1.98", "19.82", "20.18"):  # each where Tab leads
            window.fill(reading)
            window.press("Tab")
        # Ten strips lose eleven cuts: 1.98 / 11 = 0.180; plug and hole: (20.18 - 19.82) / 2.
        window.wait_for("0.180 ± 0.0")
        window.keep("kerf-3-read")
        window.press("ctrl+Return")
        window.wait_for("Kerf and fit: done. 0.180 ± 0.0")
        window.keep("kerf-4-in-use")
    book = ShopBook.open(tmp_path / "shop" / "shop-book.sqlite")
    kerf = book.stock("birch plywood 3 mm").kerf
    assert kerf.measured
    assert kerf.mean_mm == pytest.approx(0.180, abs=0.0005)


def test_two_stocks_are_compared(on: Screen, tmp_path: Path) -> None:
    drawing = tmp_path / "plate.dxf"
    _plate(drawing)
    with real_window(on, tmp_path, drawing) as window:
        window.wait_for("Arrange on sheets")
        window.press("ctrl+shift+c")
        window.click("Stock to compare", "choice")
        window.wait(lambda: any(p.kind == "list" and p.keys for p in window.parts), "the stocks")
        window.keep("compare-1-choosing")
        window.type("mdf")
        window.press("Return")
        window.wait(lambda: window.find("MDF 3 mm", "choice"), "the stock that was chosen")
        window.press("ctrl+Return")
        window.wait_for("2 stocks compared.", most_s=240)
        window.keep("compare-2-compared")
        window.wait_for("Plan with MDF 3 mm")
        window.wait(lambda: len(_yields(window)) >= 2, "the yields")
        window.press("Escape")
        window.wait_for("Arrange on sheets")


def test_a_stock_of_ones_own_is_entered_by_keys_and_cut(on: Screen, tmp_path: Path) -> None:
    drawing = tmp_path / "plate.dxf"
    _plate(drawing)
    with real_window(on, tmp_path, drawing) as window:
        window.wait_for("Arrange on sheets")
        window.press("ctrl+k")
        window.wait(lambda: window.field, "the command search")
        window.fill("new stock")
        window.press("Return")
        window.wait(lambda: (m := window.find("Material", "choice")) and m.keys, "the form")
        window.keep("stock-1-form")
        window.type("pop")
        window.press("Return")
        window.fill("3,6")
        window.press("Return", "Tab", "Tab")
        for text in ("800", "450", "9,80", "12"):
            window.fill(text)
            window.press("Return")
        window.keep("stock-2-filled")
        window.press("ctrl+Return")
        window.wait_for("poplar plywood 3.6 mm is in the shop book, and this job takes it.")
        window.press("ctrl+r")
        window.wait_for("Write cut file", most_s=240)
        window.keep("stock-3-arranged")
        window.press("ctrl+e")
        window.wait_for("1 file written. The proof passed.", most_s=120)
        window.keep("stock-4-cut")
    (size,) = (
        ShopBook.open(tmp_path / "shop" / "shop-book.sqlite").stock("poplar plywood 3.6 mm").sizes
    )
    assert (size.width_mm, size.height_mm, size.price, size.count) == (800, 450, 9.8, 12)
    cut = ezdxf.readfile(tmp_path / "plate-cut.dxf")
    layers = {entity.dxf.layer for entity in cut.modelspace()}
    assert {"CUT-INNER", "CUT-OUTER", "SCORE"} <= layers
