"""What the makers of joints share: panels, sheets, and the levels neighbours leave at corners."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from lasernest.domain.contours import Segment
from lasernest.domain.findings import Finding
from lasernest.domain.joints import Joint, JointRules, PanelSheet
from lasernest.domain.panels import Panel
from lasernest.errors import Where
from lasernest.joints.corners import SQUARE_DEG, FoundJoint, corners_of, meeting_of
from lasernest.joints.edges import JointError, StraightEdge, sides_of
from lasernest.joints.finger import FingerEdge, FingerJoint, open_ends, shift_seen_from_first_mm
from lasernest.joints.meeting import Levels, finger_levels, tab_levels
from lasernest.joints.sizing import relief_radius_mm
from lasernest.units import format_mm


@dataclass(frozen=True, slots=True)
class PlannedFinger:
    """A finger joint before its neighbours are known."""

    first: StraightEdge
    second: StraightEdge
    first_levels: Levels
    second_levels: Levels
    angle_deg: float
    same_way: bool
    shift_mm: float


@dataclass
class Bench:
    """Panels and sheets of one pass, and what the joints planned so far leave at corners."""

    panels: Mapping[str, Panel]
    rules: JointRules
    sheets: Mapping[str, PanelSheet]
    sides: dict[str, tuple[Segment, ...]] = field(init=False)
    _levels: dict[tuple[str, int], tuple[float, float]] = field(default_factory=dict)
    """By panel and side: the level at its start and at its end, where a joint reaches them."""

    def __post_init__(self) -> None:
        self.sides = {name: sides_of(panel.outer) for name, panel in self.panels.items()}

    def thickness_mm(self, panel: str) -> float:
        """Measured thickness of a panel's sheet."""
        return self.sheets[panel].thickness_mm

    def plan_finger(
        self, one: FoundJoint, fingers: Sequence[FoundJoint], rank: Mapping[str, int]
    ) -> tuple[PlannedFinger, tuple[Finding, ...]]:
        """Settle who keeps the corners, angle and levels; remember them for the neighbours.

        Raises:
            JointError: the panels meet at an angle that fingers cannot hold.
        """
        meeting = meeting_of(one, corners_of(one, fingers, self.sides))
        a_is_first = rank[one.a.panel] < rank[one.b.panel]
        first, second = (one.a, one.b) if a_is_first else (one.b, one.a)
        first_levels, second_levels = (
            finger_levels(
                self.thickness_mm(own.panel),
                self.thickness_mm(mate.panel),
                angle_deg=meeting.angle_deg,
                meaning=self.rules.meaning,
                flush_mm=one.joint.flush_mm,
                where=Where(panel=own.panel, at_mm=own.middle),
            )
            for own, mate in ((first, second), (second, first))
        )
        plan = PlannedFinger(
            first,
            second,
            first_levels,
            second_levels,
            meeting.angle_deg,
            meeting.same_way,
            shift_seen_from_first_mm(one.joint, a_is_first=a_is_first, same_way=meeting.same_way),
        )
        self._note_levels(plan)
        return plan, meeting.findings

    def _note_levels(self, plan: PlannedFinger) -> None:
        first_open, second_open = open_ends(self.finger_spec(plan, 0.0, None))
        if not plan.same_way:
            second_open = second_open[::-1]
        self._note(plan.first, first_open, plan.first_levels.tip_mm)
        self._note(plan.second, second_open, plan.second_levels.root_mm)

    def _note(self, edge: StraightEdge, is_open: tuple[bool, bool], level_mm: float) -> None:
        """Two joints may share an edge, each of them reaching one corner."""
        start_mm, end_mm = self._levels.get((edge.panel, edge.index), (0.0, 0.0))
        self._levels[(edge.panel, edge.index)] = (
            level_mm if is_open[0] else start_mm,
            level_mm if is_open[1] else end_mm,
        )

    def plan_tabs(self, one: FoundJoint) -> Levels:
        """Levels of an edge with tabs, remembered for its neighbours.

        Raises:
            JointError: the panel leans too much.
        """
        levels = tab_levels(
            self.thickness_mm(one.a.panel),
            self.thickness_mm(one.b.panel),
            angle_deg=SQUARE_DEG if one.joint.angle_deg is None else one.joint.angle_deg,
            meaning=self.rules.meaning,
            flush_mm=one.joint.flush_mm,
            where=Where(panel=one.a.panel, at_mm=one.a.middle),
        )
        self._levels[(one.a.panel, one.a.index)] = (levels.root_mm, levels.root_mm)
        return levels

    def finger_spec(
        self, plan: PlannedFinger, interference_mm: float, joint: Joint | None
    ) -> FingerJoint:
        """The spec of a planned joint, with its neighbours as known by now."""
        return FingerJoint(
            self.edge(plan.first, plan.first_levels, joint),
            self.edge(plan.second, plan.second_levels, joint),
            interference_mm,
            joint.target_width_mm if joint else None,
            plan.same_way,
            plan.shift_mm,
        )

    def edge(self, edge: StraightEdge, levels: Levels, joint: Joint | None) -> FingerEdge:
        """An edge with the levels that its neighbouring sides end at.

        Raises:
            JointError: the chamfers would leave no straight wall.
        """
        sides = self.sides[edge.panel]
        sheet = self.sheets[edge.panel]
        if joint is not None and joint.chamfer_mm > 0.5 * levels.depth_mm:
            raise JointError(
                f"a chamfer of {format_mm(joint.chamfer_mm)} leaves too little of fingers that are "
                f"{format_mm(levels.depth_mm)} deep",
                where=Where(panel=edge.panel, at_mm=edge.middle),
                todo="Make it half the depth or less; 0.2 to 0.5 mm lead in well.",
            )
        count = len(sides)
        before = self._levels.get((edge.panel, (edge.index - 1) % count), (0.0, 0.0))
        after = self._levels.get((edge.panel, (edge.index + 1) % count), (0.0, 0.0))
        return FingerEdge(
            edge,
            sides,
            levels,
            sheet.thickness_mm,
            before[1],
            after[0],
            relief_radius_mm(joint, sheet) if joint else 0.0,
            joint.chamfer_mm if joint else 0.0,
        )
