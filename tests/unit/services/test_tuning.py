from __future__ import annotations

from dataclasses import replace
from datetime import date
from itertools import pairwise
from pathlib import Path

import pytest

from lasernest.domain.joints import Joint, JointRules, PanelLine, PanelSheet
from lasernest.domain.readings import Feel, FeelReading, Rung, parse_reading
from lasernest.domain.records import CutSettings, KerfRecord
from lasernest.domain.stock import Fit, Kerf, SheetSize, Stock
from lasernest.errors import BadValueError
from lasernest.joints.sizing import interference_of
from lasernest.kerf.comb import draw_comb
from lasernest.services import tuning as tuning_module
from lasernest.services.tuning import (
    comb_again,
    comb_drawn,
    forecast,
    kerf_history,
    next_comb,
    report_feel,
    thickness_for_stock,
    tune,
    use_for_stock,
)
from lasernest.shop.book import ShopBook

STOCK = Stock("birch", "birch plywood", 3.0, (SheetSize(600, 400),), Kerf.same(0.18))
TODAY = date(2026, 11, 25)
SETTINGS = CutSettings("workshop laser", "50 mm", 10.0)
FEELS = list(Feel)


def felt(borders: tuple[float, ...], kerf_mm: float) -> tuple[FeelReading, ...]:
    """A ladder of gaps felt without any doubt."""
    rungs = [round(-0.15 + 0.02 * n, 3) for n in range(24)]
    return tuple(
        FeelReading(
            Rung.GAP, 5.0, 5.0 - i - 2 * kerf_mm, FEELS[sum(i > border for border in borders)]
        )
        for i in rungs
    )


def record(**changes: object) -> KerfRecord:
    comb = KerfRecord(
        "birch",
        date(2026, 11, 19),
        readings=tuple(parse_reading(t) for t in ("x:frame=10:2.09", "y:frame=10:2.05")),
        settings=SETTINGS,
        thickness_mm=(3.05, 3.07, 3.04, 3.06, 3.05, 3.05, 3.06, 3.04),
        number=1,
    )
    return replace(comb, **changes)


def codes(*records: KerfRecord, stock: Stock = STOCK, **options: object) -> list[str]:
    return [f.code for f in tune(stock, records, on=TODAY, **options).findings]


def test_nothing_measured_is_said() -> None:
    tuning = tune(STOCK, [], on=TODAY)
    assert tuning.record is None
    assert tuning.kerf == STOCK.kerf
    (finding,) = tuning.findings
    assert finding.message == "the kerf of birch was never measured; 0.18 mm is a starting value"
    measured = replace(STOCK, kerf=Kerf.same(0.2, u_mm=0.003))
    assert tune(measured, [], on=TODAY).findings == ()


def test_the_newest_record_counts_and_is_named() -> None:
    old = record(on=date(2026, 9, 1), readings=(parse_reading("frame=10:2.53"),), number=2)
    strange = record(stock_name="another", number=3, on=TODAY)
    tuning = tune(STOCK, [record(), old, strange], on=TODAY)
    assert tuning.record == record()
    # means of 2.09/11 and 2.05/11 by hand
    assert tuning.kerf.x_mm == pytest.approx(0.188182, abs=1e-6)
    assert tuning.kerf.basis == "reading of 19 Nov 2026"
    assert tuning.kerf.measured
    assert tuning.findings == ()


def test_a_record_of_the_same_machine_goes_before_a_newer_one_of_another() -> None:
    other = record(settings=CutSettings("school laser"), on=date(2026, 11, 24), number=2)
    assert tune(STOCK, [record(), other], on=TODAY, machine="workshop laser").record == record()
    assert tune(STOCK, [record(), other], on=TODAY).record == other
    assert codes(other, machine="workshop laser") == ["record-other-machine"]


def test_warnings_where_a_record_may_not_hold() -> None:
    assert codes(record(on=date(2026, 1, 1))) == ["record-old"]
    assert codes(record(), stock=replace(STOCK, measured_thickness_mm=3.4)) == [
        "record-other-thickness"
    ]
    assert codes(record(), speed_mm_per_s=14.0) == ["record-other-speed"]
    assert codes(record(), speed_mm_per_s=10.5) == []
    (finding,) = tune(STOCK, [record()], on=TODAY, speed_mm_per_s=14.0).findings
    assert finding.message == ("the reading of 19 Nov 2026 was cut at 10 mm/s, this job at 14 mm/s")


def test_a_record_that_tells_no_kerf_is_not_used() -> None:
    odd = record(readings=(parse_reading("pair=50.19:49.82"),))
    tuning = tune(STOCK, [odd], on=TODAY)
    assert tuning.record is None
    assert [f.code for f in tuning.findings] == ["record-odd"]
    aside = record(readings=(replace(parse_reading("frame=10:2.09"), used=False),))
    assert codes(aside) == ["kerf-unmeasured"]


def test_slips_in_a_record_are_told() -> None:
    assert codes(record(readings=(parse_reading("frame=10:0.80"),))) == ["half-kerf"]


def test_history_for_the_plot() -> None:
    older = record(on=date(2026, 3, 1), readings=(parse_reading("frame=10:2.20"),), number=2)
    points = kerf_history([record(), older, record(readings=(), number=3)])
    assert [p.record.number for p in points] == [2, 1]
    assert points[0].kerf_mm == pytest.approx(0.2)
    assert points[0].low_mm < 0.2 < points[0].high_mm


