"""Offsets: contours grown or shrunk by a distance, arcs kept as arcs.

How it works: the ring is walked with its material on the left, every line and
arc is shifted to the right (an arc of radius r gets r + d or r - d), and
neighbours are joined again at each corner. Where shifted runs cross, turn
back or collapse, `offset_cleanup` keeps only what belongs to the offset.

Corners:

- *tangent* joints stay tangent;
- where neighbours overlap they are cut at their crossing;
- where they part, the corner stays sharp: both are prolonged, arcs as circles,
  to their crossing; arcs that do not cross nearby are prolonged by their
  tangent lines instead. Corners sharper than the mitre limit allows (below
  28.955 degrees for 4) get a bevel that touches the circle of radius d about
  the corner, so that a round beam still leaves the corner sharp;
- where another part of the contour comes so near that a part of the mitre or
  bevel is lost, as at a step lower than d, the corner is rolled about instead
  when that is asked for: there a mitre keeps a beam out of where it fits.

Source of the raw offset and the clean-up by distance: Liu, Yong, Zheng and
Sun, An offset algorithm for polyline curves, Computers in Industry 58, 2007.

Cost: a few microseconds per segment, plus the crossings where there are any.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

import numpy as np
import shapely

from lasernest.domain.contours import Contour, Point
from lasernest.errors import BadContourError, BadValueError
from lasernest.geometry.distances import distances_to_contours
from lasernest.geometry.offset_cleanup import NODE_MM, Kite, has_crossings, kept_rings
from lasernest.geometry.runs import Run, ring_of, run_of

SHORTEST_MM = 1e-6
"""Segments shorter than this are noise and are swallowed by their neighbours."""

TANGENT_RAD = 1e-5
"""Corners flatter than this are tangent: at a kerf the gap is far below a nanometre."""

DOUBLED_BACK_RAD = 1e-2
"""Corners sharper than this are needles, or slits: their walls all but coincide."""

_MEETING_MM = 1e-3
"""What comes nearer than this to the tip of a mitre meets it."""

NEAREST_SHARE = 1e-9


class Joint(NamedTuple):
    """How two shifted runs go on into each other at a corner."""

    end: Point
    """Where the run before the corner ends."""
    between: tuple[Point, ...]
    """Corners of straight pieces between the two runs; both ends included."""
    start: Point
    """Where the run after the corner starts."""
    kite: Kite | None = None
    """What the mitre adds to the round offset."""
    roll: Run | None = None
    """The arc about the corner, in the mitre's place."""


class Shift(NamedTuple):
    """The offset of a contour, and whether all of the contour is in it."""

    rings: tuple[Contour, ...]
    whole: bool
    """True when every line and arc of the contour has its shifted part in the one ring."""


def offset_contour(
    contour: Contour, distance_mm: float, *, mitre_limit: float = 4.0
) -> tuple[Contour, ...]:
    """Grow or shrink a closed contour.

    Args:
        contour: closed, either way round, without self-crossings.
        distance_mm: positive grows the enclosed area, negative shrinks it.
        mitre_limit: longest mitre, as a multiple of the distance.

    Returns:
        Contours that run the same way round as the given one, largest first; a
        shrink may split it or leave nothing. Voids that a grow closes off run
        the other way round.

    Raises:
        BadContourError: the contour is open, or it crosses itself so badly
            that its offset is not made of closed rings.
        BadValueError: the distance is not finite, or the mitre limit is below 1.
    """
    return shift_contour(contour, distance_mm, mitre_limit=mitre_limit).rings


