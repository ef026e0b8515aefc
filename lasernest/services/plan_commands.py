"""Commands for a plan that the maker changes by hand: move, turn, pin, lock.

None of them checks that panels keep apart: whoever sends one has asked
`lasernest.services.handling`, and the exact check guards what is written.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from lasernest.domain.plan import Placement, Plan, SheetPlan
from lasernest.errors import BadValueError, NotFoundError
from lasernest.job import Job

Key = tuple[str, int]
"""Name of a panel and number of its copy."""


@dataclass(frozen=True, slots=True)
class PlacePanels:
    """Put copies elsewhere on their sheet."""

    sheet: int
    """Index of the sheet in the plan."""
    placements: tuple[Placement, ...]
    verb: str = "Move"

    @property
    def label(self) -> str:
        return f"{self.verb} {_named(tuple(map(key_of, self.placements)))}"

    @property
    def merge_key(self) -> str:
        return f"{self.verb} {self.sheet} {sorted(map(key_of, self.placements))}"

    def apply(self, job: Job) -> Job:
        places = {key_of(p): p for p in self.placements}
        return _with_sheet(
            job,
            self.sheet,
            lambda plan: replace(
                plan, placements=tuple(places.get(key_of(p), p) for p in plan.placements)
            ),
        )


@dataclass(frozen=True, slots=True)
class MoveToSheet:
    """Put copies on another sheet of the plan, or on a new one; a sheet left empty goes."""

    sheet: int
    target: int
    """The number of sheets for a new one of the same kind, after the others of its stock."""
    placements: tuple[Placement, ...]
    """Where they lie on the other sheet."""

    @property
    def label(self) -> str:
        return f"Move {_named(tuple(map(key_of, self.placements)))} to sheet {self.target + 1}"

    def apply(self, job: Job) -> Job:
        keys = {key_of(p) for p in self.placements}
        plan = _plan_of(job)
        kind = plan.sheets[self.sheet].sheet
        source, target = self.sheet, self.target
        if target == len(plan.sheets):
            same = [i for i, s in enumerate(plan.sheets) if s.sheet.stock_name == kind.stock_name]
            target = same[-1] + 1
            sheets = (*plan.sheets[:target], SheetPlan(kind, ()), *plan.sheets[target:])
            job = job.changed(plan=replace(plan, sheets=sheets))
        elif plan.sheets[target].sheet.stock_name != kind.stock_name:
            raise BadValueError(
                f"sheet {target + 1} is another stock than sheet {source + 1}",
                todo="Choose the panel's stock at Outlines and arrange again.",
            )

        def without(plan: SheetPlan) -> SheetPlan:
            left = tuple(p for p in plan.placements if key_of(p) not in keys)
            return replace(plan, placements=left)

        def added(plan: SheetPlan) -> SheetPlan:
            return replace(plan, placements=(*plan.placements, *self.placements))

        moved = _with_sheet(_with_sheet(job, source, without), target, added)
        plan = _plan_of(moved)
        sheets = tuple(s for s in plan.sheets if s.placements)
        return moved.changed(plan=replace(plan, sheets=sheets))


@dataclass(frozen=True, slots=True)
class PinPanels:
    """Let copies stay where they are when the rest is arranged again, or no longer."""

    sheet: int
    keys: tuple[Key, ...]
    pinned: bool

    @property
    def label(self) -> str:
        return f"{'Pin' if self.pinned else 'Unpin'} {_named(self.keys)}"

    def apply(self, job: Job) -> Job:
        return _with_sheet(
            job,
            self.sheet,
            lambda plan: replace(
                plan,
                placements=tuple(
                    replace(p, pinned=self.pinned) if key_of(p) in self.keys else p
                    for p in plan.placements
                ),
            ),
        )


@dataclass(frozen=True, slots=True)
class LockSheet:
    """Let a whole sheet stay as it is when the rest is arranged again, or no longer."""

    sheet: int
    locked: bool

    @property
    def label(self) -> str:
        return f"{'Lock' if self.locked else 'Unlock'} sheet {self.sheet + 1}"

    def apply(self, job: Job) -> Job:
        return _with_sheet(job, self.sheet, lambda plan: replace(plan, locked=self.locked))


def key_of(placement: Placement) -> Key:
    """The copy that a placement places."""
    return (placement.panel_name, placement.copy)


def _named(keys: tuple[Key, ...]) -> str:
    return keys[0][0] if len(keys) == 1 else f"{len(keys)} panels"


def _plan_of(job: Job) -> Plan:
    if job.plan is None:
        raise NotFoundError("there is no plan", todo="Arrange the panels first.")
    return job.plan


def _with_sheet(job: Job, index: int, change: Callable[[SheetPlan], SheetPlan]) -> Job:
    plan = _plan_of(job)
    if not 0 <= index < len(plan.sheets):
        raise NotFoundError(f"there is no sheet {index + 1}", todo="Arrange the panels first.")
    sheets = list(plan.sheets)
    sheets[index] = change(sheets[index])
    return job.changed(plan=replace(plan, sheets=tuple(sheets)))
