"""Stocks side by side from the command line: figures, files, the shop's rates."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from lasernest.domain.control import QuietControl
from lasernest.job import load_job, save_job
from lasernest.services.comparing import basis_of
from lasernest.services.main_job import read_inputs

SAMPLES = Path(__file__).resolve().parents[2] / "sample_panels"
BOTH = ("--stock", "birch plywood 3 mm", "--stock", "cast acrylic 3 mm", "--seconds", 0)


def test_a_job_is_compared_written_and_kept(lasernest, tmp_path: Path) -> None:
    lasernest("rates", "--machine-rate", 30, "--wage", 25, "--overhead", "10%")
    job = read_inputs([SAMPLES / "seed-drawer.dxf"], control=QuietControl())
    save_job(job, tmp_path / "drawer.lasernest")
    words = ("compare", "drawer.lasernest", *BOTH, "--copies", 2)
    told = lasernest(*words, "--out", "c.csv", "--out", "c.pdf", "--keep", "--json").json
    birch, acrylic = told["stocks"]
    assert told["rates"] == {"machine_per_h": 30.0, "wage_per_h": 25.0, "overhead_share": 0.1}
    assert birch["stock"] == "birch plywood 3 mm"
    assert birch["panels"] == acrylic["panels"] > 0
    cost = acrylic["cost_per_unit"]["10"]
    assert cost["with_overhead"] == 1.1 * cost["total"]
    parts = cost["material"] + cost["machine"] + cost["hands"] + cost["setup"]
    assert abs(parts - cost["total"]) < 1e-9
    with (tmp_path / "c.csv").open(newline="") as file:
        rows = {row[0]: row[2:] for row in csv.reader(file)}
    assert float(rows["Yield"][0]) == float(f"{birch['yield_share']:.6g}")
    assert (tmp_path / "c.pdf").read_bytes().startswith(b"%PDF-")
    kept = load_job(tmp_path / "drawer.lasernest").comparison
    assert kept is not None
    assert [c.yield_share for c in kept.columns] == [c["yield_share"] for c in told["stocks"]]
    again = lasernest("sheet", "drawer.lasernest", "--sheet", "600x400", "--seconds", 0,
                      "--out", "cut.dxf", "--stock", "birch plywood 3 mm")  # fmt: skip
    assert again.code == 0


@pytest.mark.slow  # a thousand panels on two stocks; on a small job in tests/unit/services
def test_the_worked_order_of_the_demo(lasernest, tmp_path: Path) -> None:
    told = lasernest("demo", "--out", "demo", "--seconds", 0, "--order", "--json").json["order"]
    birch, acrylic = told["stocks"]
    # a cabinet is of 47 panels, see its drawings; none of 24 cabinets may be lost
    assert (told["units"], birch["panels"], acrylic["panels"]) == (24, 24 * 47, 24 * 47)
    assert birch["unplaced"] == acrylic["unplaced"] == []
    assert set(birch["cost_per_unit"]) == {"1", "10", "24"}
    # acrylic is denser than plywood: 1.19 and 0.68 g/cm3 on the same panels
    assert acrylic["weight_per_unit_g"] > 1.5 * birch["weight_per_unit_g"]
    assert [Path(name).name for name in told["files"]] == [
        "order-of-24.pdf", "order-of-24.csv", "order-of-24.lasernest",
    ]  # fmt: skip
    kept = load_job(tmp_path / "demo" / "order-of-24.lasernest")
    assert kept.comparison is not None
    assert kept.comparison.made_from == basis_of(kept)
    assert kept.setup.units == 24


def test_refusals(lasernest) -> None:
    drawing = SAMPLES / "clock-feet.svg"
    one = ("--stock", "birch plywood 3 mm")
    wrong = {
        (*one,): "needs two stocks",
        (*one, *one): "compared with itself",
        (*BOTH, "--out", "c.doc"): "neither a table nor a paper",
        (*BOTH, "--keep"): "only a job can keep",
        (*BOTH, "--wage", 25): "needs both rates",
    }
    for words, why in wrong.items():
        done = lasernest("compare", drawing, *words)
        assert (done.code, done.out) == (2, "")
        assert why in done.err
