"""Which machine a job is cut on, and what another one changes of what was written."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from lasernest.domain.cutting import SheetCut
from lasernest.domain.stock import Machine
from lasernest.job import Job
from lasernest.kerf.cut_time import cut_time


@dataclass(frozen=True, slots=True)
class SetMachine:
    """Cut the job on a machine of the shop book; the plan stays."""

    machine_name: str | None
    """None: the shop's first one."""

    @property
    def label(self) -> str:
        if self.machine_name is None:
            return "Cut on the shop's first machine"
        return f"Cut on {self.machine_name}"

    def apply(self, job: Job) -> Job:
        setup = replace(job.setup, machine_name=self.machine_name)
        return job.changed(setup=setup, plan=job.plan)  # nothing lies elsewhere for it


def writes_alike(one: Machine, other: Machine) -> bool:
    """Whether two machines get the very same cut files, with nothing else to be told of them.

    Layers, colours, zero and marks are in the files; the bed is what they were held against.
    """
    bed = (one.bed_width_mm, one.bed_height_mm)
    return one.profile == other.profile and bed == (other.bed_width_mm, other.bed_height_mm)


def times_alike(one: Machine, other: Machine) -> bool:
    """Whether two machines take the same time for the same cuts."""
    return speeds_of(one) == speeds_of(other)


def speeds_of(machine: Machine) -> tuple[float, float, float, float]:
    """All of a machine that its times rest on."""
    return (
        machine.travel_mm_per_s,
        machine.acceleration_mm_per_s2,
        machine.pierce_s,
        machine.mark_speed_mm_per_s,
    )


def times_on(
    machine: Machine, cuts: Sequence[SheetCut], cut_speeds_mm_per_s: Sequence[float]
) -> tuple[float, ...]:
    """How long a machine takes for each of these sheets, in seconds.

    Args:
        machine: travel, acceleration, pierce time and marking speed.
        cuts: as they were written.
        cut_speeds_mm_per_s: of cutting through each sheet's stock.
    """
    return tuple(
        cut_time(cut, machine, cut_speed_mm_per_s=speed).total_s
        for cut, speed in zip(cuts, cut_speeds_mm_per_s, strict=True)
    )
