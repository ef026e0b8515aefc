"""Commands: the named changes that the window and the command line make to a job.

A command is a frozen value with a label for the undo menu and a pure
`apply`. Nothing here reads files or runs long.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from itertools import groupby
from typing import Protocol

from lasernest.domain.cutting import CutChoices
from lasernest.domain.drawing import Outlines
from lasernest.domain.import_choices import ImportChoices
from lasernest.domain.joints import Joint, JointRules
from lasernest.domain.plan import Plan, Turns
from lasernest.domain.stock import Kerf, SheetSize, Stock
from lasernest.errors import BadValueError
from lasernest.job import Job, JobPanel, Setup, Source
from lasernest.services.of_panels import OfPanel, with_panels
from lasernest.services.stock_exchange import exchange_stock


class Command(Protocol):
    """A named change of a job."""

    @property
    def label(self) -> str: ...

    def apply(self, job: Job) -> Job: ...


@dataclass(frozen=True, slots=True)
class Together:
    """Several commands as one step of the history."""

    label: str
    commands: tuple[Command, ...]
    merge_key: str | None = None

    def apply(self, job: Job) -> Job:
        for of_panels, commands in groupby(self.commands, lambda c: isinstance(c, OfPanel)):
            if of_panels:
                job = with_panels(job, (c for c in commands if isinstance(c, OfPanel)))
            else:
                for command in commands:
                    job = command.apply(job)
        return job


class FreeNames:
    """Gives out names that nothing has yet.

    Args:
        taken: the names in use.
    """

    def __init__(self, taken: Iterable[str]) -> None:
        self._taken = set(taken)
        self._tried: dict[str, int] = {}
        """By name: the highest number after it that is not free; a thousand may want one name."""

    def take(self, wanted: str) -> str:
        """The name itself, or the name with the first free number after it; taken from now on."""
        name = wanted
        number = self._tried.get(wanted, 1)
        while name in self._taken:
            number += 1
            name = f"{wanted}-{number}"
            self._tried[wanted] = number
        self._taken.add(name)
        return name


@dataclass(frozen=True, slots=True)
class AddDrawing:
    """Take the panels of a drawing into the job."""

    outlines: Outlines
    digest: str = ""
    choices: ImportChoices = field(default_factory=ImportChoices)

    @property
    def label(self) -> str:
        return f"Add {self.outlines.drawing.path.name}"

    def apply(self, job: Job) -> Job:
        drawing = self.outlines.drawing
        free = FreeNames(panel.name for panel in job.panels)
        added: list[JobPanel] = []
        for panel in self.outlines.panels:
            name = free.take(panel.name)
            added.append(JobPanel(panel if name == panel.name else replace(panel, name=name)))
        names = tuple(panel.name for panel in added)
        source = Source.of(self.outlines, names, digest=self.digest, choices=self.choices)
        return job.changed(
            name=job.name or drawing.path.stem,
            panels=(*job.panels, *added),
            sources=(*job.sources, source),
        )


@dataclass(frozen=True, slots=True)
class RemovePanels:
    """Take panels out of the job, their joints with them."""

    panel_names: tuple[str, ...]

    @property
    def label(self) -> str:
        if len(self.panel_names) == 1:
            return f"Remove {self.panel_names[0]}"
        return f"Remove {len(self.panel_names)} panels"

    def apply(self, job: Job) -> Job:
        gone = set(self.panel_names)
        sources = (
            replace(s, panel_names=tuple(n for n in s.panel_names if n not in gone))
            for s in job.sources
        )
        return job.changed(
            panels=tuple(p for p in job.panels if p.name not in gone),
            joints=tuple(j for j in job.joints if not {j.a.panel, j.b.panel} & gone),
            sources=tuple(s for s in sources if s.panel_names),
        )


@dataclass(frozen=True, slots=True)
class RenamePanel:
    """Give a panel another name."""

    old: str
    new: str

    @property
    def label(self) -> str:
        return f"Rename {self.old} to {self.new}"

    def apply(self, job: Job) -> Job:
        new = self.new.strip()
        if not new:
            raise BadValueError("a panel needs a name", todo="Type one.")
        if new != self.old and any(p.name == new for p in job.panels):
            raise BadValueError(f"there is a panel {new} already", todo="Choose another name.")
        entry = job.panel(self.old)

        def joint_with_new_name(joint: Joint) -> Joint:
            a, b = joint.a, joint.b
            if a.panel == self.old:
                a = replace(a, panel=new)
            if b.panel == self.old:
                b = replace(b, panel=new)
            return replace(joint, a=a, b=b)

        renamed = job.with_panel(self.old, replace(entry, panel=replace(entry.panel, name=new)))
        return renamed.changed(
            joints=tuple(joint_with_new_name(j) for j in job.joints),
            sources=tuple(
                replace(s, panel_names=tuple(new if n == self.old else n for n in s.panel_names))
                for s in job.sources
            ),
        )


@dataclass(frozen=True, slots=True)
class SetQuantity(OfPanel):
    """How many copies of a panel one unit takes."""

    panel_name: str
    quantity: int

    @property
    def label(self) -> str:
        return f"Set quantity of {self.panel_name}"

    def changed(self, entry: JobPanel) -> JobPanel:
        return replace(entry, quantity=self.quantity)


@dataclass(frozen=True, slots=True)
class SetTurns(OfPanel):
    """Which turns a panel may be given; None follows the stock's grain."""

    panel_name: str
    turns: Turns | None
    may_mirror: bool = False

    @property
    def label(self) -> str:
        return f"Set turns of {self.panel_name}"

    def changed(self, entry: JobPanel) -> JobPanel:
        return replace(entry, turns=self.turns, may_mirror=self.may_mirror)


