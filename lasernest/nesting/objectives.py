"""What makes one plan better than another: lower scores win, compared from the left."""

from __future__ import annotations

from collections.abc import Sequence

from lasernest.domain.plan import Sheet


def score(sheets: Sequence[Sheet], last_used_length_mm: float) -> tuple[float, float, float]:
    """Cheapest sheets where all have a price, then fewest, then the shortest end.

    Args:
        sheets: the sheets used, in order.
        last_used_length_mm: how much of the last one is used, from its left edge.
    """
    prices = [sheet.price for sheet in sheets if sheet.price is not None]
    total = sum(prices) if len(prices) == len(sheets) else 0.0
    return (total, float(len(sheets)), last_used_length_mm)
