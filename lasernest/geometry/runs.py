"""Runs: directed lines and arcs that know their centre, and where two of them cross.

A contour's segment keeps an arc as chord and bulge, which is what files hold.
Shifting, extending and splitting an arc wants its centre and radius instead,
kept exactly, so the offsets work on runs and turn them back at the end.

Along a run the *share* t is 0 at its start and 1 at its end; below 0 and above
1 it lies on the straight or circular extension.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import NamedTuple

import numpy as np
import shapely

from lasernest.domain.contours import Bounds, Contour, Point, Segment, Vertex

TOUCH_MM = 1e-7
"""Curves that miss each other by less than this are taken to touch."""


class Run(NamedTuple):
    """A line (`sweep_rad` zero, centre and radius unused) or an arc, in mm."""

    x0: float
    y0: float
    x1: float
    y1: float
    cx: float = 0.0
    cy: float = 0.0
    radius: float = 0.0
    sweep: float = 0.0

    @property
    def is_arc(self) -> bool:
        return self.sweep != 0.0

    @property
    def start(self) -> Point:
        return (self.x0, self.y0)

    @property
    def end(self) -> Point:
        return (self.x1, self.y1)

    @property
    def length(self) -> float:
        if self.sweep:
            return self.radius * abs(self.sweep)
        return math.hypot(self.x1 - self.x0, self.y1 - self.y0)

    @property
    def start_tangent(self) -> Point:
        """Unit direction of travel at the start."""
        if self.sweep:
            return self._arc_tangent(self.x0, self.y0)
        return self._line_tangent()

    @property
    def end_tangent(self) -> Point:
        """Unit direction of travel at the end."""
        if self.sweep:
            return self._arc_tangent(self.x1, self.y1)
        return self._line_tangent()

    def _line_tangent(self) -> Point:
        dx, dy = self.x1 - self.x0, self.y1 - self.y0
        length = math.hypot(dx, dy) or 1.0
        return (dx / length, dy / length)

    def _arc_tangent(self, x: float, y: float) -> Point:
        rx, ry = x - self.cx, y - self.cy
        length = math.copysign(math.hypot(rx, ry) or 1.0, self.sweep)
        return (-ry / length, rx / length)

    def at(self, t: float) -> Point:
        """The point at share t."""
        if not self.sweep:
            return (self.x0 + t * (self.x1 - self.x0), self.y0 + t * (self.y1 - self.y0))
        c, s = math.cos(t * self.sweep), math.sin(t * self.sweep)
        rx, ry = self.x0 - self.cx, self.y0 - self.cy
        return (self.cx + c * rx - s * ry, self.cy + s * rx + c * ry)

    def share_of(self, x: float, y: float) -> float:
        """The share of the point on the run (or its extension) nearest to x, y."""
        if not self.sweep:
            dx, dy = self.x1 - self.x0, self.y1 - self.y0
            return ((x - self.x0) * dx + (y - self.y0) * dy) / (dx * dx + dy * dy or 1.0)
        # Measured from the middle, so that both extensions are reached without a jump.
        mx, my = self.at(0.5)
        mx, my = mx - self.cx, my - self.cy
        px, py = x - self.cx, y - self.cy
        return 0.5 + math.atan2(mx * py - my * px, mx * px + my * py) / self.sweep

    def between(self, t0: float, t1: float) -> Run:
        """The part from share t0 to share t1; also beyond the ends."""
        (x0, y0), (x1, y1) = self.at(t0), self.at(t1)
        return Run(x0, y0, x1, y1, self.cx, self.cy, self.radius, (t1 - t0) * self.sweep)

    def bounds(self) -> Bounds:
        """Exact box around the run."""
        x0, x1 = (self.x0, self.x1) if self.x0 <= self.x1 else (self.x1, self.x0)
        y0, y1 = (self.y0, self.y1) if self.y0 <= self.y1 else (self.y1, self.y0)
        if self.sweep:
            for ux, uy in ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)):
                px, py = self.cx + ux * self.radius, self.cy + uy * self.radius
                if 0.0 <= self.share_of(px, py) <= 1.0:
                    x0, x1 = min(x0, px), max(x1, px)
                    y0, y1 = min(y0, py), max(y1, py)
        return (x0, y0, x1, y1)

    def distance_to(self, x: float, y: float) -> float:
        """Distance from a point to the run, ends included."""
        t = self.share_of(x, y)
        if 0.0 <= t <= 1.0:
            if self.sweep:
                return abs(math.hypot(x - self.cx, y - self.cy) - self.radius)
            px, py = self.at(t)
            return math.hypot(x - px, y - py)
        return min(math.hypot(x - self.x0, y - self.y0), math.hypot(x - self.x1, y - self.y1))

    def meets(self, other: Run) -> list[Point]:
        """Where the endless lines or full circles of two runs cross or touch.

        Parallel lines and circles about one centre give nothing.
        """
        if not self.sweep and not other.sweep:
            return _lines_meet(self, other)
        if not self.sweep:
            return _line_meets_circle(self, other)
        if not other.sweep:
            return _line_meets_circle(other, self)
        return _circles_meet(self, other)


def run_of(segment: Segment) -> Run:
    """The run of a contour's segment."""
    x0, y0, x1, y1, bulge = segment
    if bulge == 0.0:
        return Run(x0, y0, x1, y1)
    cx, cy = segment.centre
    return Run(x0, y0, x1, y1, cx, cy, segment.radius_mm, segment.sweep_rad)


