"""How long a sheet takes: cutting, marking, piercing and travel with its acceleration.

A stop-to-stop move of length d at speed v with acceleration a takes
d/v + v/a when there is room to reach the speed (d >= v^2/a), else 2 sqrt(d/a).
The beam runs through contours without stopping: cutting is length over speed.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from lasernest.domain.contours import Point
from lasernest.domain.cutting import CutPath, SheetCut
from lasernest.domain.stock import Machine
from lasernest.errors import BadValueError


@dataclass(frozen=True, slots=True)
class CutTime:
    """Where the time of one sheet goes, in seconds."""

    cutting_s: float
    marking_s: float
    piercing_s: float
    travel_s: float

    @property
    def total_s(self) -> float:
        return self.cutting_s + self.marking_s + self.piercing_s + self.travel_s


def move_time_s(length_mm: float, speed_mm_per_s: float, acceleration_mm_per_s2: float) -> float:
    """Time of a straight move from rest to rest.

    Raises:
        BadValueError: a length below zero, or a speed or acceleration not above it.
    """
    if not (length_mm >= 0.0 and speed_mm_per_s > 0.0 and acceleration_mm_per_s2 > 0.0):
        raise BadValueError(
            f"a move of {length_mm:g} mm at {speed_mm_per_s:g} mm/s and "
            f"{acceleration_mm_per_s2:g} mm/s² cannot be",
            todo="Speed and acceleration must be above zero.",
        )
    if length_mm >= speed_mm_per_s**2 / acceleration_mm_per_s2:
        return length_mm / speed_mm_per_s + speed_mm_per_s / acceleration_mm_per_s2
    return 2.0 * math.sqrt(length_mm / acceleration_mm_per_s2)


def travel_moves_mm(paths: Iterable[CutPath], *, home: Point = (0.0, 0.0)) -> list[float]:
    """Lengths of the moves with the beam off, from home to the first path and on."""
    moves = []
    here = home
    for path in paths:
        there = path.path.start
        moves.append(math.hypot(there[0] - here[0], there[1] - here[1]))
        here = path.path.end
    return moves


def cut_time(
    cut: SheetCut, machine: Machine, *, cut_speed_mm_per_s: float, home: Point = (0.0, 0.0)
) -> CutTime:
    """The time one sheet takes on a machine, loading and focusing not counted.

    Args:
        cut: the paths in the order of work.
        machine: travel speed, acceleration, pierce time and mark speed.
        cut_speed_mm_per_s: speed of cutting through this stock.
        home: where the head starts.

    Raises:
        BadValueError: a speed or acceleration that is not above zero.
    """
    if not (cut_speed_mm_per_s > 0.0 and machine.mark_speed_mm_per_s > 0.0):
        raise BadValueError("a speed of zero cannot cut", todo="Give speeds above zero.")
    return CutTime(
        cutting_s=cut.cut_length_mm / cut_speed_mm_per_s,
        marking_s=cut.mark_length_mm / machine.mark_speed_mm_per_s,
        piercing_s=cut.pierces * machine.pierce_s,
        travel_s=math.fsum(
            move_time_s(move, machine.travel_mm_per_s, machine.acceleration_mm_per_s2)
            for move in travel_moves_mm(cut.paths, home=home)
            if move > 0.0
        ),
    )
