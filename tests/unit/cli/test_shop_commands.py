"""Commands of the shop book and the comb, run in this process on a throwaway shop."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from lasernest.cli.main import app
from lasernest.errors import LasernestError, NotFoundError, UsageError

BIRCH = "birch plywood 3 mm"


def run(*words: str) -> str:
    done = CliRunner().invoke(app, list(words))
    if isinstance(done.exception, LasernestError):
        raise done.exception
    assert done.exit_code == 0, done.output
    return done.stdout


def run_json(*words: str) -> dict[str, Any]:
    result: dict[str, Any] = json.loads(run(*words, "--json"))
    return result


def test_readings_are_remembered_and_used() -> None:
    told = run_json("kerf", "x:frame=10:2.09", "y:frame=10:1.98", "--save", BIRCH)
    # gap over cuts: 2.09 / 11 and 1.98 / 11
    assert told["kerf_x_mm"] == pytest.approx(0.19)
    assert told["kerf_y_mm"] == pytest.approx(0.18)
    stock = run_json("stock", "show", BIRCH)["stock"]
    assert stock["kerf_measured"]
    assert stock["kerf_mm"] == pytest.approx(0.185)
    (record,) = run_json("record")["records"]
    assert record["readings"] == ["x:frame=10:2.09", "y:frame=10:1.98"]
    run("record", "remove", "1")
    assert run_json("record")["records"] == []


def test_a_wrong_reading_is_wrong_usage() -> None:
    with pytest.raises(UsageError, match="is not a reading"):
        run("kerf", "frme=10:2")


def test_kerf_json_keeps_its_form() -> None:
    told = run_json("kerf", "frame=10:2.09")
    assert set(told) == {
        "kerf_mm", "u_mm", "interval95_mm", "kerf_x_mm", "kerf_y_mm", "scale", "readings",
        "findings",
    }  # fmt: skip
    low, high = told["interval95_mm"]
    assert low < told["kerf_mm"] < high


def test_comb_is_written_and_proved(tmp_path: Path) -> None:
    out = tmp_path / "comb.dxf"
    told = run_json("comb", "--thickness", "3.05", "--interference", "-0.1:0.2", "--out", str(out))
    assert out.is_file()
    assert told["proof"]["passed"]
    assert (told["width_mm"], told["height_mm"]) == (150, 100)
    # an uncompensated slot of width w takes a sheet T with interference T - w - kerf
    for slot in told["slots"]:
        expected = told["thickness_mm"] - slot["drawn_mm"] - told["kerf_mm"]
        assert slot["expected_interference_mm"] == pytest.approx(expected, abs=1e-9)
    tried = [slot["expected_interference_mm"] for slot in told["slots"]]
    assert (tried[0], tried[-1]) == pytest.approx((-0.1, 0.2))


def test_comb_needs_a_thickness(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="thickness"):
        run("comb", "--out", str(tmp_path / "comb.dxf"))


def test_offcuts_are_kept_and_taken_back() -> None:
    kept = run_json("offcut", "add", BIRCH, "310x180")["offcut"]
    assert (kept["width_mm"], kept["height_mm"]) == (310, 180)
    change = run_json("offcut", "remove", kept["label"])["change"]
    assert run_json("offcut")["offcuts"] == []
    run("stock", "undo", str(change))
    assert [o["label"] for o in run_json("offcut")["offcuts"]] == [kept["label"]]


def test_stock_is_added_edited_and_removed() -> None:
    run(
        "stock",
        "add",
        "oak 4",
        "--material",
        "oak veneer",
        "--thickness",
        "4",
        "--sheet",
        "24inx12in",
    )
    run("stock", "edit", "oak 4", "--measured", "3.92", "--price", "11.5", "--count", "3")
    stock = run_json("stock", "show", "oak 4")["stock"]
    assert stock["measured_thickness_mm"] == 3.92
    (size,) = stock["sizes"]
    assert (size["width_mm"], size["price"], size["count"]) == (pytest.approx(609.6), 11.5, 3)
    assert not stock["kerf_measured"]
    run("stock", "remove", "oak 4")
    with pytest.raises(NotFoundError):
        run("stock", "show", "oak 4")


def test_a_material_that_must_not_be_cut_is_told_at_once() -> None:
    words = ["stock", "add", "banner", "--material", "PVC foam", "--thickness", "3"]
    assert "chlorine" in run(*words, "--sheet", "600x400")
