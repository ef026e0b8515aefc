from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from lasernest.domain.contours import Contour, Vertex
from lasernest.domain.offcuts import Offcut
from lasernest.domain.rates import Rates
from lasernest.domain.readings import Axis, Face, Feel, FeelReading, Method, Reading, Rung
from lasernest.domain.records import CombDrawn, CutSettings, KerfRecord
from lasernest.domain.safety import Verdict, judge_material
from lasernest.domain.stock import Kerf, Machine, SheetSize, Stock
from lasernest.errors import (
    BadValueError,
    ChangedMeanwhileError,
    NotFoundError,
    RefusedMaterialError,
)
from lasernest.folders import data_folder
from lasernest.shop.book import FILE_NAME, ShopBook
from lasernest.shop.values import natural_key

WALNUT = Stock(
    "walnut ply 4 mm",
    "walnut plywood",
    4.0,
    (SheetSize(600, 300, 14.5, 3),),
    Kerf(0.21, 0.19, 0.004, "comb of 3 May"),
    measured_thickness_mm=3.86,
    thickness_u_mm=0.02,
    grain=True,
    note="from the small yard",
)


@pytest.fixture
def book(tmp_path: Path) -> ShopBook:
    return ShopBook.open(tmp_path / "book.sqlite")


def test_the_book_lies_in_the_makers_folder() -> None:
    assert ShopBook.open().path == data_folder() / FILE_NAME
    assert ShopBook.open().path.is_file()


def test_a_new_book_starts_with_stock_that_is_plainly_unmeasured(book: ShopBook) -> None:
    stocks = book.stocks()
    materials = {s.material for s in stocks}
    assert materials >= {
        "birch plywood",
        "poplar plywood",
        "cast acrylic",
        "extruded acrylic",
        "MDF",
        "grey board",
    }
    for stock in stocks:
        assert not stock.kerf.measured
        assert stock.kerf.basis == "starting value, not measured in this shop"
        assert stock.measured_thickness_mm is None
        assert judge_material(stock.material).verdict is Verdict.ALLOWED
        assert all(size.price_invented and size.price for size in stock.sizes)
        assert all(size.count is None for size in stock.sizes)
    # Starting values: trade practice table, "defaults proposed"; common practice, no source.
    defaults = {
        "birch plywood 3 mm": (0.18, 0.05),
        "cast acrylic 3 mm": (0.20, -0.05),
        "MDF 3 mm": (0.18, 0.03),
    }
    for name, (kerf_mm, interference_mm) in defaults.items():
        stock = book.stock(name)
        assert (stock.kerf.mean_mm, stock.interference_mm) == (kerf_mm, interference_mm)
    assert {s.name for s in stocks if s.grain} == {s.name for s in stocks if "ply" in s.material}
    assert {s.name for s in stocks if s.masked} == {s.name for s in stocks if "acr" in s.material}
    assert [m.name for m in book.machines()] == ["workshop laser"]
    assert book.machine() == Machine()
    assert book.offcuts() == ()


def test_a_stock_comes_back_as_it_was_saved(book: ShopBook) -> None:
    book.save_stock(WALNUT)
    again = ShopBook.open(book.path).stock("walnut ply 4 mm")
    assert again == WALNUT
    assert again.note == "from the small yard"


def test_names_are_found_as_people_write_them(book: ShopBook) -> None:
    assert book.stock("  Birch  PLYWOOD 3 mm").name == "birch plywood 3 mm"
    with pytest.raises(NotFoundError) as caught:
        book.stock("birch ply 3mm")
    assert caught.value.sentence().startswith(
        "the shop book has no stock called 'birch ply 3mm'. Did you mean birch plywood 3 mm"
    )
    with pytest.raises(RefusedMaterialError, match="PVC foam 3 mm must not be laser cut"):
        book.stock("PVC foam 3 mm")
    with pytest.raises(NotFoundError) as caught:
        book.machine("zzz")
    assert caught.value.sentence() == (
        "the shop book has no machine called 'zzz'. It lists: workshop laser."
    )
    with pytest.raises(NotFoundError) as caught:
        book.offcut("A01")
    assert caught.value.todo == "It lists no offcut yet."


def test_stocks_are_listed_in_a_persons_order(book: ShopBook) -> None:
    book.save_stock(replace(WALNUT, name="birch plywood 12 mm"))
    names = [s.name for s in book.stocks() if s.name.startswith("birch")]
    assert names == [
        "birch plywood 3 mm",
        "birch plywood 4 mm",
        "birch plywood 6.5 mm",
        "birch plywood 12 mm",
    ]
    assert sorted(["b", "A10", "a9"], key=natural_key) == ["a9", "A10", "b"]


