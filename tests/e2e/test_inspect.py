"""`lasernest inspect`: its JSON form on every sample, and sizes known in closed form."""

from __future__ import annotations

import math
import re
from pathlib import Path

import pytest

SAMPLES = Path(__file__).resolve().parents[2] / "sample_panels"
INDEX = re.findall(
    r"^\| `([a-z-]+\.(?:dxf|svg))` \| ([^|]+), ([^|,]+) \| (\d+) \|",
    (SAMPLES / "README.md").read_text("utf-8"),
    re.MULTILINE,
)
"""File, format, unit and number of panels as the index of the samples promises them."""


def test_the_index_is_read() -> None:
    on_disk = [path for path in SAMPLES.iterdir() if path.suffix in (".dxf", ".svg")]
    assert len(INDEX) == len(on_disk)


@pytest.mark.parametrize(("name", "form", "unit", "panels"), INDEX)
def test_samples(lasernest, name: str, form: str, unit: str, panels: str) -> None:
    report = lasernest("inspect", SAMPLES / name, "--json").json
    (file,) = report["files"]
    assert set(file) >= {
        "path", "format", "unit", "mm_per_unit", "panels", "open_chains", "findings",
    }  # fmt: skip
    assert Path(file["path"]).name == name
    assert file["format"].startswith(form)
    # A viewBox of thousandths is a unit of its own; only its size can be right or wrong.
    if form != "SVG":
        assert file["mm_per_unit"] == pytest.approx({"inch": 25.4}.get(unit, 1.0))
    assert len(file["panels"]) == int(panels)
    names = [panel["name"] for panel in file["panels"]]
    assert len(set(names)) == len(names)
    for panel in file["panels"]:
        x0, y0, x1, y1 = panel["bbox_mm"]
        holes_mm2 = sum(ring["area_mm2"] for ring in panel["inner"])
        assert panel["net_area_mm2"] == pytest.approx(panel["outer"]["area_mm2"] - holes_mm2)
        assert 0 < panel["net_area_mm2"] <= (x1 - x0) * (y1 - y0)
        assert max(x1 - x0, y1 - y0) < 250  # all samples fit a sheet of 600 x 400
        assert isinstance(panel["marks"], int)
    for finding in file["findings"]:
        assert set(finding) >= {
            "severity", "code", "message", "where_mm", "layer", "mended",
        }  # fmt: skip
        assert finding["severity"] in ("warning", "note"), finding["message"]


def _panels(lasernest, name: str) -> dict[str, dict]:
    (file,) = lasernest("inspect", SAMPLES / name, "--json").json["files"]
    return {panel["name"]: panel for panel in file["panels"]}


def test_names_from_layers_and_a_panel_in_a_hole(lasernest) -> None:
    panels = _panels(lasernest, "station-louvres.dxf")
    assert set(panels) == {"louvre-ring", "sensor-floor", "cap"}
    ring, floor, cap = panels["louvre-ring"], panels["sensor-floor"], panels["cap"]
    assert ring["outer"]["area_mm2"] == pytest.approx(math.pi * 60**2)
    assert max(hole["area_mm2"] for hole in ring["inner"]) == pytest.approx(math.pi * 42**2)
    assert floor["outer"]["length_mm"] == pytest.approx(2 * math.pi * 38)
    assert (len(ring["inner"]), len(floor["inner"]), len(cap["inner"])) == (7, 13, 3)
    assert cap["marks"] == 9


def test_names_from_blocks(lasernest) -> None:
    panels = _panels(lasernest, "seed-drawer.dxf")
    assert set(panels) == {"drawer-front", "drawer-back", "drawer-side", "drawer-base"}
    back = panels["drawer-back"]
    # 90 x 40 less two gaps of 8 x 3 on either side and four of 10 x 3 below.
    assert back["outer"]["area_mm2"] == pytest.approx(3600 - 4 * 24 - 4 * 30)


def test_names_counted_where_nothing_tells_them_apart(lasernest) -> None:
    panels = _panels(lasernest, "label-plates.dxf")
    assert set(panels) == {f"label-plates-{i}" for i in range(1, 7)}
    # Reading order: the plate numbered 1 lies at the top left.
    assert panels["label-plates-1"]["bbox_mm"] == pytest.approx([0, 28, 60, 50])
    assert panels["label-plates-6"]["bbox_mm"] == pytest.approx([132, 0, 192, 22])
    area_mm2 = 60 * 22 - (4 - math.pi) * 4**2
    assert all(p["outer"]["area_mm2"] == pytest.approx(area_mm2) for p in panels.values())


