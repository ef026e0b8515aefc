"""Joints from what a maker picks, and a plain case as one step of the history.

Picks are edges of the drawn panels (`joints.edges`) and lines on their faces
(`joints.faces`), both in the coordinates of each panel's drawing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from lasernest.domain.contours import Point
from lasernest.domain.joints import EdgeMeaning, Joint, JointKind, PanelLine
from lasernest.domain.panels import Panel
from lasernest.errors import UsageError
from lasernest.job import Job, JobPanel
from lasernest.joints.case import CaseSpec, plain_case
from lasernest.joints.edges import StraightEdge, line_of
from lasernest.services.commands import AddJoint, FreeNames, Together

ON_FACE = frozenset({JointKind.SLOT, JointKind.NUT})
"""Kinds whose second line lies on a face."""


def line_on_edge(panel: Panel, edge: StraightEdge, at: Point, kind: JointKind) -> PanelLine:
    """A picked edge as a joint keeps it; a lap also remembers where it was picked.

    Args:
        panel: as drawn.
        edge: one of its straight edges.
        at: the point that was picked.
        kind: of the joint.
    """
    line = line_of(edge, panel)
    if kind is not JointKind.LAP:
        return line
    share = edge.station_mm(at) / edge.length_mm
    return replace(line, at_share=min(max(share, 0.0), 1.0))


def sibling_kinds(kind: JointKind) -> tuple[JointKind, ...]:
    """Kinds that a joint can be changed to without picking anew."""
    if kind in ON_FACE:
        return (JointKind.SLOT, JointKind.NUT)
    return (JointKind.FINGER, JointKind.LAP)


def add_joints(joints: Sequence[Joint]) -> AddJoint | Together:
    """The command that adds these joints as one step."""
    if len(joints) == 1:
        return AddJoint(joints[0])
    return Together(f"Join {len(joints)} pairs of edges", tuple(AddJoint(j) for j in joints))


@dataclass(frozen=True, slots=True)
class AddCase:
    """Put the panels and joints of a plain case into the job."""

    spec: CaseSpec

    @property
    def label(self) -> str:
        return "Make a case"

    def apply(self, job: Job) -> Job:
        """The job with the case.

        Raises:
            UsageError: the drawn edges of the job's joints stand for something else.
        """
        rules = job.joint_rules
        if job.joints and rules.meaning is not self.spec.meaning:
            raise UsageError(
                f"the edges of this job are the {rules.meaning.value} of the case, those of the "
                f"new one would be the {self.spec.meaning.value}",
                todo=f"Give the {_size_word(rules.meaning)} size, or make the case in a new job.",
            )
        if rules.thickness_mm is None and job.setup.stock is None:
            rules = replace(rules, thickness_mm=self.spec.thickness_mm)
        case = plain_case(self.spec)
        free = FreeNames(panel.name for panel in job.panels)
        names = {panel.name: free.take(panel.name) for panel in case.panels}
        return job.changed(
            name=job.name or "case",
            panels=(
                *job.panels,
                *(JobPanel(replace(panel, name=names[panel.name])) for panel in case.panels),
            ),
            joints=(*job.joints, *(_renamed(joint, names) for joint in case.joints)),
            joint_rules=replace(rules, meaning=self.spec.meaning, meaning_told=True),
        )


def _size_word(meaning: EdgeMeaning) -> str:
    return {
        EdgeMeaning.OUTSIDE: "outer",
        EdgeMeaning.INSIDE: "inner",
        EdgeMeaning.CENTRE: "middle",
    }[meaning]


def _renamed(joint: Joint, names: dict[str, str]) -> Joint:
    a = replace(joint.a, panel=names[joint.a.panel])
    b = replace(joint.b, panel=names[joint.b.panel])
    return replace(joint, a=a, b=b)
