"""Whether standing panels occupy the same space, and whether fingers leave holes.

Method. Panels are plates: a polygon times a thickness. Two plates that are not
parallel share the direction d in which their planes cross. A slice square to d
shows both as strips; the strips cross in a parallelogram whose points are told
by their depths under the two outer faces. Along d each plate covers intervals
of its strip, which change only at the corners of its outline; between two
corners one slice speaks for all (exactly so for edges square to d, and to
second order for slanted ones). In each slice the common area is the
parallelogram clipped by the intervals: half-plane clipping, no rasters.

An overlap counts when it is deeper than allowed in all three directions: along
d, and under both faces. The wanted interference of a joint overlaps by half of
it at each wall, and that much is allowed.

Parallel plates: depth in common times the common area of both polygons.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np
import shapely

from lasernest.domain.contours import Point
from lasernest.joints.laid import LaidLine
from lasernest.joints.stances import Stance, Vector

OVERLAP_WITHIN_MM = 0.02
_PARALLEL_SINE = 1e-4
_SAME_MM = 1e-7
_COVERED_SHARE = 0.999
_LOOKED_AT = 8
"""Places in each direction of a slice that are looked at for a third panel."""

Interval = tuple[float, float]


@dataclass(frozen=True, slots=True, eq=False)
class Plate:
    """A panel that stands in space."""

    name: str
    body: shapely.Polygon
    """In the panel's drawing."""
    thickness_mm: float
    stance: Stance

    def holds(self, place: Vector) -> bool:
        """True for a place in space that lies in the panel."""
        at, depth_mm = self.stance.local(place)
        return 0.0 <= depth_mm <= self.thickness_mm and self.body.covers(shapely.Point(at))


@dataclass(frozen=True, slots=True, eq=False)
class Clash:
    """A place where two panels occupy the same space, or where a joint leaves a hole."""

    a: str
    b: str
    length_mm: float
    """Along the line in which the panels cross."""
    at: Vector