def test_editing_notices_another_editor(book: ShopBook) -> None:
    book.save_stock(WALNUT)
    book.save_stock(replace(WALNUT, note="moved to rack 2"), instead_of=WALNUT)
    with pytest.raises(ChangedMeanwhileError) as caught:  # a note counts as a change
        book.save_stock(replace(WALNUT, grain=False), instead_of=WALNUT)
    assert caught.value.sentence() == (
        "the stock walnut ply 4 mm was changed by somebody else meanwhile. "
        "Look at it again and repeat your change."
    )
    assert book.stock(WALNUT.name).grain
    with pytest.raises(ChangedMeanwhileError, match="there is a stock called walnut ply 4 mm"):
        book.save_stock(replace(WALNUT, name="Walnut Ply 4 mm"))


def test_renaming_takes_the_offcuts_along_and_can_be_undone(book: ShopBook) -> None:
    book.save_stock(WALNUT)
    book.add_offcut(Offcut.rectangle("", WALNUT.name, 200, 100))
    number = book.save_stock(replace(WALNUT, name="walnut 4"), instead_of=WALNUT)
    assert [o.label for o in book.offcuts("walnut 4")] == ["A01"]
    with pytest.raises(NotFoundError):
        book.stock(WALNUT.name)
    book.undo(number)
    assert book.stock(WALNUT.name) == WALNUT
    assert [o.label for o in book.offcuts(WALNUT.name)] == ["A01"]
    assert "walnut 4" not in {s.name for s in book.stocks()}


def test_a_rename_onto_another_stock_is_refused(book: ShopBook) -> None:
    book.save_stock(WALNUT)
    with pytest.raises(ChangedMeanwhileError, match="there is a stock called MDF 3 mm already"):
        book.save_stock(replace(WALNUT, name="mdf 3 mm"), instead_of=WALNUT)
    assert book.stock("MDF 3 mm").material == "MDF"
    book.save_stock(replace(WALNUT, name="Walnut ply 4 mm"), instead_of=WALNUT)  # own capitals
    assert book.stock("walnut ply 4 mm").name == "Walnut ply 4 mm"


def test_nothing_is_removed_for_good(book: ShopBook) -> None:
    mdf = book.stock("MDF 3 mm")
    number = book.remove_stock("mdf 3 mm")
    with pytest.raises(NotFoundError):
        book.stock("MDF 3 mm")
    assert [(c.label, s) for c, s in book.stock_history("MDF 3 mm")] == [
        ("Start the shop book", mdf),
        ("Remove stock MDF 3 mm", None),
    ]
    book.undo(number)
    assert book.stock("MDF 3 mm") == mdf
    with pytest.raises(NotFoundError):
        book.remove_stock("no such")


def test_offcuts_are_real_shapes_with_labels(book: ShopBook) -> None:
    corner = Contour((Vertex(0, 0), Vertex(120, 0, 0.25), Vertex(120, 80), Vertex(0, 200)))
    hole = Contour.circle(30, 30, 10).reversed()
    first = book.add_offcut(Offcut("", "mdf 3 mm", corner, (hole,), note="a burnt corner"))
    second = book.add_offcut(Offcut.rectangle("", "MDF 3 mm", 300, 140))
    named = book.add_offcut(Offcut.rectangle("window piece", "MDF 6 mm", 50, 60))
    assert (first.label, second.label, named.label) == ("A01", "A02", "window piece")
    assert first.stock_name == "MDF 3 mm"
    assert book.offcuts("mdf 3 MM") == (first, second)
    assert book.offcut("a01") == first
    assert book.offcut("A01").note == "a burnt corner"
    book.remove_offcut("A02")
    assert book.add_offcut(Offcut.rectangle("", "MDF 3 mm", 10, 10)).label == "A03"  # never reused
    changed = replace(named, note="two scratches")
    book.save_offcut(changed, instead_of=named)
    assert book.offcut("window piece").note == "two scratches"
    with pytest.raises(ChangedMeanwhileError, match="labelled A01 already"):
        book.add_offcut(Offcut.rectangle("A01", "MDF 3 mm", 10, 10))
    with pytest.raises(NotFoundError, match="no stock called"):
        book.add_offcut(Offcut.rectangle("", "gold", 10, 10))


def test_labels_run_on_after_the_ninety_ninth(book: ShopBook) -> None:
    book.add_offcut(Offcut.rectangle("A99", "MDF 3 mm", 10, 10))
    assert book.add_offcut(Offcut.rectangle("", "MDF 3 mm", 10, 10)).label == "B01"


