"""What makes one plan better than another: lower scores win, compared from the left."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence

from lasernest.domain.plan import NestRequest, Sheet


def score(sheets: Sequence[Sheet], last_used_length_mm: float) -> tuple[float, float, float]:
    """Cheapest sheets where all have a price, then fewest, then the shortest end.

    Args:
        sheets: the sheets used, in order.
        last_used_length_mm: how much of the last one is used, from its left edge.
    """
    prices = [sheet.price for sheet in sheets if sheet.price is not None]
    total = sum(prices) if len(prices) == len(sheets) else 0.0
    return (total, float(len(sheets)), last_used_length_mm)


def rank(
    request: NestRequest,
    sheets: Sequence[Sheet],
    laid: Sequence[Mapping[int, int]],
    last_used_length_mm: float,
) -> tuple[float, ...]:
    """All that counts of a plan: what is missing, products torn apart, `score`, what is on top.

    Args:
        request: what was asked.
        sheets: the sheets used, in order.
        laid: per sheet, copies of each order by index.
        last_used_length_mm: how much of the last one is used.
    """
    placed = Counter[int]()
    for one in laid:
        placed.update(one)
    missing: Counter[int] = Counter()
    on_top_mm2 = 0.0
    for index, order in enumerate(request.orders):
        missing[order.priority] += max(0, order.quantity - placed[index])
        if placed[index] > order.quantity:
            on_top_mm2 += (placed[index] - order.quantity) * order.panel.net_area_mm2
    # Rounded, since sums in another order must not look like a gain.
    torn = torn_products(request, laid) if request.together else 0
    total, count, used_mm = score(sheets, last_used_length_mm)
    return (
        *(float(missing[level]) for level in sorted(missing, reverse=True)),
        float(torn),
        total,
        count,
        -round(on_top_mm2, 6),
        used_mm,
    )


def torn_products(request: NestRequest, laid: Sequence[Mapping[int, int]]) -> int:
    """How many products do not lie whole on one sheet; copies of a panel are all alike."""
    orders: dict[str, dict[int, int]] = {}
    for index, order in enumerate(request.orders):
        if order.product and order.quantity:
            per = order.per_product or order.quantity
            orders.setdefault(order.product, {})[index] = per
    torn = 0
    for parts in orders.values():
        wanted = max(-(-request.orders[i].quantity // per) for i, per in parts.items())
        whole = sum(min(one.get(i, 0) // per for i, per in parts.items()) for one in laid)
        torn += max(0, wanted - whole)
    return torn
