"""The order of work on one sheet, and where each contour is begun.

Rules, from the strongest to the weakest (common practice in laser cutting):

1. marks before cuts: engraved lines, then scored ones;
2. whatever lies in a hole is cut before that hole drops out;
3. a panel's inner contours before its outer one, and each panel is finished
   before the next is begun: a freed panel may move or fall;
4. short travel with the beam off.

A closed contour is begun on a straight run away from its corners. That costs a
vertex, so contours of four vertices or fewer are begun at a corner instead.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import NamedTuple

import shapely

from lasernest.domain.contours import Contour, Point, Vertex
from lasernest.domain.cutting import CutPath, PathKind
from lasernest.geometry.flatten import ring_polygon
from lasernest.kerf.route import short_route

FEWEST_VERTICES_TO_SPLIT = 5
MOST_STARTS = 8
CONTAINMENT_CHORD_MM = 0.05


def order_paths(paths: Iterable[CutPath], *, home: Point = (0.0, 0.0)) -> tuple[CutPath, ...]:
    """Bring paths into the order of work and choose where each begins.

    Args:
        paths: all paths of one sheet.
        home: where the head starts.

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
    sequence += _cuts_in_order([path for path in given if path.kind.is_cut], here)
    return tuple(_begun_nearby(sequence, home))


class _Block:
    """The cuts of one copy of a panel, and the panels that lie in its holes."""

    def __init__(self) -> None:
        self.paths: list[CutPath] = []
        self.inside: list[_Block] = []

    @property
    def middle(self) -> Point:
        return _middle(self.paths[-1].path)


def _cuts_in_order(cuts: Sequence[CutPath], here: Point) -> list[CutPath]:
    blocks: dict[tuple[str, int], _Block] = {}
    for path in cuts:
        blocks.setdefault((path.panel_name, path.copy), _Block()).paths.append(path)
    holders = _containment(cuts)
    depths = {id(cut): len(rings) for cut, rings in zip(cuts, holders, strict=True)}
    owners = _owners(cuts, holders)
    free: list[_Block] = []
    for key, block in blocks.items():
        block.paths.sort(key=lambda path: (path.kind is PathKind.CUT_OUTER, -depths[id(path)]))
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


class _Start(NamedTuple):
    """One way to walk a path: where it begins and ends, and how to make it do so."""

    begin: Point
    end: Point
    vertex: int
    share: float


def _begun_nearby(sequence: Sequence[CutPath], home: Point) -> list[CutPath]:
    """Choose all starts at once so that the travel between them is shortest."""
    if not sequence:
        return []
    choices = [_starts(path.path) for path in sequence]
    cost = [math.dist(home, start.begin) for start in choices[0]]
    came_from: list[list[int]] = []
    for before, after in pairwise(choices):
        best: list[int] = []
        totals: list[float] = []
        for start in after:
            through = [c + math.dist(b.end, start.begin) for c, b in zip(cost, before, strict=True)]
            i = min(range(len(through)), key=through.__getitem__)
            best.append(i)
            totals.append(through[i])
        came_from.append(best)
        cost = totals
    chosen = [min(range(len(cost)), key=cost.__getitem__)]
    for best in reversed(came_from):
        chosen.append(best[chosen[-1]])
    return [
        replace(path, path=_started(path.path, starts[i]))
        for path, starts, i in zip(sequence, choices, reversed(chosen), strict=True)
    ]


def _starts(contour: Contour) -> list[_Start]:
    if not contour.closed:
        return [
            _Start(contour.start, contour.end, 0, 0.0),
            _Start(contour.end, contour.start, 0, 1.0),
        ]
    if contour.as_circle() is not None:
        return [_Start(contour.start, contour.start, 0, 0.0)]
    segments = list(contour.segments())
    lines = [(i, s) for i, s in enumerate(segments) if not s.is_arc]
    if lines and len(segments) >= FEWEST_VERTICES_TO_SPLIT:
        longest = max(s.chord_mm for _, s in lines)
        runs = [(i, s) for i, s in lines if s.chord_mm >= 0.5 * longest]
        runs.sort(key=lambda run: (-round(run[1].chord_mm, 6), run[0]))
        return [_Start(s.middle, s.middle, i, 0.5) for i, s in runs[:MOST_STARTS]]
    return [_Start(s.start, s.start, i, 0.0) for i, s in enumerate(segments[:MOST_STARTS])]


def _started(contour: Contour, start: _Start) -> Contour:
    if not contour.closed:
        return contour.reversed() if start.share else contour
    if not start.share:
        return contour.started_at(start.vertex) if start.vertex else contour
    after, before = contour.vertices[start.vertex + 1 :], contour.vertices[: start.vertex + 1]
    return Contour((Vertex(*start.begin), *after, *before))
