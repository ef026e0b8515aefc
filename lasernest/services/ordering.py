"""What is left to cut for an order: needs, spares and scrap, less what was cut and is good."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from lasernest.domain.bookings import Booking
from lasernest.domain.orders import CutLine, Order, start_count
from lasernest.errors import BadValueError, NotFoundError, UsageError


def cut_list(
    order: Order, bookings: Iterable[Booking] = (), failed: Mapping[str, int] | None = None
) -> tuple[CutLine, ...]:
    """The panels of an order and how many copies of each to cut.

    Copies count as on hand when a booking of the order's name holds them, of the
    revision that is asked for, and none has told since that they failed; those of
    an older drawing are cut again. The expected scrap is added to what is lacking.

    Args:
        order: several products may share it; they are planned together.
        bookings: in any order; those of other jobs are passed over.
        failed: by panel name, or `product/panel`, copies that were booked and have
            failed or got lost since.

    Raises:
        NotFoundError: the order has no such panel.
        UsageError: more are said to have failed than were booked.
    """
    told = dict(failed or {})
    cut: dict[tuple[str, str, str, str], int] = {}
    for booking in bookings:
        if booking.job != order.name:
            continue
        for sign, copies in ((1, booking.panels), (-1, booking.failed)):
            for done in copies:
                key = (done.product, done.panel, done.stock_name, done.revision)
                cut[key] = cut.get(key, 0) + sign * done.count
    lines = []
    for line in order.lines:
        for need in line.panels:
            needed = line.units * need.per_unit + line.spares
            key = (line.product, need.panel, need.stock_name, need.revision)
            again = sum(told.pop(k, 0) for k in (need.panel, f"{line.product}/{need.panel}"))
            on_hand = cut.get(key, 0) - again
            if again < 0:
                raise BadValueError(f"{again} of {need.panel} cannot have failed")
            if on_hand < 0:
                raise UsageError(
                    f"{again} of {need.panel} cannot have failed: {on_hand + again} were booked "
                    f"for {order.name}",
                    todo="Book a cut when it is made; what was never booked is cut anyway.",
                )
            lacking = max(0, needed - on_hand)
            lines.append(
                CutLine(
                    line.product,
                    need.panel,
                    need.stock_name,
                    needed,
                    on_hand,
                    start_count(lacking, order.scrap_share),
                    again,
                    sum(n for k, n in cut.items() if k[:3] == key[:3] and k != key),
                )
            )
    if told:
        raise NotFoundError(
            f"the order has no panel {next(iter(told))}",
            todo=f"Its panels: {', '.join(line.panel for line in lines[:8])}.",
        )
    return tuple(lines)


def booked_for(product: str, bookings: Iterable[Booking]) -> dict[str, dict[str, int]]:
    """By panel of a product, the orders it was cut for, and copies booked less failed ones."""
    found: dict[str, dict[str, int]] = {}
    for booking in bookings:
        for sign, copies in ((1, booking.panels), (-1, booking.failed)):
            for cut in copies:
                if cut.product == product:
                    orders = found.setdefault(cut.panel, {})
                    orders[booking.job] = orders.get(booking.job, 0) + sign * cut.count
    return found


def by_stock(lines: Iterable[CutLine]) -> dict[str, tuple[CutLine, ...]]:
    """The lines that are to be cut, by the stock they are cut from."""
    found: dict[str, list[CutLine]] = {}
    for line in lines:
        if line.to_cut:
            found.setdefault(line.stock_name, []).append(line)
    return {stock: tuple(batch) for stock, batch in found.items()}
