"""Holding tabs: short bridges left uncut, so that small panels stay in the sheet.

A tab of width w is a gap of w plus the kerf in the path, as the beam's round
ends reach half a kerf into it from both sides. Tabs are spread round the
outline and put in the middle of straight runs where there are any.

The proof closes the gaps again (`bridged`): what is judged is the panel after
its tabs are broken, and how wide the tabs are.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import NamedTuple

import shapely

from lasernest.domain.contours import Contour, Point, Vertex
from lasernest.domain.cutting import CutPath, HoldingTabs, PathKind
from lasernest.domain.panels import Panel
from lasernest.domain.stock import Kerf
from lasernest.geometry.flatten import line_string, ring_points
from lasernest.geometry.slicing import part_between, stations_mm

CLEAR_SHARE = 0.5
"""Kept free between a gap and the next corner, as a share of the gap."""

SMOOTH_RAD = 1e-2
"""Arcs that meet at less than this go on into each other."""

WIDEST_SHARE = 1.5
"""Gaps up to this many times the wanted one are taken for tabs by the proof."""


MEETING_MM = 1e-3

_ROUNDS = 4
"""Each makes what an arc's chord is short of the gap some hundred times smaller."""


class Bridge(NamedTuple):
    """A tab found in a cut file."""

    at: Point
    width_mm: float


def with_tabs(paths: Iterable[CutPath], tabs: HoldingTabs, kerf: Kerf) -> tuple[CutPath, ...]:
    """The paths with the outlines of small panels interrupted by tabs.

    Panels whose outline has no run long enough for a tab are cut out whole.
    """
    held: list[CutPath] = []
    for path in paths:
        if (
            path.kind is PathKind.CUT_OUTER
            and path.path.closed
            and is_held(path.path, tabs, over_mm=kerf.mean_mm)
        ):
            held += [replace(path, path=part) for part in _interrupted(path.path, tabs, kerf)]
        else:
            held.append(path)
    return tuple(held)


def is_held(outline: Contour, tabs: HoldingTabs, *, over_mm: float = 0.0) -> bool:
    """True for an outline that is to get tabs.

    Args:
        outline: of the finished panel, or the path that leaves it.
        tabs: with the size below which panels tip.
        over_mm: by how much the path is wider than the panel.
    """
    corners = shapely.MultiPoint(ring_points(outline, chord_error_mm=0.05))
    # The narrowest rectangle around it, however it is turned.
    ring = shapely.get_coordinates(shapely.oriented_envelope(corners))
    sides = [math.dist(ring[0], ring[1]), math.dist(ring[1], ring[2])]
    return min(sides) - over_mm < tabs.below_mm


def gap_mm(tabs_width_mm: float, kerf: Kerf, direction: Point) -> float:
    """Length of path to leave out for a tab where the path runs in this direction."""
    if kerf.is_round:
        return tabs_width_mm + kerf.mean_mm
    return tabs_width_mm + 2.0 * kerf.half_width_mm(math.atan2(direction[1], direction[0]))


def bridged(
    cuts: Sequence[Contour], tabs: HoldingTabs, kerf: Kerf
) -> tuple[list[Contour], list[Bridge]]:
    """Closed outlines again from runs between tabs, and the tabs found.

    Runs whose ends are too far apart for a tab are left as they are.
    """
    closed = [cut for cut in cuts if cut.closed or _ends_on_itself(cut)]
    open_runs = [cut for cut in cuts if not (cut.closed or _ends_on_itself(cut))]
    bridges: list[Bridge] = []
    while open_runs:
        chain = [open_runs.pop(0)]
        found: list[Bridge] = []
        while True:
            here = chain[-1]
            following = _next_run(here, [chain[0], *open_runs], tabs, kerf)
            if following is None:
                closed += chain  # still open; the checks of lines will say so
                break
            found.append(_bridge(here, following, kerf))
            if following is chain[0]:
                closed.append(_joined(chain))
                bridges += found
                break
            open_runs.remove(following)
            chain.append(following)
    return closed, bridges


def tab_notes(
    bridges: Sequence[Bridge], panels: Sequence[Panel], tabs: HoldingTabs, tolerance_mm: float
) -> tuple[list[str], list[str]]:
    """What to say of each panel's tabs, and sentences on tabs that are not as asked."""
    counts = [0] * len(panels)
    problems = []
    outlines = [line_string(panel.outer, chord_error_mm=0.05) for panel in panels]
    for bridge in bridges:
        place = f"at {bridge.at[0]:.2f}, {bridge.at[1]:.2f} mm"
        if abs(bridge.width_mm - tabs.width_mm) > tolerance_mm:
            problems.append(
                f"A tab {place} is {bridge.width_mm:.2f} mm wide where {tabs.width_mm:.2f} mm "
                "is wanted."
            )
        if outlines:
            distances = shapely.distance(shapely.Point(bridge.at), outlines)
            counts[int(distances.argmin())] += 1
    notes = []
    for panel, count in zip(panels, counts, strict=True):
        notes.append(
            f"held by {count} tab{'s' if count > 1 else ''} of {tabs.width_mm:.2f} mm"
            if count
            else ""
        )
        if not count and is_held(panel.outer, tabs):
            problems.append(f"{panel.name} is small and no tab holds it.")
    return notes, problems


def _interrupted(outline: Contour, tabs: HoldingTabs, kerf: Kerf) -> list[Contour]:
    gaps = _gaps(outline, tabs, kerf)
    if not gaps:
        return [outline]
    whole = outline.length_mm
    parts = []
    for (_, end), (start, _) in zip(gaps, [*gaps[1:], gaps[0]], strict=True):
        begin = end % whole
        parts.append(part_between(outline, begin, begin + (start - end) % whole))
    return parts


