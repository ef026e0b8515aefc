"""An order from the command line: planned, written, booked, taken back."""

from __future__ import annotations

from pathlib import Path

SAMPLES = Path(__file__).resolve().parents[2] / "sample_panels"
DRAWER = SAMPLES / "seed-drawer.dxf"
STOCK = ("--stock", "birch plywood 3 mm")


def test_order_booked_and_taken_back(lasernest, tmp_path: Path) -> None:
    words = ("order", f"{DRAWER}=12", *STOCK, "--name", "november", "--seconds", 0)
    told = lasernest(*words, "--out", "cut.dxf", "--book", "--scrap", "5%", "--json").json
    assert told["ordered"] == told["planned"] > 0
    assert told["unplaced"] == 0
    (part,) = told["stocks"]
    assert part["proved"] == [True] * len(part["files"])
    areas = part["areas_mm2"]
    parts = areas["panels"] + areas["offcuts"] + areas["waste"]
    assert abs(parts - areas["sheets"]) < 1e-6 * areas["sheets"]
    number = told["booking"]["number"]
    kept = [offcut["label"] for offcut in told["booking"]["offcuts_kept"]]
    again = lasernest(*words, "--json").json
    assert (again["ordered"], again["stocks"]) == (0, [])
    recut = lasernest(*words, "--recut", "drawer-side=2", "--json").json
    assert recut["ordered"] == 1  # 13 were started for 12, so one of the two is made up for
    assert {o["label"] for o in lasernest("offcut", "--json").json["offcuts"]} == set(kept)
    assert str(number) in lasernest("order", "--bookings").out
    assert lasernest("order", "--take-back", number).code == 0
    assert lasernest("offcut", "--json").json["offcuts"] == []
    assert lasernest(*words, "--json").json["ordered"] > 0


def test_cost_and_refusals(lasernest) -> None:
    words = ("order", f"{DRAWER}=4", *STOCK, "--seconds", 0)
    told = lasernest(*words, "--machine-rate", 30, "--wage", 25, "--overhead", "15%", "--json").json
    cost = told["cost"]
    assert cost["per_unit"] * 4 == cost["total"]
    assert abs(cost["per_unit_with_overhead"] - 1.15 * cost["per_unit"]) < 1e-9
    assert lasernest(*words, "--wage", 25).code == 2
    assert lasernest("order").code == 2
    assert lasernest("order", "x.lasernest=many").code == 2
    assert "names no stock" in lasernest("order", DRAWER).err
    assert "booking number 9" in lasernest("order", "--take-back", 9).sentence
    assert "no panel door" in lasernest(*words, "--recut", "door=1").sentence
