"""What is left to cut for an order: needs, spares and scrap, less what was cut already."""

from __future__ import annotations

from collections.abc import Iterable

from lasernest.domain.bookings import Booking
from lasernest.domain.orders import CutLine, Order
from lasernest.services.costing import start_count


def cut_list(order: Order, bookings: Iterable[Booking] = ()) -> tuple[CutLine, ...]:
    """The panels of an order and how many copies of each to cut.

    Copies count as on hand when a booking of the order's name holds them as good
    and of the revision that is asked for; failed ones and those of an older
    drawing are cut again. The expected scrap is added to what is lacking only.

    Args:
        order: several products may share it; they are planned together.
        bookings: in any order; those of other jobs are passed over.
    """
    cut: dict[tuple[str, str, str, str], int] = {}
    for booking in bookings:
        if booking.job != order.name:
            continue
        for done in booking.panels:
            if done.good:
                key = (done.product, done.panel, done.stock_name, done.revision)
                cut[key] = cut.get(key, 0) + done.count
    lines = []
    for line in order.lines:
        for need in line.panels:
            needed = line.units * need.per_unit + line.spares
            on_hand = cut.get((line.product, need.panel, need.stock_name, need.revision), 0)
            lacking = max(0, needed - on_hand)
            lines.append(
                CutLine(
                    line.product,
                    need.panel,
                    need.stock_name,
                    needed,
                    on_hand,
                    start_count(lacking, order.scrap_share),
                )
            )
    return tuple(lines)


def by_stock(lines: Iterable[CutLine]) -> dict[str, tuple[CutLine, ...]]:
    """The lines that are to be cut, by the stock they are cut from."""
    found: dict[str, list[CutLine]] = {}
    for line in lines:
        if line.to_cut:
            found.setdefault(line.stock_name, []).append(line)
    return {stock: tuple(batch) for stock, batch in found.items()}