@dataclass(frozen=True, slots=True)
class ChooseStock:
    """Cut from this stock instead of one of the job's; size, kerf and grain follow it."""

    stock: Stock
    instead_of: str = ""
    """Name of a stock of the job; empty for its own."""

    @property
    def label(self) -> str:
        return f"Choose {self.stock.name}"

    def apply(self, job: Job) -> Job:
        return exchange_stock(job, self.stock, self.instead_of)


@dataclass(frozen=True, slots=True)
class SetSheetSize:
    """Cut from sheets of this size; None takes the first size of the stock."""

    size: SheetSize | None
    stock_name: str = ""
    """Of the job's stocks; empty for its own."""

    @property
    def label(self) -> str:
        return f"Set sheet size to {self.size}" if self.size else "Set sheet size"

    def apply(self, job: Job) -> Job:
        return _with_choice(job, self.stock_name, sheet_size=self.size)


@dataclass(frozen=True, slots=True)
class SetUnits:
    """How many units of the product to make."""

    units: int

    @property
    def label(self) -> str:
        return f"Make {self.units} {'unit' if self.units == 1 else 'units'}"

    def apply(self, job: Job) -> Job:
        return _with_setup(job, units=self.units)


@dataclass(frozen=True, slots=True)
class SetGap:
    """Least distance between finished panels."""

    gap_mm: float

    @property
    def label(self) -> str:
        return f"Set gap to {self.gap_mm:g} mm"

    def apply(self, job: Job) -> Job:
        return _with_setup(job, gap_mm=self.gap_mm)


@dataclass(frozen=True, slots=True)
class SetCutting:
    """Order of cuts, lead-ins and holding tabs; the plan stays."""

    cutting: CutChoices

    @property
    def label(self) -> str:
        return "Set how sheets are cut"

    def apply(self, job: Job) -> Job:
        return job.changed(cutting=self.cutting)


@dataclass(frozen=True, slots=True)
class SetMargin:
    """Free border along the edge of every sheet."""

    margin_mm: float

    @property
    def label(self) -> str:
        return f"Set margin to {self.margin_mm:g} mm"

    def apply(self, job: Job) -> Job:
        return _with_setup(job, margin_mm=self.margin_mm)