def test_first_comb_is_wide_and_the_next_one_looks_closely() -> None:
    first = next_comb(STOCK, tune(STOCK, [], on=TODAY), lines=("no. 1",))
    assert not first.compensated
    assert first.lines == ("birch", "no. 1")
    assert first.interferences_mm[0] <= -0.14
    assert first.interferences_mm[-1] >= 0.26
    ladder = record(felt=felt((-0.08, 0.0, 0.06, 0.14, 0.22), 0.19))
    tuning = tune(STOCK, [ladder], on=TODAY)
    second = next_comb(STOCK, tuning, fit=Fit.PRESS)
    assert second.compensated
    assert second.kerf == tuning.kerf
    steps = [b - a for a, b in pairwise(second.interferences_mm)]
    assert sorted(steps)[5] == pytest.approx(0.01)
    for border in (0.06, 0.14):
        assert any(abs(i - border) < 0.011 for i in second.interferences_mm)
    asked = next_comb(STOCK, tuning, span_mm=(-0.1, 0.1), compensated=False)
    assert asked.interferences_mm[0] == pytest.approx(-0.1)
    assert not asked.compensated
    for spec in (first, second, asked):
        assert comb_again(comb_drawn(spec), spec.lines) == replace(
            spec, kerf=replace(spec.kerf, u_mm=None, basis="drawn for")
        )
        assert draw_comb(spec).slots


def test_the_stock_takes_over_what_its_records_tell(tmp_path: Path) -> None:
    book = ShopBook.open(tmp_path / "book.sqlite")
    book.save_stock(STOCK)
    ladder = book.add_record(record(felt=felt((-0.08, 0.0, 0.06, 0.14, 0.22), 0.188)))
    tuning = tune(book.stock("birch"), book.records("birch"), on=TODAY)
    used = use_for_stock(book, tuning)
    assert book.stock("birch") == used
    assert used.kerf.x_mm == pytest.approx(0.188182, abs=1e-6)
    assert used.kerf.basis == ladder.name == "comb of 19 Nov 2026"
    assert used.measured_thickness_mm == pytest.approx(3.0525, abs=1e-3)
    assert used.fits is not None
    assert used.fits.press_mm == pytest.approx(0.10, abs=0.012)
    assert used.fits.push_mm == pytest.approx(0.03, abs=0.012)
    assert used.fits.slip_mm == pytest.approx(-0.04, abs=0.012)
    assert used.interference_mm == used.fits.press_mm
    # and the joints of a job ask for it
    line = PanelLine("a", (0, 0), (60, 0), (0, 0, 60, 40))
    joint = Joint(line, replace(line, panel="b"))
    sheet = PanelSheet(3.05, used.material, fits=used.fits)
    for fit in Fit:
        assert interference_of(joint, JointRules(fit=fit), [sheet]) == used.fits.of(fit)
    with pytest.raises(BadValueError, match="there is no record of birch to use"):
        use_for_stock(book, tune(STOCK, [], on=TODAY))


def test_what_to_expect_of_a_joint() -> None:
    ladder = record(felt=felt((-0.08, 0.0, 0.06, 0.14, 0.22), 0.188182))
    known = tune(STOCK, [ladder], on=TODAY)
    good = forecast(known, 0.10, Fit.PRESS)
    assert good.share_in_fit > 0.9
    assert sum(good.feels.values()) == pytest.approx(1.0)
    assert good.share_in_fit == good.feels[Feel.PRESS]
    assert forecast(known, 0.06, Fit.PRESS).share_in_fit == pytest.approx(0.5, abs=0.2)
    assert forecast(known, -0.04, Fit.PRESS).share_in_fit < 0.02
    guess = forecast(tune(STOCK, [], on=TODAY), 0.10, Fit.PRESS)
    assert guess.share_in_fit < good.share_in_fit
    assert guess.u_mm > 3 * good.u_mm


def test_doubt_adds_up_in_a_forecast() -> None:
    kerf = Kerf.same(0.2, u_mm=0.01)
    stock = replace(STOCK, kerf=kerf, measured_thickness_mm=3.05, thickness_u_mm=0.03)
    tuning = tune(stock, [], on=TODAY)
    scatter = tuning_module.CUT_SCATTER_MM
    # a finger and its gap have a kerf each; a slot has one, and the thickness
    finger = forecast(tuning, 0.05, Fit.PUSH)
    assert finger.u_mm == pytest.approx((0.02**2 + scatter**2) ** 0.5)
    slot = forecast(tuning, 0.05, Fit.PUSH, rung=Rung.SLOT)
    assert slot.u_mm == pytest.approx((0.01**2 + 0.03**2 + scatter**2) ** 0.5)
    even = forecast(tuning, 0.05, Fit.PUSH, rung=Rung.SLOT, thickness_u_mm=0.0)
    assert even.u_mm == pytest.approx((0.01**2 + scatter**2) ** 0.5)


def test_reports_of_how_joints_felt_teach_the_fit() -> None:
    before = tune(STOCK, [record()], on=TODAY).model
    stock = replace(STOCK, kerf=Kerf.same(0.188, u_mm=0.002))
    reports = [
        report_feel(stock, 0.10, Feel.MALLET, on=TODAY, settings=SETTINGS, note=f"box {n}")
        for n in range(5)
    ]
    assert reports[0].felt[0].interference_mm(0.188) == pytest.approx(0.10)
    after = tune(stock, [record(), *reports], on=TODAY).model
    press, mallet = Feel.PRESS.rank, Feel.MALLET.rank
    assert after.borders_mm[press] < before.borders_mm[press] - 0.02
    assert after.rung_count == 5
    assert mallet == press + 1


def test_a_measured_thickness() -> None:
    stock, thickness, found = thickness_for_stock(STOCK, [3.05] * 8)
    assert stock.measured_thickness_mm == 3.05
    assert stock.thickness_u_mm == pytest.approx(thickness.u_mm)
    assert found == ()
    _, _, found = thickness_for_stock(STOCK, [4.0])
    assert [f.code for f in found] == ["thickness-outside-band", "few-places"]