def test_machines(book: ShopBook) -> None:
    big = Machine("big laser", 1600, 1000, travel_mm_per_s=400, note="left of the door")
    book.save_machine(big)
    assert [m.name for m in book.machines()] == ["big laser", "workshop laser"]
    assert book.machine().name == "workshop laser"  # the shop's first one
    assert book.machine("Big Laser").note == "left of the door"
    faster = replace(big, travel_mm_per_s=500)
    book.save_machine(faster, instead_of=big)
    assert book.machine("big laser") == faster
    book.remove_machine("big laser")
    book.remove_machine("workshop laser")
    with pytest.raises(NotFoundError, match="lists no machine"):
        book.machine()


@pytest.mark.parametrize("price", [0.0, -1.0, float("nan")])
def test_a_price_of_nothing_is_refused(price: float) -> None:
    # C9 of the trade's check table: a price of zero or less is refused
    with pytest.raises(BadValueError):
        SheetSize(600, 400, price)


COMB = KerfRecord(
    "mdf 3 mm",
    date(2026, 11, 19),
    readings=(
        Reading(Method.FRAME, (10.0, 2.09), Axis.X),
        Reading(Method.PAIR, (19.8, 20.2, 20.0), face=Face.TOP, used=False, note="a chip"),
    ),
    felt=(FeelReading(Rung.SLOT, 3.05, 2.82, Feel.PRESS),),
    settings=CutSettings("workshop laser", "50 mm lens", 12.0, 0.6, 1),
    thickness_mm=(3.02, 3.05),
    comb=CombDrawn(3.04, 0.18, 0.18, (-0.1, 0.0, 0.1), compensated=False),
    note="focus at half thickness",
)


def test_records_come_back_as_they_were_kept(book: ShopBook) -> None:
    first = book.add_record(COMB)
    older = book.add_record(replace(COMB, on=date(2026, 3, 1), stock_name="MDF 6 mm", felt=()))
    assert (first.number, older.number) == (1, 2)
    assert book.records() == (first, older)
    again = ShopBook.open(book.path).records("MDF 3 MM")
    assert again == (replace(COMB, stock_name="MDF 3 mm", number=1),)
    assert again[0].note == "focus at half thickness"
    assert again[0].readings[1].note == "a chip"
    assert (first.name, replace(older, comb=None).name) == (
        "comb of 19 Nov 2026",
        "reading of 1 Mar 2026",
    )
    assert first.mean_thickness_mm == pytest.approx(3.035)
    with pytest.raises(NotFoundError):
        book.add_record(replace(COMB, stock_name="gold leaf"))


def test_a_record_can_be_changed_and_taken_out(book: ShopBook) -> None:
    kept = book.add_record(COMB)
    aside = replace(kept, readings=(replace(kept.readings[0], used=False),))
    book.save_record(aside, instead_of=kept)
    assert book.records() == (aside,)
    with pytest.raises(ChangedMeanwhileError):
        book.save_record(kept, instead_of=kept)
    number = book.remove_record(kept.number)
    assert book.records() == ()
    assert book.add_record(COMB).number == 2  # never given twice
    book.undo(number)
    assert [r.number for r in book.records()] == [2, 1]
    with pytest.raises(NotFoundError):
        book.remove_record(99)


def test_records_follow_a_stock_that_is_renamed(book: ShopBook) -> None:
    book.add_record(COMB)
    mdf = book.stock("MDF 3 mm")
    book.save_stock(replace(mdf, name="thin MDF"), instead_of=mdf)
    assert [r.stock_name for r in book.records("thin mdf")] == ["thin MDF"]
    assert book.records("MDF 3 mm") == ()


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"speed_mm_per_s": 0.0}, "a cut speed of 0 mm/s cannot be"),
        ({"power_share": 60.0}, "a power of 6000% cannot be. Give 1 to 100 %."),
        ({"passes": 0}, "0 passes cut nothing. Give one or more."),
    ],
)
def test_settings_that_cannot_be(change: dict[str, float], sentence: str) -> None:
    with pytest.raises(BadValueError) as caught:
        replace(COMB.settings, **change)
    assert caught.value.sentence().startswith(sentence)


def test_rates_are_kept_and_can_be_undone(book: ShopBook) -> None:
    assert book.rates() is None
    first = Rates(30.0, 25.0, 0.15)
    book.save_rates(first)
    number = book.save_rates(Rates(40.0, 25.0))
    book.undo(number)
    assert ShopBook.open(book.path).rates() == first
    book.save_rates(None)
    assert book.rates() is None
