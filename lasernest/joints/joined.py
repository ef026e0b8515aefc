"""Panels with their joints applied: from the job's choices to shaped contours.

Everything is worked out anew from the drawn panels each time, so a change of
thickness, fit, stock or outline reaches every edge and nothing drawn is lost.
A joint that cannot be made is left out and becomes a finding.

Cost: a millisecond or so for each joint.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from lasernest.domain.contours import Contour
from lasernest.domain.findings import Finding, Severity
from lasernest.domain.joints import Joint, JointKind, JointRules, PanelLine, PanelSheet
from lasernest.domain.panels import Panel
from lasernest.joints.bench import Bench, PlannedFinger
from lasernest.joints.conflicts import conflicts
from lasernest.joints.corners import FoundJoint, rank_of_panels
from lasernest.joints.edges import SAME_PLACE_MM, JointError, StraightEdge, find_edge
from lasernest.joints.laid import LaidJoint
from lasernest.joints.laying import Laid, lay_finger, lay_lap, lay_slot
from lasernest.joints.meeting import Levels
from lasernest.joints.profile import EdgeRun, reshape, same_run
from lasernest.joints.sizing import interference_of, tightness_findings
from lasernest.units import format_mm

LEFT_OUT = frozenset({"joint-refused", "joint-panel-gone", "joint-edge-gone"})
"""Codes of findings about joints that were not made."""


@dataclass(frozen=True, slots=True)
class Joined:
    """Panels as they will be cut, the joints worked out, and what was noticed."""

    panels: tuple[Panel, ...]
    """All panels in the given order; those without joints as they were."""
    joints: tuple[LaidJoint, ...]
    findings: tuple[Finding, ...]

    def panel(self, name: str) -> Panel:
        """The panel of this name."""
        return next(p for p in self.panels if p.name == name)


class _RefusedError(Exception):
    """Carries the joint that an error belongs to."""

    def __init__(self, joint: Joint, error: JointError) -> None:
        super().__init__(str(error))
        self.joint = joint
        self.error = error


def apply_joints(
    panels: Sequence[Panel],
    joints: Sequence[Joint],
    *,
    rules: JointRules,
    sheets: Mapping[str, PanelSheet],
) -> Joined:
    """Shape all panels by all joints.

    Args:
        panels: as drawn, names unique.
        joints: in the order that ranks the panels (see `corners`).
        rules: meaning of the drawn edges, fit and interference of the job.
        sheets: by panel name, what each panel is cut from; for every panel that
            has a joint.

    Returns:
        Shaped panels, the joints that could be made, and findings: among them
        one error for each joint that could not.
    """
    remaining = list(joints)
    refused: list[Finding] = []
    while True:
        try:
            joined = _one_pass(panels, remaining, rules, sheets)
        except _RefusedError as refusal:
            remaining.remove(refusal.joint)
            refused.append(_as_finding(refusal.error))
        else:
            return Joined(joined.panels, joined.joints, (*refused, *joined.findings))


def _one_pass(
    panels: Sequence[Panel],
    joints: Sequence[Joint],
    rules: JointRules,
    sheets: Mapping[str, PanelSheet],
) -> Joined:
    """Plan all joints, then lay them; the first that cannot be made raises."""
    bench = Bench({p.name: p for p in panels}, rules, sheets)
    found, findings = _found_joints(joints, bench.panels)
    fingers = [f for f in found if f.joint.kind is JointKind.FINGER]
    rank = rank_of_panels([f.joint for f in fingers])
    plans: list[PlannedFinger | Levels | None] = []
    for one in found:
        plan, noticed = _planned(bench, one, fingers, rank)
        plans.append(plan)
        findings += noticed
    runs: dict[str, dict[int, list[EdgeRun]]] = defaultdict(lambda: defaultdict(list))
    holes: dict[str, list[Contour]] = defaultdict(list)
    laid: list[LaidJoint] = []
    for one, plan in zip(found, plans, strict=True):
        pair = (sheets[one.a.panel], sheets[one.b.panel])
        interference_mm = interference_of(one.joint, rules, pair)
        findings += tightness_findings(one.joint, interference_mm, pair)
        result = _laid(bench, one, plan, interference_mm)
        laid.append(result.joint)
        holes[one.b.panel] += result.holes
        for edge, run in result.runs:
            # Two copies of a panel used alike have the same run from both of their joints.
            if not any(same_run(run, other) for other in runs[edge.panel][edge.index]):
                runs[edge.panel][edge.index].append(run)
    shaped = tuple(_shaped(bench, p, runs[p.name], holes[p.name], found) for p in panels)
    findings += conflicts(bench.panels, shaped, laid, sheets)
    return Joined(shaped, tuple(laid), tuple(findings))


def _planned(
    bench: Bench, one: FoundJoint, fingers: Sequence[FoundJoint], rank: Mapping[str, int]
) -> tuple[PlannedFinger | Levels | None, tuple[Finding, ...]]:
    try:
        if one.joint.kind is JointKind.FINGER:
            plan, noticed = bench.plan_finger(one, fingers, rank)
            return plan, (*noticed, *_unequal(plan))
        if one.joint.kind is JointKind.LAP:
            return None, ()
        return bench.plan_tabs(one), ()
    except JointError as error:
        raise _RefusedError(one.joint, error) from error


def _laid(
    bench: Bench, one: FoundJoint, plan: PlannedFinger | Levels | None, interference_mm: float
) -> Laid:
    try:
        if isinstance(plan, PlannedFinger):
            return lay_finger(bench, one, plan, interference_mm)
        if isinstance(plan, Levels):
            return lay_slot(bench, one, plan, interference_mm)
        return lay_lap(bench, one, interference_mm)
    except JointError as error:
        raise _RefusedError(one.joint, error) from error


def _shaped(
    bench: Bench,
    panel: Panel,
    runs: Mapping[int, Sequence[EdgeRun]],
    holes: Sequence[Contour],
    found: Sequence[FoundJoint],
) -> Panel:
    if not runs and not holes:
        return panel
    outer = panel.outer
    if runs:
        try:
            outer = reshape(bench.sides[panel.name], runs, panel=panel.name)
        except JointError as error:
            last = [f.joint for f in found if panel.name in (f.a.panel, f.b.panel)][-1]
            raise _RefusedError(last, error) from error
    return Panel.of(panel.name, outer, (*panel.inner, *holes), panel.marks, panel.source)


def _found_joints(
    joints: Sequence[Joint], panels: Mapping[str, Panel]
) -> tuple[list[FoundJoint], list[Finding]]:
    found: list[FoundJoint] = []
    findings: list[Finding] = []
    for joint in joints:
        lines: list[StraightEdge] = []
        for line, on_face in ((joint.a, False), (joint.b, _on_face(joint))):
            panel = panels.get(line.panel)
            if panel is None:
                findings.append(_missing(line))
                break
            edge = face_line(panel, line) if on_face else find_edge(panel, line)
            if isinstance(edge, Finding):
                findings.append(edge)
                break
            lines.append(edge)
        else:
            found.append(FoundJoint(joint, *lines))
    return found, findings


def face_line(panel: Panel, line: PanelLine) -> StraightEdge:
    """A line on a panel's face; it keeps its place from the lower left of the panel."""
    x0, y0, *_ = panel.bounds_mm()
    dx, dy = x0 - line.panel_bounds_mm[0], y0 - line.panel_bounds_mm[1]
    return StraightEdge(
        panel.name,
        -1,
        (line.start[0] + dx, line.start[1] + dy),
        (line.end[0] + dx, line.end[1] + dy),
    )


