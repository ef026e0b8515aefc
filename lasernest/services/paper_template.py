"""Paper templates: which panels of a job are drawn at full size, and where they lie."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from pathlib import Path

from lasernest.domain.contours import Pose
from lasernest.domain.panels import Panel
from lasernest.errors import UsageError
from lasernest.exchange.writers.pdf.file import Paper
from lasernest.exchange.writers.template_pdf import write_template_pdf
from lasernest.job import Job
from lasernest.services.joining import join_job, refuse_errors

PAPERS = {paper.name.lower(): paper for paper in Paper}

_BETWEEN_DRAWINGS_MM = 5.0


@dataclass(frozen=True, slots=True)
class WrittenTemplate:
    """A template on disk."""

    pages: int
    panel_names: tuple[str, ...]


def write_template(
    job: Job,
    out: Path,
    *,
    paper: Paper = Paper.A4,
    panel_names: Collection[str] = (),
    sheet_number: int | None = None,
) -> WrittenTemplate:
    """Write the job's panels, joints applied, in their finished size.

    Args:
        job: its drawings lie as drawn, one beside the other.
        out: the PDF.
        paper: the printer's.
        panel_names: only these; all of them when empty.
        sheet_number: from 1: the panels as the job's plan puts them on this sheet.

    Raises:
        UsageError: another ending than `.pdf`; a sheet that the plan has not.
        NotFoundError: no such panel.
        BadValueError: no panels, or too many pages.
        UnwritableFileError: the file cannot be written there.
    """
    if out.suffix.lower() != ".pdf":
        raise UsageError(
            f"{out.name} is no name for a PDF",
            todo="Let it end in .pdf.",
            on_command_line="--out NAME.pdf",
        )
    for name in panel_names:
        job.panel(name)
    joined = join_job(job)
    refuse_errors(joined)
    panels = {panel.name: panel for panel in joined.panels}
    if sheet_number is None:
        shown = list(_side_by_side(job, panels, panel_names))
    else:
        shown = list(_on_sheet(job, panels, panel_names, sheet_number))
    pages = write_template_pdf(shown, out, title=job.name or out.stem, paper=paper)
    return WrittenTemplate(pages, tuple(panel.name for panel in shown))


def _side_by_side(job: Job, panels: dict[str, Panel], wanted: Collection[str]) -> Iterator[Panel]:
    """Panels as drawn; each drawing is set beside the ones before it."""
    x_mm: float | None = None
    drawn = {name for source in job.sources for name in source.panel_names}
    groups = [source.panel_names for source in job.sources]
    # Panels made without a drawing have no place beside each other yet.
    groups += [(entry.name,) for entry in job.panels if entry.name not in drawn]
    for names in groups:
        own = [panels[n] for n in names if not wanted or n in wanted]
        if not own:
            continue
        left = min(panel.bounds_mm()[0] for panel in own)
        shift_mm = 0.0 if x_mm is None else x_mm - left
        pose = Pose(shift_mm, 0.0)
        yield from (panel.posed(pose) for panel in own)
        right = max(panel.bounds_mm()[2] for panel in own)
        x_mm = right + shift_mm + _BETWEEN_DRAWINGS_MM


def _on_sheet(
    job: Job, panels: dict[str, Panel], wanted: Collection[str], number: int
) -> Iterator[Panel]:
    plan = job.plan
    if plan is None or number > len(plan.sheets):
        there = "no plan" if plan is None else f"a plan of {len(plan.sheets)} sheets"
        raise UsageError(
            f"there is no sheet {number}: the job has {there}",
            todo="Arrange the job first.",
            on_command_line="or leave --sheet out",
        )
    for placement in plan.sheets[number - 1].placements:
        if not wanted or placement.panel_name in wanted:
            yield panels[placement.panel_name].posed(placement.pose)
