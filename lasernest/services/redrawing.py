"""A drawing that is read again: what changed in it, and the command that takes it in.

What the maker decided for a panel (quantity, turns, mirroring, its name in the
job, joints on its edges) stays with it. Which panel is which is told by
`geometry.redrawn`. Readers and geometry load late: the window needs none of
them to open.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from pathlib import Path

from lasernest.domain.control import Control
from lasernest.domain.drawing import Outlines
from lasernest.domain.import_choices import ImportChoices
from lasernest.domain.panel_changes import Change, PanelChange
from lasernest.errors import NotFoundError
from lasernest.files import digest_of, file_is_there
from lasernest.job import Job, JobPanel, Source
from lasernest.services.commands import FreeNames


@dataclass(frozen=True, slots=True)
class ReadAgain:
    """Put a drawing's panels in the place of those it brought before."""

    old: Source
    outlines: Outlines
    digest: str = ""
    choices: ImportChoices = field(default_factory=ImportChoices)
    seen: tuple[PanelChange, ...] = ()
    """What it changes, as it was seen when it was read; seen anew where the job is another."""

    @property
    def label(self) -> str:
        return f"Read {self.outlines.drawing.path.name} again"

    def changes(self, job: Job) -> tuple[PanelChange, ...]:
        """What taking it in would change."""
        before = {p.name: p.panel for p in job.panels}
        known = {name: before[name] for name in self.old.panel_names if name in before}
        if self.seen and known == {c.name: c.old for c in self.seen if c.old is not None}:
            return self.seen
        from lasernest.geometry.redrawn import compare_panels  # noqa: PLC0415 - heavy

        return compare_panels(list(known.items()), self.outlines.panels)

    def rooted_in(self, job: Job) -> ReadAgain:
        """The same, with the job's own panels where it has equal ones.

        What comes from a helper process brings copies; comparing a thousand of them
        corner by corner would keep the window from answering when they are taken in.
        """
        own = {p.name: p.panel for p in job.panels}
        seen = []
        for change in self.seen:
            old = own.get(change.name) if change.old is not None else None
            if old is not None and old == change.old:
                new = old if change.new is change.old else change.new
                seen.append(replace(change, old=old, new=new))
            else:
                seen.append(change)
        return replace(self, seen=tuple(seen))

    def apply(self, job: Job) -> Job:
        """The job with the drawing's panels exchanged; joints stay with their panels.

        Raises:
            NotFoundError: the drawing is not in the job any more.
        """
        if self.old not in job.sources:
            raise NotFoundError(
                f"the drawing {self.outlines.drawing.path.name} is not in the job any more",
                todo="Open it again.",
            )
        before = {p.name: p for p in job.panels}
        old_names = set(self.old.panel_names)
        changes = [change for change in self.changes(job) if change.new is not None]
        taken = set(before) - old_names
        numbered_anew = self._may_be_numbered_anew(job)
        if not numbered_anew:
            # Kept panels have their names first, so that no added one takes them.
            taken |= {change.name for change in changes if change.old is not None}
        free = FreeNames(taken)
        fresh: list[JobPanel] = []
        for change in changes:
            panel = change.new
            assert panel is not None
            if change.old is not None and not numbered_anew:
                name = change.name
            else:
                name = free.take(panel.name)
            named = panel if panel.name == name else replace(panel, name=name)
            entry = before[change.name] if change.old is not None else JobPanel(named)
            fresh.append(entry if entry.panel == named else replace(entry, panel=named))
        names = tuple(p.name for p in fresh)
        source = Source.of(self.outlines, names, digest=self.digest, choices=self.choices)
        return job.changed(
            panels=_exchanged(job.panels, old_names, fresh),
            sources=tuple(source if s == self.old else s for s in job.sources),
        )

    def _may_be_numbered_anew(self, job: Job) -> bool:
        """Whether panels take the names they now come in with, as if never read otherwise.

        So that `case-2` is no relic of a border that was dropped: when the file is the
        same, and nobody has named a panel or built on a name.
        """
        stem = re.escape(Path(self.old.path).stem)
        joined = {line.panel for joint in job.joints for line in (joint.a, joint.b)}
        return (
            bool(self.digest)
            and self.digest == self.old.digest
            and job.plan is None
            and not joined & set(self.old.panel_names)
            and all(re.fullmatch(rf"{stem}(-\d+)*", name) for name in self.old.panel_names)
        )