class Crossing:
    """Two plates in slices square to the line in which their planes cross."""

    def __init__(self, a: Plate, b: Plate) -> None:
        self.a, self.b = a, b
        za, zb = a.stance.outward, b.stance.outward
        across = np.cross(za, zb)
        self.sine = float(np.linalg.norm(across))
        self.cosine = float(za @ zb)
        self._along = across / self.sine if self.sine > _PARALLEL_SINE else across
        self._za, self._zb = za, zb

    @property
    def is_parallel(self) -> bool:
        return self.sine <= _PARALLEL_SINE

    @cached_property
    def _within_a(self) -> Vector:
        """Unit vector of a's plane, square to the crossing."""
        return np.asarray((self._zb - self.cosine * self._za) / self.sine)

    @cached_property
    def _within_b(self) -> Vector:
        return np.asarray((self._za - self.cosine * self._zb) / self.sine)

    @cached_property
    def _corners(self) -> list[Point]:
        """The parallelogram in depths under both faces."""
        ta, tb = self.a.thickness_mm, self.b.thickness_mm
        return [(0.0, 0.0), (ta, 0.0), (ta, tb), (0.0, tb)]

    def _reach_a(self, depths: Point) -> float:
        """How far along a's plane a point with these depths lies."""
        ca, cb = self._heights(depths)
        return (cb - self.cosine * ca) / self.sine

    def _reach_b(self, depths: Point) -> float:
        ca, cb = self._heights(depths)
        return (ca - self.cosine * cb) / self.sine

    def _heights(self, depths: Point) -> Point:
        ca = float(self.a.stance.origin @ self._za) - depths[0]
        cb = float(self.b.stance.origin @ self._zb) - depths[1]
        return ca, cb

    @cached_property
    def _slices_a(self) -> shapely.Polygon:
        return _turned(self.a, self._along, self._within_a)

    @cached_property
    def _slices_b(self) -> shapely.Polygon:
        return _turned(self.b, self._along, self._within_b)

    def _stops(self, low: float, high: float, parts: Sequence[shapely.Geometry]) -> list[float]:
        stations = np.concatenate([shapely.get_coordinates(p)[:, 0] for p in parts])
        inside = np.unique(stations[(stations > low) & (stations < high)])
        kept = [low]
        for station in (*inside, high):
            if station - kept[-1] > _SAME_MM:
                kept.append(float(station))
        return kept

    def overlaps(self, allowed_mm: float) -> list[Clash]:
        """Places where both bodies are, deeper than allowed in every direction."""
        bands = [
            _band(plate, [reach(c) for c in self._corners])
            for plate, reach in ((self._slices_a, self._reach_a), (self._slices_b, self._reach_b))
        ]
        if any(band.is_empty for band in bands):
            return []
        low = max(b.bounds[0] for b in bands)
        high = min(b.bounds[2] for b in bands)
        if high - low <= allowed_mm:
            return []
        stops = self._stops(low, high, bands)
        middles = [0.5 * (s + t) for s, t in pairwise(stops)]
        runs_a, runs_b = _runs(bands[0], middles), _runs(bands[1], middles)
        deep: list[tuple[float, float, Point] | None] = []
        for k, (in_a, in_b) in enumerate(zip(runs_a, runs_b, strict=True)):
            middle = self._deepest(in_a, in_b, allowed_mm)
            deep.append(None if middle is None else (stops[k], stops[k + 1], middle))
        return [
            Clash(self.a.name, self.b.name, end - start, self._space(0.5 * (start + end), middle))
            for start, end, middle in _merged(deep)
            if end - start > allowed_mm
        ]

    def _deepest(
        self, in_a: Sequence[Interval], in_b: Sequence[Interval], allowed_mm: float
    ) -> Point | None:
        """Middle (in depths) of a common piece that is deeper than allowed, if any."""
        for run_a in in_a:
            piece_a = _clipped(self._corners, self._reach_a, run_a)
            for run_b in in_b:
                piece = _clipped(piece_a, self._reach_b, run_b)
                if len(piece) < 3:
                    continue
                depths = np.array(piece)
                if np.ptp(depths, axis=0).min() > allowed_mm:
                    middle = depths.mean(axis=0)
                    return (float(middle[0]), float(middle[1]))
        return None

    def holes(
        self,
        a_line: LaidLine,
        b_line: LaidLine,
        span: Interval,
        allowed_mm: float,
        *,
        others: Sequence[Plate] = (),
    ) -> list[Clash]:
        """Stretches of a finger joint where neither panel reaches from root to tip.

        Args:
            a_line: the edge of a.
            b_line: the edge of b.
            span: stations on the line of a.
            allowed_mm: longest stretch that is wanted clearance, chamfer or relief.
            others: panels that may fill what these two leave, such as the thin third one
                whose finger comes to lie in the corner of a thick one.
        """
        ends = [float(self.a.stance.point(a_line.edge.point(s)) @ self._along) for s in span]
        low, high = min(ends), max(ends)
        want_a = self._finger_reach(self.a, a_line, self._within_a)
        want_b = self._finger_reach(self.b, b_line, self._within_b)
        stops = self._stops(low, high, [self._slices_a, self._slices_b])
        middles = [0.5 * (s + t) for s, t in pairwise(stops)]
        runs_a, runs_b = _runs(self._slices_a, middles), _runs(self._slices_b, middles)
        bare: list[tuple[float, float, Point] | None] = []
        for k, (in_a, in_b) in enumerate(zip(runs_a, runs_b, strict=True)):
            filled = _covers(in_a, want_a) or _covers(in_b, want_b)
            if not filled and others:
                filled = self._filled_by(others, self._open_places(middles[k], in_a, in_b))
            middle = (0.5 * self.a.thickness_mm, 0.5 * self.b.thickness_mm)
            bare.append(None if filled else (stops[k], stops[k + 1], middle))
        return [
            Clash(self.a.name, self.b.name, end - start, self._space(0.5 * (start + end), middle))
            for start, end, middle in _merged(bare)
            if end - start > allowed_mm
        ]

    def _open_places(
        self, station: float, in_a: Sequence[Interval], in_b: Sequence[Interval]
    ) -> list[Vector]:
        """Places of a lattice over the slice that lie in neither panel."""
        shares = (np.arange(_LOOKED_AT) + 0.5) / _LOOKED_AT
        places: list[Vector] = []
        for in_depth_a in shares * self.a.thickness_mm:
            for in_depth_b in shares * self.b.thickness_mm:
                depths = (float(in_depth_a), float(in_depth_b))
                if not _has(in_a, self._reach_a(depths)) and not _has(in_b, self._reach_b(depths)):
                    places.append(self._space(station, depths))
        return places

    @staticmethod
    def _filled_by(others: Sequence[Plate], places: Sequence[Vector]) -> bool:
        # No place found open: the hole is thinner than the lattice sees, and is one all the same.
        return bool(places) and all(any(p.holds(place) for p in others) for place in places)

    @staticmethod
    def _finger_reach(plate: Plate, line: LaidLine, within: Vector) -> Interval:
        assert line.levels is not None
        ends = sorted(
            float(plate.stance.point(line.edge.point(0.0, level)) @ within)
            for level in (line.levels.tip_mm, line.levels.root_mm)
        )
        return (ends[0], ends[1])

    def _space(self, station: float, depths: Point) -> Vector:
        """The point in space at a station along the crossing and two depths."""
        ca, _ = self._heights(depths)
        # Coordinates in the slice along za and, square to it, a's own plane.
        in_slice = ca * self._za + self._reach_a(depths) * self._within_a
        return np.asarray(station * self._along + in_slice)


