"""Where the head is at any moment of a cut, to play it and to scrub through it.

The moments rest on the same moves and speeds as the estimated cut time of
`lasernest.kerf.cut_time`, so that the last moment is that time. Contours are
run at constant speed; between them the head speeds up and slows down.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from dataclasses import dataclass
from enum import Enum

from lasernest.domain.contours import Contour, Point
from lasernest.domain.cutting import CutPath, SheetCut
from lasernest.domain.stock import Machine
from lasernest.errors import BadValueError
from lasernest.kerf.cut_time import move_time_s


class Doing(Enum):
    """What the head does at a moment."""

    TRAVEL = "moving on"
    PIERCE = "piercing"
    WORK = "at work"
    DONE = "done"


@dataclass(frozen=True, slots=True)
class Moment:
    """One moment of a cut."""

    seconds: float
    at: Point
    """Of the head, in sheet coordinates (mm)."""
    doing: Doing
    path: int
    """Index of the path that is worked on or moved to; all before it are done."""
    share: float
    """How much of that path's length is done, 0 to 1."""


@dataclass(frozen=True, slots=True)
class _Leg:
    """The way to one path, and the path itself."""

    start_s: float
    travel_s: float
    pierce_s: float
    work_s: float
    start: Point

    @property
    def end_s(self) -> float:
        return self.start_s + self.travel_s + self.pierce_s + self.work_s


class CutTimeline:
    """All moments of one sheet's cut.

    Args:
        cut: the paths in the order of work.
        machine: travel speed, acceleration, pierce time and mark speed.
        cut_speed_mm_per_s: speed of cutting through this stock.
        home: where the head starts.

    Raises:
        BadValueError: a speed that is not above zero.
    """

    def __init__(
        self,
        cut: SheetCut,
        machine: Machine,
        *,
        cut_speed_mm_per_s: float,
        home: Point = (0.0, 0.0),
    ) -> None:
        if not (cut_speed_mm_per_s > 0.0 and machine.mark_speed_mm_per_s > 0.0):
            raise BadValueError("a speed of zero cannot cut", todo="Give speeds above zero.")
        self.cut = cut
        self._machine = machine
        self._legs: list[_Leg] = []
        now, here = 0.0, home
        for path in cut.paths:
            far_mm = math.dist(here, path.path.start)
            speed = cut_speed_mm_per_s if path.kind.is_cut else machine.mark_speed_mm_per_s
            leg = _Leg(
                now,
                move_time_s(far_mm, machine.travel_mm_per_s, machine.acceleration_mm_per_s2)
                if far_mm > 0.0
                else 0.0,
                machine.pierce_s if path.kind.is_cut else 0.0,
                path.path.length_mm / speed,
                here,
            )
            self._legs.append(leg)
            now, here = leg.end_s, path.path.end
        self.total_s = now
        self._starts = [leg.start_s for leg in self._legs]
        self._home, self._end = home, here
        self._run: tuple[int, _Run] | None = None

    @property
    def paths(self) -> tuple[CutPath, ...]:
        return self.cut.paths

    def moment(self, seconds: float) -> Moment:
        """Where the head is; before the start and after the end it stands still."""
        if seconds >= self.total_s:
            return Moment(self.total_s, self._end, Doing.DONE, len(self._legs), 0.0)
        seconds = max(0.0, seconds)
        index = bisect_right(self._starts, seconds) - 1
        leg, path = self._legs[index], self.paths[index].path
        since = seconds - leg.start_s
        if since < leg.travel_s:
            share = self._travelled(math.dist(leg.start, path.start), since, leg.travel_s)
            (x0, y0), (x1, y1) = leg.start, path.start
            at = (x0 + share * (x1 - x0), y0 + share * (y1 - y0))
            return Moment(seconds, at, Doing.TRAVEL, index, 0.0)
        since -= leg.travel_s
        if since < leg.pierce_s:
            return Moment(seconds, path.start, Doing.PIERCE, index, 0.0)
        share = min(1.0, (since - leg.pierce_s) / leg.work_s) if leg.work_s > 0.0 else 1.0
        return Moment(seconds, self._along(index, share), Doing.WORK, index, share)

    def _travelled(self, far_mm: float, since_s: float, whole_s: float) -> float:
        """Share of a move from rest to rest that is done after some time."""
        acceleration = self._machine.acceleration_mm_per_s2
        speeding_s = min(0.5 * whole_s, self._machine.travel_mm_per_s / acceleration)
        top = acceleration * speeding_s
        if since_s <= speeding_s:
            gone = 0.5 * acceleration * since_s**2
        elif since_s <= whole_s - speeding_s:
            gone = 0.5 * top * speeding_s + top * (since_s - speeding_s)
        else:
            gone = far_mm - 0.5 * acceleration * (whole_s - since_s) ** 2
        return min(1.0, max(0.0, gone / far_mm))

    def _along(self, index: int, share: float) -> Point:
        if self._run is None or self._run[0] != index:
            self._run = (index, _Run(self.paths[index].path))
        return self._run[1].at(share)

    def start_s(self, index: int) -> float:
        """When the head sets out for a path; the end for the index after the last."""
        return self._legs[index].start_s if index < len(self._legs) else self.total_s

    def first_of(self, panel_name: str, copy: int) -> int | None:
        """The first path of one copy of a panel."""
        return next(
            (
                i
                for i, path in enumerate(self.paths)
                if (path.panel_name, path.copy) == (panel_name, copy)
            ),
            None,
        )


class _Run:
    """One contour by its length."""

    def __init__(self, contour: Contour) -> None:
        self._segments = tuple(contour.segments())
        self._ends: list[float] = []
        far = 0.0
        for segment in self._segments:
            far += segment.length_mm
            self._ends.append(far)

    def at(self, share: float) -> Point:
        wanted = share * self._ends[-1]
        index = min(bisect_right(self._ends, wanted), len(self._ends) - 1)
        segment = self._segments[index]
        before = self._ends[index - 1] if index else 0.0
        length = segment.length_mm
        return segment.point_at(min(1.0, (wanted - before) / length) if length > 0.0 else 1.0)
