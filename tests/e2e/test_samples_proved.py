"""Every sample panel, cut at three kerfs, keeps its drawn size within 0.005 mm."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest

SAMPLES = Path(__file__).resolve().parents[2] / "sample_panels"
GOOD = sorted(path for path in SAMPLES.iterdir() if path.suffix in (".dxf", ".svg"))
TOLERANCE_MM = 0.005


@pytest.mark.parametrize("kerf_mm", [0.1, 0.2, 0.37])
def test_all_together(lasernest, tmp_path: Path, kerf_mm: float) -> None:
    inspected = lasernest("inspect", *GOOD, "--json").json
    expected = sum(len(file["panels"]) for file in inspected["files"])
    out = tmp_path / "all.dxf"
    report = lasernest(
        "sheet", *GOOD, "--sheet", "600x400", "--kerf", kerf_mm, "--out", out, "--json"
    ).json
    assert set(report) >= {"sheets", "unplaced", "yield_share", "proof", "findings"}
    proof = report["proof"]
    assert set(proof) >= {"passed", "panels_found", "panels_expected", "max_deviation_mm"}
    assert proof["panels_expected"] == proof["panels_found"] == expected
    assert 0 <= proof["max_deviation_mm"] <= TOLERANCE_MM
    assert proof["passed"] is True
    assert report["unplaced"] == []

    placed = Counter(panel["name"] for sheet in report["sheets"] for panel in sheet["panels"])
    assert sum(placed.values()) == expected
    for sheet in report["sheets"]:
        assert set(sheet) >= {
            "file", "width_mm", "height_mm", "panels", "yield_share", "used_length_mm",
            "cut_length_mm", "pierces", "time_s",
        }  # fmt: skip
        assert (tmp_path / sheet["file"]).is_file()
        assert 0 < sheet["yield_share"] < 1
        assert min(sheet["cut_length_mm"], sheet["pierces"], sheet["time_s"]) > 0
        for panel in sheet["panels"]:
            assert set(panel) >= {"name", "copy", "turn_deg", "mirrored", "x_mm", "y_mm"}
            assert panel["mirrored"] is False


@pytest.mark.parametrize("drawing", GOOD, ids=lambda path: path.name)
def test_proof_of_the_written_file_alone(lasernest, tmp_path: Path, drawing: Path) -> None:
    out = tmp_path / "one.dxf"
    done = lasernest("sheet", drawing, "--sheet", "600x400", "--kerf", "0.2", "--out", out)
    assert done.code == 0, done.err
    assert out.is_file()
    assert [path.name for path in tmp_path.iterdir()] == ["one.dxf"]
