"""A comparison with what its pictures need, worked out in a helper process.

Nothing here draws, so that a helper loads none of Qt. Panels that are cut as they are
drawn stay at home: a thousand of them for each stock would be sent for nothing, and
come back as others.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from lasernest.domain.comparison import Comparison
from lasernest.domain.contours import Contour
from lasernest.domain.control import Control, PassedOn
from lasernest.domain.panels import Panel
from lasernest.domain.plan import SheetPlan
from lasernest.job import Job
from lasernest.services.bench_sheets import kept_rectangle
from lasernest.services.comparing import Candidate, compare_stocks, panels_on


@dataclass(frozen=True, slots=True)
class Pictured:
    """A comparison with what its pictures need, for each column."""

    comparison: Comparison
    panels: tuple[Mapping[str, Panel], ...]
    """From a helper only those that are not cut as drawn."""
    kept: tuple[tuple[Contour | None, ...], ...]
    """The offcut of each sheet."""

    def with_drawn(self, job: Job) -> Pictured:
        """With all panels, those that stayed at home from the job that was compared."""
        drawn = {entry.name: entry.panel for entry in job.panels}
        return replace(self, panels=tuple({**drawn, **shaped} for shaped in self.panels))


class _Picturing(PassedOn):
    """Hands finished columns on with their pictures."""

    def __init__(self, control: Control, job: Job) -> None:
        super().__init__(control)
        self._job = job

    def offer(self, result: Any) -> None:
        self._control.offer(pictured(self._job, result, control=self._control))


def compared(
    job: Job, candidates: Sequence[Candidate], *, control: Control, **choices: Any
) -> Pictured:
    """Compare stocks; see `services.comparing.compare_stocks` for the choices.

    Raises:
        LasernestError: the job cannot be done on one of them.
    """
    watched = _Picturing(control, job)
    return pictured(
        job, compare_stocks(job, candidates, control=watched, **choices), control=control
    )


def pictured(job: Job, comparison: Comparison, *, control: Control) -> Pictured:
    """A comparison with its pictures; joints are worked out for every stock."""
    drawn = {entry.name: entry.panel for entry in job.panels}
    panels, kept = [], []
    for column in comparison.columns:
        control.check()
        moved, own = panels_on(job, column)
        kept.append(
            tuple(
                kept_rectangle(sheet, own, kerf_mm=_kerf_mm(moved, sheet))
                if all(p.panel_name in own for p in sheet.placements)
                else None
                for sheet in column.plan.sheets
            )
        )
        panels.append({name: p for name, p in own.items() if p is not drawn.get(name)})
    return Pictured(comparison, tuple(panels), tuple(kept))


def _kerf_mm(job: Job, sheet: SheetPlan) -> float:
    """The wider side of the beam that a sheet is cut with."""
    _, kerf = job.setup.for_stock(sheet.sheet.stock_name).cut_from()
    return max(kerf.x_mm, kerf.y_mm)
