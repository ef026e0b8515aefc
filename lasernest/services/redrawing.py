"""The command for a drawing that was read again: in another unit, or because it changed.

What the maker decided for a panel (quantity, turns, mirroring, its name in the
job) stays with it. Panels are matched in order when their number did not
change, else by the name they have in the drawing.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from lasernest.domain.drawing import Outlines
from lasernest.domain.import_choices import ImportChoices
from lasernest.errors import NotFoundError
from lasernest.job import Job, JobPanel, Source
from lasernest.services.commands import free_name


@dataclass(frozen=True, slots=True)
class ReadAgain:
    """Put a drawing's panels in the place of those it brought before."""

    old: Source
    outlines: Outlines
    digest: str = ""
    choices: ImportChoices = field(default_factory=ImportChoices)

    @property
    def label(self) -> str:
        return f"Read {self.outlines.drawing.path.name} again"

    def apply(self, job: Job) -> Job:
        """The job with the drawing's panels exchanged.

        Raises:
            NotFoundError: the drawing is not in the job any more.
        """
        if self.old not in job.sources:
            raise NotFoundError(
                f"the drawing {self.outlines.drawing.path.name} is not in the job any more",
                todo="Open it again.",
            )
        before = {p.name: p for p in job.panels}
        old_names = self.old.panel_names
        taken = set(before) - set(old_names)
        same_count = len(old_names) == len(self.outlines.panels)
        fresh: list[JobPanel] = []
        for i, panel in enumerate(self.outlines.panels):
            known = old_names[i] if same_count else panel.name
            entry = before.get(known) if known in old_names else None
            name = free_name(known if entry is not None else panel.name, taken)
            taken.add(name)
            named = panel if panel.name == name else replace(panel, name=name)
            fresh.append(replace(entry, panel=named) if entry is not None else JobPanel(named))
        names = tuple(p.name for p in fresh)
        source = Source.of(self.outlines, names, digest=self.digest, choices=self.choices)
        return job.changed(
            panels=_exchanged(job.panels, set(old_names), fresh),
            sources=tuple(source if s == self.old else s for s in job.sources),
        )


def _exchanged(
    panels: tuple[JobPanel, ...], gone: set[str], fresh: list[JobPanel]
) -> tuple[JobPanel, ...]:
    """The fresh panels stand where the first of the old ones stood."""
    place = next((i for i, p in enumerate(panels) if p.name in gone), len(panels))
    head = [p for p in panels[:place] if p.name not in gone]
    tail = [p for p in panels[place:] if p.name not in gone]
    return (*head, *fresh, *tail)