def _on_face(joint: Joint) -> bool:
    return joint.kind in (JointKind.SLOT, JointKind.NUT)


def _as_finding(error: JointError) -> Finding:
    return Finding(
        Severity.ERROR,
        "joint-refused",
        error.what,
        where_mm=error.where.at_mm,
        panel=error.where.panel,
        todo=error.todo,
        on_command_line=error.on_command_line,
    )


def _missing(line: PanelLine) -> Finding:
    return Finding(
        Severity.ERROR,
        "joint-panel-gone",
        f"the panel {line.panel} of a joint is no longer there",
        panel=line.panel,
        todo="Bring the panel back, or remove the joint.",
    )


def _unequal(plan: PlannedFinger) -> tuple[Finding, ...]:
    first, second = plan.first, plan.second
    if abs(first.length_mm - second.length_mm) <= SAME_PLACE_MM or plan.shift_mm:
        # Who shifts a joint has looked at where the shorter edge belongs.
        return ()
    return (
        Finding(
            Severity.WARNING,
            "mate-length",
            f"the edges of {first.panel} ({format_mm(first.length_mm)}) and {second.panel} "
            f"({format_mm(second.length_mm)}) differ in length; they are joined middle to middle",
            where_mm=second.middle,
            panel=second.panel,
            todo="Check the drawing, or shift the joint to where the shorter edge belongs.",
        ),
    )
