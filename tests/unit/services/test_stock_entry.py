"""A stock as entered: what stands against it, and what the shop book is to keep of it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from lasernest.domain.offcuts import Offcut
from lasernest.domain.safety import Verdict, judge_material
from lasernest.domain.stock import FitTargets, Kerf, SheetSize, Stock
from lasernest.services.stock_entry import (
    COMMON_MATERIALS,
    Caution,
    OffcutEntry,
    SheetEntry,
    StockEntry,
    Wrong,
    caution_of,
    has_grain,
    is_another_sheet,
    materials_of,
    offcut_of,
    stock_of,
    usual_name,
    wrongs_of,
    wrongs_of_offcut,
)

POPLAR = Stock(
    "poplar 3",
    "poplar plywood",
    3.0,
    (SheetSize(600, 400, 4.0, price_invented=True), SheetSize(300, 200, 2.5, 7)),
    Kerf.same(0.183, u_mm=0.003, basis="comb of 19 Nov"),
    measured_thickness_mm=3.06,
    thickness_u_mm=0.01,
    grain=True,
    density_g_per_cm3=0.45,
    cut_speed_mm_per_s=16.0,
    interference_mm=0.05,
    supplier="the yard, 1203",
    fits=FitTargets(-0.05, 0.0, 0.06, 0.01),
)
CAST = Stock("cast 3", "cast acrylic", 3.0, (SheetSize(600, 400),), Kerf.same(0.2))
HELD = (POPLAR, CAST)
SHEET = SheetEntry(1200.0, 600.0, 9.8, 4)
OWN = StockEntry("poplar plywood", 4.0, sheets=(SHEET,))


def test_a_new_stock_is_called_after_what_it_is() -> None:
    assert wrongs_of(OWN, HELD) == ()
    made = stock_of(OWN, HELD)
    assert (made.name, made.material, made.thickness_mm) == (
        "poplar plywood 4 mm",
        "poplar plywood",
        4.0,
    )
    assert made.sizes == (SheetSize(1200, 600, 9.8, 4),)
    assert usual_name("  poplar   plywood ", None) == "poplar plywood"


def test_it_starts_from_the_sheet_most_like_it_and_from_nothing_measured() -> None:
    made = stock_of(OWN, HELD)
    assert not made.kerf.measured
    assert made.kerf.basis == "unmeasured"
    # Plywood: 0.10 to 0.25 mm at 3 mm and 0.20 to 0.35 at 6; a third of the way (kerf/typical).
    assert made.kerf.mean_mm == pytest.approx(0.5 * (0.1333 + 0.2833), abs=0.006)
    assert (made.measured_thickness_mm, made.fits, made.supplier) == (None, None, "")
    assert made.density_g_per_cm3 == 0.45
    # 16 mm/s times (4/3) to the power -1.3815 (McMillin and Harry 1971).
    assert made.cut_speed_mm_per_s == pytest.approx(16.0 * 0.672, abs=0.3)


def test_a_material_of_the_same_family_lends_its_speed_and_not_its_weight() -> None:
    made = stock_of(replace(OWN, material="alder plywood", thickness_mm=3.0), HELD)
    assert (made.cut_speed_mm_per_s, made.density_g_per_cm3) == (16.0, None)
    strange = stock_of(replace(OWN, material="cork"), HELD)
    assert strange.cut_speed_mm_per_s == 10.0


def test_what_is_missing_is_told_field_by_field() -> None:
    assert wrongs_of(StockEntry(), HELD) == (
        Wrong("material", "Say what it is made of."),
        Wrong("thickness", "The thickness it is sold as is missing."),
        Wrong("sheet 1 width", "The width of the sheet, along the grain, is missing."),
        Wrong("sheet 1 height", "The height of the sheet is missing."),
    )


def test_rows_that_were_never_filled_in_do_not_count() -> None:
    empty = SheetEntry()
    assert wrongs_of(replace(OWN, sheets=(empty, SHEET, empty)), HELD) == ()
    assert stock_of(replace(OWN, sheets=(empty, SHEET)), HELD).sizes == (
        SheetSize(1200, 600, 9.8, 4),
    )
    half = SheetEntry(price=3.0)
    assert [w.field for w in wrongs_of(replace(OWN, sheets=(SHEET, half)), HELD)] == [
        "sheet 2 width",
        "sheet 2 height",
    ]


def test_a_size_stands_once() -> None:
    twice = replace(OWN, sheets=(SHEET, replace(SHEET, price=12.0)))
    assert wrongs_of(twice, HELD) == (
        Wrong("sheet 2 width", "This size is here twice; one row for each size is enough."),
    )


def test_a_name_belongs_to_one_stock() -> None:
    taken = replace(OWN, name=" Poplar  3")
    assert wrongs_of(taken, HELD) == (
        Wrong("name", "There is a stock called poplar 3 already. Choose another name."),
    )
    assert wrongs_of(taken, HELD, old=POPLAR) == ()


def test_changing_a_stock_keeps_what_was_measured() -> None:
    shown = StockEntry.of(POPLAR)
    assert stock_of(shown, HELD, old=POPLAR) == POPLAR
    dearer = replace(shown.sheets[0], price=4.5)
    made = stock_of(replace(shown, sheets=(dearer, shown.sheets[1])), HELD, old=POPLAR)
    assert made == replace(POPLAR, sizes=(SheetSize(600, 400, 4.5), POPLAR.sizes[1]))
    renamed = stock_of(replace(shown, name="poplar", note=" damp "), HELD, old=POPLAR)
    assert (renamed.name, renamed.note, renamed.kerf) == ("poplar", "damp", POPLAR.kerf)


def test_a_price_of_the_demonstration_stays_marked_until_it_is_changed() -> None:
    made = stock_of(StockEntry.of(POPLAR), HELD, old=POPLAR)
    assert [size.price_invented for size in made.sizes] == [True, False]


def test_another_thickness_is_another_sheet_and_must_be_measured_again() -> None:
    assert not is_another_sheet(POPLAR, 3.2)
    assert not is_another_sheet(POPLAR, None)
    assert is_another_sheet(POPLAR, 4.0)
    made = stock_of(replace(StockEntry.of(POPLAR), thickness_mm=4.0), HELD, old=POPLAR)
    assert (made.measured_thickness_mm, made.fits, made.kerf.measured) == (None, None, False)
    assert (made.name, made.supplier) == ("poplar 3", "the yard, 1203")
    slightly = stock_of(replace(StockEntry.of(POPLAR), thickness_mm=3.2), HELD, old=POPLAR)
    assert (slightly.measured_thickness_mm, slightly.kerf) == (3.06, POPLAR.kerf)


def test_materials_that_must_not_be_lasered_are_told_at_once() -> None:
    assert caution_of("PVC foam board") == Caution(
        "It must not be laser cut: no cut file is written for it. "
        "It holds chlorine: the fumes poison people and corrode the machine.",
        refused=True,
    )
    assert caution_of("foam board", "forex 3 mm") == caution_of("PVC")
    warned = caution_of("polycarbonate")
    assert warned == Caution("It chars and catches fire easily and cuts badly.", refused=False)
    assert caution_of("poplar plywood") is None
    assert caution_of(" ") is None


def test_what_is_offered_may_be_cut() -> None:
    for material in COMMON_MATERIALS:
        assert judge_material(material).verdict is Verdict.ALLOWED, material
    assert materials_of(HELD)[:3] == ("poplar plywood", "cast acrylic", "birch plywood")
    assert len(set(materials_of(HELD))) == len(materials_of(HELD))


def test_grain_follows_what_is_on_hand() -> None:
    assert has_grain("poplar plywood", HELD)
    assert not has_grain("poplar plywood", (replace(POPLAR, grain=False),))
    assert has_grain("alder plywood", HELD)
    assert not has_grain("cast acrylic", HELD)


def test_an_offcut_needs_its_sides_and_a_label_of_its_own() -> None:
    assert wrongs_of_offcut(OffcutEntry(" a01 "), ["A01", "A02"]) == (
        Wrong("width", "The width, along the grain, is missing."),
        Wrong("height", "The height is missing."),
        Wrong("label", "There is an offcut labelled A01 already. Choose another label."),
    )
    entry = OffcutEntry("", 310.0, 180.0)
    assert wrongs_of_offcut(entry, ["A01"]) == ()
    assert offcut_of(entry, "poplar 3") == Offcut.rectangle("", "poplar 3", 310.0, 180.0)
