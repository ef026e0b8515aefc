"""Where panels stand in space, and how a joint hands the place of one to the other.

A *stance* is a rigid pose of a panel: three axes and an origin, in mm. The outer
face lies at depth 0 and the body below it, down to the thickness. A panel that
is drawn as seen from inside the case has a left-handed stance.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from lasernest.domain.contours import Point, exact_cos_sin
from lasernest.domain.joints import JointKind
from lasernest.joints.edges import StraightEdge
from lasernest.joints.laid import LaidJoint, LaidLine

Vector = npt.NDArray[np.float64]
"""Three numbers."""


@dataclass(frozen=True, slots=True, eq=False)
class Stance:
    """A rigid pose: a point of the drawing goes to origin + x x_axis + y y_axis - depth outward."""

    origin: Vector
    x_axis: Vector
    y_axis: Vector
    outward: Vector
    """Unit normal of the outer face, away from the body."""

    @classmethod
    def flat(cls) -> Stance:
        """The drawing's own plane, outer face up."""
        return cls(np.zeros(3), *np.eye(3))

    def point(self, at: Point, depth_mm: float = 0.0) -> Vector:
        """A point of the drawing, at a depth under the outer face, in space."""
        return self.origin + self.vector(at) - depth_mm * self.outward

    def vector(self, way: Point) -> Vector:
        """A direction of the drawing, in space."""
        return way[0] * self.x_axis + way[1] * self.y_axis

    def local(self, point: Vector) -> tuple[Point, float]:
        """A point in space as a point of the drawing and its depth."""
        from_origin = point - self.origin
        at = (float(from_origin @ self.x_axis), float(from_origin @ self.y_axis))
        return at, -float(from_origin @ self.outward)

    @property
    def from_outside(self) -> bool:
        """True when the drawing shows the outer face."""
        return float(np.cross(self.x_axis, self.y_axis) @ self.outward) > 0.0

    def matrix(self) -> npt.NDArray[np.float64]:
        """As a 4 by 4 matrix that takes (x, y, height over the outer face, 1)."""
        pose = np.eye(4)
        pose[:3, 0], pose[:3, 1], pose[:3, 2] = self.x_axis, self.y_axis, self.outward
        pose[:3, 3] = self.origin
        return pose


def other_stances(joint: LaidJoint, known: Stance, *, known_is_a: bool) -> tuple[Stance, ...]:
    """Where the other panel of a joint may stand, likeliest first.

    A finger joint leaves one place; the others are symmetric, so the other
    panel may also be turned or drawn from its other side.

    Args:
        joint: as laid.
        known: stance of one of its panels.
        known_is_a: which one.
    """
    if joint.kind is JointKind.FINGER:
        return (_across_fingers(joint, known, known_is_a=known_is_a),)
    if joint.kind is JointKind.LAP:
        return tuple(_across_lap(joint, known, known_is_a=known_is_a))
    if known_is_a:
        return tuple(_face_under_tabs(joint, known))
    return tuple(_tabs_on_face(joint, known))


@dataclass(frozen=True, slots=True, eq=False)
class _Frame:
    """An edge in space: along, away from the panel within its plane, out of its face."""

    along: Vector
    away: Vector
    outward: Vector


def _frame(edge: StraightEdge, stance: Stance) -> _Frame:
    return _Frame(stance.vector(edge.direction), stance.vector(edge.outward), stance.outward)


def _stance(edge: StraightEdge, frame: _Frame, at: Point, depth_mm: float, point: Vector) -> Stance:
    """The stance that puts an edge along a frame and one of its points at a point."""
    (ux, uy), (nx, ny) = edge.direction, edge.outward
    x_axis = ux * frame.along + nx * frame.away
    y_axis = uy * frame.along + ny * frame.away
    origin = point - at[0] * x_axis - at[1] * y_axis + depth_mm * frame.outward
    return Stance(origin, x_axis, y_axis, frame.outward)


