"""Patterns for many equal panels: columns of a repeated unit, side by side.

A *unit* is one panel, or two in different stances. Stacked along y with a
*pitch* it makes a column; columns follow each other along x, every other one
moved along y by a *shift*. All distances come from the borders of no-fit
regions, so units and columns lie as near as the outlines let them. Rectangles
give the full grid, discs the hexagonal one, L shapes and triangles pairs that
close up. Cost: some tens of milliseconds a panel, outlines of up to a hundred
corners.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from lasernest.nesting.nofit._kernels import reach_along
from lasernest.nesting.nofit.regions import bridged, no_fit_rings
from lasernest.nesting.outlines import Floats, Stance
from lasernest.nesting.search.model import turned_ring

SAMPLES = 24
"""Offsets tried for the second panel of a unit, and shifts tried for the next column."""

EDGE = 1e-9


@dataclass(frozen=True, slots=True)
class Member:
    """A panel of a unit: its stance and where its reference point lies in the unit."""

    stance: int
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class Pattern:
    """Columns of units; distances between reference points, boxes around them."""

    members: tuple[Member, ...]
    pitch: float
    advance: float
    """From an even column to the odd one after it."""
    retreat: float
    """From an odd column to the even one after it."""
    shift: float
    """How far odd columns lie higher."""

    @property
    def area(self) -> float:
        """Room per panel, far from the walls."""
        return self.pitch * 0.5 * (self.advance + self.retreat) / len(self.members)


class Border:
    """The no-fit region of two stances, asked how far it reaches along a line."""

    def __init__(self, rings: Sequence[Floats]) -> None:
        starts = np.ascontiguousarray(np.concatenate(rings))
        ends = np.concatenate([np.roll(ring, -1, axis=0) for ring in rings])
        self._starts, self._ends = starts, ends
        self.low, self.high = starts.min(axis=0), starts.max(axis=0)

    def right(self, y: Floats) -> Floats:
        """Largest x of the region at each height; minus infinity where it does not reach."""
        return self._reach(y, 1)

    def top(self, x: Floats) -> Floats:
        """Largest y of the region at each x."""
        return self._reach(x, 0)

    def _reach(self, at: Floats, axis: int) -> Floats:
        found = np.empty(len(at))
        edge = EDGE * float((self.high - self.low).max())
        low, high = float(self.low[axis]) + edge, float(self.high[axis]) - edge
        reach_along(self._starts, self._ends, at, axis, low, high, found)
        return found


class Lattices:
    """The patterns of one outline.

    Args:
        shape: grown outline.
        stances: the ways it may be laid.
        poll: called every few milliseconds; may raise.
    """

    def __init__(
        self,
        shape: shapely.Polygon,
        stances: Sequence[Stance],
        *,
        poll: Callable[[], object] = lambda: None,
    ) -> None:
        ring = bridged(shape)
        centre = 0.5 * (ring.min(axis=0) + ring.max(axis=0))
        rings = [turned_ring(ring - centre, stance) for stance in stances]
        self.origins = [turned_ring(-centre[None, :], stance)[0] for stance in stances]
        """Per stance: the drawing's origin seen from the reference point."""
        self.boxes = np.array([[*r.min(axis=0), *r.max(axis=0)] for r in rings])
        self._borders: list[list[Border]] = []
        for one in rings:
            self._borders.append([])
            for other in rings:
                poll()
                self._borders[-1].append(Border(no_fit_rings(one, other)))
        self.patterns = self._all_patterns(len(stances), poll)

    def _all_patterns(self, count: int, poll: Callable[[], object]) -> list[Pattern]:
        """Patterns worth trying, the densest first."""
        units: list[tuple[tuple[Member, ...], float]] = []
        for a in range(count):
            pitch = float(self._borders[a][a].top(np.zeros(1))[0])
            units.append(((Member(a, 0.0, 0.0),), pitch))
            for b in range(count):
                if b != a:
                    units += self._pairs(a, b)
        units.sort(key=lambda unit: self._tightness(*unit))
        patterns: list[Pattern] = []
        for unit, pitch in units[:40]:
            poll()
            patterns += self._columns(unit, pitch)
        patterns.sort(key=lambda pattern: pattern.area)
        return patterns

    def _tightness(self, members: tuple[Member, ...], pitch: float) -> float:
        """The box of a unit's column per panel: a guess at the area it will need."""
        left = min(m.x + self.boxes[m.stance, 0] for m in members)
        right = max(m.x + self.boxes[m.stance, 2] for m in members)
        return pitch * float(right - left) / len(members)

    def _pairs(self, a: int, b: int) -> list[tuple[tuple[Member, ...], float]]:
        """Units of two: the second lies on top of the first, moved along x."""
        up, down = self._borders[a][b], self._borders[b][a]
        low, high = float(up.low[0]), float(up.high[0])
        edge = EDGE * (high - low) * 2.0
        xs = np.concatenate([[0.0], np.linspace(low + edge, high - edge, 2 * SAMPLES + 1)])
        ys = up.top(xs)
        pitches = ys + down.top(-xs)
        own = max(
            float(self._borders[a][a].top(np.zeros(1))[0]),
            float(self._borders[b][b].top(np.zeros(1))[0]),
        )
        return [
            ((Member(a, 0.0, 0.0), Member(b, float(x), float(y))), max(own, float(pitch)))
            for x, y, pitch in zip(xs, ys, pitches, strict=True)
            if math.isfinite(y) and math.isfinite(pitch)
        ]

    def _columns(self, members: tuple[Member, ...], pitch: float) -> list[Pattern]:
        """The best shifts of every other column for a unit."""
        shifts = np.append(np.linspace(0.0, 1.0, SAMPLES, endpoint=False), 0.5) * pitch
        advance = self._advance(members, pitch, shifts)
        retreat = self._advance(members, pitch, -shifts)
        best = np.argsort(advance + retreat, kind="stable")[:2]
        keep = dict.fromkeys([*best.tolist(), 0])
        return [
            Pattern(members, pitch, float(advance[k]), float(retreat[k]), float(shifts[k]))
            for k in keep
            if math.isfinite(advance[k] + retreat[k])
        ]

    def _advance(self, members: tuple[Member, ...], pitch: float, shifts: Floats) -> Floats:
        """How far the next column must be moved along x, for each shift."""
        needed = np.full(len(shifts), -np.inf)
        for one in members:
            for other in members:
                border = self._borders[one.stance][other.stance]
                reach = float(border.high[1] - border.low[1])
                turns = math.ceil(reach / pitch) + 1
                for k in range(-turns, turns + 1):
                    right = border.right(shifts + other.y - one.y + k * pitch)
                    needed = np.maximum(needed, right - (other.x - one.x))
        return needed

    def fill(
        self, pattern: Pattern, room: tuple[float, float, float, float], count: int
    ) -> list[tuple[int, float, float]]:
        """Panels of a pattern in a room, column after column: stance and reference point.

        Args:
            pattern: one of `patterns`.
            room: x0, y0, x1, y1 for grown outlines.
            count: most panels wanted.
        """
        members = pattern.members
        low = np.array([self.boxes[m.stance, :2] + (m.x, m.y) for m in members]).min(axis=0)
        slack = EDGE * (room[2] - room[0] + room[3] - room[1])
        found: list[tuple[int, float, float]] = []
        x = room[0] - float(low[0])
        column = 0
        while len(found) < count:
            lift = pattern.shift % pattern.pitch if column % 2 else 0.0
            before = len(found)
            # A column that begins higher may have room for one more unit below.
            k = -1
            while len(found) < count:
                y = room[1] - float(low[1]) + lift + k * pattern.pitch
                placed = 0
                for m in members:
                    box = self.boxes[m.stance]
                    px, py = x + m.x, y + m.y
                    if (
                        px + box[2] <= room[2] + slack
                        and py + box[1] >= room[1] - slack
                        and py + box[3] <= room[3] + slack
                        and px + box[0] >= room[0] - slack
                        and len(found) < count
                    ):
                        found.append((m.stance, px, py))
                        placed += 1
                if not placed and k >= 0:
                    break
                k += 1
            if len(found) == before:
                break
            x += pattern.retreat if column % 2 else pattern.advance
            column += 1
        return found
