from __future__ import annotations

from pathlib import Path

import pytest

from lasernest.domain.control import QuietControl
from lasernest.job import load_job
from lasernest.resources import sample_panels
from lasernest.services.comparing import basis_of
from lasernest.services.demo import DEMO_RATES, run_demo_order, run_two_stocks
from lasernest.services.main_job import read_inputs


def test_the_worked_order_is_compared_printed_and_kept(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("LASERNEST_HOME", str(tmp_path / "home"))
    job = read_inputs([sample_panels() / "clock-feet.svg"], control=QuietControl())
    comparison, files = run_demo_order(tmp_path, job, control=QuietControl(), seconds=0.0)
    birch, acrylic = comparison.columns
    # the drawing holds three feet
    assert [c.panels for c in comparison.columns] == [24 * 3] * 2
    assert comparison.counts == (1, 10, 24)
    assert comparison.rates == DEMO_RATES
    assert (birch.size.width_mm, acrylic.size.width_mm) == (1220.0, 1000.0)
    paper, table, kept = files
    assert paper.read_bytes().startswith(b"%PDF-")
    assert table.read_text().splitlines()[0] == "figure,unit,birch plywood 3 mm,cast acrylic 3 mm"
    again = load_job(kept)
    assert again.comparison == comparison
    assert comparison.made_from == basis_of(again)


def test_the_case_of_two_stocks_is_cut_from_both_and_proved(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("LASERNEST_HOME", str(tmp_path / "home"))
    result = run_two_stocks(tmp_path / "out", control=QuietControl(), seconds=0.0)
    assert result.passed
    # Two long walls, two short ones, the back; the front.
    assert {entry.stock.name: entry.figures.panels for entry in result.sheets} == {
        "birch plywood 3 mm": 5,
        "cast acrylic 3 mm": 1,
    }
    assert load_job(tmp_path / "out" / "moth-case.lasernest").plan == result.plan
