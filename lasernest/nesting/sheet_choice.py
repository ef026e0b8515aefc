"""Which kinds of sheet to take: other orders and counts than the offered one, where prices differ.

Kinds are offered in the order of preference, offcuts that stand first stay
first. Where all sheets have a price, a plan may cost less on other kinds: a
few large sheets and a small one for the rest.
"""

from __future__ import annotations

import itertools
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace

from lasernest.domain.plan import NestRequest, Plan, Sheet, SheetPlan
from lasernest.nesting.filling import Choice
from lasernest.nesting.rows import SLACK_MM, FilledSheet, is_plain

MOST_KINDS = 4
"""Kinds that are tried in every order; of more only the cheapest a square millimetre."""

FEWER = 2
"""How many sheets of a kind fewer than needed are tried, the rest on other kinds."""


def choices(sheets: Sequence[Sheet], filled: Sequence[FilledSheet]) -> Iterator[Choice]:
    """Other choices of sheets that may cost less than a filling.

    Args:
        sheets: the kinds offered.
        filled: sheets that hold all panels, kinds in the order offered.
    """
    ahead = next((k for k, sheet in enumerate(sheets) if not sheet.is_offcut), len(sheets))
    others = range(ahead, len(sheets))
    if len(others) < 2 or any(sheet.price is None for sheet in sheets):
        return
    first: Choice = [(k, sheets[k].available) for k in range(ahead)]
    by_price = sorted(others, key=lambda k: ((sheets[k].price or 0.0) / sheets[k].area_mm2, k))
    kept = by_price[:MOST_KINDS]
    area_mm2 = sum(sheets[one.kind].area_mm2 for one in filled if one.kind >= ahead)
    for order in itertools.permutations(kept):
        yield [*first, *((k, sheets[k].available) for k in order)]
    for one, other in itertools.permutations(kept, 2):
        # About so many sheets of one kind hold it all; a few fewer, the rest on the other.
        needed = int(area_mm2 / sheets[one].area_mm2) + 1
        for count in range(max(0, needed - FEWER), needed):
            most = count if (limit := sheets[one].available) is None else min(count, limit)
            yield [*first, (one, most), (other, sheets[other].available)]


def on_cheaper_sheets(request: NestRequest, plan: Plan) -> Plan:
    """The plan with each sheet exchanged for the cheapest kind that its panels fit as they lie."""
    sheets = request.sheets
    if len(sheets) < 2 or any(sheet.price is None for sheet in sheets):
        return plan
    panels = {order.panel.name: order.panel for order in request.orders}
    used = Counter(sheets.index(one.sheet) for one in plan.sheets)
    changed: list[SheetPlan] = []
    for one in plan.sheets:
        price = one.sheet.price or 0.0
        boxes = [panels[p.panel_name].outer.posed(p.pose).bounds_mm() for p in one.placements]
        cheaper = [
            k
            for k, sheet in enumerate(sheets)
            if (sheet.price or 0.0) < price
            and is_plain(sheet)
            and (sheet.available is None or used[k] < sheet.available)
            and all(_inside(box, sheet) for box in boxes)
        ]
        if cheaper and is_plain(one.sheet):
            best = min(cheaper, key=lambda k: sheets[k].price or 0.0)
            used[sheets.index(one.sheet)] -= 1
            used[best] += 1
            changed.append(SheetPlan(sheets[best], one.placements))
        else:
            changed.append(one)
    return replace(plan, sheets=tuple(changed))


def _inside(box: tuple[float, float, float, float], sheet: Sheet) -> bool:
    x0, y0, x1, y1 = box
    low = sheet.margin_mm - SLACK_MM
    return min(x0, y0) >= low and x1 <= sheet.width_mm - low and y1 <= sheet.height_mm - low
