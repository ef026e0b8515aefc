"""Broken drawings: one clear sentence, exit 1, no traceback, no file; flaws that mend are told."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

BROKEN = Path(__file__).resolve().parents[2] / "sample_panels" / "broken"
UNREADABLE = ("cut-off-file.dxf", "web-page.dxf", "decimal-commas.dxf")
UNCUTTABLE = ("gap-in-outline.dxf", "open-outline.dxf", "crossing-outline.svg")


def _cut(lasernest, tmp_path: Path, name: str):
    return lasernest(
        "sheet", BROKEN / name, "--sheet", "600x400", "--kerf", "0.2", "--out", tmp_path / "cut.dxf"
    )


@pytest.mark.parametrize("name", UNREADABLE)
def test_unreadable(lasernest, tmp_path: Path, name: str) -> None:
    assert name in lasernest("inspect", BROKEN / name).sentence
    assert name in lasernest("inspect", BROKEN / name, "--json").sentence
    assert name in _cut(lasernest, tmp_path, name).sentence
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("name", UNCUTTABLE)
def test_uncuttable(lasernest, tmp_path: Path, name: str) -> None:
    (file,) = json.loads(lasernest("inspect", BROKEN / name, "--json").out)["files"]
    errors = [f for f in file["findings"] if f["severity"] == "error" and not f["mended"]]
    assert errors
    assert any(finding["where_mm"] is not None for finding in file["findings"])
    assert name in _cut(lasernest, tmp_path, name).sentence
    assert list(tmp_path.iterdir()) == []


def test_the_gap_is_measured_and_placed(lasernest) -> None:
    (file,) = lasernest("inspect", BROKEN / "gap-in-outline.dxf", "--json").json["files"]
    (error,) = [f for f in file["findings"] if f["severity"] == "error"]
    assert "1.2" in error["message"]
    x, y = error["where_mm"]
    assert x == pytest.approx(80, abs=0.01)
    assert 48.7 <= y <= 50.1
    assert file["open_chains"] == 1


def test_the_gap_is_closed_by_an_answer(lasernest, tmp_path: Path) -> None:
    (file,) = lasernest("inspect", BROKEN / "gap-in-outline.dxf", "--json").json["files"]
    (error,) = [f for f in file["findings"] if f["severity"] == "error"]
    answer = error["choices"][1]["value"]
    told = lasernest("inspect", BROKEN / "gap-in-outline.dxf", "--answer", answer, "--json").json
    assert [f["code"] for f in told["files"][0]["findings"]] == ["gap-joined"]
    assert told["files"][0]["open_chains"] == 0


def test_doubled_lines_are_mended_and_told(lasernest, tmp_path: Path) -> None:
    (file,) = lasernest("inspect", BROKEN / "doubled-lines.dxf", "--json").json["files"]
    assert any(finding["mended"] for finding in file["findings"])
    (panel,) = file["panels"]
    assert len(panel["inner"]) == 2
    assert _cut(lasernest, tmp_path, "doubled-lines.dxf").code == 0
    assert (tmp_path / "cut.dxf").is_file()


def test_a_unit_that_cannot_be_is_asked_about(lasernest) -> None:
    (file,) = lasernest("inspect", BROKEN / "wrong-unit-header.dxf", "--json").json["files"]
    told = [f for f in file["findings"] if "unit" in f["code"] or "size" in f["code"]]
    assert [finding["severity"] for finding in told] == ["warning"]
    # The maker says which it is, and the question is answered.
    decided = lasernest("inspect", BROKEN / "wrong-unit-header.dxf", "--unit", "mm", "--json").json[
        "files"
    ][0]
    assert decided["panels"][0]["bbox_mm"] == pytest.approx([0, 0, 120, 80])
    assert not [f for f in decided["findings"] if f["severity"] == "warning"]


def test_one_broken_drawing_stops_the_sheet(lasernest, tmp_path: Path) -> None:
    good = BROKEN.parent / "clock-dial.dxf"
    words = ["sheet", good, BROKEN / "web-page.dxf", "--sheet", "600x400", "--out"]
    assert "web-page.dxf" in lasernest(*words, tmp_path / "cut.dxf").sentence
    assert list(tmp_path.iterdir()) == []


def test_no_such_drawing(lasernest, tmp_path: Path) -> None:
    assert "nowhere.dxf" in lasernest("inspect", tmp_path / "nowhere.dxf").sentence


def test_a_folder_is_no_drawing(lasernest, tmp_path: Path) -> None:
    folder = tmp_path / "drawings.dxf"
    folder.mkdir()
    assert "drawings.dxf" in lasernest("inspect", folder).sentence
