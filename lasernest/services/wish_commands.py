"""Commands on what is wished of a plan: what comes first, what fills up, what stays together."""

from __future__ import annotations

from dataclasses import dataclass, replace

from lasernest.domain.plan import Axis
from lasernest.job import Job, JobPanel
from lasernest.services.of_panels import OfPanel


@dataclass(frozen=True, slots=True)
class SetPriority(OfPanel):
    """Which panels come first where sheets are short; higher before lower."""

    panel_name: str
    priority: int

    @property
    def label(self) -> str:
        return f"Set priority of {self.panel_name}"

    def changed(self, entry: JobPanel) -> JobPanel:
        return replace(entry, priority=self.priority)


@dataclass(frozen=True, slots=True)
class FillUp(OfPanel):
    """Besides its quantity, as many more of a panel as the sheets used have room for."""

    panel_name: str
    wanted: bool

    @property
    def label(self) -> str:
        how = "Extra copies of" if self.wanted else "No extra copies of"
        return f"{how} {self.panel_name}"

    def changed(self, entry: JobPanel) -> JobPanel:
        return replace(entry, as_many_as_fit=self.wanted)


@dataclass(frozen=True, slots=True)
class KeepTogether:
    """All panels of a unit on one sheet, where a sheet can hold them."""

    wanted: bool

    @property
    def label(self) -> str:
        return "Keep units on one sheet" if self.wanted else "Let units lie apart"

    def apply(self, job: Job) -> Job:
        return job.changed(setup=replace(job.setup, units_together=self.wanted))


@dataclass(frozen=True, slots=True)
class LayLongSides:
    """Lay panels with their longer side along an axis; None lets them lie either way."""

    axis: Axis | None

    @property
    def label(self) -> str:
        if self.axis is None:
            return "Let long sides lie either way"
        return f"Lay long sides along {self.axis.value}"

    def apply(self, job: Job) -> Job:
        return job.changed(setup=replace(job.setup, long_sides_along=self.axis))
