"""Commands on how many of a job are made, and from which offcuts."""

from __future__ import annotations

from dataclasses import dataclass, replace

from lasernest.domain.offcuts import Offcut
from lasernest.job import Job


@dataclass(frozen=True, slots=True)
class SetSpares:
    """Spare copies of each panel."""

    spares: int

    @property
    def label(self) -> str:
        return f"Set spares to {self.spares}"

    def apply(self, job: Job) -> Job:
        return job.changed(setup=replace(job.setup, spares=self.spares))


@dataclass(frozen=True, slots=True)
class SetScrap:
    """Share of panels that is expected to fail."""

    share: float

    @property
    def label(self) -> str:
        return f"Set expected scrap to {self.share:.0%}"

    def apply(self, job: Job) -> Job:
        return job.changed(setup=replace(job.setup, scrap_share=self.share))


@dataclass(frozen=True, slots=True)
class TakeOffcuts:
    """Fill these offcuts before whole sheets; none goes back to whole sheets."""

    offcuts: tuple[Offcut, ...]
    stock_name: str = ""
    """Of the job's stocks; empty for its own."""

    @property
    def label(self) -> str:
        if not self.offcuts:
            return "Cut from whole sheets"
        return f"Fill offcut {', '.join(offcut.label for offcut in self.offcuts)}"

    def apply(self, job: Job) -> Job:
        return job.changed(setup=job.setup.with_choice(self.stock_name, offcuts=self.offcuts))