class _Place(NamedTuple):
    """A stretch of an outline, by stations, whose points may be the middle of a gap."""

    low: float
    high: float
    straight: bool


def _gaps(outline: Contour, tabs: HoldingTabs, kerf: Kerf) -> list[tuple[float, float]]:
    """Stations where the path is left out, in order along the outline."""
    widest = tabs.width_mm + max(kerf.x_mm, kerf.y_mm)
    places = _places(outline, (0.5 + CLEAR_SHARE) * widest)
    if not places:
        return []
    whole = outline.length_mm
    best = max(places, key=lambda p: (p.straight, p.high - p.low, -p.low))
    first = 0.5 * (best.low + best.high)
    gaps: list[tuple[float, float]] = []
    for i in range(tabs.count):
        at = _nearest((first + i * whole / tabs.count) % whole, places, whole)
        gap = gap_mm(tabs.width_mm, kerf, _direction(outline, at % whole))
        if all(_apart(at, 0.5 * (a + b), whole) > 3.0 * widest for a, b in gaps):
            half = 0.5 * _length_across(outline, at, gap)
            gaps.append((at - half, at + half))
    return sorted(gaps)


def _places(outline: Contour, clear_mm: float) -> list[_Place]:
    """Straight runs, and stretches of arcs that go on into each other without a corner."""
    segments = list(outline.segments())
    stations = stations_mm(outline)
    spans = [(a, b, True) for s, (a, b) in zip(segments, stations, strict=True) if not s.is_arc]
    corners = [
        start
        for before, after, (start, _) in zip(
            segments[-1:] + segments, segments, stations, strict=False
        )
        if math.dist(before.tangent_at(1.0), after.tangent_at(0.0)) > SMOOTH_RAD
    ]
    whole = outline.length_mm
    if corners:
        spans += [(a, b, False) for a, b in pairwise([*corners, corners[0] + whole])]
    else:
        spans.append((0.0, whole, False))
    room = clear_mm if corners else 0.0
    return [
        _Place(a + clear_mm, b - clear_mm, True) if straight else _Place(a + room, b - room, False)
        for a, b, straight in spans
        if b - a >= 2.0 * clear_mm
    ]


def _apart(a: float, b: float, whole: float) -> float:
    """Distance of two stations, the short way round."""
    return abs((a - b + 0.5 * whole) % whole - 0.5 * whole)


def _nearest(wanted: float, places: Sequence[_Place], whole: float) -> float:
    """The station nearest to the wanted one where a tab fits, straight runs preferred."""
    best, least = 0.0, math.inf
    for low, high, straight in places:
        # Of a short run its middle, of a long one the wanted place itself.
        at = 0.5 * (low + high)
        if high - low > 0.25 * whole:
            at = min(max(wanted if wanted >= low else wanted + whole, low), high)
        off = _apart(at, wanted, whole) + (0.0 if straight else 0.125 * whole)
        if off < least:
            best, least = at, off
    return best


def _length_across(outline: Contour, at_mm: float, gap_mm: float) -> float:
    """Length of path round a station whose ends are a gap apart: on arcs more than the gap."""
    whole = outline.length_mm
    length = gap_mm
    for _ in range(_ROUNDS):
        start = (at_mm - 0.5 * length) % whole
        left_out = part_between(outline, start, start + length)
        length *= gap_mm / math.dist(left_out.start, left_out.end)
    return length


def _direction(outline: Contour, station_mm: float) -> Point:
    for segment, (start, end) in zip(outline.segments(), stations_mm(outline), strict=True):
        if station_mm <= end and end > start:
            return segment.tangent_at((station_mm - start) / (end - start))
    return (1.0, 0.0)


def _ends_on_itself(run: Contour) -> bool:
    """True for a ring with a lead-in."""
    x, y = run.end
    return any(math.hypot(v.x_mm - x, v.y_mm - y) < MEETING_MM for v in run.vertices[1:-1])


def _next_run(
    run: Contour, others: Sequence[Contour], tabs: HoldingTabs, kerf: Kerf
) -> Contour | None:
    widest = WIDEST_SHARE * (tabs.width_mm + max(kerf.x_mm, kerf.y_mm))
    near = [(math.dist(run.end, other.start), i) for i, other in enumerate(others)]
    distance, i = min(near)
    return others[i] if distance <= widest else None


def _bridge(before: Contour, after: Contour, kerf: Kerf) -> Bridge:
    (x0, y0), (x1, y1) = before.end, after.start
    across = math.hypot(x1 - x0, y1 - y0)
    width = across - gap_mm(0.0, kerf, (x1 - x0, y1 - y0))
    return Bridge((0.5 * (x0 + x1), 0.5 * (y0 + y1)), width)


def _joined(chain: Sequence[Contour]) -> Contour:
    """One ring of runs and the bends that carry each on to the next."""
    vertices: list[Vertex] = []
    for run, following in zip(chain, [*chain[1:], chain[0]], strict=True):
        *_, last = run.segments()
        tx, ty = last.tangent_at(1.0)
        (x0, y0), (x1, y1) = run.end, following.start
        dx, dy = x1 - x0, y1 - y0
        # An arc that leaves along the run's own direction: half its sweep lies
        # between that direction and the chord.
        half_sweep = math.atan2(tx * dy - ty * dx, tx * dx + ty * dy)
        bulge = math.tan(0.5 * half_sweep) if abs(half_sweep) < 0.5 * math.pi else 0.0
        vertices += [*run.vertices[:-1], Vertex(x0, y0, bulge if abs(bulge) > 1e-9 else 0.0)]
    return Contour(tuple(vertices))