def test_inches(lasernest) -> None:
    panels = _panels(lasernest, "drawer-pulls.dxf")
    oval = min(panels.values(), key=lambda panel: panel["bbox_mm"][1])
    a, b = 0.95 * 25.4, 0.95 * 0.45 * 25.4
    assert oval["outer"]["area_mm2"] == pytest.approx(math.pi * a * b, rel=1e-3)


def test_svg_in_thousandths_of_an_inch(lasernest) -> None:
    (panel,) = _panels(lasernest, "rain-gauge-scale.svg").values()
    x0, y0, x1, y1 = panel["bbox_mm"]
    assert (x1 - x0, y1 - y0) == pytest.approx((38.1, 152.4))
    area_in2 = 1.5 * 6 - (4 - math.pi) * 0.25**2
    assert panel["outer"]["area_mm2"] == pytest.approx(area_in2 * 25.4**2)
    assert panel["marks"] == 41


def test_left_out_things_are_told(lasernest) -> None:
    (file,) = lasernest("inspect", SAMPLES / "clock-case.dxf", "--json").json["files"]
    assert any("TEXT" in finding["message"] for finding in file["findings"])


def test_several_drawings_in_words(lasernest) -> None:
    done = lasernest("inspect", SAMPLES / "clock-dial.dxf", SAMPLES / "trellis-fan.svg")
    assert done.code == 0
    assert "clock-dial" in done.out
    assert "trellis-fan" in done.out


def test_uses_and_answers_decide_what_lines_become(lasernest, tmp_path: Path) -> None:
    plate = tmp_path / "plate.svg"
    plate.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="200mm" '
        'viewBox="0 0 300 200" fill="none">'
        '<rect width="300" height="200" stroke="#000000"/>'
        '<rect x="20" y="20" width="100" height="60" stroke="#000000"/>'
        '<rect x="150" y="20" width="50" height="50" stroke="#000000"/>'
        '<circle cx="175" cy="45" r="5" stroke="#000000"/>'
        '<circle cx="70" cy="50" r="10" stroke="#ff0000"/></svg>'
    )

    def seen(*words: str) -> list[tuple[float, int, int]]:
        (file,) = lasernest("inspect", plate, *words, "--json").json["files"]
        return [
            (round(p["outer"]["area_mm2"]), len(p["inner"]), p["marks"]) for p in file["panels"]
        ]

    assert seen() == [(6000, 1, 0), (2500, 1, 0)]  # the border is left out
    assert seen("--use", "#ff0000=engrave", "--remember")[0] == (6000, 0, 1)
    assert seen() == [(6000, 0, 1), (2500, 1, 0)]  # remembered
    assert (60000, 2, 0) in seen("--answer", "border=keep", "--use", "#ff0000=ignore")
    done = lasernest("inspect", plate, "--answer", "border=perhaps")
    assert done.code == 2
    assert done.err.startswith("--answer: 'border=perhaps' answers no question of an import.")


@pytest.mark.parametrize(("kerf", "told"), [(None, 0), ("0.1", 0), ("0.2", 1)])
def test_what_is_narrower_than_a_beam(lasernest, tmp_path: Path, kerf, told: int) -> None:
    drawing = tmp_path / "slotted.svg"
    drawing.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="0 0 60 40">'
        '<path fill="none" stroke="#000" d="M0 0h60v40h-60z M20 10h.15v20h-.15z"/></svg>'
    )
    beam = () if kerf is None else ("--kerf", kerf)
    (file,) = lasernest("inspect", drawing, *beam, "--json").json["files"]
    codes = [f["code"] for f in file["findings"]]
    assert codes.count("narrower-than-kerf") == told


def test_sheet_refuses_a_narrow_slot_before_it_arranges(lasernest, tmp_path: Path) -> None:
    drawing = tmp_path / "slotted.svg"
    drawing.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="0 0 60 40">'
        '<path fill="none" stroke="#000" d="M0 0h60v40h-60z M20 10h.15v20h-.15z"/></svg>'
    )
    done = lasernest(
        "sheet", drawing, "--sheet", "200x200", "--kerf", "0.2", "--out", tmp_path / "cut.dxf"
    )
    assert "a hole or slot is narrower than the kerf of 0.20 mm" in done.sentence
    assert not (tmp_path / "cut.dxf").exists()
