"""Contours: runs of exact lines and arcs, in millimetres, x right and y up.

A vertex carries a *bulge*, the tangent of a quarter of the angle that the arc
to the next vertex sweeps (positive: anticlockwise; zero: straight; one: a
half circle). A full circle is a closed contour of two vertices with bulge 1.
Source of the bulge convention: the published DXF reference, LWPOLYLINE, group
code 42.

Everything here is exact closed form in float64; polygons with a chord error
are made in `lasernest.geometry`.
"""

from __future__ import annotations

import math
from array import array
from collections.abc import Iterator
from dataclasses import dataclass
from operator import itemgetter, mul, sub
from struct import iter_unpack
from typing import Any, NamedTuple

from lasernest.errors import BadContourError

Point = tuple[float, float]
Bounds = tuple[float, float, float, float]
"""x0, y0, x1, y1 in mm."""


class Vertex(NamedTuple):
    """A corner, and how the contour goes on to the next one."""

    x_mm: float
    y_mm: float
    bulge: float = 0.0


class Segment(NamedTuple):
    """One straight line or circular arc of a contour."""

    x0_mm: float
    y0_mm: float
    x1_mm: float
    y1_mm: float
    bulge: float

    @property
    def is_arc(self) -> bool:
        return self.bulge != 0.0

    @property
    def start(self) -> Point:
        return (self.x0_mm, self.y0_mm)

    @property
    def end(self) -> Point:
        return (self.x1_mm, self.y1_mm)

    @property
    def chord_mm(self) -> float:
        return math.hypot(self.x1_mm - self.x0_mm, self.y1_mm - self.y0_mm)

    @property
    def sweep_rad(self) -> float:
        """Signed angle of the arc, positive anticlockwise; 0 for a line."""
        return 4.0 * math.atan(self.bulge)

    @property
    def radius_mm(self) -> float:
        """Radius of the arc; infinite for a line."""
        if self.bulge == 0.0:
            return math.inf
        b = abs(self.bulge)
        return self.chord_mm * (1.0 + b * b) / (4.0 * b)

    @property
    def centre(self) -> Point:
        """Centre of the arc; only for arcs."""
        b = self.bulge
        k = (1.0 - b * b) / (4.0 * b)
        dx, dy = self.x1_mm - self.x0_mm, self.y1_mm - self.y0_mm
        return (
            0.5 * (self.x0_mm + self.x1_mm) - k * dy,
            0.5 * (self.y0_mm + self.y1_mm) + k * dx,
        )

    @property
    def length_mm(self) -> float:
        chord_mm = self.chord_mm
        if self.bulge == 0.0:
            return chord_mm
        b = abs(self.bulge)
        return chord_mm * (1.0 + b * b) / b * math.atan(b)

    @property
    def middle(self) -> Point:
        """The point half way along."""
        dx, dy = self.x1_mm - self.x0_mm, self.y1_mm - self.y0_mm
        return (
            0.5 * (self.x0_mm + self.x1_mm + self.bulge * dy),
            0.5 * (self.y0_mm + self.y1_mm - self.bulge * dx),
        )

    def point_at(self, share: float) -> Point:
        """The point at a share (0 to 1) of the length."""
        if self.bulge == 0.0:
            return (
                self.x0_mm + share * (self.x1_mm - self.x0_mm),
                self.y0_mm + share * (self.y1_mm - self.y0_mm),
            )
        cx, cy = self.centre
        angle = share * self.sweep_rad
        c, s = math.cos(angle), math.sin(angle)
        rx, ry = self.x0_mm - cx, self.y0_mm - cy
        return (cx + c * rx - s * ry, cy + s * rx + c * ry)

    def tangent_at(self, share: float) -> Point:
        """Unit direction of travel at a share (0 to 1) of the length."""
        dx, dy = self.x1_mm - self.x0_mm, self.y1_mm - self.y0_mm
        chord_mm = math.hypot(dx, dy) or 1.0
        dx, dy = dx / chord_mm, dy / chord_mm
        angle = (share - 0.5) * self.sweep_rad
        c, s = math.cos(angle), math.sin(angle)
        return (c * dx - s * dy, s * dx + c * dy)

    def reversed(self) -> Segment:
        return Segment(self.x1_mm, self.y1_mm, self.x0_mm, self.y0_mm, -self.bulge)

    def bounds_mm(self) -> Bounds:
        """Exact box around the segment, the bulge of the arc included."""
        x0, x1 = sorted((self.x0_mm, self.x1_mm))
        y0, y1 = sorted((self.y0_mm, self.y1_mm))
        if self.bulge != 0.0:
            cx, cy = self.centre
            r = self.radius_mm
            start = math.atan2(self.y0_mm - cy, self.x0_mm - cx)
            sweep = self.sweep_rad
            for quarter in range(4):
                turn = quarter * 0.5 * math.pi - start
                turn = turn % (2 * math.pi) if sweep > 0 else -((-turn) % (2 * math.pi))
                if abs(turn) <= abs(sweep):
                    px = cx + (r, 0.0, -r, 0.0)[quarter]
                    py = cy + (0.0, r, 0.0, -r)[quarter]
                    x0, x1 = min(x0, px), max(x1, px)
                    y0, y1 = min(y0, py), max(y1, py)
        return (x0, y0, x1, y1)


