"""The first plan of a request: rows of boxes in a few ways; and why panels are left over."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Sequence

from lasernest.domain.control import Control
from lasernest.domain.plan import Axis, NestRequest, PanelOrder, Turns, Unplaced
from lasernest.nesting.filling import BoxCost, Choice, Group, fill_sheets, holds
from lasernest.nesting.objectives import rank
from lasernest.nesting.outlines import Stance
from lasernest.nesting.rows import (
    SLACK_MM,
    Box,
    FilledSheet,
    Kind,
    fits_somewhere,
    is_plain,
    kind_of,
)
from lasernest.nesting.sheet_choice import choices

Way = tuple[Callable[[Kind], float], BoxCost]
"""By which size the next panel is chosen, and the cost of a stance by the x of its right side."""


class FirstPlan:
    """What the first plan knows of a request, and the groups that are laid together.

    Args:
        request: panels, sheets, gap.
        stances: per order, the ways its panel may be laid in rows.
    """

    def __init__(self, request: NestRequest, stances: Sequence[Sequence[Stance]]) -> None:
        self.request = request
        self.kinds = [
            kind_of(index, order.panel, ways, request.gap_mm)
            for index, (order, ways) in enumerate(zip(request.orders, stances, strict=True))
        ]
        self.impossible = {
            kind.order
            for kind, order in zip(self.kinds, request.orders, strict=True)
            if (order.quantity or order.as_many_as_fit)
            and not any(fits_somewhere(kind, sheet, request.gap_mm) for sheet in request.sheets)
        }
        self.extras = sorted(
            (
                index
                for index, order in enumerate(request.orders)
                if order.as_many_as_fit and index not in self.impossible
            ),
            key=lambda k: (-request.orders[k].priority, -request.orders[k].panel.net_area_mm2, k),
        )
        self.groups = self._products() if request.together else self._singles()

    def _singles(self, without: Counter[int] | None = None) -> list[Group]:
        return [
            (index,)
            for index, order in enumerate(self.request.orders)
            if index not in self.impossible
            for _ in range(order.quantity - (without or Counter())[index])
        ]

    def _products(self) -> list[Group]:
        """A group for each product that a sheet can hold; the rest of the panels one by one."""
        request = self.request
        parts: dict[str, list[int]] = {}
        for index, order in enumerate(request.orders):
            if order.product and order.quantity and index not in self.impossible:
                parts.setdefault(order.product, []).append(index)
        groups: list[Group] = []
        for orders in parts.values():
            left = {k: request.orders[k].quantity for k in orders}
            while any(left.values()):
                group: list[int] = []
                for k in orders:
                    count = min(left[k], request.orders[k].per_product or left[k])
                    left[k] -= count
                    group += [k] * count
                group.sort(key=lambda k: (-_long_side(self.kinds[k]), k))
                groups.append(tuple(group))
        possible = {
            group
            for group in set(groups)
            if any(holds(self.kinds, group, sheet, request.gap_mm) for sheet in request.sheets)
        }
        kept = [group for group in groups if group in possible]
        return kept + self._singles(Counter(k for group in kept for k in group))

    def fill(self, *, control: Control) -> list[FilledSheet]:
        """Sheets filled with rows of boxes, the best of a few ways to lay them."""
        request = self.request
        best: tuple[tuple[float, ...], list[FilledSheet]] | None = None
        best_way = self.ways()[0]

        def attempt(way: Way, choice: Choice | None = None) -> None:
            nonlocal best, best_way
            filled, _ = fill_sheets(
                self.kinds,
                self.in_order(self.groups, way),
                request.sheets,
                request.gap_mm,
                box_cost=way[1],
                extras=self.extras,
                choice=choice,
                stopped=_never if best is None else lambda: control.stopped,
            )
            found = rank_of(request, filled)
            if best is None or found < best[0]:
                best, best_way = (found, filled), way

        for way in self.ways():
            if best is None or not control.stopped:
                attempt(way)
        assert best is not None  # there is at least one way
        for choice in choices(request.sheets, best[1]):
            if not control.stopped:
                attempt(best_way, choice)
        return best[1]

    def in_order(self, groups: Sequence[Group], way: Way) -> list[Group]:
        """Groups in the order of laying: by priority, then the largest first."""
        sizes = [way[0](kind) for kind in self.kinds]
        orders = self.request.orders
        weights = {
            group: (-max(orders[k].priority for k in group), -sum(sizes[k] for k in group), group)
            for group in set(groups)
        }
        return sorted(groups, key=lambda group: weights[group])

    def ways(self) -> list[Way]:
        """Orders of laying and costs of stances to try; the first is the usual winner."""
        request = self.request
        sheet = request.sheets[0]
        width_mm = sheet.width_mm - 2.0 * sheet.margin_mm + request.gap_mm
        height_mm = sheet.height_mm - 2.0 * sheet.margin_mm + request.gap_mm

        def fullest_grid(box: Box, right_mm: float) -> float:
            across = math.floor((width_mm + SLACK_MM) / box.width_mm)
            up = math.floor((height_mm + SLACK_MM) / box.height_mm)
            return right_mm - 1e6 * across * up

        def leftmost(box: Box, right_mm: float) -> float:
            return right_mm

        def upright(box: Box, right_mm: float) -> float:
            return right_mm + 1e6 * box.width_mm

        def lying(box: Box, right_mm: float) -> float:
            return right_mm + 1e6 * box.height_mm

        if not any(is_plain(one) for one in request.sheets):
            return [(_long_side, leftmost)]
        return [
            (_long_side, fullest_grid),
            (_long_side, leftmost),
            (_long_side, upright),
            (_long_side, lying),
            (_area, leftmost),
        ]

    def unplaced(self, placed: Counter[int]) -> tuple[Unplaced, ...]:
        """Copies that are missing on the sheets, and why."""
        found: list[Unplaced] = []
        for index, order in enumerate(self.request.orders):
            count = order.quantity - placed[index]
            if index in self.impossible and (count > 0 or order.as_many_as_fit):
                reason = _too_large(order, self.request)
                found.append(Unplaced(order.panel.name, max(0, count), reason))
            elif count > 0:
                reason = "there are no more sheets; allow more of them or order fewer copies"
                found.append(Unplaced(order.panel.name, count, reason))
        return tuple(found)


def rank_of(request: NestRequest, filled: Sequence[FilledSheet]) -> tuple[float, ...]:
    """What counts of filled sheets; lower is better."""
    used_mm = filled[-1].used_length_mm if filled else 0.0
    sheets = [request.sheets[one.kind] for one in filled]
    return rank(request, sheets, [one.copies() for one in filled], used_mm)


def _never() -> bool:
    return False


def _long_side(kind: Kind) -> float:
    return max(max(box.width_mm, box.height_mm) for box in kind.boxes)


def _area(kind: Kind) -> float:
    return kind.boxes[0].width_mm * kind.boxes[0].height_mm


def _too_large(order: PanelOrder, request: NestRequest) -> str:
    """Why no sheet can take a panel, with what would be free on the largest."""
    width_mm, height_mm = order.panel.size_mm
    sheet = max(request.sheets, key=lambda s: s.area_mm2)
    free_width_mm = max(0.0, sheet.width_mm - 2.0 * sheet.margin_mm)
    free_height_mm = max(0.0, sheet.height_mm - 2.0 * sheet.margin_mm)
    turned = {
        Turns.NONE: " as drawn",
        Turns.HALF: " along the grain",
        Turns.QUARTER: " in any quarter turn",
        Turns.FREE: "",
    }[order.turns]
    if request.long_sides_along is Axis.X:
        turned = " with its longer side along x"
    elif request.long_sides_along is Axis.Y:
        turned = " with its longer side along y"
    shaped = "" if is_plain(sheet) else " and shape"
    return (
        f"its size of {width_mm:g} x {height_mm:g} mm fits on no sheet{turned}; "
        f"the largest leaves {free_width_mm:g} x {free_height_mm:g} mm{shaped} inside its margin"
    )