def parallel_overlap(a: Plate, b: Plate, allowed_mm: float) -> list[Clash]:
    """Overlap of two plates whose faces are parallel."""
    za = a.stance.outward
    top_a = float(a.stance.origin @ za)
    top_b = float(b.stance.origin @ za)
    turned = float(b.stance.outward @ za) < 0.0
    b_range = (top_b, top_b + b.thickness_mm) if turned else (top_b - b.thickness_mm, top_b)
    depth_mm = min(top_a, b_range[1]) - max(top_a - a.thickness_mm, b_range[0])
    if depth_mm <= allowed_mm:
        return []
    corners = shapely.transform(b.body, lambda xy: _seen_from(a.stance, b.stance, xy))
    common = a.body.intersection(corners)
    if common.buffer(-0.5 * allowed_mm).is_empty:
        return []
    middle = common.representative_point()
    at = a.stance.point((middle.x, middle.y), 0.5 * a.thickness_mm)
    x0, y0, x1, y1 = common.bounds
    return [Clash(a.name, b.name, max(x1 - x0, y1 - y0), at)]


def _seen_from(viewer: Stance, other: Stance, xy: np.ndarray) -> np.ndarray:
    points = other.origin + np.outer(xy[:, 0], other.x_axis) + np.outer(xy[:, 1], other.y_axis)
    from_origin = points - viewer.origin
    return np.column_stack([from_origin @ viewer.x_axis, from_origin @ viewer.y_axis])


def _turned(plate: Plate, along: Vector, within: Vector) -> shapely.Polygon:
    """The body with x along the crossing and y within its plane, measured from the world's zero."""
    s = plate.stance
    start = np.array([s.origin @ along, s.origin @ within])
    turn = np.array([[s.x_axis @ along, s.y_axis @ along], [s.x_axis @ within, s.y_axis @ within]])
    return shapely.transform(plate.body, lambda xy: xy @ turn.T + start)


def _band(body: shapely.Polygon, reaches: Sequence[float]) -> shapely.Geometry:
    x0, y0, x1, y1 = body.bounds
    low, high = max(min(reaches), y0 - 1.0), min(max(reaches), y1 + 1.0)
    if high <= low:
        return shapely.Polygon()
    return body.intersection(shapely.box(x0 - 1.0, low, x1 + 1.0, high))


def _runs(body: shapely.Geometry, stations: Sequence[float]) -> list[list[Interval]]:
    """For each station the intervals that the body covers there."""
    _, y0, _, y1 = body.bounds
    at = np.array(stations)
    ends = np.stack(
        [np.column_stack([at, np.full_like(at, y)]) for y in (y0 - 1.0, y1 + 1.0)], axis=1
    )
    shapely.prepare(body)
    cuts = shapely.intersection(shapely.linestrings(ends), body)
    parts, owner = shapely.get_parts(cuts, return_index=True)
    found: list[list[Interval]] = [[] for _ in stations]
    for part, k in zip(parts, owner, strict=True):
        ys = shapely.get_coordinates(part)[:, 1]
        if len(ys) > 1:
            found[k].append((float(ys.min()), float(ys.max())))
    return found


def _covers(runs: Sequence[Interval], wanted: Interval) -> bool:
    low, high = wanted
    return any(
        min(high, end) - max(low, start) >= _COVERED_SHARE * (high - low) for start, end in runs
    )


def _has(runs: Sequence[Interval], reach_mm: float) -> bool:
    return any(start <= reach_mm <= end for start, end in runs)


def _clipped(
    corners: Sequence[Point], reach: Callable[[Point], float], run: Interval
) -> list[Point]:
    """A convex polygon clipped to low <= reach <= high (Sutherland and Hodgman, 1974)."""
    piece = list(corners)
    for sign, limit in ((1.0, -run[0]), (-1.0, run[1])):
        kept: list[Point] = []
        for p, q in zip(piece, piece[1:] + piece[:1], strict=True):
            vp, vq = sign * reach(p) + limit, sign * reach(q) + limit
            if vp >= 0.0:
                kept.append(p)
            if (vp > 0.0 > vq) or (vp < 0.0 < vq):
                t = vp / (vp - vq)
                kept.append((p[0] + t * (q[0] - p[0]), p[1] + t * (q[1] - p[1])))
        piece = kept
        if len(piece) < 3:
            return []
    return piece


def _merged(
    slices: Sequence[tuple[float, float, Point] | None],
) -> Iterator[tuple[float, float, Point]]:
    """Neighbouring slices as one stretch."""
    current: tuple[float, float, Point] | None = None
    for piece in slices:
        if piece is None:
            if current is not None:
                yield current
            current = None
        elif current is None:
            current = piece
        else:
            current = (current[0], piece[1], current[2])
    if current is not None:
        yield current