@dataclass(frozen=True, slots=True)
class OnlyChanged:
    """Plan only what must be cut again: panels that stayed the same get quantity 0."""

    changes: tuple[PanelChange, ...]

    @property
    def label(self) -> str:
        return "Plan only what changed"

    def apply(self, job: Job) -> Job:
        same = {change.name for change in self.changes if change.change is Change.SAME}
        return job.changed(
            panels=tuple(replace(p, quantity=0) if p.name in same else p for p in job.panels)
        )


def changes_since(old: Job, new: Job) -> tuple[PanelChange, ...]:
    """What changed from one job to another; drawings are held against those of the same name.

    Where several have that name, the one of the same folder is meant. A drawing whose name the
    old job does not know is held against its only one, or is new altogether.

    Returns:
        Changes by the names of the new job; those of the old one for what is gone.
    """
    from lasernest.geometry.redrawn import compare_panels  # noqa: PLC0415 - heavy

    known = {Path(source.path).name: source for source in old.sources}
    same = {source.path: source for source in old.sources}
    only = old.sources[0] if len(old.sources) == len(new.sources) == 1 else None
    before = {p.name: p.panel for p in old.panels}
    after = {p.name: p.panel for p in new.panels}
    changes: list[PanelChange] = []
    for source in new.sources:
        was = same.get(source.path) or known.get(Path(source.path).name, only)
        names = was.panel_names if was is not None else ()
        found = compare_panels(
            [(n, before[n]) for n in names if n in before],
            [after[n] for n in source.panel_names if n in after],
        )
        changes += [replace(c, name=c.new.name) if c.new is not None else c for c in found]
    return tuple(changes)


def changed_on_disk(job: Job) -> tuple[Source, ...]:
    """The job's drawings whose files are there and differ from what was read."""
    return tuple(source for source in job.sources if differs_on_disk(source))


def differs_on_disk(source: Source) -> bool:
    """True when a drawing's file is there and not as it was read."""
    now = digest_of(Path(source.path)) if source.digest else ""
    return bool(now) and now != source.digest


def is_gone(source: Source) -> bool:
    """True when a drawing that was read from a file has none any more."""
    return bool(source.digest) and not file_is_there(Path(source.path))


def read_source(
    source: Source,
    job: Job,
    choices: ImportChoices | None = None,
    *,
    control: Control,
    with_strokes: bool = False,
) -> ReadAgain:
    """Read a drawing of the job again and hold it against the job.

    Args:
        source: the drawing as the job has it.
        job: it belongs to.
        choices: what the maker decided; as it was read before when not given.
        control: who watches.
        with_strokes: see `importing.bring_in`.

    Raises:
        UnreadableFileError: no such file, no drawing, or a damaged one.
    """
    from lasernest.services.importing import bring_in  # noqa: PLC0415 - heavy

    wanted = choices if choices is not None else source.choices
    imported = bring_in(Path(source.path), wanted, control=control, with_strokes=with_strokes)
    again = ReadAgain(source, imported.outlines, imported.digest, imported.choices)
    return replace(again, seen=again.changes(job))


def _exchanged(
    panels: tuple[JobPanel, ...], gone: set[str], fresh: list[JobPanel]
) -> tuple[JobPanel, ...]:
    """The fresh panels stand where the first of the old ones stood."""
    place = next((i for i, p in enumerate(panels) if p.name in gone), len(panels))
    head = [p for p in panels[:place] if p.name not in gone]
    tail = [p for p in panels[place:] if p.name not in gone]
    return (*head, *fresh, *tail)