class Circle(NamedTuple):
    """A full circle."""

    x_mm: float
    y_mm: float
    radius_mm: float


@dataclass(frozen=True, slots=True)
class Pose:
    """Where a panel lies: mirror (x to -x) first, then turn anticlockwise, then move."""

    x_mm: float = 0.0
    y_mm: float = 0.0
    turn_deg: float = 0.0
    mirrored: bool = False

    def matrix(self) -> tuple[float, float, float, float]:
        """The turn and mirror as (a, b, c, d): x' = a x + b y + x_mm, y' = c x + d y + y_mm.

        Quarter turns are exact.
        """
        cos, sin = exact_cos_sin(self.turn_deg)
        return (-cos, -sin, -sin, cos) if self.mirrored else (cos, -sin, sin, cos)

    def apply(self, x_mm: float, y_mm: float) -> Point:
        a, b, c, d = self.matrix()
        return (a * x_mm + b * y_mm + self.x_mm, c * x_mm + d * y_mm + self.y_mm)

    def box(self, drawn: Bounds) -> Bounds:
        """The box of what has this box in its drawing; only for quarter turns."""
        (ax, ay), (bx, by) = self.apply(*drawn[:2]), self.apply(*drawn[2:])
        return (min(ax, bx), min(ay, by), max(ax, bx), max(ay, by))

    def drawn_at(self, x_mm: float, y_mm: float) -> Point:
        """What lies there, in the drawing: the way back of `apply`."""
        a, b, c, d = self.matrix()
        dx, dy = x_mm - self.x_mm, y_mm - self.y_mm
        return (a * dx + c * dy, b * dx + d * dy)


def exact_cos_sin(turn_deg: float) -> tuple[float, float]:
    """Cosine and sine of an angle in degrees, exact at quarter turns."""
    quarter = (turn_deg / 90.0) % 4.0
    if quarter in (0.0, 1.0, 2.0, 3.0):
        return ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[int(quarter)]
    angle = math.radians(turn_deg)
    return (math.cos(angle), math.sin(angle))


