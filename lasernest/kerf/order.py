"""The order of work on one sheet, and where each contour is begun.

Rules, from the strongest to the weakest (common practice in laser cutting):

1. marks before cuts: engraved lines, then scored ones;
2. whatever lies in a hole is cut before that hole drops out;
3. a panel's inner contours before its outer one, and each panel is finished
   before the next is begun: a freed panel may move or fall;
4. short travel with the beam off.

Where contours begin is chosen in `starts`.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import shapely

from lasernest.domain.contours import Contour, Point
from lasernest.domain.cutting import CutPath, PathKind, WorkOrder
from lasernest.geometry.flatten import ring_polygon
from lasernest.kerf.heat import spread_order
from lasernest.kerf.route import short_route
from lasernest.kerf.starts import begun_nearby

CONTAINMENT_CHORD_MM = 0.05


def order_paths(
    paths: Iterable[CutPath],
    *,
    home: Point = (0.0, 0.0),
    order: WorkOrder = WorkOrder.BY_PANEL,
    split_all: bool = False,
) -> tuple[CutPath, ...]:
    """Bring paths into the order of work and choose where each begins.

    Args:
        paths: all paths of one sheet.
        home: where the head starts.
        order: of the cuts; marks come first and rule 2 holds with any.
        split_all: begin contours of four corners on a straight run too.

    Returns:
        The same paths in another order; closed ones may begin elsewhere, open
        marks may be walked the other way.
    """
    given = tuple(paths)
    sequence: list[CutPath] = []
    here = home
    for kind in (PathKind.ENGRAVE, PathKind.SCORE):
        marks = [path for path in given if path.kind is kind]
        for i in short_route([_middle(path.path) for path in marks], here):
            sequence.append(marks[i])
        here = _middle(sequence[-1].path) if sequence else home
    cuts = [path for path in given if path.kind.is_cut]
    holders = _containment(cuts)
    if order is WorkOrder.SPREAD_HEAT:
        sequence += _far_apart(cuts, holders, here)
    elif order is WorkOrder.BY_KIND:
        sequence += _by_depth(cuts, holders, here)
    else:
        sequence += _by_panel(cuts, holders, here)
    return tuple(begun_nearby(sequence, home, split_all=split_all))


def _far_apart(
    cuts: Sequence[CutPath], holders: Sequence[Sequence[int]], here: Point
) -> list[CutPath]:
    before: list[list[int]] = [[] for _ in cuts]
    for i, rings in enumerate(holders):
        for ring in rings:
            before[ring].append(i)
    order = spread_order([_middle(cut.path) for cut in cuts], before, here)
    return [cuts[i] for i in order]


def _by_depth(
    cuts: Sequence[CutPath], holders: Sequence[Sequence[int]], here: Point
) -> list[CutPath]:
    """Deepest cuts first: holes at odd depths, outlines at even ones, so kinds take turns."""
    sequence: list[CutPath] = []
    for depth in sorted({len(rings) for rings in holders}, reverse=True):
        level = [cut for cut, rings in zip(cuts, holders, strict=True) if len(rings) == depth]
        for i in short_route([_middle(cut.path) for cut in level], here):
            sequence.append(level[i])
        here = _middle(sequence[-1].path)
    return sequence


class _Block:
    """The cuts of one copy of a panel, and the panels that lie in its holes."""

    def __init__(self) -> None:
        self.paths: list[CutPath] = []
        self.inside: list[_Block] = []

    @property
    def middle(self) -> Point:
        return _middle(self.paths[-1].path)


def _by_panel(
    cuts: Sequence[CutPath], holders: Sequence[Sequence[int]], here: Point
) -> list[CutPath]:
    blocks: dict[tuple[str, int], _Block] = {}
    for path in cuts:
        blocks.setdefault((path.panel_name, path.copy), _Block()).paths.append(path)
    owners = _owners(cuts, holders)
    free: list[_Block] = []
    for key, block in blocks.items():
        block.paths.sort(key=lambda path: path.kind is PathKind.CUT_OUTER)
        owner = owners.get(key)
        (free if owner is None else blocks[owner].inside).append(block)
    return _walk(free, here)


def _walk(blocks: Sequence[_Block], here: Point) -> list[CutPath]:
    """The cuts of blocks that lie side by side, each block finished before the next."""
    sequence: list[CutPath] = []
    for i in short_route([block.middle for block in blocks], here):
        block = blocks[i]
        sequence += _walk(block.inside, here)
        inner = [path for path in block.paths if path.kind is not PathKind.CUT_OUTER]
        outer = [path for path in block.paths if path.kind is PathKind.CUT_OUTER]
        here = _middle(sequence[-1].path) if sequence else here
        for j in short_route([_middle(path.path) for path in inner], here):
            sequence.append(inner[j])
        sequence += outer
        here = block.middle
    return sequence


def _middle(contour: Contour) -> Point:
    x0, y0, x1, y1 = contour.bounds_mm()
    return (0.5 * (x0 + x1), 0.5 * (y0 + y1))


def _containment(cuts: Sequence[CutPath]) -> list[list[int]]:
    """For each cut, the numbers of the other rings that hold it."""
    rings = [i for i, cut in enumerate(cuts) if cut.path.closed]
    areas = [ring_polygon(cuts[i].path, chord_error_mm=CONTAINMENT_CHORD_MM) for i in rings]
    holders: list[list[int]] = [[] for _ in cuts]
    if not areas:
        return holders
    starts = shapely.points([cut.path.start for cut in cuts])
    held, holder = shapely.STRtree(areas).query(starts, predicate="within")
    for i, j in zip(held.tolist(), holder.tolist(), strict=True):
        if rings[j] != i and cuts[rings[j]].path.area_mm2 > cuts[i].path.area_mm2:
            holders[i].append(rings[j])
    return holders


def _owners(
    cuts: Sequence[CutPath], all_holders: Sequence[Sequence[int]]
) -> dict[tuple[str, int], tuple[str, int]]:
    """Which panel copy's hole each panel copy lies in, where it does."""
    owners: dict[tuple[str, int], tuple[str, int]] = {}
    for cut, holders in zip(cuts, all_holders, strict=True):
        if cut.kind is not PathKind.CUT_OUTER:
            continue
        others = [
            h for h in holders if (cuts[h].panel_name, cuts[h].copy) != (cut.panel_name, cut.copy)
        ]
        if others:
            nearest = cuts[min(others, key=lambda h: cuts[h].path.area_mm2)]
            owners[(cut.panel_name, cut.copy)] = (nearest.panel_name, nearest.copy)
    return owners