def shift_contour(
    contour: Contour, distance_mm: float, *, mitre_limit: float = 4.0, rolled: bool = False
) -> Shift:
    """`offset_contour`, told whether anything of the contour was swallowed.

    Args:
        contour: as there.
        distance_mm: as there.
        mitre_limit: as there.
        rolled: roll about sharp corners that have no room for their whole mitre.
    """
    if not contour.closed:
        raise BadContourError("an open line has no inside to grow or shrink")
    if not math.isfinite(distance_mm):
        raise BadValueError(f"an offset of {distance_mm:g} mm cannot be")
    if not mitre_limit >= 1.0:
        raise BadValueError(f"a mitre limit of {mitre_limit:g} cannot be", todo="Give 1 or more.")
    if distance_mm == 0.0:
        return Shift((contour,), True)
    anticlockwise = contour.is_anticlockwise
    walk_anticlockwise = distance_mm > 0.0
    walk = contour if anticlockwise == walk_anticlockwise else contour.reversed()
    rings, whole = _offset_to_the_right(clean_runs(walk), abs(distance_mm), mitre_limit, rolled)
    if anticlockwise != walk_anticlockwise:
        rings = [ring.reversed() for ring in rings]
    return Shift(tuple(sorted(rings, key=lambda ring: -ring.area_mm2)), whole)


def clean_runs(contour: Contour) -> list[Run]:
    """The contour's runs without those that are too short to have a direction."""
    # A vertex owns the segment that leaves it: without it, the one before ends further on.
    kept = tuple(
        vertex
        for vertex, segment in zip(contour.vertices, contour.segments(), strict=True)
        if segment.length_mm >= SHORTEST_MM
    )
    if len(kept) < 2 or (len(kept) == 2 and not any(v.bulge for v in kept)):
        return []
    return [run_of(segment) for segment in Contour(kept).segments()]


def _offset_to_the_right(
    runs: Sequence[Run], d: float, mitre_limit: float, rolled: bool
) -> tuple[list[Contour], bool]:
    """Rings at distance d to the right of a closed walk with its material on the left.

    Returns:
        The rings, and whether every run is in them.
    """
    if not runs:
        return [], False
    count = len(runs)
    shifted = [_shifted(run, d) for run in runs]
    joints = [
        _joint(
            runs[i],
            runs[(i + 1) % count],
            shifted[i],
            shifted[(i + 1) % count],
            d=d,
            mitre_limit=mitre_limit,
        )
        for i in range(count)
    ]
    pieces, plain = _raw_offset(shifted, joints)
    if plain and not has_crossings(pieces):
        return [ring_of(pieces)], True
    tight = _meeting_corners(joints, pieces) if rolled else []
    while True:
        for i in tight:
            joints[i] = _rolled(runs[i], runs[(i + 1) % count], d)
        if tight:
            pieces, _ = _raw_offset(shifted, joints)
        kites = [joint.kite for joint in joints if joint is not None and joint.kite is not None]
        rings = kept_rings(runs, pieces, kites, d)
        tight = _tight_corners(joints, rings, d) if rolled else []
        if not tight:
            return rings, False


def _raw_offset(
    shifted: Sequence[Run | None], joints: Sequence[Joint | None]
) -> tuple[list[Run], bool]:
    """All shifted runs joined to their neighbours, and whether nothing of them is missing."""
    pieces: list[Run] = []
    plain = True
    for i, run in enumerate(shifted):
        before, after = joints[i - 1], joints[i]
        piece = None
        if run is not None:
            piece = _recut(
                run,
                before.start if before is not None else run.start,
                after.end if after is not None else run.end,
            )
        if piece is not None:
            pieces.append(piece)
        else:
            plain = False
        if after is None:
            plain = False
            continue
        pieces += [Run(*a, *b) for a, b in pairwise(after.between)]
        if after.roll is not None:
            pieces.append(after.roll)
    return pieces, plain


def _tight_corners(joints: Sequence[Joint | None], rings: Sequence[Contour], d: float) -> list[int]:
    """Numbers of the mitres that lost a part to another part of the contour."""
    owners: list[int] = []
    places: list[Point] = []
    for i, joint in enumerate(joints):
        if joint is not None and joint.kite is not None:
            own = joint.kite.places(d)
            places += own
            owners += [i] * len(own)
    if not places or not rings:
        return sorted(set(owners))
    points = np.array(places)
    off = np.min(distances_to_contours([points] * len(rings), rings), axis=0)
    return sorted({owners[k] for k in np.flatnonzero(off > NODE_MM)})


