"""Fills sheets one after the other with panels by their boxes: the first plan's way of laying.

What is laid together is a *group*: a single copy, or the copies of one product
that shall lie on one sheet. A group is laid whole or not at all.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence

import shapely.affinity

from lasernest.domain.plan import Sheet
from lasernest.nesting.rows import (
    SLACK_MM,
    Box,
    FilledSheet,
    Kind,
    Laid,
    Raster,
    Skyline,
    is_plain,
)

Group = tuple[int, ...]
"""Copies laid together, as indices of orders."""

Choice = Sequence[tuple[int, int | None]]
"""Kinds of sheet by index, in the order they are filled, and how many of each at most."""

BoxCost = Callable[[Box, float], float]
"""Of a box and the x of its right side; the cheapest stance is taken."""


def as_offered(sheets: Sequence[Sheet]) -> Choice:
    """All kinds in the order of preference."""
    return [(index, sheet.available) for index, sheet in enumerate(sheets)]


def fill_sheets(
    kinds: Sequence[Kind],
    groups: Sequence[Group],
    sheets: Sequence[Sheet],
    gap_mm: float,
    *,
    box_cost: BoxCost,
    extras: Sequence[int] = (),
    choice: Choice | None = None,
    stopped: Callable[[], bool] = lambda: False,
) -> tuple[list[FilledSheet], list[Group]]:
    """Lay groups in the given order on sheets, kinds in order of preference.

    Args:
        kinds: one per order.
        groups: in the order of laying.
        sheets: the kinds of sheet; `available` is respected.
        gap_mm: between panels.
        box_cost: which stance to take.
        extras: orders whose panels fill what is left free, in order of preference;
            no sheet is begun for them but the first.
        choice: the kinds of sheet to fill; all that are offered if not given.
        stopped: asked between groups; what is left then stays unplaced.

    Returns:
        The sheets with what was laid on them, and the groups that are left over.
    """
    filled: list[FilledSheet] = []
    # Copies of the same group in a row are counted, not listed: looking at each of tens of
    # thousands again for every sheet took minutes.
    left = [(group, len(list(same))) for group, same in itertools.groupby(groups)]
    for index, most in choice or as_offered(sheets):
        used = 0
        while (left or (extras and not filled)) and (most is None or used < most):
            filling = _Filling(index, kinds, sheets[index], gap_mm, box_cost)
            rest = []
            for group, count in left:
                laid = 0
                while laid < count and not stopped() and filling.lay_all(group):
                    laid += 1
                if laid < count:
                    rest.append((group, count - laid))
            for order in extras:
                while not stopped() and filling.lay_all((order,)):
                    pass
            if not filling.one.laid:
                break
            filled.append(filling.one)
            used += 1
            left = rest
    return filled, [group for group, count in left for _ in range(count)]


def holds(kinds: Sequence[Kind], group: Group, sheet: Sheet, gap_mm: float) -> bool:
    """Whether rows of boxes find room for a whole group on an empty sheet."""
    return _Filling(0, kinds, sheet, gap_mm, lambda _, right_mm: right_mm).lay_all(group)


class _Filling:
    """One sheet while it is being filled."""

    def __init__(
        self, index: int, kinds: Sequence[Kind], sheet: Sheet, gap_mm: float, box_cost: BoxCost
    ) -> None:
        self.one = FilledSheet(index)
        self._kinds, self._half_mm, self._box_cost = kinds, 0.5 * gap_mm, box_cost
        self._skyline: Skyline | None = None
        self._raster: Raster | None = None
        if is_plain(sheet):
            inset_mm = sheet.margin_mm - self._half_mm
            self._skyline = Skyline(
                inset_mm, inset_mm, sheet.width_mm - inset_mm, sheet.height_mm - inset_mm
            )
        else:
            self._raster = Raster(sheet, gap_mm)
        self._hopeless: set[Group] = set()
        self._too_large: list[tuple[float, float]] = []
        """The smallest boxes that found no place: none that is as large finds one any more."""

    def lay_all(self, group: Group) -> bool:
        """Lay a group; False, and all as before, when there is no room for all of it."""
        if group in self._hopeless:
            return False
        ground = self._skyline or self._raster
        assert ground is not None
        back = ground.mark() if len(group) > 1 else None
        count, used_mm, too_large = len(self.one.laid), self.one.used_length_mm, self._too_large
        for order in group:
            if not self._lay(self._kinds[order]):
                # What is free gets only less, so a second try would be in vain.
                self._hopeless.add(group)
                if back is not None:
                    back()
                    del self.one.laid[count:]
                    self.one.used_length_mm, self._too_large = used_mm, too_large
                return False
        return True

    def _lay(self, kind: Kind) -> bool:
        found = self._on_skyline(kind) if self._skyline else self._on_raster(kind)
        if found is None:
            return False
        laid, right_mm = found
        self.one.laid.append(laid)
        self.one.used_length_mm = max(self.one.used_length_mm, right_mm)
        return True

    def _on_skyline(self, kind: Kind) -> tuple[Laid, float] | None:
        assert self._skyline is not None
        best: tuple[float, Box, float, float] | None = None
        for box in kind.boxes:
            width_mm, height_mm = box.width_mm, box.height_mm
            if any(width_mm >= w and height_mm >= h for w, h in self._too_large):
                continue
            place = self._skyline.find(width_mm, height_mm)
            if place is None:
                kept = [(w, h) for w, h in self._too_large if w < width_mm or h < height_mm]
                self._too_large = [*kept, (width_mm, height_mm)]
            else:
                cost = self._box_cost(box, place[0] + box.width_mm)
                if best is None or cost < best[0] - SLACK_MM:
                    best = (cost, box, *place)
        if best is None:
            return None
        _, box, x, y = best
        self._skyline.take(x, y, box.width_mm, box.height_mm)
        laid = Laid(kind.order, box.stance, x - box.x0_mm, y - box.y0_mm)
        return laid, x + box.width_mm - self._half_mm

    def _on_raster(self, kind: Kind) -> tuple[Laid, float] | None:
        assert self._raster is not None
        best: tuple[float, int, float, float] | None = None
        for index, shape in enumerate(kind.shapes):
            place = self._raster.find(shape)
            if place is not None:
                right_mm = place[0] + shape.bounds[2]
                if best is None or right_mm < best[0] - SLACK_MM:
                    best = (right_mm, index, *place)
        if best is None:
            return None
        right_mm, index, x, y = best
        self._raster.take(shapely.affinity.translate(kind.shapes[index], x, y))
        return Laid(kind.order, kind.boxes[index].stance, x, y), float(right_mm)
