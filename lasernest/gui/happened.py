"""What happened on a desk and is not part of its job: what went wrong, what was written."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from lasernest.domain.cutting import CutChoices, Proof
from lasernest.domain.plan import Plan
from lasernest.domain.stock import Machine
from lasernest.errors import LasernestError
from lasernest.gui.lengths import lengths
from lasernest.gui.tiles import Step
from lasernest.gui.words import tr
from lasernest.services.machine_choice import times_alike, writes_alike

if TYPE_CHECKING:
    from lasernest.services.cutting import WrittenSheet


@dataclass(frozen=True, slots=True)
class Trouble:
    """Something that went wrong, to be shown at its step."""

    step: Step
    what: str
    error: Exception
    again: Callable[[], object] | None = None
    """Tries it once more, where that can help."""

    @property
    def below_heading(self) -> str:
        """The sentence where `what` stands above it: a file is not named twice."""
        said = self.sentence
        for apart in (", ", ": "):
            if self.what and said.startswith(self.what + apart):
                said = said.removeprefix(self.what + apart)
                return said[:1].upper() + said[1:]
        return said

    @property
    def sentence(self) -> str:
        if isinstance(self.error, LasernestError):
            sentence = lengths.retold(self.error.sentence())
            # A sentence that begins with a file's name keeps it as it is written.
            return sentence if str(self.error.where) else sentence[:1].upper() + sentence[1:]
        return tr(
            "This is a fault of the program ({kind}), not yours; your job is safe. "
            "What led to it is in the log.",
            kind=type(self.error).__name__,
        )


@dataclass(frozen=True, slots=True)
class Written:
    """The cut files written last, and what they were written from."""

    plan: Plan
    target: Path
    files: tuple[WrittenSheet, ...]
    """One for each sheet."""
    proof: Proof
    """Of all of them together, with their joints."""
    cutting: CutChoices
    """How they are cut."""
    machine: Machine
    """What they were written for; `times_s` are its."""
    times_s: tuple[float, ...]
    """The beam's time on each sheet."""
    cut_length_mm: float
    """Of all of them."""
    pierces: int
    alike: tuple[Plan, ...] = ()
    """Plans that the very same files would be written of, such as at another price."""

    def is_of(self, plan: Plan | None) -> bool:
        """Whether the files are what would be written of this plan."""
        return any(plan is one for one in (self.plan, *self.alike))

    def is_for(self, machine: Machine) -> bool:
        """Whether a machine would get these very files, and nothing else were said of them."""
        told = any(entry.findings for entry in self.files)  # with the machine's name
        if told and machine.name != self.machine.name:
            return False
        return writes_alike(self.machine, machine)

    def is_timed_for(self, machine: Machine) -> bool:
        """Whether the times are those of a machine."""
        return times_alike(self.machine, machine)

    @classmethod
    def of(
        cls,
        plan: Plan,
        target: Path,
        files: tuple[WrittenSheet, ...],
        proof: Proof,
        cutting: CutChoices,
        machine: Machine,
    ) -> Written:
        """With the figures that take long to work out for a thousand panels."""
        length_mm = sum(entry.cut.cut_length_mm for entry in files)
        pierces = sum(entry.cut.pierces for entry in files)
        times_s = tuple(entry.time_s for entry in files)
        return cls(plan, target, files, proof, cutting, machine, times_s, length_mm, pierces)
