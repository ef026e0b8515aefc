"""The case on one desk: folded up, checked and looked at, in the background.

Works only while its page asks it to, and always on the joints as last worked
out; news of a job that has changed since are dropped.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from lasernest.domain.control import Control
from lasernest.domain.findings import Finding
from lasernest.domain.joints import Joint
from lasernest.gui.desk import Desk
from lasernest.gui.tiles import Step
from lasernest.gui.words import count_of, tr
from lasernest.services.joint_making import add_joints

if TYPE_CHECKING:
    from lasernest.joints.assembly import Assembly
    from lasernest.joints.joined import Joined
    from lasernest.joints.solids import StandingCase
    from lasernest.services.tuning import Forecast

MOST_APART = 0.3
"""Farthest that panels move outward, as a share of the size of the case."""


@dataclass(frozen=True, slots=True)
class CaseLook:
    """How the case is shown, whatever side it is seen from."""

    apart: float = 0.0
    """0 closed to 1 farthest apart."""
    axis: int | None = None
    """Along which it is cut open: 0, 1 or 2."""
    kept: float = 0.5
    """Share of its size along the axis that is kept."""
    hidden: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class CaseView:
    """The case as it is shown."""

    standing: StandingCase
    size_mm: float
    """Longest way through it, moved apart as it is, nothing hidden."""
    middle_mm: tuple[float, float, float]
    """What it is turned about."""


class Assembler(QObject):
    """The case of one job."""

    changed = Signal()
    view_changed = Signal()

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self._desk = desk
        self.assembly: Assembly | None = None
        self.forecasts: Mapping[Joint, Forecast] = {}
        self.view: CaseView | None = None
        self.look = CaseLook()
        self.proposals: tuple[Joint, ...] = ()
        self._joined: Joined | None = None

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What keeps the case from going together."""
        return self.assembly.findings if self.assembly is not None else ()

    def follow_job(self) -> None:
        """Fold up the joints as they are now, unless that was done."""
        joined = self._desk.joined
        if joined is self._joined:
            return
        self._joined = joined
        self.assembly = None
        self.forecasts = {}
        if joined is None or not joined.joints:
            self._desk.tasks.drop("fold")
            self._desk.tasks.drop("stand")
            self.view = None
            self.changed.emit()
            return
        job, shop = self._desk.job, self._desk.workbench.shop

        def work(_control: Control) -> tuple[Assembly, Mapping[Joint, Forecast]]:
            from lasernest.services.joining import assemble_job  # noqa: PLC0415 - heavy
            from lasernest.services.joint_forecast import forecast_joints  # noqa: PLC0415
            from lasernest.services.tuning import tune  # noqa: PLC0415 - heavy

            assembly = assemble_job(job, joined)
            tunings = {
                stock.name: tune(stock, shop.records(stock.name), on=date.today())
                for stock in job.setup.stocks
            }
            return assembly, forecast_joints(job, joined, tunings)

        self._desk.tasks.run(
            "fold",
            tr("Folding up the case"),
            work,
            on_done=self._take,
            on_failed=lambda e: self._desk.trouble(Step.JOINTS, tr("Folding up the case"), e),
        )

    def _take(self, result: tuple[Assembly, Mapping[Joint, Forecast]]) -> None:
        self.assembly, self.forecasts = result
        known = frozenset(self.assembly.stances)
        self.look = CaseLook(
            self.look.apart, self.look.axis, self.look.kept, self.look.hidden & known
        )
        self._stand_up()
        self.changed.emit()

    def show(self, look: CaseLook) -> None:
        """Look at the case in another way."""
        if look != self.look:
            self.look = look
            self._stand_up()

    def _stand_up(self) -> None:
        joined, assembly, look = self._joined, self.assembly, self.look
        if joined is None or assembly is None:
            return

        def work(_control: Control) -> CaseView:
            from lasernest.joints.solids import (  # noqa: PLC0415 - heavy
                Section,
                middle_of,
                size_of,
                stand_up,
            )

            closed = stand_up(joined, assembly)
            size_mm = size_of(closed.faces())
            x, y, z = (float(v) for v in middle_of(closed.faces()))
            section = None if look.axis is None else Section(look.axis, look.kept)
            if (look.apart, section, look.hidden) == (0.0, None, frozenset()):
                return CaseView(closed, size_mm, (x, y, z))
            explode_mm = look.apart * MOST_APART * size_mm
            standing = stand_up(
                joined, assembly, explode_mm=explode_mm, section=section, hidden=look.hidden
            )
            return CaseView(standing, size_mm + 2.0 * explode_mm, (x, y, z))

        self._desk.tasks.run(
            "stand",
            tr("Showing the case"),
            work,
            on_done=self._take_view,
            on_failed=lambda e: self._desk.trouble(Step.JOINTS, tr("Showing the case"), e),
        )

    def _take_view(self, view: CaseView) -> None:
        self.view = view
        self.view_changed.emit()

    # --- proposals -------------------------------------------------------------------

    def propose(self) -> None:
        """Look for edges that seem made for each other."""
        job = self._desk.job

        def work(_control: Control) -> tuple[Joint, ...]:
            from lasernest.services.joining import proposed_joints  # noqa: PLC0415 - heavy

            return proposed_joints(job)

        self._desk.tasks.run(
            "propose",
            tr("Looking for mating edges"),
            work,
            on_done=self._take_proposals,
            on_failed=lambda e: self._desk.trouble(Step.JOINTS, tr("Looking for mates"), e),
        )

    def _take_proposals(self, joints: tuple[Joint, ...]) -> None:
        self.proposals = joints
        if joints:
            found = count_of(len(joints), "pair of edges", "pairs of edges")
            self._desk.said.emit(tr("{found} could be joined.", found=found))
        else:
            self._desk.said.emit(tr("No free edges of the same length were found."))
        self.changed.emit()

    def drop_proposals(self) -> None:
        """Put all proposals away."""
        self.proposals = ()
        self.changed.emit()

    def accept(self, joints: tuple[Joint, ...]) -> None:
        """Take proposals into the job, as one step."""
        self.proposals = tuple(j for j in self.proposals if j not in joints)
        if joints:
            self._desk.do(add_joints(joints), Step.JOINTS)
        self.changed.emit()

    def forget_stale_proposals(self) -> None:
        """Proposals for panels that are gone, or edges joined meanwhile, are dropped."""
        names = {p.name for p in self._desk.job.panels}
        taken = {
            (line.panel, line.start, line.end)
            for joint in self._desk.job.joints
            for line in (joint.a, joint.b)
        }
        self.proposals = tuple(
            joint
            for joint in self.proposals
            if all(
                line.panel in names and (line.panel, line.start, line.end) not in taken
                for line in (joint.a, joint.b)
            )
        )
