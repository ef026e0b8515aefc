"""The shop book under bookings in any order: what is taken back was never there."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from tempfile import TemporaryDirectory

from hypothesis import given, settings
from hypothesis import strategies as st

from lasernest.domain.bookings import Booking, CutPanel, SheetUse
from lasernest.domain.offcuts import Offcut
from lasernest.domain.stock import Kerf, SheetSize, Stock
from lasernest.shop.book import ShopBook

DAY = date(2026, 11, 25)
SIZES = ((600.0, 400.0), (300.0, 200.0))
ON_HAND = 50


def wanted(number: int, sheets: tuple[int, int], kept: int) -> Booking:
    return Booking(
        DAY,
        f"order {number}",
        tuple(SheetUse("birch", *size, n) for size, n in zip(SIZES, sheets, strict=True) if n),
        offcuts_kept=tuple(
            Offcut.rectangle("", "birch", 100.0 + 10.0 * number, 60.0 + i) for i in range(kept)
        ),
        panels=(CutPanel("case", "side", 1 + number, "birch"),),
    )


bookings = st.lists(
    st.tuples(st.tuples(st.integers(0, 5), st.integers(0, 5)), st.integers(0, 2)),
    min_size=1,
    max_size=6,
)


@settings(max_examples=25, deadline=None)
@given(asked=bookings, data=st.data())
def test_counts_are_those_of_the_bookings_that_stand(
    asked: list[tuple[tuple[int, int], int]], data: st.DataObject
) -> None:
    stock = Stock(
        "birch", "birch plywood", 3.0, tuple(SheetSize(*s, 5.0, ON_HAND) for s in SIZES),
        Kerf.same(0.2),
    )  # fmt: skip
    with TemporaryDirectory() as folder:
        shop = ShopBook.open(Path(folder) / "book.sqlite")
        shop.save_stock(stock)
        before = shop.offcuts()
        booked = [shop.book(wanted(i, *what)) for i, what in enumerate(asked)]
        gone = data.draw(st.lists(st.sampled_from(booked), unique_by=lambda b: b.number))
        for booking in gone:
            shop.take_back(booking.number)
        stands = [b for b in booked if b.number not in {g.number for g in gone}]
        taken = [
            sum(u.count for b in stands for u in b.sheets if (u.width_mm, u.height_mm) == size)
            for size in SIZES
        ]
        assert [s.count for s in shop.stock("birch").sizes] == [ON_HAND - n for n in taken]
        labels = [offcut.label for b in stands for offcut in b.offcuts_kept]
        assert sorted(o.label for o in shop.offcuts()) == sorted(labels)
        assert {b.number for b in shop.bookings()} == {b.number for b in stands}
        for booking in stands:
            shop.take_back(booking.number)
        assert shop.stock("birch") == stock
        assert shop.offcuts() == before