def _meeting_corners(joints: Sequence[Joint | None], pieces: Sequence[Run]) -> list[int]:
    """Numbers of the mitres whose tips just come to another part of the offset.

    There rounding would decide whether the beam gets through between them.
    """
    owners: list[int] = []
    tips: list[Point] = []
    for i, joint in enumerate(joints):
        if joint is not None and joint.kite is not None:
            tips += joint.kite.tips
            owners += [i] * len(joint.kite.tips)
    if not tips:
        return []
    boxes = shapely.box(*np.array([piece.bounds() for piece in pieces]).T)
    near = shapely.STRtree(boxes).query(
        shapely.points(tips), predicate="dwithin", distance=_MEETING_MM
    )
    own: dict[int, int] = {}
    meeting: set[int] = set()
    for k, j in zip(*near.tolist(), strict=True):
        if tips[k] in (pieces[j].start, pieces[j].end):
            own[k] = own.get(k, 0) + 1
        elif pieces[j].distance_to(*tips[k]) < _MEETING_MM:
            meeting.add(owners[k])
    return sorted(meeting | {owners[k] for k, ends in own.items() if ends > 2})


def _shifted(run: Run, d: float) -> Run | None:
    """The run moved to its right by d; None for an arc that collapses."""
    if not run.is_arc:
        tx, ty = run.start_tangent
        ox, oy = d * ty, -d * tx
        return Run(run.x0 + ox, run.y0 + oy, run.x1 + ox, run.y1 + oy)
    radius = run.radius + math.copysign(d, run.sweep)
    if radius < SHORTEST_MM:
        return None
    scale = radius / run.radius
    return run._replace(
        x0=run.cx + scale * (run.x0 - run.cx),
        y0=run.cy + scale * (run.y0 - run.cy),
        x1=run.cx + scale * (run.x1 - run.cx),
        y1=run.cy + scale * (run.y1 - run.cy),
        radius=radius,
    )


def _recut(run: Run, start: Point, end: Point) -> Run | None:
    """The run from another start to another end; None when nothing of it is left."""
    if start == run.start and end == run.end:
        return run
    t0, t1 = run.share_of(*start), run.share_of(*end)
    if t1 - t0 <= NEAREST_SHARE or (t1 - t0) * run.length < SHORTEST_MM:
        return None
    return Run(*start, *end, run.cx, run.cy, run.radius, (t1 - t0) * run.sweep)


def _joint(
    a: Run, b: Run, a_off: Run | None, b_off: Run | None, *, d: float, mitre_limit: float
) -> Joint | None:
    """How the shifted neighbours a and b are joined; None when they do not meet locally."""
    (t1x, t1y), (t2x, t2y) = a.end_tangent, b.start_tangent
    cross, dot = t1x * t2y - t1y * t2x, t1x * t2x + t1y * t2y
    turn = math.atan2(cross, dot)
    if math.pi - abs(turn) < DOUBLED_BACK_RAD:
        turn = math.pi  # rounding decides left or right here, and the bevel serves both
    vx, vy = b.start
    n1, n2 = (t1y, -t1x), (t2y, -t2x)
    end = (vx + d * n1[0], vy + d * n1[1])
    start = (vx + d * n2[0], vy + d * n2[1])
    if abs(turn) < TANGENT_RAD:
        if a_off is None or b_off is None:
            return Joint(end, (), start)
        middle = (0.5 * (end[0] + start[0]), 0.5 * (end[1] + start[1]))
        return Joint(middle, (), middle)
    if turn < 0.0:
        meeting = None
        if a_off is not None and b_off is not None:
            meeting = _inner_meeting(a_off, b_off, (vx, vy))
        return None if meeting is None else Joint(meeting, (), meeting)
    return _outer_joint(
        _Corner((vx, vy), (t1x, t1y), (t2x, t2y), end, start, turn), a_off, b_off, d, mitre_limit
    )


class _Corner(NamedTuple):
    """An outer corner: its point, directions before and after, ends of the shifted runs."""

    at: Point
    t1: Point
    t2: Point
    end: Point
    start: Point
    turn: float


