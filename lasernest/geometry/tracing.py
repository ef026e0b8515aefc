"""Tracing: the strokes that cut become closed rings and open runs, mended on the way.

In order: spikes of closed contours are trimmed; exact doubles are removed;
overlaps are cut apart and kept once; ends are joined; where runs stay open,
their ends are looked for in the middle of other lines (T junctions) and the
parts rebuilt, with the edge given to both neighbours; what lies on a closed
contour a second time is dropped; tails that run past each other are trimmed;
specks in which a ring turns back and on again are drawn together.
Nothing is done without a `Mend` that says where and how often.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from lasernest.domain.contours import Contour, Point
from lasernest.geometry.chaining import (
    Chain,
    Chained,
    chain,
)
from lasernest.geometry.extents import measured
from lasernest.geometry.flatten import line_strings, ring_polygons
from lasernest.geometry.gap_joining import without_points
from lasernest.geometry.hooks import with_short_parts, without_hooks
from lasernest.geometry.mending import (
    ON_LINE_MM,
    Piece,
    overlaps_cut,
    pieces_of,
    split_at_points,
    without_doubles,
    without_spikes,
)
from lasernest.geometry.overrun import cut_back, overruns_trimmed
from lasernest.geometry.tangles import Cuts, cuts_of_tangles
from lasernest.geometry.tees import cuts_at, ends_of, linked_with, run_on

_CHORD_MM = 0.005

_MOST_SIDES = 2000
"""With more open runs than this nobody has drawn outlines side by side past each other."""


@dataclass(frozen=True, slots=True)
class Mend:
    """Something put right, or built from what was not quite there."""

    code: str
    places: tuple[Point, ...]
    size_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class Traced:
    """Rings and runs with the numbers of the strokes they come from."""

    rings: tuple[Chain, ...]
    runs: tuple[Chain, ...]
    mends: tuple[Mend, ...]


class _Mends:
    """Collects mends by code."""

    def __init__(self) -> None:
        self._places: dict[str, list[Point]] = {}
        self._size: dict[str, float] = {}

    def add(self, code: str, places: Sequence[Point], size_mm: float = 0.0) -> None:
        if places:
            self._places.setdefault(code, []).extend(places)
            self._size[code] = max(self._size.get(code, 0.0), size_mm)

    def all(self) -> tuple[Mend, ...]:
        return tuple(Mend(c, tuple(p), self._size[c]) for c, p in self._places.items())


def trace(
    paths: Sequence[Contour],
    *,
    joining_gap_mm: float,
    split_shared: bool = True,
    cut_dividing: bool = False,
) -> Traced:
    """Turn the paths of a drawing into rings and runs.

    Args:
        paths: closed contours and open runs in any order.
        joining_gap_mm: widest gap that is closed.
        split_shared: make a ring of each area between lines; else of the outside
            of them all, and runs of the lines within.
        cut_dividing: open runs from edge to edge of a ring divide it.
    """
    mends = _Mends()
    rings: list[Chain] = []
    loose: list[tuple[int, Contour]] = []
    for number, path in enumerate(paths):
        if not path.closed:
            loose.append((number, path))
            continue
        trimmed, tips = without_spikes(path)
        mends.add("doubled-back", tips)
        if trimmed is not None and trimmed.closed:
            rings.append(Chain(trimmed, (number,)))
        else:
            loose.append((number, path))
    rings = _distinct(rings, mends)
    pieces, doubled = without_doubles(pieces_of(loose))
    mends.add("double-removed", doubled)
    pieces, overlapped = overlaps_cut(pieces)
    mends.add("overlap-removed", overlapped)
    made, runs = _chained(pieces, joining_gap_mm, mends, split_shared=split_shared)
    rings = _distinct([*rings, *made], mends)
    if runs:
        made, runs = _rebuilt_at_tees(runs, joining_gap_mm, mends)
        rings = _distinct([*rings, *made], mends) if made else rings
    if runs and rings:
        made, runs = _cleared_of_rings(runs, rings, joining_gap_mm, mends)
        rings = _distinct([*rings, *made], mends) if made else rings
    if runs:
        made, runs = _trimmed(runs, mends)
        rings = _distinct([*rings, *made], mends) if made else rings
    if 1 < len(runs) <= _MOST_SIDES:
        made, runs = _cut_back(runs, joining_gap_mm, mends)
        rings = _distinct([*rings, *made], mends) if made else rings
    if runs and rings:
        rings, runs = _with_tabs(rings, runs, joining_gap_mm, mends, inside=False)
    if runs and rings and cut_dividing:
        rings, runs = _with_tabs(rings, runs, joining_gap_mm, mends, inside=True)
    rings = _without_hooks(rings, mends)
    return Traced(tuple(rings), tuple(runs), mends.all())


def trace_marks(paths: Sequence[Contour], *, joining_gap_mm: float) -> Traced:
    """Chain lines that are scored or engraved: each line once, nothing built from them."""
    mends = _Mends()
    rings = [Chain(path, (i,)) for i, path in enumerate(paths) if path.closed]
    rings = _distinct(rings, mends)
    loose = [(i, path) for i, path in enumerate(paths) if not path.closed]
    pieces, doubled = without_doubles(pieces_of(loose))
    mends.add("double-removed", doubled)
    pieces, overlapped = overlaps_cut(pieces)
    mends.add("overlap-removed", overlapped)
    unsaid = _Mends()
    made, runs = _chained(pieces, joining_gap_mm, unsaid, split_shared=False)
    return Traced((*rings, *made), tuple(runs), mends.all())


def _chained(
    pieces: Sequence[Piece], joining_gap_mm: float, mends: _Mends, *, split_shared: bool = True
) -> tuple[list[Chain], list[Chain]]:
    """Chain pieces, cut at crossings where a net is tangled; members become strokes."""
    segments = [p.segment for p in pieces]
    made: Chained = chain(segments, joining_gap_mm=joining_gap_mm, split_shared=split_shared)
    cuts = cuts_of_tangles(made.rings, segments)
    if cuts:
        pieces = _split(pieces, cuts)
        segments = [p.segment for p in pieces]
        made = chain(segments, joining_gap_mm=joining_gap_mm, split_shared=split_shared)
        mends.add("crossing-joined", sorted({point for at in cuts.values() for _, point in at}))
    mends.add("gap-joined", made.joined, made.widest_gap_mm)
    mends.add("edge-shared", made.shared)

    def of_strokes(chains: Sequence[Chain]) -> list[Chain]:
        return [
            Chain(path, (pieces[members[0]].stroke,))
            if len(members) == 1
            else Chain(path, tuple(dict.fromkeys(pieces[m].stroke for m in members)))
            for path, members in chains
        ]

    return of_strokes(made.rings), of_strokes(made.runs)


def _split(pieces: Sequence[Piece], cuts: Cuts) -> list[Piece]:
    return [
        Piece(part, piece.stroke)
        for i, piece in enumerate(pieces)
        for part in split_at_points(piece.segment, cuts.get(i, ()))
    ]


def _pieces_of_runs(runs: Sequence[Chain]) -> list[Piece]:
    return pieces_of((run.members[0], run.path) for run in runs)


def _distinct(rings: list[Chain], mends: _Mends) -> list[Chain]:
    """Each ring once, however its copies are cut into segments."""
    if len(rings) < 2:
        return rings
    boxes, lengths, _ = measured([r.path for r in rings])
    corners = shapely.points(boxes[:, :2])
    first, second = shapely.STRtree(corners).query(
        corners, predicate="dwithin", distance=2.0 * ON_LINE_MM
    )
    ahead = first < second
    first, second = first[ahead], second[ahead]
    alike = np.abs(boxes[first] - boxes[second]).max(axis=1) <= ON_LINE_MM
    alike &= np.abs(lengths[first] - lengths[second]) <= 0.01 + 1e-4 * lengths[first]
    gone: set[int] = set()
    for i, j in sorted(zip(first[alike].tolist(), second[alike].tolist(), strict=True)):
        if i not in gone and j not in gone and _same_ring(rings[i].path, rings[j].path):
            gone.add(j)
    mends.add("double-removed", [rings[i].path.start for i in sorted(gone)])
    return [ring for i, ring in enumerate(rings) if i not in gone]


def _same_ring(a: Contour, b: Contour) -> bool:
    if a.vertices == b.vertices:
        return True
    lines = line_strings((a, b), chord_error_mm=ON_LINE_MM)
    return bool(shapely.hausdorff_distance(*lines) <= 2.0 * ON_LINE_MM)


def _rebuilt_at_tees(
    runs: list[Chain], joining_gap_mm: float, mends: _Mends
) -> tuple[list[Chain], list[Chain]]:
    """Cut runs where the end of another one lies on them, and chain again."""
    given = runs
    by_run = pieces_of(enumerate(run.path for run in runs))
    runs = run_on(runs, by_run, joining_gap_mm)
    if runs is not given:
        by_run = pieces_of(enumerate(run.path for run in runs))
    owner = [piece.stroke for piece in by_run]
    everything = [Piece(piece.segment, runs[piece.stroke].members[0]) for piece in by_run]
    cuts = cuts_at(ends_of(runs), everything, joining_gap_mm)
    if not cuts:
        return [], given
    points = {point for at in cuts.values() for _, point in at}
    touched = {owner[i] for i in cuts}
    touched |= {k for k, run in enumerate(runs) if {run.path.start, run.path.end} & points}
    linked = linked_with(runs, touched)
    pieces = [p for p, k in zip(everything, owner, strict=True) if k in linked]
    renumbered = [i for i, k in enumerate(owner) if k in linked]
    cuts = {new: cuts[old] for new, old in enumerate(renumbered) if old in cuts}
    made, rest = _chained(_split(pieces, cuts), joining_gap_mm, mends)
    if not made:
        return [], given
    rest += [run for k, run in enumerate(runs) if k not in linked]
    mends.add("tee-joined", sorted(points))
    return [
        Chain(without_points(r.path, points, apart_mm=ON_LINE_MM), r.members) for r in made
    ], rest


def _cleared_of_rings(
    runs: list[Chain], rings: list[Chain], joining_gap_mm: float, mends: _Mends
) -> tuple[list[Chain], list[Chain]]:
    """Drop what lies on a ring a second time."""
    near = _near(rings, runs)
    fixed = pieces_of((rings[i].members[0], rings[i].path) for i in near)
    kept, dropped = overlaps_cut(_pieces_of_runs(runs), fixed)
    if not dropped:
        return [], runs
    mends.add("overlap-removed", dropped)
    return _chained(kept, joining_gap_mm, mends)


def _near(rings: list[Chain], runs: list[Chain]) -> list[int]:
    """Numbers of the rings whose boxes touch that of a run."""
    x0, y0, x1, y1 = measured([ring.path for ring in rings]).boxes_mm.T
    reach = 2.0 * ON_LINE_MM
    tree = shapely.STRtree(shapely.box(x0 - reach, y0 - reach, x1 + reach, y1 + reach))
    found = tree.query(shapely.box(*measured([run.path for run in runs]).boxes_mm.T))
    numbers: list[int] = np.unique(found[1]).tolist()
    return numbers


def _trimmed(runs: list[Chain], mends: _Mends) -> tuple[list[Chain], list[Chain]]:
    """Close runs whose two ends run past each other."""
    made: list[Chain] = []
    rest: list[Chain] = []
    for run in runs:
        closed = overruns_trimmed(run.path)
        if closed is None:
            rest.append(run)
        else:
            ring, at, length_mm = closed
            made.append(Chain(ring, run.members))
            mends.add("overrun-trimmed", [at], length_mm)
    return made, rest


def _cut_back(
    runs: list[Chain], joining_gap_mm: float, mends: _Mends
) -> tuple[list[Chain], list[Chain]]:
    """Close outlines of several runs that run past each other; other runs stay as they are."""
    paths, tails = cut_back([run.path for run in runs])
    if not tails:
        return [], runs
    linked = sorted(linked_with(runs, {tail.run for tail in tails}))
    trimmed = [Chain(paths[k], runs[k].members) for k in linked]
    unsaid = _Mends()
    made, rest = _chained(_pieces_of_runs(trimmed), joining_gap_mm, unsaid)
    if not made:
        return [], runs
    used = {member for ring in made for member in ring.members}
    sides = line_strings([run.path for run in trimmed], chord_error_mm=_CHORD_MM)
    if len(shapely.STRtree(sides).query(sides, predicate="crosses")[0]):
        return [], runs  # a hatch, not an outline
    cut = [tail for tail in tails if runs[tail.run].members[0] in used]
    places = sorted({tail.at for tail in cut})
    mends.add("overrun-trimmed", places, max(tail.length_mm for tail in cut))
    left = [run for run in runs if run.members[0] not in used]
    return made, left + [run for run in rest if run.members[0] in used]


def _without_hooks(rings: list[Chain], mends: _Mends) -> list[Chain]:
    """Draw together specks in which a ring turns back and on again."""
    kept = list(rings)
    for i in with_short_parts([ring.path for ring in rings]):
        path, places, size_mm = without_hooks(rings[i].path)
        kept[i] = Chain(path, rings[i].members)
        mends.add("hook-removed", places, size_mm)
    return kept


def _with_tabs(
    rings: list[Chain],
    runs: list[Chain],
    joining_gap_mm: float,
    mends: _Mends,
    *,
    inside: bool,
) -> tuple[list[Chain], list[Chain]]:
    """Runs that start and end on rings become parts there: those outside all of them, or inside.

    The stretch of the ring between their ends belongs to both.
    """
    paths = [r.path for r in rings]
    tree = shapely.STRtree(line_strings(paths, chord_error_mm=_CHORD_MM))
    solid = shapely.STRtree(ring_polygons(paths, chord_error_mm=_CHORD_MM))
    hanging: list[int] = []
    held: set[int] = set()
    for k, run in enumerate(runs):
        hits = [
            tree.query(
                shapely.Point(p), predicate="dwithin", distance=joining_gap_mm + _CHORD_MM
            ).tolist()
            for p in (run.path.start, run.path.end)
        ]
        within = len(solid.query(shapely.Point(*_inner_point(run.path)), "within")) > 0
        if all(hits) and within == inside:
            hanging.append(k)
            held.update(i for hit in hits for i in hit)
    if not hanging:
        return rings, runs
    pieces = pieces_of((rings[i].members[0], rings[i].path) for i in sorted(held))
    reaching = run_on([runs[k] for k in hanging], pieces, joining_gap_mm)
    tabs = _pieces_of_runs(reaching)
    cuts = cuts_at(ends_of(reaching), pieces, joining_gap_mm)
    parts = [
        Piece(part, piece.stroke)
        for i, piece in enumerate(pieces)
        for part in split_at_points(piece.segment, cuts.get(i, ()))
    ]
    made, rest = _chained([*parts, *tabs], joining_gap_mm, mends)
    if len(made) <= len(held):
        return rings, runs
    points = {point for at in cuts.values() for _, point in at}
    straight = [Chain(without_points(r.path, points, apart_mm=ON_LINE_MM), r.members) for r in made]
    mends.add("divided" if inside else "tab-closed", [runs[k].path.start for k in hanging])
    others = [ring for i, ring in enumerate(rings) if i not in held]
    left = [run for k, run in enumerate(runs) if k not in hanging]
    return [*others, *straight], [*left, *rest]


def _inner_point(path: Contour) -> Point:
    """A point of the run away from its ends."""
    segments = list(path.segments())
    return segments[len(segments) // 2].middle