@dataclass(frozen=True, slots=True)
class SetGrain:
    """Keep panels along the grain, or let them turn freely; None follows the stock."""

    keep: bool | None
    stock_name: str = ""
    """Of the job's stocks; empty for its own."""

    @property
    def label(self) -> str:
        return "Keep the grain" if self.keep else "Set grain"

    def apply(self, job: Job) -> Job:
        return _with_choice(job, self.stock_name, keep_grain=self.keep)


@dataclass(frozen=True, slots=True)
class SetKerf:
    """A kerf for this job only; None goes back to the stock's."""

    kerf: Kerf | None
    stock_name: str = ""
    """Of the job's stocks; empty for its own."""

    @property
    def label(self) -> str:
        return f"Set kerf to {self.kerf.mean_mm:g} mm" if self.kerf else "Use the stock's kerf"

    def apply(self, job: Job) -> Job:
        return _with_choice(job, self.stock_name, kerf=self.kerf)


@dataclass(frozen=True, slots=True)
class AcknowledgeMaterial:
    """The maker has read why this material is risky and goes on."""

    material: str

    @property
    def label(self) -> str:
        return f"Accept the warning for {self.material}"

    def apply(self, job: Job) -> Job:
        accepted = tuple(dict.fromkeys((*job.setup.materials_accepted, self.material)))
        return job.changed(setup=replace(job.setup, materials_accepted=accepted), plan=job.plan)


@dataclass(frozen=True, slots=True)
class KeepPlan:
    """Keep an arrangement that nesting found."""

    plan: Plan

    @property
    def label(self) -> str:
        return "Arrange panels"

    def apply(self, job: Job) -> Job:
        return job.changed(plan=self.plan)


@dataclass(frozen=True, slots=True)
class AddJoint:
    """Join two panels."""

    joint: Joint

    @property
    def label(self) -> str:
        return f"Join {self.joint.a.panel} and {self.joint.b.panel}"

    def apply(self, job: Job) -> Job:
        job.panel(self.joint.a.panel)
        job.panel(self.joint.b.panel)
        return job.changed(joints=(*job.joints, self.joint))


@dataclass(frozen=True, slots=True)
class ReplaceJoint:
    """Change the setup of one joint."""

    index: int
    joint: Joint

    @property
    def label(self) -> str:
        return f"Change joint {self.index + 1}"

    def apply(self, job: Job) -> Job:
        joints = list(job.joints)
        joints[self.index] = self.joint
        return job.changed(joints=tuple(joints))


@dataclass(frozen=True, slots=True)
class RemoveJoint:
    """Take a joint away; the drawn edges come back."""

    index: int

    @property
    def label(self) -> str:
        return f"Remove joint {self.index + 1}"

    def apply(self, job: Job) -> Job:
        return job.changed(joints=tuple(j for i, j in enumerate(job.joints) if i != self.index))


@dataclass(frozen=True, slots=True)
class SetJointRules:
    """What the job asks of all its joints."""

    rules: JointRules

    @property
    def label(self) -> str:
        return "Set joint rules"

    def apply(self, job: Job) -> Job:
        return job.changed(joint_rules=self.rules)


@dataclass(frozen=True, slots=True)
class RenameJob:
    """Give the job another name."""

    name: str

    @property
    def label(self) -> str:
        return f"Rename the job to {self.name}"

    def apply(self, job: Job) -> Job:
        return job.changed(name=self.name.strip())


def _with_choice(job: Job, stock_name: str, **changes: object) -> Job:
    return job.changed(setup=job.setup.with_choice(stock_name, **changes))


def _with_setup(job: Job, **changes: object) -> Job:
    setup: Setup = replace(job.setup, **changes)  # type: ignore[arg-type] # names are ours
    return job.changed(setup=setup)