@dataclass(frozen=True, slots=True)
class Contour:
    """A closed ring or an open run of lines and arcs.

    Raises:
        BadContourError: fewer than two vertices, a closed pair of vertices
            joined by straight lines only, or a coordinate that is not finite.
    """

    vertices: tuple[Vertex, ...]
    closed: bool = True

    def __post_init__(self) -> None:
        if len(self.vertices) < 2:
            raise BadContourError(
                f"a contour needs two corners or more, this one has {len(self.vertices)}"
            )
        if self.closed and len(self.vertices) == 2 and not any(v.bulge for v in self.vertices):
            raise BadContourError("a closed contour of two corners has no area")
        # The sum is finite where all numbers are; huge ones may add up to infinity.
        if not math.isfinite(sum(map(sum, self.vertices))) and not all(
            math.isfinite(number) for v in self.vertices for number in v
        ):
            raise BadContourError("a coordinate is not a finite number")

    def __reduce__(self) -> tuple[Any, ...]:
        # Jobs go to other processes: numbers in one block are sent ten times as fast.
        flat = array("d", [number for vertex in self.vertices for number in vertex])
        return (_contour_of, (flat.tobytes(), self.closed))

    @classmethod
    def polygon(cls, points: list[Point] | tuple[Point, ...]) -> Contour:
        """A closed contour of straight lines."""
        return cls(tuple(Vertex(x, y) for x, y in points))

    @classmethod
    def polyline(cls, points: list[Point] | tuple[Point, ...]) -> Contour:
        """An open run of straight lines."""
        return cls(tuple(Vertex(x, y) for x, y in points), closed=False)

    @classmethod
    def rectangle(cls, x_mm: float, y_mm: float, width_mm: float, height_mm: float) -> Contour:
        """An anticlockwise rectangle from its lower left corner."""
        x1, y1 = x_mm + width_mm, y_mm + height_mm
        return cls.polygon([(x_mm, y_mm), (x1, y_mm), (x1, y1), (x_mm, y1)])

    @classmethod
    def circle(cls, x_mm: float, y_mm: float, radius_mm: float) -> Contour:
        """An anticlockwise full circle: two half arcs."""
        return cls((Vertex(x_mm + radius_mm, y_mm, 1.0), Vertex(x_mm - radius_mm, y_mm, 1.0)))

    def segments(self) -> Iterator[Segment]:
        """The lines and arcs in order; zero-length ones included as they are."""
        for (x0, y0, bulge), (x1, y1, _) in self._steps():
            yield Segment(x0, y0, x1, y1, bulge)

    def _steps(self) -> Iterator[tuple[Vertex, Vertex]]:
        """Each vertex with the next: what segments are made of, for loops that must be fast."""
        vertices = self.vertices
        following = vertices[1:] + vertices[:1] if self.closed else vertices[1:]
        return zip(vertices, following, strict=False)

    @property
    def has_arcs(self) -> bool:
        return any(map(_bulge_of, self.vertices if self.closed else self.vertices[:-1]))

    @property
    def start(self) -> Point:
        return (self.vertices[0].x_mm, self.vertices[0].y_mm)

    @property
    def end(self) -> Point:
        """Last point of the run; the start for a closed contour."""
        return self.start if self.closed else (self.vertices[-1].x_mm, self.vertices[-1].y_mm)

    @property
    def signed_area_mm2(self) -> float:
        """Area by the shoelace formula plus arc segments; positive anticlockwise."""
        ox, oy = self.start
        if not self.has_arcs:
            # The same sum without a loop of Python: a thousand panels ask for it.
            xs = [v[0] - ox for v in self.vertices]
            ys = [v[1] - oy for v in self.vertices]
            end = 1 if self.closed else 0
            forth = map(mul, xs, ys[1:] + ys[:end])
            back = map(mul, xs[1:] + xs[:end], ys)
            doubled: float = sum(map(sub, forth, back))
            return 0.5 * doubled
        total = 0.0
        for (x0, y0, bulge), (x1, y1, _) in self._steps():
            total += (x0 - ox) * (y1 - oy) - (x1 - ox) * (y0 - oy)
            if bulge:
                total += _segment_area_mm2(Segment(x0, y0, x1, y1, bulge)) * 2.0
        return 0.5 * total

    @property
    def area_mm2(self) -> float:
        return abs(self.signed_area_mm2)

    @property
    def length_mm(self) -> float:
        if not self.has_arcs:
            xs, ys, _ = zip(*self.vertices, strict=True)
            end = 1 if self.closed else 0
            across, up = map(sub, xs[1:] + xs[:end], xs), map(sub, ys[1:] + ys[:end], ys)
            return sum(map(math.hypot, across, up))
        total = 0.0
        for (x0, y0, bulge), (x1, y1, _) in self._steps():
            if bulge:
                total += Segment(x0, y0, x1, y1, bulge).length_mm
            else:
                total += math.hypot(x1 - x0, y1 - y0)
        return total

    @property
    def is_anticlockwise(self) -> bool:
        return self.signed_area_mm2 > 0.0

    def bounds_mm(self) -> Bounds:
        """Exact box around the contour: x0, y0, x1, y1."""
        xs, ys, bulges = zip(*self.vertices, strict=True)
        x0, y0, x1, y1 = min(xs), min(ys), max(xs), max(ys)
        if not any(bulges):
            return (x0, y0, x1, y1)
        for (ax, ay, bulge), (bx, by, _) in self._steps():
            if not bulge:
                continue
            # An arc up to a half circle stays within its rise of its chord.
            rise = (
                0.5 * abs(bulge) * (abs(bx - ax) + abs(by - ay)) if abs(bulge) <= 1.0 else math.inf
            )
            if (
                min(ax, bx) - rise < x0
                or max(ax, bx) + rise > x1
                or min(ay, by) - rise < y0
                or max(ay, by) + rise > y1
            ):
                a0, b0, a1, b1 = Segment(ax, ay, bx, by, bulge).bounds_mm()
                x0, y0, x1, y1 = min(x0, a0), min(y0, b0), max(x1, a1), max(y1, b1)
        return (x0, y0, x1, y1)

    def reversed(self) -> Contour:
        """The same curve walked the other way."""
        vertices = self.vertices
        count = len(vertices)
        if self.closed:
            return Contour(
                tuple(
                    Vertex(
                        vertices[-i % count].x_mm,
                        vertices[-i % count].y_mm,
                        -vertices[(-i - 1) % count].bulge,
                    )
                    for i in range(count)
                )
            )
        back = [
            Vertex(vertices[i].x_mm, vertices[i].y_mm, -vertices[i - 1].bulge if i else 0.0)
            for i in range(count - 1, -1, -1)
        ]
        return Contour(tuple(back), closed=False)

    def oriented(self, *, anticlockwise: bool) -> Contour:
        """The contour walked the wanted way round."""
        return self if self.is_anticlockwise == anticlockwise else self.reversed()

    def started_at(self, index: int) -> Contour:
        """The same closed ring with another vertex first."""
        index %= len(self.vertices)
        return Contour(self.vertices[index:] + self.vertices[:index])

    def posed(self, pose: Pose) -> Contour:
        """The contour mirrored, turned and moved; orientation flips when mirrored."""
        a, b, c, d = pose.matrix()
        x, y = pose.x_mm, pose.y_mm
        sign = -1.0 if pose.mirrored else 1.0
        us, vs, bulges = zip(*self.vertices, strict=True)
        # Vertices are made without a call each: outlines may have tens of thousands.
        posed = zip(
            [a * u + b * v + x for u, v in zip(us, vs, strict=True)],
            [c * u + d * v + y for u, v in zip(us, vs, strict=True)],
            [sign * bulge if bulge else 0.0 for bulge in bulges] if any(bulges) else bulges,
            strict=True,
        )
        return Contour(tuple(map(Vertex._make, posed)), self.closed)

    def as_circle(self, *, tolerance_mm: float = 1e-6) -> Circle | None:
        """The full circle this ring is, or None.

        Args:
            tolerance_mm: largest spread of centres and radii among its arcs.
        """
        if not self.closed or not all(v[2] for v in self.vertices):
            return None
        segments = list(self.segments())
        if not all(s.bulge and s.chord_mm > 0 for s in segments):
            return None
        cx, cy = segments[0].centre
        radius_mm = segments[0].radius_mm
        for s in segments[1:]:
            x, y = s.centre
            if (
                math.hypot(x - cx, y - cy) > tolerance_mm
                or abs(s.radius_mm - radius_mm) > tolerance_mm
            ):
                return None
        sweep = sum(s.sweep_rad for s in segments)
        if abs(abs(sweep) - 2.0 * math.pi) > 1e-6:
            return None
        return Circle(cx, cy, radius_mm)


_bulge_of = itemgetter(2)


def _contour_of(numbers: bytes, closed: bool) -> Contour:
    """What `Contour.__reduce__` took apart."""
    return Contour(tuple(map(Vertex._make, iter_unpack("3d", numbers))), closed)


def _segment_area_mm2(s: Segment) -> float:
    """Signed area between an arc and its chord (positive for a positive bulge)."""
    sweep = s.sweep_rad
    r = s.radius_mm
    if abs(s.bulge) < 1e-3:
        # theta - sin(theta) cancels for flat arcs; its series does not.
        half_square = 0.5 * r * r
        return half_square * (sweep**3 / 6.0 - sweep**5 / 120.0)
    return 0.5 * r * r * (sweep - math.sin(sweep))
