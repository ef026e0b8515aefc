"""The command line's own face: exit codes, refusals, demo, and the rows of a grid plan."""

from __future__ import annotations

import json
from importlib.util import find_spec
from pathlib import Path

import pytest

SAMPLES = Path(__file__).resolve().parents[2] / "sample_panels"
RECTANGLE = [(0, 0), (100, 0), (100, 60), (0, 60)]
COMMANDS = ("demo", "inspect", "sheet", "stock")
needs_proof = pytest.mark.skipif(
    find_spec("lasernest.cli.proof") is None, reason="the command proof is not built yet"
)


def test_help_names_the_commands(lasernest) -> None:
    done = lasernest("--help")
    assert (done.code, done.err) == (0, "")
    assert all(command in done.out for command in COMMANDS)


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_explains_itself(lasernest, command: str) -> None:
    done = lasernest(command, "--help")
    assert (done.code, done.err) == (0, "")
    assert "--json" in done.out


@pytest.mark.parametrize(
    "words",
    [
        ("fold",),
        ("inspect",),
        ("inspect", "--no-such-option", "x.dxf"),
        ("sheet", "x.dxf", "--sheet", "600x400"),
        ("sheet", "x.dxf", "--sheet", "600x400", "--copies", "many", "--out", "c.dxf"),
    ],
    ids=" ".join,
)
def test_wrong_usage_exits_2(lasernest, words: tuple[str, ...]) -> None:
    done = lasernest(*words)
    assert done.code == 2
    assert done.out == ""
    assert done.err
    assert "Traceback" not in done.err


def test_demo_tells_figures_and_files(lasernest, tmp_path: Path) -> None:
    folder = tmp_path / "demo"
    done = lasernest("demo", "--out", folder, "--seconds", 0)
    assert done.code == 0, done.err
    for word in ("invented", "panels", "yield", "cut length", "pierces", "about", "proof passed"):
        assert word in done.out
    # The front of the moth case is alone on its sheet, and so is its outline.
    for words in ("  1 panel, yield", ", 1 pierce, about", ": 1 of 1 panel found"):
        assert words in done.out
    files = sorted(folder.glob("*.dxf"))
    assert files
    assert all(file.name in done.out for file in files)


def test_demo_json(lasernest, tmp_path: Path) -> None:
    report = lasernest("demo", "--out", tmp_path / "demo", "--seconds", 0, "--json").json
    assert report["proof"]["passed"] is True
    assert report["proof"]["max_deviation_mm"] <= 0.005
    mixed = report["two_stocks"]
    assert mixed["proof"]["passed"] is True
    assert {sheet["stock"] for sheet in mixed["sheets"]} == {
        "birch plywood 3 mm", "cast acrylic 3 mm",
    }  # fmt: skip
    for sheet in (*report["sheets"], *mixed["sheets"]):
        assert (tmp_path / sheet["file"]).is_file()


def test_same_seed_and_work_give_the_same_file(lasernest, draw, tmp_path: Path) -> None:
    drawing = draw("plate.dxf", RECTANGLE)
    for name in ("one.dxf", "two.dxf"):
        words = ["sheet", drawing, "--sheet", "600x400", "--kerf", "0.2", "--copies", 7]
        done = lasernest(*words, "--work", 50, "--seed", 3, "--out", tmp_path / name)
        assert done.code == 0, done.err
    assert (tmp_path / "one.dxf").read_bytes() == (tmp_path / "two.dxf").read_bytes()


def test_grid_of_thirty(lasernest, draw, tmp_path: Path) -> None:
    # By hand: 600 x 400 less margins of 5, a gap of 2: 5 columns of 102 by 6 rows of 62.
    report = lasernest(
        "sheet", draw("plate.dxf", RECTANGLE), "--sheet", "600x400", "--kerf", "0.2",
        "--margin", 5, "--gap", 2, "--copies", 30, "--out", tmp_path / "cut.dxf", "--json",
    ).json  # fmt: skip
    (sheet,) = report["sheets"]
    assert len(sheet["panels"]) == 30
    assert sheet["yield_share"] >= 0.75
    assert {panel["copy"] for panel in sheet["panels"]} == set(range(1, 31))