def ring_of(runs: Sequence[Run]) -> Contour:
    """The closed contour of runs that follow each other."""
    return Contour(tuple(Vertex(r.x0, r.y0, math.tan(0.25 * r.sweep)) for r in runs))


def near_pairs(runs: Sequence[Run], *, reach_mm: float) -> Iterable[tuple[int, int]]:
    """Index pairs i < j of runs whose boxes come within the reach."""
    boxes = np.array([run.bounds() for run in runs])
    shapes = shapely.box(boxes[:, 0], boxes[:, 1], boxes[:, 2], boxes[:, 3])
    grown = shapely.box(
        boxes[:, 0] - reach_mm,
        boxes[:, 1] - reach_mm,
        boxes[:, 2] + reach_mm,
        boxes[:, 3] + reach_mm,
    )
    first, second = shapely.STRtree(shapes).query(grown)
    ahead = first < second
    order = np.lexsort((second[ahead], first[ahead]))
    return zip(first[ahead][order].tolist(), second[ahead][order].tolist(), strict=True)


def _lines_meet(a: Run, b: Run) -> list[Point]:
    ax, ay, bx, by = a.x1 - a.x0, a.y1 - a.y0, b.x1 - b.x0, b.y1 - b.y0
    cross = ax * by - ay * bx
    if abs(cross) <= 1e-12 * math.hypot(ax, ay) * math.hypot(bx, by):
        return []
    t = ((b.x0 - a.x0) * by - (b.y0 - a.y0) * bx) / cross
    return [(a.x0 + t * ax, a.y0 + t * ay)]


def _line_meets_circle(line: Run, arc: Run) -> list[Point]:
    ux, uy = line.start_tangent
    px, py = arc.cx - line.x0, arc.cy - line.y0
    along = px * ux + py * uy
    away = px * uy - py * ux
    fx, fy = line.x0 + along * ux, line.y0 + along * uy
    depth = arc.radius - abs(away)
    if depth < -TOUCH_MM:
        return []
    half = math.sqrt(max(depth * (arc.radius + abs(away)), 0.0))
    if half == 0.0:
        return [(fx, fy)]
    return [(fx - half * ux, fy - half * uy), (fx + half * ux, fy + half * uy)]


def _circles_meet(a: Run, b: Run) -> list[Point]:
    dx, dy = b.cx - a.cx, b.cy - a.cy
    apart = math.hypot(dx, dy)
    if apart <= 1e-9:
        return []
    outer = a.radius + b.radius - apart
    inner = apart - abs(a.radius - b.radius)
    if outer < -TOUCH_MM or inner < -TOUCH_MM:
        return []
    # Distance along the line of centres, from the larger circle for its digits' sake.
    along = 0.5 * (apart + (a.radius - b.radius) * (a.radius + b.radius) / apart)
    ux, uy = dx / apart, dy / apart
    fx, fy = a.cx + along * ux, a.cy + along * uy
    half = math.sqrt(max((a.radius - along) * (a.radius + along), 0.0))
    if half == 0.0:
        return [(fx, fy)]
    return [(fx - half * uy, fy + half * ux), (fx + half * uy, fy - half * ux)]
