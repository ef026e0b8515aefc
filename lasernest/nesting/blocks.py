"""A plan of blocks: columns of each panel's best pattern, then single panels against a skyline.

For jobs with many equal panels. Blocks follow each other from left to right,
the panel with the most area first; what no whole column is left for goes
into the rest of the sheets by boxes.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence

import shapely
import shapely.affinity

from lasernest.domain.plan import NestRequest, Sheet
from lasernest.nesting.lattice import Lattices, Pattern
from lasernest.nesting.outlines import Stance
from lasernest.nesting.rows import FilledSheet, Laid, Skyline, is_plain

FEWEST = 6
"""Copies of a panel from which a pattern is looked for."""

TRIED = 40
"""Patterns of a panel that are laid out to see how many fit."""

MOST_CORNERS = 120
"""Outlines with more corners get no pattern: it would take too long."""

Room = tuple[float, float, float, float]


def pattern_filling(
    request: NestRequest,
    shapes: Mapping[int, shapely.Polygon],
    stances: Sequence[Sequence[Stance]],
    copies: Mapping[int, int],
    extras: Mapping[int, int],
    *,
    most_sheets: int | None,
    poll: Callable[[], object],
) -> list[FilledSheet] | None:
    """Sheets filled with blocks of patterns, or None where that does not apply.

    Args:
        request: plain sheets only.
        shapes: grown outline of each order that takes part.
        stances: per order.
        copies: how many of each order are asked for.
        extras: how many more may be laid, once all others are.
        most_sheets: no more are filled.
        poll: called every few milliseconds; may raise.
    """
    wanted = Counter(copies) + Counter(extras)
    many = [o for o in wanted if wanted[o] >= FEWEST and _corners(shapes[o]) <= MOST_CORNERS]
    if not many or not all(is_plain(sheet) for sheet in request.sheets):
        return None
    many.sort(key=lambda o: (o not in copies, -shapes[o].area * copies.get(o, 0), o))
    lattices: dict[int, Lattices] = {}
    for order in many:
        poll()
        lattices[order] = Lattices(shapes[order], stances[order], poll=poll)
    filled: list[FilledSheet] = []
    half_mm = 0.5 * request.gap_mm
    for kind, sheet in enumerate(request.sheets):
        used = 0
        while (
            wanted.total()
            and (sheet.available is None or used < sheet.available)
            and (most_sheets is None or len(filled) < most_sheets)
        ):
            poll()
            one = _fill_one(
                kind, sheet, wanted, lattices, shapes, stances, half_mm=half_mm, poll=poll
            )
            if not one.laid:
                break
            filled.append(one)
            used += 1
    return filled


def _corners(shape: shapely.Polygon) -> int:
    return int(shapely.get_num_coordinates(shape))


def _fill_one(
    kind: int,
    sheet: Sheet,
    left: Counter[int],
    lattices: Mapping[int, Lattices],
    shapes: Mapping[int, shapely.Polygon],
    stances: Sequence[Sequence[Stance]],
    *,
    half_mm: float,
    poll: Callable[[], object],
) -> FilledSheet:
    """One sheet: blocks while a whole column of them is wanted, then boxes; `left` is lowered."""
    inset_mm = sheet.margin_mm - half_mm
    x0, y0 = inset_mm, inset_mm
    x1, y1 = sheet.width_mm - inset_mm, sheet.height_mm - inset_mm
    one = FilledSheet(kind)
    for order, lattice in lattices.items():
        while left[order] >= FEWEST:
            block = _best_block(lattice, (x0, y0, x1, y1), left[order], poll)
            if len(block) < FEWEST:
                break
            for stance, x, y in block:
                origin = lattice.origins[stance]
                one.laid.append(
                    Laid(order, stances[order][stance], float(x + origin[0]), float(y + origin[1]))
                )
            left[order] -= len(block)
            x0 = max(x + float(lattice.boxes[stance, 2]) for stance, x, _ in block)
            one.used_length_mm = x0 - half_mm
    _fill_rest(one, (x0, y0, x1, y1), left, shapes, stances, half_mm=half_mm)
    return one


def _best_block(
    lattice: Lattices, room: Room, count: int, poll: Callable[[], object]
) -> list[tuple[int, float, float]]:
    """The block with the most panels, among those the shortest."""
    best: list[tuple[int, float, float]] = []
    best_end = 0.0
    for pattern in _tried(lattice):
        poll()
        block = lattice.fill(pattern, room, count)
        end = max((x + float(lattice.boxes[s, 2]) for s, x, _ in block), default=0.0)
        if len(block) > len(best) or (len(block) == len(best) and end < best_end):
            best, best_end = block, end
    return best


def _tried(lattice: Lattices) -> list[Pattern]:
    return lattice.patterns[:TRIED]


def _fill_rest(
    one: FilledSheet,
    room: Room,
    left: Counter[int],
    shapes: Mapping[int, shapely.Polygon],
    stances: Sequence[Sequence[Stance]],
    *,
    half_mm: float,
) -> None:
    """Lay single panels by their boxes, the largest first."""
    boxes = {
        order: [_box(shapes[order], stance) for stance in stances[order]]
        for order in left
        if left[order]
    }
    skyline = Skyline(*room)
    for order in sorted(boxes, key=lambda o: -max(max(b[2] - b[0], b[3] - b[1]) for b in boxes[o])):
        while left[order]:
            best: tuple[float, int, float, float] | None = None
            for k, (bx0, by0, bx1, by1) in enumerate(boxes[order]):
                place = skyline.find(bx1 - bx0, by1 - by0)
                if place is not None and (best is None or place[0] + bx1 - bx0 < best[0]):
                    best = (place[0] + bx1 - bx0, k, *place)
            if best is None:
                break
            end, k, x, y = best
            bx0, by0, bx1, by1 = boxes[order][k]
            skyline.take(x, y, bx1 - bx0, by1 - by0)
            one.laid.append(Laid(order, stances[order][k], x - bx0, y - by0))
            one.used_length_mm = max(one.used_length_mm, end - half_mm)
            left[order] -= 1


def _box(shape: shapely.Polygon, stance: Stance) -> Room:
    a, b, c, d = stance.pose.matrix()
    turned = shapely.affinity.affine_transform(shape, (a, b, c, d, 0.0, 0.0))
    x0, y0, x1, y1 = turned.bounds
    return (float(x0), float(y0), float(x1), float(y1))
