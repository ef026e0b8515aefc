from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from lasernest.domain.bookings import Booking, CutPanel, SheetUse
from lasernest.domain.contours import Contour
from lasernest.domain.offcuts import Offcut
from lasernest.domain.stock import Kerf, SheetSize, Stock
from lasernest.errors import BadValueError, ChangedMeanwhileError, NotFoundError
from lasernest.shop.book import ShopBook

OAK = Stock(
    "oak",
    "oak plywood",
    4.0,
    (SheetSize(600, 400, 9.0, 5), SheetSize(1220, 610, 24.0)),
    Kerf.same(0.2),
)
TODAY = date(2026, 11, 25)


@pytest.fixture
def book(tmp_path: Path) -> ShopBook:
    book = ShopBook.open(tmp_path / "book.sqlite")
    book.save_stock(OAK)
    return book


def count(book: ShopBook) -> int | None:
    return book.stock("oak").sizes[0].count


def corner(label: str = "") -> Offcut:
    return Offcut.of(label, "oak", Contour.polygon([(300, 0), (600, 0), (600, 400)]))


def test_a_cut_is_booked_as_a_whole(book: ShopBook) -> None:
    shelf = book.add_offcut(Offcut.rectangle("", "oak", 300, 140))
    booked = book.book(
        Booking(
            TODAY,
            "seed drawers",
            sheets=(SheetUse("OAK", 600.0, 400.0, 2), SheetUse("oak", 1219.8, 610.2)),
            offcuts_used=(Offcut.rectangle("a01", "oak", 1, 1),),
            offcuts_kept=(corner(),),
            panels=(CutPanel("drawer", "side", 12, "oak", "rev-8", "CUT-1.dxf"),),
            note="second batch",
        )
    )
    assert booked.number == 1
    assert count(book) == 3
    assert book.stock("oak").sizes[1].count is None  # not counted stays so
    assert booked.offcuts_used == (shelf,)  # as it lay there, not as it was named
    (kept,) = book.offcuts("oak")
    assert (kept.label, kept.cut_from) == ("A02", "seed drawers")
    assert kept.area_mm2 == pytest.approx(60_000)  # half of 300 x 400
    assert booked.offcuts_kept == (kept,)
    assert book.bookings() == (booked,)
    assert book.bookings()[0].note == "second batch"


def test_a_booking_taken_back_restores_counts_and_shelf(book: ShopBook) -> None:
    shelf = book.add_offcut(Offcut.rectangle("", "oak", 300, 140))
    before = (book.stocks(), book.offcuts())
    one = book.book(Booking(TODAY, "a", (SheetUse("oak", 600, 400, 2),), (shelf,), (corner(),)))
    two = book.book(Booking(TODAY, "b", (SheetUse("oak", 600, 400, 1),)))
    assert count(book) == 2
    book.take_back(one.number)  # whatever was booked since
    assert count(book) == 4
    assert book.offcuts() == (shelf,)
    assert book.bookings() == (two,)
    book.take_back(two.number)
    assert (book.stocks(), book.offcuts()) == before
    with pytest.raises(NotFoundError, match="there is no booking number 1"):
        book.take_back(one.number)


def test_an_offcut_used_since_blocks_taking_back(book: ShopBook) -> None:
    first = book.book(Booking(TODAY, "a", (SheetUse("oak", 600, 400),), (), (corner(),)))
    second = book.book(Booking(TODAY, "b", (), first.offcuts_kept))
    with pytest.raises(ChangedMeanwhileError) as caught:
        book.take_back(first.number)
    assert caught.value.sentence() == (
        "the offcut A01 that booking 1 put on the shelf was used or changed since. "
        "Take back the booking that used it first."
    )
    assert count(book) == 4  # nothing half undone
    book.take_back(second.number)
    book.take_back(first.number)
    assert (count(book), book.offcuts()) == (5, ())


@pytest.mark.parametrize(
    ("booking", "error", "sentence"),
    [
        (
            Booking(TODAY, "a", (SheetUse("oak", 600, 400, 6),)),
            BadValueError,
            "there are 5 sheets of oak, 600 x 400 mm, and the cut takes 6. "
            "Correct the count, or book in the sheets that came.",
        ),
        (
            Booking(TODAY, "a", (SheetUse("oak", 500, 400),)),
            NotFoundError,
            "oak has no sheets of 500 x 400 mm. It comes in 600 x 400 mm, 1220 x 610 mm.",
        ),
        (
            Booking(TODAY, "a", (SheetUse("oak", 600, 400),), (corner("Q77"),)),
            NotFoundError,
            "the shop book has no offcut called 'Q77'. It lists no offcut yet.",
        ),
        (
            Booking(TODAY, "a", (), (), (replace(corner(), stock_name="gold"),)),
            NotFoundError,
            "the shop book has no stock called 'gold'.",
        ),
    ],
)
def test_what_cannot_be_booked_changes_nothing(
    book: ShopBook, booking: Booking, error: type[Exception], sentence: str
) -> None:
    with pytest.raises(error) as caught:
        book.book(booking)
    assert str(caught.value).startswith(sentence)
    assert (count(book), book.offcuts(), book.bookings()) == (5, (), ())


def test_history_of_what_was_cut_from_what(book: ShopBook) -> None:
    side = CutPanel("drawer", "side", 4, "oak", sheet="CUT-1.dxf")
    lid = CutPanel("clock", "lid", 1, "oak")
    first = book.book(Booking(date(2026, 1, 5), "drawers", panels=(side,)))
    second = book.book(Booking(date(2026, 2, 5), "clocks", panels=(lid,)))
    third = book.book(Booking(date(2026, 2, 5), "drawers", panels=(side, lid)))
    assert book.bookings() == (third, second, first)
    assert book.bookings(job="drawers") == (third, first)
    assert book.bookings(panel="lid") == (third, second)
    assert book.bookings(job="clocks", panel="side") == ()


def test_what_cannot_be() -> None:
    with pytest.raises(BadValueError):
        SheetUse("oak", 600, 400, 0)
    with pytest.raises(BadValueError):
        CutPanel("a", "b", 0, "oak")
