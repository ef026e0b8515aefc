"""The case put together: do its loops close, does anything overlap, is every gap filled?

Panels are folded up along their joints (`folding`), then every pair is looked
at for space that both occupy (`overlap`), every finger joint for places that
neither panel fills, and every corner of three panels for its owner. A panel is
named as the wrong one when the case closes without it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
import shapely

from lasernest.domain.findings import Finding, Severity
from lasernest.domain.joints import JointKind
from lasernest.domain.panels import Panel
from lasernest.geometry.flatten import polygon
from lasernest.joints.corners import FoundJoint, corners_of
from lasernest.joints.edges import SAME_PLACE_MM, sides_of
from lasernest.joints.folding import Folded, fold
from lasernest.joints.joined import Joined
from lasernest.joints.laid import LaidJoint
from lasernest.joints.overlap import (
    OVERLAP_WITHIN_MM,
    Clash,
    Crossing,
    Plate,
    parallel_overlap,
)
from lasernest.joints.stances import Stance
from lasernest.units import format_mm

_CHORD_ERROR_MM = 0.005


@dataclass(frozen=True, slots=True)
class Assembly:
    """The case as it stands, and what keeps it from going together."""

    stances: Mapping[str, Stance]
    """By panel name; panels without joints do not stand."""
    groups: tuple[tuple[str, ...], ...]
    closes: bool
    findings: tuple[Finding, ...]

    @property
    def goes_together(self) -> bool:
        """True when all loops close, nothing overlaps and nothing is left open."""
        return not self.findings


def assemble(drawn: Sequence[Panel], joined: Joined) -> Assembly:
    """Fold up the joined panels and check the case.

    Args:
        drawn: the panels before their joints.
        joined: the same panels with joints.
    """
    by_name = {p.name: p for p in drawn}
    joints, copied = _without_copies(joined.joints)
    folded = fold(by_name, joints)
    if copied:
        note = _copies(copied)
        return Assembly(folded.stances, folded.groups, folded.closes, (note,))
    findings = list(_open_loops(by_name, joints, folded))
    if folded.closes:
        plates = _plates(joined, folded)
        findings += _overlaps(plates, joints)
        findings += _unfilled(plates, joints)
        findings += _corners(by_name, plates, joints)
    if len(folded.groups) > 1:
        findings.append(_apart(folded))
    return Assembly(folded.stances, folded.groups, folded.closes, tuple(findings))


def _without_copies(
    joints: Sequence[LaidJoint],
) -> tuple[tuple[LaidJoint, ...], tuple[str, ...]]:
    """Joints that use no edge twice, and the panels that the others use as copies."""
    used: set[tuple[str, int]] = set()
    kept: list[LaidJoint] = []
    copied: dict[str, None] = {}
    for joint in joints:
        lines = [joint.a, joint.b] if joint.kind is JointKind.FINGER else [joint.a]
        if joint.kind is JointKind.LAP:
            lines = []
        edges = {(line.edge.panel, line.edge.index) for line in lines}
        copied |= dict.fromkeys(panel for panel, _ in sorted(edges & used))
        if not edges & used:
            kept.append(joint)
        used |= edges
    return tuple(kept), tuple(copied)


# -- loops ------------------------------------------------------------------


def _open_loops(
    panels: Mapping[str, Panel], joints: Sequence[LaidJoint], folded: Folded
) -> list[Finding]:
    if folded.closes:
        return []
    blamed = _blamed(panels, joints)
    findings: list[Finding] = []
    worst = max(range(len(joints)), key=lambda k: folded.misses_mm[k])
    joint, miss = joints[worst], folded.misses_mm[worst]
    for name in blamed:
        own = max(
            (k for k, j in enumerate(joints) if name in _names(j)),
            key=lambda k: folded.misses_mm[k],
        )
        line = joints[own].a if joints[own].joint.a.panel == name else joints[own].b
        findings.append(
            Finding(
                Severity.ERROR,
                "case-does-not-close",
                f"the case does not close: {name} does not fit the other panels, which close "
                f"without it; the joint of {_pair(joint)} misses by {format_mm(miss)}",
                where_mm=line.edge.middle,
                panel=name,
                todo=f"Check the size of {name} in the drawing against its neighbours.",
            )
        )
    if findings:
        return findings
    return [
        Finding(
            Severity.ERROR,
            "case-does-not-close",
            f"the case does not close: the joint of {_pair(joint)} misses by {format_mm(miss)}",
            where_mm=joint.b.edge.middle,
            panel=joint.joint.b.panel,
            todo="Check the sizes of the panels around this joint in the drawing.",
        )
    ]


def _blamed(panels: Mapping[str, Panel], joints: Sequence[LaidJoint]) -> list[str]:
    """Panels without which the others close; of several those with most unequal edges."""
    names = dict.fromkeys(n for j in joints for n in _names(j))
    blamed: list[str] = []
    for name in names:
        rest = [j for j in joints if name not in _names(j)]
        if rest and fold(panels, rest).closes:
            blamed.append(name)
    unequal = {name: sum(_is_unequal(j) for j in joints if name in _names(j)) for name in blamed}
    most = max(unequal.values(), default=0)
    return [name for name in blamed if unequal[name] == most]


def _is_unequal(joint: LaidJoint) -> bool:
    if joint.kind is not JointKind.FINGER:
        return False
    return abs(joint.a.edge.length_mm - joint.b.edge.length_mm) > SAME_PLACE_MM


# -- space --------------------------------------------------------------------


def _plates(joined: Joined, folded: Folded) -> dict[str, Plate]:
    thickness: dict[str, float] = {}
    for joint in joined.joints:
        for line, name in zip((joint.a, joint.b), _names(joint), strict=True):
            thickness[name] = line.thickness_mm
    return {
        p.name: Plate(
            p.name,
            polygon(p, chord_error_mm=_CHORD_ERROR_MM),
            thickness[p.name],
            folded.stances[p.name],
        )
        for p in joined.panels
        if p.name in folded.stances
    }


def _overlaps(plates: Mapping[str, Plate], joints: Sequence[LaidJoint]) -> list[Finding]:
    allowed: dict[frozenset[str], float] = {}
    for joint in joints:
        key = frozenset(_names(joint))
        wanted_mm = 0.5 * max(joint.interference_mm, 0.0)
        allowed[key] = max(allowed.get(key, 0.0), wanted_mm)
    findings: list[Finding] = []
    boxes = {name: _space_box(plate) for name, plate in plates.items()}
    for a, b in combinations(plates.values(), 2):
        (a_low, a_high), (b_low, b_high) = boxes[a.name], boxes[b.name]
        if (a_low > b_high).any() or (b_low > a_high).any():
            continue
        within_mm = allowed.get(frozenset((a.name, b.name)), 0.0) + OVERLAP_WITHIN_MM
        crossing = Crossing(a, b)
        clashes = (
            parallel_overlap(a, b, within_mm)
            if crossing.is_parallel
            else crossing.overlaps(within_mm)
        )
        findings += [
            _clash_finding(
                a,
                clash,
                "panels-overlap",
                f"{a.name} and {b.name} would occupy the same space over "
                f"{format_mm(clash.length_mm)}",
                "Join the two panels, or change one of them there.",
            )
            for clash in clashes
        ]
    return findings


def _space_box(plate: Plate) -> tuple[np.ndarray, np.ndarray]:
    x0, y0, x1, y1 = plate.body.bounds
    corners = np.array(
        [
            plate.stance.point((x, y), depth)
            for x in (x0, x1)
            for y in (y0, y1)
            for depth in (0.0, plate.thickness_mm)
        ]
    )
    return corners.min(axis=0), corners.max(axis=0)


def _unfilled(plates: Mapping[str, Plate], joints: Sequence[LaidJoint]) -> list[Finding]:
    findings: list[Finding] = []
    for joint in joints:
        if joint.kind is not JointKind.FINGER:
            continue
        a, b = (plates[name] for name in _names(joint))
        wanted_mm = 0.5 * max(-joint.interference_mm, 0.0)
        softened_mm = 2.0 * (joint.joint.chamfer_mm + joint.bite_mm)
        clashes = Crossing(a, b).holes(
            joint.a,
            joint.b,
            joint.span_mm,
            wanted_mm + softened_mm + OVERLAP_WITHIN_MM,
            others=[p for p in plates.values() if p not in (a, b)],
        )
        findings += [
            _clash_finding(
                a,
                clash,
                "gap-without-finger",
                f"the joint of {_pair(joint)} leaves a hole {format_mm(clash.length_mm)} long",
                "Something is cut away there: move the hole or notch off the joint.",
            )
            for clash in clashes
        ]
    return findings


def _corners(
    drawn: Mapping[str, Panel], plates: Mapping[str, Plate], joints: Sequence[LaidJoint]
) -> list[Finding]:
    """Every corner of three panels must be filled by one of them."""
    fingers = [
        FoundJoint(j.joint, j.a.edge, j.b.edge) for j in joints if j.kind is JointKind.FINGER
    ]
    sides = {name: sides_of(panel.outer) for name, panel in drawn.items()}
    findings: list[Finding] = []
    seen: set[tuple[str, ...]] = set()
    for one in fingers:
        for corner in corners_of(one, fingers, sides):
            names = (one.a.panel, one.b.panel, corner.third)
            end = one.a.start if corner.a_at_start else one.a.end
            three = [plates[n] for n in names]
            middle = _common_middle(three)
            key = (*sorted(names), *(f"{v:.1f}" for v in (middle if middle is not None else ())))
            if middle is None or key in seen:
                continue
            seen.add(key)
            owners = [
                p.name for p in three if p.body.covers(shapely.Point(p.stance.local(middle)[0]))
            ]
            if len(owners) != 1:
                what = "is filled by no panel" if not owners else f"is claimed by {_listed(owners)}"
                findings.append(
                    Finding(
                        Severity.ERROR,
                        "corner-not-filled" if not owners else "corner-claimed-twice",
                        f"the corner of {_listed(names)} {what}",
                        where_mm=end,
                        panel=one.a.panel,
                        todo="Check the joints that meet at this corner.",
                    )
                )
    return findings


def _common_middle(plates: Sequence[Plate]) -> np.ndarray | None:
    """The middle of the space that three plates share if they went on for ever."""
    normals = np.array([p.stance.outward for p in plates])
    if abs(np.linalg.det(normals)) < 1e-6:
        return None
    heights = np.array([p.stance.origin @ p.stance.outward - 0.5 * p.thickness_mm for p in plates])
    return np.asarray(np.linalg.solve(normals, heights))


def _clash_finding(plate: Plate, clash: Clash, code: str, message: str, todo: str) -> Finding:
    at, _ = plate.stance.local(clash.at)
    return Finding(Severity.ERROR, code, message, where_mm=at, panel=plate.name, todo=todo)


def _copies(names: Sequence[str]) -> Finding:
    return Finding(
        Severity.NOTE,
        "case-with-copies",
        f"{_listed(names)} is used more than once by the joints: only one copy is folded up, and "
        "the case is not checked",
        panel=names[0],
        todo="Give each copy its own panel with its own name to have the whole case checked.",
    )


def _apart(folded: Folded) -> Finding:
    sizes = "; ".join(_listed(group) for group in folded.groups)
    return Finding(
        Severity.NOTE,
        "case-in-groups",
        f"the joints do not hold all panels together: {sizes}",
        todo="Add a joint between the groups if they belong to one case.",
    )


def _names(joint: LaidJoint) -> tuple[str, str]:
    return joint.joint.a.panel, joint.joint.b.panel


def _pair(joint: LaidJoint) -> str:
    return _listed(_names(joint))


def _listed(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