def test_count_by_name(lasernest, tmp_path: Path) -> None:
    report = lasernest(
        "sheet", SAMPLES / "seed-drawer.dxf", "--sheet", "600x400", "--kerf", "0.2",
        "--count", "drawer-side=2", "--count", "drawer-base=0",
        "--out", tmp_path / "cut.dxf", "--json",
    ).json  # fmt: skip
    names = sorted(panel["name"] for sheet in report["sheets"] for panel in sheet["panels"])
    assert names == ["drawer-back", "drawer-front", "drawer-side", "drawer-side"]


def test_a_panel_larger_than_the_sheet(lasernest, draw, tmp_path: Path) -> None:
    words = ["sheet", draw("plate.dxf", RECTANGLE), "--sheet", "90x50", "--kerf", "0.2"]
    sentence = lasernest(*words, "--out", tmp_path / "cut.dxf").sentence
    assert "plate" in sentence
    assert not list(tmp_path.glob("cut*"))


def test_a_slot_narrower_than_the_kerf(lasernest, draw, tmp_path: Path) -> None:
    slot = [(20, 20), (60, 20), (60, 20.15), (20, 20.15)]
    drawing = draw("plate.dxf", RECTANGLE, slot)
    words = ["sheet", drawing, "--sheet", "600x400", "--kerf", "0.2", "--out", tmp_path / "cut.dxf"]
    assert "plate" in lasernest(*words).sentence
    assert not list(tmp_path.glob("cut*"))


def test_a_kerf_that_cannot_be(lasernest, draw, tmp_path: Path) -> None:
    words = ["sheet", draw("plate.dxf", RECTANGLE), "--sheet", "600x400", "--kerf", "20"]
    done = lasernest(*words, "--out", tmp_path / "cut.dxf")
    assert done.code in (1, 2)
    assert "Traceback" not in done.err
    assert not list(tmp_path.glob("cut*"))


def test_out_in_a_folder_that_is_not_there(lasernest, draw, tmp_path: Path) -> None:
    out = tmp_path / "nowhere" / "cut.dxf"
    words = ["sheet", draw("plate.dxf", RECTANGLE), "--sheet", "600x400", "--kerf", "0.2"]
    assert "nowhere" in lasernest(*words, "--out", out).sentence


def test_names_with_blanks_and_accents(lasernest, draw, tmp_path: Path) -> None:
    drawing = draw("Vogelhäuschen Größe 2.dxf", RECTANGLE)
    out = tmp_path / "Säge blatt.dxf"
    words = ["sheet", drawing, "--sheet", "600x400", "--kerf", "0.2", "--out", out]
    report = lasernest(*words, "--json").json
    assert report["sheets"][0]["panels"][0]["name"] == "Vogelhäuschen Größe 2"
    assert out.is_file()


@needs_proof
def test_proof_of_a_cut_file(lasernest, draw, tmp_path: Path) -> None:
    out = tmp_path / "cut.dxf"
    words = ["sheet", draw("plate.dxf", RECTANGLE), "--sheet", "600x400", "--kerf", "0.2"]
    assert lasernest(*words, "--out", out).code == 0
    report = lasernest("proof", out, "--kerf", "0.2", "--json").json
    assert json.dumps(report)
    assert report["passed"] is True
    assert report["panels_found"] == 1


@needs_proof
def test_proof_of_something_else(lasernest, tmp_path: Path) -> None:
    assert (
        "web-page.dxf"
        in lasernest("proof", SAMPLES / "broken" / "web-page.dxf", "--kerf", "0.2").sentence
    )


def test_stocks_say_that_nothing_is_measured(lasernest) -> None:
    report = lasernest("stock", "--json").json
    text = json.dumps(report)
    assert "birch" in text
    assert "acrylic" in text
    assert lasernest("stock").code == 0


def test_an_unknown_stock_is_told(lasernest, draw, tmp_path: Path) -> None:
    words = ["sheet", draw("plate.dxf", RECTANGLE), "--stock", "moon rock 3", "--out"]
    assert "moon rock 3" in lasernest(*words, tmp_path / "cut.dxf").sentence
    assert not list(tmp_path.glob("cut*"))