def _across_fingers(joint: LaidJoint, known: Stance, *, known_is_a: bool) -> Stance:
    """Outer faces meet in a line, under the joint's angle inside."""
    cos, sin = exact_cos_sin(joint.angle_deg)
    a_station_mm = 0.5 * sum(joint.span_mm)
    stations = (a_station_mm, joint.b_station_mm(a_station_mm))
    lines = (joint.a, joint.b)
    if not known_is_a:
        stations, lines = stations[::-1], lines[::-1]
    (own, other), (own_mm, other_mm) = lines, stations
    frame = _frame(own.edge, known)
    new = _Frame(
        frame.along if joint.same_way else -frame.along,
        cos * frame.away + sin * frame.outward,
        sin * frame.away - cos * frame.outward,
    )
    meet = known.point(_outer_point(own, own_mm))
    return _stance(other.edge, new, _outer_point(other, other_mm), 0.0, meet)


def _outer_point(line: LaidLine, station_mm: float) -> Point:
    assert line.levels is not None
    return line.edge.point(station_mm, line.levels.outer_faces_mm)


def _slot_points(joint: LaidJoint) -> tuple[Point, Point]:
    """A point of the tongue's middle plane and the point of the line it lies on."""
    assert joint.a.levels is not None
    _, sin = exact_cos_sin(joint.angle_deg)
    station_mm = 0.5 * sum(joint.span_mm)
    level_mm = joint.a.levels.outer_faces_mm - 0.5 * joint.b.thickness_mm / sin
    return (
        joint.a.edge.point(station_mm, level_mm),
        joint.b.edge.point(joint.b_station_mm(station_mm)),
    )


def _ways(joint: LaidJoint) -> tuple[float, ...]:
    """Along or against the line: as chosen, else both."""
    likely = 1.0 if joint.same_way else -1.0
    return (likely,) if joint.joint.flipped is not None else (likely, -likely)


def _tabs_on_face(joint: LaidJoint, face: Stance) -> Iterator[Stance]:
    cos, sin = exact_cos_sin(joint.angle_deg)
    line = _frame(joint.b.edge, face)
    tab_at, line_at = _slot_points(joint)
    meet = face.point(line_at, 0.5 * joint.b.thickness_mm)
    away = sin * line.outward - cos * line.away
    for way in _ways(joint):
        along = way * line.along
        for side in (-1.0, 1.0):
            outward = side * np.cross(along, away)
            frame = _Frame(along, away, outward)
            yield _stance(joint.a.edge, frame, tab_at, 0.5 * joint.a.thickness_mm, meet)


def _face_under_tabs(joint: LaidJoint, tabs: Stance) -> Iterator[Stance]:
    cos, sin = exact_cos_sin(joint.angle_deg)
    edge = _frame(joint.a.edge, tabs)
    tab_at, line_at = _slot_points(joint)
    meet = tabs.point(tab_at, 0.5 * joint.a.thickness_mm)
    inward = -edge.away
    for way in _ways(joint):
        along = way * edge.along
        for side in (1.0, -1.0):
            outward = -sin * inward - side * cos * np.cross(along, inward)
            frame = _Frame(along, side * np.cross(along, outward), outward)
            yield _stance(joint.b.edge, frame, line_at, 0.5 * joint.b.thickness_mm, meet)


def _across_lap(joint: LaidJoint, known: Stance, *, known_is_a: bool) -> Iterator[Stance]:
    """The roots of both notches meet; the mouths point apart."""
    cos, sin = exact_cos_sin(joint.angle_deg)
    lines = (joint.a, joint.b)
    shares = (joint.joint.a.at_share, joint.joint.b.at_share)
    if not known_is_a:
        lines, shares = lines[::-1], shares[::-1]
    (own, other), (own_share, other_share) = lines, shares
    frame = _frame(own.edge, known)
    meet = known.point(_root_point(own, own_share), 0.5 * own.thickness_mm)
    at = _root_point(other, other_share)
    leans = (1.0,) if abs(cos) < 1e-12 else (1.0, -1.0)
    for way in _ways(joint):
        for lean in leans:
            along = way * (sin * frame.outward + lean * cos * frame.along)
            for side in (-1.0, 1.0):
                outward = side * np.cross(along, -frame.away)
                new = _Frame(along, -frame.away, outward)
                yield _stance(other.edge, new, at, 0.5 * other.thickness_mm, meet)


def _root_point(line: LaidLine, share: float) -> Point:
    assert line.levels is not None
    return line.edge.point(share * line.edge.length_mm, line.levels.root_mm)