def _rolled(a: Run, b: Run, d: float) -> Joint:
    """The arc about an outer corner, from the end of the shifted a to the start of b."""
    (t1x, t1y), (t2x, t2y) = a.end_tangent, b.start_tangent
    turn = math.atan2(t1x * t2y - t1y * t2x, t1x * t2x + t1y * t2y)
    if math.pi - abs(turn) < DOUBLED_BACK_RAD:
        turn = math.pi
    x, y = b.start
    end, start = (x + d * t1y, y - d * t1x), (x + d * t2y, y - d * t2x)
    return Joint(end, (), start, roll=Run(*end, *start, x, y, d, turn))


def _outer_joint(
    corner: _Corner, a_off: Run | None, b_off: Run | None, d: float, mitre_limit: float
) -> Joint:
    """A sharp corner: true crossing, tangent lines or bevel (see the module's head)."""
    (t1x, t1y), (t2x, t2y) = corner.t1, corner.t2
    end, start = corner.end, corner.start
    n1, n2 = (t1y, -t1x), (t2y, -t2x)
    a_line = Run(*end, end[0] + t1x, end[1] + t1y)
    b_line = Run(start[0] - t2x, start[1] - t2y, *start)
    if math.cos(0.5 * corner.turn) * mitre_limit >= 1.0:
        curved = (a_off is not None and a_off.is_arc) or (b_off is not None and b_off.is_arc)
        if a_off is not None and b_off is not None and curved:
            meeting = _outer_meeting(a_off, b_off, corner, mitre_limit * d)
            if meeting is not None:
                tip_mm = math.hypot(meeting[0] - corner.at[0], meeting[1] - corner.at[1])
                kite = Kite(corner.at, n1, n2, (a_off, b_off), tip_mm, (meeting,))
                return Joint(meeting, (), meeting, kite)
        reach = d * math.tan(0.5 * corner.turn)
        tips: tuple[Point, ...] = ((end[0] + reach * t1x, end[1] + reach * t1y),)
        sides: tuple[Run, ...] = (a_line, b_line)
    else:
        reach = d * math.tan(0.25 * corner.turn)
        tips = (
            (end[0] + reach * t1x, end[1] + reach * t1y),
            (start[0] - reach * t2x, start[1] - reach * t2y),
        )
        sides = (a_line, b_line, Run(*tips[0], *tips[1]))
    # Lines are prolonged to the tip; arcs end where they end and a straight piece follows.
    a_end = end if a_off is None or a_off.is_arc else tips[0]
    b_start = start if b_off is None or b_off.is_arc else tips[-1]
    between = list(tips)
    if a_end != tips[0]:
        between.insert(0, a_end)
    if b_start != tips[-1]:
        between.append(b_start)
    straight = tuple(between) if len(between) > 1 else ()
    tip_mm = math.hypot(d, reach)
    return Joint(a_end, straight, b_start, Kite(corner.at, n1, n2, sides, tip_mm, tips))


def _inner_meeting(a: Run, b: Run, corner: Point) -> Point | None:
    """Where two overlapping neighbours cross, nearest to their corner."""
    best, best_distance = None, math.inf
    a_slack, b_slack = SHORTEST_MM / a.length, SHORTEST_MM / b.length
    for x, y in a.meets(b):
        if (
            -a_slack <= a.share_of(x, y) <= 1.0 + a_slack
            and -b_slack <= b.share_of(x, y) <= 1.0 + b_slack
        ):
            distance = math.hypot(x - corner[0], y - corner[1])
            if distance < best_distance:
                best, best_distance = (x, y), distance
    return best


def _outer_meeting(a: Run, b: Run, corner: _Corner, reach_mm: float) -> Point | None:
    """Where the prolongations of two neighbours cross beyond their corner."""
    best, best_distance = None, reach_mm
    for x, y in a.meets(b):
        distance = math.hypot(x - corner.at[0], y - corner.at[1])
        if distance <= best_distance and a.share_of(x, y) >= 1.0 and b.share_of(x, y) <= 0.0:
            best, best_distance = (x, y), distance
    return best
