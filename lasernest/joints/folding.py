"""Folding: panels placed one after another along their joints, and whether loops close.

Each joint hands the place of one panel to the other. A panel that two joints
reach must end in the same place by both; the difference is the *miss* of the
joint. Symmetric joints leave a choice, which is settled by a depth-first search
with a fixed number of tries, so that the result is the same every time.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from lasernest.domain.contours import Point
from lasernest.domain.joints import JointKind
from lasernest.domain.panels import Panel
from lasernest.joints.laid import LaidJoint
from lasernest.joints.stances import Stance, other_stances

CLOSES_WITHIN_MM = 0.02
"""Largest miss of a joint in a case that closes."""
_MOST_TRIES = 5000
_AS_LARGE = 0.999
_BASE_WORDS = {"base", "bottom", "floor", "boden", "fond", "fondo"}
_WORD = re.compile(r"[^\W\d_]+")
_BETWEEN_GROUPS_MM = 50.0


@dataclass(frozen=True, slots=True)
class Folded:
    """Where every panel stands, and by how much each joint misses."""

    stances: Mapping[str, Stance]
    misses_mm: tuple[float, ...]
    """One for each joint, in their order; 0 for joints that placed a panel."""
    groups: tuple[tuple[str, ...], ...]
    """Panels that hang together; each group stands on its own."""

    @property
    def closes(self) -> bool:
        return all(miss <= CLOSES_WITHIN_MM for miss in self.misses_mm)


def fold(panels: Mapping[str, Panel], joints: Sequence[LaidJoint]) -> Folded:
    """Place all panels that have joints.

    Args:
        panels: as drawn, by name.
        joints: as laid.
    """
    stances: dict[str, Stance] = {}
    groups: list[tuple[str, ...]] = []
    names = list(dict.fromkeys(n for j in joints for n in _names(j)))
    shift_mm = 0.0
    for first in names:
        if first in stances:
            continue
        name = base_of([panels[n] for n in _hanging_together(first, joints)])
        group = _Search(panels, joints, {name: _start(shift_mm, 1.0)}).run()
        if _mostly_from_inside(group, joints):
            group = _Search(panels, joints, {name: _start(shift_mm, -1.0)}).run()
        groups.append(tuple(group))
        stances |= group
        reach = max(float(_box_points(panels[n], s)[:, 0].max()) for n, s in group.items())
        shift_mm = reach + _BETWEEN_GROUPS_MM
    misses = tuple(miss_mm(j, panels, stances) for j in joints)
    return Folded(stances, misses, tuple(groups))


def base_of(panels: Sequence[Panel]) -> str:
    """Name of the panel that a case stands on.

    The one that is called so; else the largest, of several the one with the fewest holes
    (a lid has a grip or a window), then the first.
    """
    called = [p for p in panels if _BASE_WORDS & set(_WORD.findall(p.name.casefold()))]
    sizes = {p.name: _box_area_mm2(p) for p in panels}
    most = max(sizes[p.name] for p in called or panels)
    large = [p for p in called or panels if sizes[p.name] >= _AS_LARGE * most]
    return min(large, key=lambda p: len(p.inner)).name


def _box_area_mm2(panel: Panel) -> float:
    x0, y0, x1, y1 = panel.bounds_mm()
    return (x1 - x0) * (y1 - y0)


def _hanging_together(name: str, joints: Sequence[LaidJoint]) -> list[str]:
    """All panels that joints lead to from one, in the order in which the joints name them."""
    reached, before = {name}, 0
    while len(reached) > before:
        before = len(reached)
        reached |= {n for j in joints if reached & set(_names(j)) for n in _names(j)}
    return [n for n in dict.fromkeys(n for j in joints for n in _names(j)) if n in reached]


def _mostly_from_inside(group: Mapping[str, Stance], joints: Sequence[LaidJoint]) -> bool:
    """Most panels of a case are drawn as seen from outside; dividers do not tell."""
    telling = {n for j in joints if j.kind is JointKind.FINGER for n in _names(j)} or set(group)
    sides = [stance.from_outside for name, stance in group.items() if name in telling]
    return 2 * sum(sides) < len(sides)


def _start(shift_mm: float, side: float) -> Stance:
    flat = Stance.flat()
    origin = flat.origin + np.array([shift_mm, 0.0, 0.0])
    return Stance(origin, flat.x_axis, flat.y_axis, side * flat.outward)


def miss_mm(joint: LaidJoint, panels: Mapping[str, Panel], stances: Mapping[str, Stance]) -> float:
    """How far the second panel stands from where the joint wants it."""
    a, b = _names(joint)
    there = _box_points(panels[b], stances[b])
    return min(
        float(np.linalg.norm(_box_points(panels[b], wanted) - there, axis=1).max())
        for wanted in other_stances(joint, stances[a], known_is_a=True)
    )


def _names(joint: LaidJoint) -> tuple[str, str]:
    return joint.joint.a.panel, joint.joint.b.panel


def _box_points(panel: Panel, stance: Stance) -> np.ndarray:
    """The corners of a panel's box in space, on its outer face, and one below it."""
    x0, y0, x1, y1 = panel.bounds_mm()
    corners: list[Point] = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
    below = stance.point(corners[0], x1 - x0)
    return np.array([*(stance.point(c) for c in corners), below])


class _Search:
    """Depth-first over the stances that symmetric joints leave open."""

    def __init__(
        self,
        panels: Mapping[str, Panel],
        joints: Sequence[LaidJoint],
        placed: dict[str, Stance],
    ) -> None:
        self._panels = panels
        self._joints = joints
        self._start = placed
        self._tries = 0

    def run(self) -> dict[str, Stance]:
        closed = self._closed(dict(self._start))
        return closed if closed is not None else self._nearest(dict(self._start))

    def _next(self, placed: Mapping[str, Stance]) -> str | None:
        """The panel with most joints to those that stand; the first of several."""
        counts: dict[str, int] = {}
        for joint in self._joints:
            a, b = _names(joint)
            if (a in placed) != (b in placed):
                name = b if a in placed else a
                counts[name] = counts.get(name, 0) + 1
        return max(counts, key=lambda n: counts[n]) if counts else None

    def _options(self, name: str, placed: Mapping[str, Stance]) -> list[tuple[float, Stance]]:
        """Stances for a panel with the worst miss to those that stand, best first."""
        links = [j for j in self._joints if name in _names(j) and _other(j, name) in placed]
        # The joint that leaves fewest choices proposes.
        proposals = min(
            (
                other_stances(j, placed[_other(j, name)], known_is_a=j.joint.b.panel == name)
                for j in links
            ),
            key=len,
        )
        options: list[tuple[float, Stance]] = []
        for stance in proposals:
            there = {**placed, name: stance}
            worst_mm = max(miss_mm(j, self._panels, there) for j in links)
            options.append((worst_mm, stance))
        return sorted(options, key=lambda option: round(option[0], 6))

    def _closed(self, placed: dict[str, Stance]) -> dict[str, Stance] | None:
        name = self._next(placed)
        if name is None:
            return placed
        for worst_mm, stance in self._options(name, placed):
            self._tries += 1
            if worst_mm > CLOSES_WITHIN_MM or self._tries > _MOST_TRIES:
                return None
            found = self._closed({**placed, name: stance})
            if found is not None:
                return found
        return None

    def _nearest(self, placed: dict[str, Stance]) -> dict[str, Stance]:
        while (name := self._next(placed)) is not None:
            placed[name] = self._options(name, placed)[0][1]
        return placed


def _other(joint: LaidJoint, name: str) -> str:
    a, b = _names(joint)
    return b if a == name else a
