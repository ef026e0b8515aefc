"""Corners where three panels meet: who keeps the corner, and at which angles.

**Rule.** Panels are ranked by their first appearance in the list of joints. In
every finger joint the panel that ranks higher has a finger at both ends. At a
corner of three panels the highest of the three then has fingers on both of its
edges there and keeps the corner; the other two each have a gap towards it, so
their joint with each other begins one gap depth in from the corner. Since the
rank is one order for all panels, no corner is claimed twice and none is left
empty, whatever the shape.

Angles between panels follow from the plane angles of the three faces at a
corner by the cosine rule of spherical trigonometry,
cos A = (cos a - cos b cos c) / (sin b sin c).
Source: any textbook of spherical trigonometry, such as Todhunter, 1886, art. 37.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from lasernest.domain.contours import Segment
from lasernest.domain.findings import Finding, Severity
from lasernest.domain.joints import Joint
from lasernest.joints.edges import StraightEdge

SAME_ANGLE_DEG = 0.2
"""Two angles that differ by less are the same."""
SQUARE_DEG = 90.0

Sides = Mapping[str, Sequence[Segment]]


@dataclass(frozen=True, slots=True)
class FoundJoint:
    """A joint whose two lines were found in the panels as they are now."""

    joint: Joint
    a: StraightEdge
    b: StraightEdge


@dataclass(frozen=True, slots=True)
class Corner:
    """One end of a joint where a third panel is joined to both."""

    a_at_start: bool
    b_at_start: bool
    third: str
    angle_deg: float | None
    """Between a and b; None when the three faces cannot close there."""


def rank_of_panels(joints: Sequence[Joint]) -> dict[str, int]:
    """The order in which panels keep corners: lower numbers win."""
    rank: dict[str, int] = {}
    for joint in joints:
        for name in (joint.a.panel, joint.b.panel):
            rank.setdefault(name, len(rank))
    return rank


def corners_of(one: FoundJoint, joints: Sequence[FoundJoint], sides: Sides) -> tuple[Corner, ...]:
    """The ends of a finger joint at which three panels meet.

    Args:
        one: the joint looked at.
        joints: all finger joints.
        sides: lines and arcs of every panel.
    """
    return tuple(_corners(one, joints, sides))


def _corners(one: FoundJoint, joints: Sequence[FoundJoint], sides: Sides) -> Iterator[Corner]:
    for a_at_start in (True, False):
        a_side = _neighbour(one.a, sides, at_start=a_at_start)
        for third_at_a in _mates(one.a.panel, a_side, joints):
            for b_at_start in (True, False):
                b_side = _neighbour(one.b, sides, at_start=b_at_start)
                for third_at_b in _mates(one.b.panel, b_side, joints):
                    count = len(sides[third_at_a.panel])
                    step = (third_at_b.index - third_at_a.index) % count
                    if third_at_a.panel != third_at_b.panel or step not in (1, count - 1):
                        continue
                    third_corner = third_at_b.index if step == 1 else third_at_a.index
                    yield Corner(
                        a_at_start,
                        b_at_start,
                        third_at_a.panel,
                        _dihedral_deg(
                            opposite_deg=interior_deg(sides[third_at_a.panel], third_corner),
                            b_deg=_end_angle_deg(one.a, sides, at_start=a_at_start),
                            c_deg=_end_angle_deg(one.b, sides, at_start=b_at_start),
                        ),
                    )


def _neighbour(edge: StraightEdge, sides: Sides, *, at_start: bool) -> int:
    count = len(sides[edge.panel])
    return (edge.index + (-1 if at_start else 1)) % count


def _mates(panel: str, index: int, joints: Sequence[FoundJoint]) -> Iterator[StraightEdge]:
    for other in joints:
        for own, mate in ((other.a, other.b), (other.b, other.a)):
            if own.panel == panel and own.index == index:
                yield mate


def interior_deg(sides: Sequence[Segment], index: int) -> float:
    """The angle inside a panel at the corner before a side."""
    ax, ay = sides[index - 1].tangent_at(1.0)
    bx, by = sides[index].tangent_at(0.0)
    turn_deg = math.degrees(math.atan2(ax * by - ay * bx, ax * bx + ay * by))
    return 180.0 - turn_deg


def _end_angle_deg(edge: StraightEdge, sides: Sides, *, at_start: bool) -> float:
    count = len(sides[edge.panel])
    return interior_deg(sides[edge.panel], edge.index if at_start else (edge.index + 1) % count)


def _dihedral_deg(*, opposite_deg: float, b_deg: float, c_deg: float) -> float | None:
    if max(opposite_deg, b_deg, c_deg) >= 180.0:
        return None
    a, b, c = (math.radians(v) for v in (opposite_deg, b_deg, c_deg))
    cosine = (math.cos(a) - math.cos(b) * math.cos(c)) / (math.sin(b) * math.sin(c))
    if not -1.0 < cosine < 1.0:
        return None
    angle_deg = math.degrees(math.acos(cosine))
    # Drawn square is meant square: keep the closed forms exact.
    return SQUARE_DEG if abs(angle_deg - SQUARE_DEG) < 1e-6 else angle_deg


@dataclass(frozen=True, slots=True)
class Meeting:
    """At which angle two panels meet, and which way round they are drawn."""

    angle_deg: float
    same_way: bool
    """True when both edges run the same way once joined: one panel is drawn from
    the other side."""
    findings: tuple[Finding, ...] = ()


def meeting_of(one: FoundJoint, corners: Sequence[Corner]) -> Meeting:
    """The angle and the way round of a finger joint: as chosen, else from its corners."""
    found_deg = [c.angle_deg for c in corners if c.angle_deg is not None]
    findings: list[Finding] = []
    if len(found_deg) < len(corners):
        third = next(c.third for c in corners if c.angle_deg is None)
        findings.append(
            _finding(
                one,
                "corner-cannot-close",
                f"the faces of {one.a.panel}, {one.b.panel} and {third} cannot close "
                "to a corner: their angles do not go together",
            )
        )
    given_deg = one.joint.angle_deg
    expected_deg = given_deg if given_deg is not None else (found_deg or [SQUARE_DEG])[0]
    for angle_deg in found_deg:
        if abs(angle_deg - expected_deg) > SAME_ANGLE_DEG:
            findings.append(
                _finding(
                    one,
                    "corner-angles-differ",
                    f"{one.a.panel} and {one.b.panel} would meet at {expected_deg:.1f} degrees "
                    f"and, by the panel at the corner, at {angle_deg:.1f}",
                )
            )
            break
    same_way = one.joint.flipped
    if same_way is None:
        votes = [c.a_at_start == c.b_at_start for c in corners]
        same_way = 2 * sum(votes) > len(votes)
    return Meeting(expected_deg, same_way, tuple(findings))


def _finding(one: FoundJoint, code: str, message: str) -> Finding:
    return Finding(
        Severity.WARNING,
        code,
        message,
        where_mm=one.a.middle,
        panel=one.a.panel,
        todo="Check the angles of the panels in the drawing, or set the angle of this joint.",
    )
