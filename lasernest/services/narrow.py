"""What of a job's panels the beam does not fit into, told before anything is cut.

It depends on the kerf of the stock a panel is cut from, so it is no finding of the
drawing: another stock, another kerf, and it may be gone.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from lasernest.domain.control import Control
from lasernest.domain.findings import Finding, Severity, counted
from lasernest.domain.panels import Panel
from lasernest.domain.stock import Kerf
from lasernest.job import Job
from lasernest.kerf.compensate import misfits
from lasernest.kerf.narrow import NarrowPlace, narrow_places

CutFrom = tuple[Panel, Kerf]


def panels_and_kerfs(job: Job, panels: Mapping[str, Panel] | None = None) -> tuple[CutFrom, ...]:
    """The panels that are wanted with the kerf of what each is cut from.

    Args:
        job: says what is wanted, and the stocks.
        panels: as they are cut, by name; as drawn when not given.
    """
    known: dict[str, Kerf | None] = {}
    found = []
    for entry in job.panels:
        name = entry.stock_name
        if name not in known:
            known[name] = job.setup.for_stock(name).used_kerf
        kerf = known[name]
        if kerf is not None and (entry.quantity or entry.as_many_as_fit):
            found.append((entry.panel if panels is None else panels[entry.name], kerf))
    return tuple(found)


def narrow_findings(job: Job, *, control: Control) -> tuple[Finding, ...]:
    """One finding for each panel with holes, slots or gaps narrower than its kerf."""
    found = narrow_findings_each(panels_and_kerfs(job), control=control)
    return tuple(finding for findings in found for finding in findings)


def narrow_findings_each(
    panels: Sequence[CutFrom], *, control: Control
) -> tuple[tuple[Finding, ...], ...]:
    """For each panel with the kerf it is cut with, the finding there is, if any."""
    found = []
    for panel, kerf in panels:
        control.check()
        places = narrow_places(panel, kerf)
        found.append((_finding(panel.name, kerf, places),) if places else ())
    return tuple(found)


def refuse_narrow(panels: Iterable[CutFrom], *, control: Control) -> None:
    """Raise what cutting would raise, before time is spent on arranging.

    Raises:
        VanishedContourError: the beam does not fit into a place of a panel.
    """
    for panel, kerf in panels:
        control.check()
        for _, error in misfits(panel, kerf):
            raise error


def _finding(panel_name: str, kerf: Kerf, places: Sequence[NarrowPlace]) -> Finding:
    worst = min(places, key=lambda place: place.width_mm)
    kind = "hole or slot" if worst.in_hole else "gap in the outline"
    return Finding(
        Severity.ERROR,
        "narrower-than-kerf",
        counted(
            len(places),
            f"{kind} is {worst.width_mm:.2f} mm wide, narrower than the kerf of "
            f"{kerf.mean_mm:.2f} mm, so the beam does not fit in.",
            f"holes, slots or gaps are narrower than the kerf of {kerf.mean_mm:.2f} mm, so the "
            f"beam does not fit in; the narrowest is {worst.width_mm:.2f} mm wide.",
        ),
        where_mm=worst.at_mm,
        panel=panel_name,
        count=len(places),
        todo=f"Make it wider than {kerf.mean_mm:.2f} mm, draw it as a score line, or cut with "
        "a finer beam.",
    )
