"""Which panels have places that the beam does not fit into, looked at in the background."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from lasernest.domain.control import Control
from lasernest.domain.findings import Finding
from lasernest.domain.panels import Panel
from lasernest.domain.stock import Kerf
from lasernest.gui.tiles import Step
from lasernest.gui.words import tr
from lasernest.job import Job
from lasernest.services.apart import helpers

if TYPE_CHECKING:
    from lasernest.gui.desk import Desk


class BeamCheck(QObject):
    """What is known of the job's panels and the kerf each is cut with.

    A panel is looked at once for each kerf; a panel that came, or another kerf, is
    looked at when the job is followed. What failed is looked at again with the next
    change of the job, or when the maker asks for it; that it failed is told once.
    """

    changed = Signal()

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self._desk = desk
        self._known: dict[tuple[int, Kerf], tuple[Panel, tuple[Finding, ...]]] = {}
        """By a panel's identity, which holds as long as the panel kept beside is there."""
        self._looked_for: list[tuple[int, Kerf]] = []
        """Equal panels are not compared: that takes long for a thousand."""
        self._failed: list[tuple[int, Kerf]] = []
        """What was told to have failed."""
        self._failed_in: Job | None = None

    def follow(self, job: Job) -> tuple[Finding, ...]:
        """What is known of a job's panels; the rest is looked at, and told by `changed`."""
        from lasernest.services.narrow import panels_and_kerfs  # noqa: PLC0415 - heavy

        wanted = panels_and_kerfs(job)
        keys = [(id(panel), kerf) for panel, kerf in wanted]
        unknown = [key for key in keys if key not in self._known]
        if not unknown:
            self._known = {key: self._known[key] for key in keys}
        elif unknown != self._looked_for and job is not self._failed_in:
            self._looked_for = unknown
            pairs = zip(keys, wanted, strict=True)
            self._look(job, tuple(pair for key, pair in pairs if key not in self._known))
        return tuple(f for key in keys if key in self._known for f in self._known[key][1])

    def _look(self, job: Job, pairs: tuple[tuple[Panel, Kerf], ...]) -> None:
        def work(control: Control) -> tuple[tuple[Finding, ...], ...]:
            from lasernest.services.narrow import narrow_findings_each  # noqa: PLC0415 - heavy

            found: tuple[tuple[Finding, ...], ...] = helpers.do(
                partial(narrow_findings_each, pairs), control=control
            )
            return found

        def take(found: tuple[tuple[Finding, ...], ...]) -> None:
            for (panel, kerf), findings in zip(pairs, found, strict=True):
                self._known[id(panel), kerf] = (panel, findings)
            self._looked_for, self._failed, self._failed_in = [], [], None
            self.changed.emit()

        wanted = self._looked_for

        def fail(error: Exception) -> None:
            told, self._failed, self._failed_in = self._failed, wanted, job
            self._looked_for = []
            if told != wanted:
                self._desk.trouble(Step.OUTLINES, name, error, self._again)

        name = tr("Looking for places narrower than the beam")

        self._desk.tasks.run(
            "beam",
            name,
            work,
            on_done=take,
            on_failed=fail,
        )

    def _again(self) -> None:
        self._failed, self._failed_in = [], None
        self.follow(self._desk.job)
