"""Cut time and cost of the shown plan: on the tile and the card of Sheets."""

from __future__ import annotations

import re
import threading
from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from lasernest.domain.rates import HandlingTimes, Rates
from lasernest.gui.window import Window
from lasernest.shop.book import ShopBook
from lasernest.units import format_time
from tests.gui.helpers import arrange, read, wait_for


def test_time_and_material_of_a_plan(qtbot: QtBot, window: Window, sample_panels: Path) -> None:
    read(qtbot, window, sample_panels / "seed-drawer.dxf")
    box = window.sheets.figures
    assert (box.time.value(), box.material.value()) == ("–", "–")
    arrange(qtbot, window)
    wait_for(qtbot, window, "till")
    plan, stock = window.desk.job.plan, window.desk.job.setup.stock
    assert plan is not None
    assert stock is not None
    assert re.fullmatch(r"about \d+ (s|min)", box.time.value())
    prices = [sheet.sheet.price or 0.0 for sheet in plan.sheets]
    told = f"{sum(prices) / window.desk.job.setup.units:.2f}"
    assert box.material.value() == told
    assert box.material.isVisibleTo(window.sheets.card)
    assert not box.cost.isVisibleTo(window.sheets.card)
    assert box.line().endswith(f"{told} each")


def test_the_cost_follows_the_rates(qtbot: QtBot, window: Window, sample_panels: Path) -> None:
    read(qtbot, window, sample_panels / "seed-drawer.dxf")
    arrange(qtbot, window)
    wait_for(qtbot, window, "till")
    desk, box = window.desk, window.sheets.figures
    desk.till.set_rates(Rates(machine_per_h=36.0, wage_per_h=0.0))
    wait_for(qtbot, window, "rates")
    plan, times_s = desk.job.plan, desk.till.beam_s()
    assert plan is not None
    assert times_s is not None
    assert box.cost.isVisibleTo(window.sheets.card)
    material = sum(sheet.sheet.price or 0.0 for sheet in plan.sheets)
    load_s = HandlingTimes().load_per_sheet_s * len(plan.sheets)
    assert float(box.cost.value()) == pytest.approx(
        material + (sum(times_s) + load_s) / 3600.0 * 36.0, abs=0.005
    )


def test_rates_typed_while_earlier_ones_are_being_kept_are_those_that_stay(
    qtbot: QtBot, window: Window, monkeypatch: pytest.MonkeyPatch
) -> None:
    till, keep = window.desk.till, ShopBook.save_rates
    begun, may_write, wrote = threading.Event(), threading.Event(), threading.Event()

    def slowly(shop: ShopBook, rates: Rates | None) -> int:
        if rates is None or rates.overhead_share:
            return keep(shop, rates)
        begun.set()
        may_write.wait(10.0)
        number = keep(shop, rates)
        wrote.set()
        return number

    monkeypatch.setattr(ShopBook, "save_rates", slowly)
    till.set_rates(Rates(machine_per_h=24.5, wage_per_h=30.0))
    qtbot.waitUntil(begun.is_set)
    last = Rates(machine_per_h=24.5, wage_per_h=30.0, overhead_share=0.125)
    till.set_rates(last)
    till.look()  # what another window wrote meanwhile; it reads the rates from before
    wait_for(qtbot, window, "till")
    assert till.rates == last
    may_write.set()
    qtbot.waitUntil(wrote.is_set)
    wait_for(qtbot, window, "rates", "till")
    assert till.rates == ShopBook.open().rates() == last


def test_times_are_those_of_the_files_once_they_are_written(
    qtbot: QtBot, window: Window, sample_panels: Path, tmp_path: Path
) -> None:
    read(qtbot, window, sample_panels / "seed-drawer.dxf")
    arrange(qtbot, window)
    window.desk.write_cut_files(tmp_path / "cut.dxf")
    wait_for(qtbot, window, "write", "till")
    window.go_to(window.sheets.step)
    written = window.desk.written
    assert written is not None
    assert window.sheets.figures.time.value() == format_time(sum(e.time_s for e in written.files))


def test_an_empty_sheet_says_what_to_do(qtbot: QtBot, window: Window, sample_panels: Path) -> None:
    read(qtbot, window, sample_panels / "seed-drawer.dxf")
    window.go_to(window.sheets.step)
    scene = window.sheets.scene_of_sheet
    assert scene.hint.startswith("4 panels to arrange")
    arrange(qtbot, window)
    assert scene.hint == ""
