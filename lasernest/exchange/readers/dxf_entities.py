"""DXF entities turned into paths of lines and arcs.

Each function takes the groups of one record and a `Placing` (where its block
stands, in millimetres) and returns paths in the drawing's plane, seen from
above. Entities that have a coordinate system of their own (extrusion) are
drawn in it and mapped; the others have their points mapped one by one.

Source: the published DXF reference, "Entities"; group codes as given there.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

from ezdxf.math import OCS, Matrix44, Vec3, fit_points_to_cad_cv

from lasernest.domain.contours import Vertex
from lasernest.exchange.readers.dxf_tags import Groups
from lasernest.geometry.affine import Affine
from lasernest.geometry.curves import Draft
from lasernest.geometry.curves import spline as spline_curve
from lasernest.geometry.ellipses import circle_path, ellipse_path
from lasernest.geometry.mapping import map_path

_COMMON = (8, 60, 62, 67, 420)
_POINT = (10, 20, 30)
_EXTRUSION = (210, 220, 230)
WANTED: dict[str, frozenset[int]] = {
    kind: frozenset((*_COMMON, *codes))
    for kind, codes in {
        "LINE": (*_POINT, 11, 21, 31),
        "CIRCLE": (*_POINT, 40, *_EXTRUSION),
        "ARC": (*_POINT, 40, 50, 51, *_EXTRUSION),
        "ELLIPSE": (*_POINT, 11, 21, 31, 40, 41, 42, *_EXTRUSION),
        "LWPOLYLINE": (10, 20, 38, 42, 70, 90, *_EXTRUSION),
        "POLYLINE": (*_POINT, 70, *_EXTRUSION),
        "VERTEX": (*_POINT, 42, 70),
        "SPLINE": (
            *(*_POINT, 11, 21, 31, 12, 22, 32, 13, 23, 33),
            *(40, 41, 70, 71, 72, 73, 74),
        ),
        "INSERT": (2, *_POINT, 41, 42, 43, 44, 45, 50, 70, 71, *_EXTRUSION),
    }.items()
}
"""Kinds of entity that carry contours, and the groups of each that are read."""

_BIGGEST = 1e18
LEVEL_MM = 1e-6
"""Heights and tilts below this are rounding."""


class CurveError(Exception):
    """An entity whose numbers make no curve; the text says why."""


class EmptyCurveError(CurveError):
    """An entity that is no more than a point."""


class MissingGroupError(CurveError):
    """An entity without a group it cannot do without: the file is damaged."""


class Path2D(NamedTuple):
    """A draft in mm, and whether its last vertex goes on to its first."""

    draft: Draft
    closed: bool


class Placing:
    """Where entities of a block stand: drawing units in, millimetres seen from above out."""

    def __init__(self, matrix: Matrix44) -> None:
        self.matrix = matrix
        self._numbers = tuple(matrix)
        (self._ax, self._ay, self._az, _) = self._numbers[0:4]
        (self._bx, self._by, self._bz, _) = self._numbers[4:8]
        (self._cx, self._cy, self._cz, _) = self._numbers[8:12]
        (self._dx, self._dy, self._dz, _) = self._numbers[12:16]
        self._planes: dict[tuple[float, float, float, float], Affine] = {}

    def xy(self, x: float, y: float, z: float = 0.0) -> complex:
        """A point seen from above, in mm."""
        return complex(
            self._ax * x + self._bx * y + self._cx * z + self._dx,
            self._ay * x + self._by * y + self._cy * z + self._dy,
        )

    def direction(self, v: Vec3) -> complex:
        """A vector seen from above."""
        return complex(
            self._ax * v.x + self._bx * v.y + self._cx * v.z,
            self._ay * v.x + self._by * v.y + self._cy * v.z,
        )

    def plane(self, extrusion: tuple[float, float, float], elevation: float) -> Affine:
        """The map from an entity's own plane to the drawing's, seen from above."""
        key = (*extrusion, elevation)
        found = self._planes.get(key)
        if found is None:
            ocs = OCS(extrusion)
            ux, uy, uz = Vec3(ocs.ux), Vec3(ocs.uy), Vec3(ocs.uz)
            x, y = self.direction(ux), self.direction(uy)
            foot = uz * elevation
            origin = self.xy(foot.x, foot.y, foot.z)
            found = Affine(x.real, x.imag, y.real, y.imag, origin.real, origin.imag)
            self._planes[key] = found
        return found

    def similarity(self) -> Affine | None:
        """The map of the plane that this is for what lies flat, None where shapes change."""
        if self._az or self._bz:
            return None
        affine = Affine(self._ax, self._ay, self._bx, self._by, self._dx, self._dy)
        return affine if affine.is_similarity else None

    @property
    def is_measurable(self) -> bool:
        """False where numbers get so large that arithmetic ends."""
        numbers = self._numbers
        finite = math.isfinite(sum(numbers))
        return finite and min(numbers) > -_BIGGEST and max(numbers) < _BIGGEST

    def lifts_beyond(self, around: Placing) -> bool:
        """True when what stands here lies at another height than what is around it."""
        return abs(float(self._dz - around._dz)) > LEVEL_MM

    def is_tilted(self, extrusion: tuple[float, float, float]) -> bool:
        """True when a plane with this extrusion does not lie flat."""
        ocs = OCS(extrusion)
        for axis in (Vec3(ocs.ux), Vec3(ocs.uy)):
            rise = self._az * axis.x + self._bz * axis.y + self._cz * axis.z
            if abs(rise) > 1e-9 * abs(self.direction(axis)):
                return True
        return False


def real(groups: Groups, code: int, default: float | None = None) -> float:
    """The last value of a group of numbers.

    Raises:
        MissingGroupError: it is not there and has no default.
    """
    found = groups.get(code)
    if found is None:
        if default is None:
            raise MissingGroupError(f"it lacks its group {code}")
        return default
    return float(found[-1])


def whole(groups: Groups, code: int, default: int = 0) -> int:
    """The last value of a group of whole numbers."""
    found = groups.get(code)
    return default if found is None else int(found[-1])


def text(groups: Groups, code: int, default: str = "") -> str:
    """The last value of a group of text."""
    found = groups.get(code)
    return default if found is None else str(found[-1])


def extrusion_of(groups: Groups) -> tuple[float, float, float]:
    """The normal of an entity's own plane."""
    if 210 not in groups and 230 not in groups:
        return (0.0, 0.0, 1.0)
    normal = (real(groups, 210, 0.0), real(groups, 220, 0.0), real(groups, 230, 1.0))
    return normal if any(normal) else (0.0, 0.0, 1.0)


def line(groups: Groups, placing: Placing) -> Path2D:
    """A LINE, its two ends in world coordinates."""
    p = placing.xy(real(groups, 10), real(groups, 20), real(groups, 30, 0.0))
    q = placing.xy(real(groups, 11), real(groups, 21), real(groups, 31, 0.0))
    return Path2D([Vertex(p.real, p.imag), Vertex(q.real, q.imag)], False)


def circle(groups: Groups, placing: Placing) -> Path2D:
    """A CIRCLE: two half arcs."""
    x, y, radius = real(groups, 10), real(groups, 20), _radius(groups)
    path = [Vertex(x + radius, y, 1.0), Vertex(x - radius, y, 1.0)]
    plane = placing.plane(extrusion_of(groups), real(groups, 30, 0.0))
    return Path2D(map_path(path, True, plane), True)


def arc(groups: Groups, placing: Placing) -> Path2D:
    """An arc runs anticlockwise about its extrusion from group 50 to group 51."""
    centre, radius = complex(real(groups, 10), real(groups, 20)), _radius(groups)
    start = math.radians(real(groups, 50))
    sweep = (real(groups, 51) - real(groups, 50)) % 360.0
    sweep = math.radians(sweep) if sweep > 1e-9 else 2.0 * math.pi
    path = circle_path(centre, complex(radius, 0), complex(0, radius), start, sweep)
    plane = placing.plane(extrusion_of(groups), real(groups, 30, 0.0))
    return Path2D(map_path(path, False, plane), False)


def ellipse(groups: Groups, placing: Placing) -> Path2D:
    """An ELLIPSE: major axis as a vector in world coordinates, minor by its ratio."""
    major = Vec3(real(groups, 11), real(groups, 21), real(groups, 31, 0.0))
    ratio = real(groups, 40)
    if major.magnitude == 0.0 or ratio == 0.0:
        raise CurveError("its axes have no length")
    minor = Vec3(extrusion_of(groups)).normalize().cross(major) * ratio
    start, end = real(groups, 41, 0.0), real(groups, 42, 2.0 * math.pi)
    sweep = (end - start) % (2.0 * math.pi)
    if sweep < 1e-9 or 2.0 * math.pi - sweep < 1e-9:
        sweep = 2.0 * math.pi
    centre = placing.xy(real(groups, 10), real(groups, 20), real(groups, 30, 0.0))
    u, v = placing.direction(major), placing.direction(minor)
    if abs((u.conjugate() * v).imag) <= 1e-9 * abs(u) * abs(v) or not (u and v):
        raise CurveError("seen from above it has no area")
    return Path2D(ellipse_path(centre, u, v, start, sweep), False)


def light_polyline(groups: Groups, placing: Placing, bulges: Sequence[float]) -> Path2D:
    """An LWPOLYLINE; `bulges` has one value per vertex."""
    xs, ys = groups.get(10, []), groups.get(20, [])
    if len(xs) != len(ys):
        raise MissingGroupError(f"it has {len(xs)} x and {len(ys)} y coordinates")
    path = [Vertex(float(x), float(y), bulge) for x, y, bulge in zip(xs, ys, bulges, strict=True)]
    closed = bool(whole(groups, 70) & 1)
    plane = placing.plane(extrusion_of(groups), real(groups, 38, 0.0))
    return Path2D(map_path(path, closed, plane), closed)


CLOSED, CURVE_FIT, SPLINE_FIT, IN_SPACE, MESH, FACES = 1, 2, 4, 8, 16, 64
_FRAME_POINT = 16


def heavy_polyline(groups: Groups, corners: Sequence[Groups], placing: Placing) -> Path2D:
    """A POLYLINE with its VERTEX records; control points of a spline fit are passed over."""
    flags = whole(groups, 70)
    closed = bool(flags & CLOSED)
    if flags & SPLINE_FIT:
        corners = [c for c in corners if not whole(c, 70) & _FRAME_POINT]
    if flags & IN_SPACE:
        points = [placing.xy(real(c, 10), real(c, 20), real(c, 30, 0.0)) for c in corners]
        return Path2D([Vertex(p.real, p.imag) for p in points], closed)
    path = [Vertex(real(c, 10), real(c, 20), real(c, 42, 0.0)) for c in corners]
    plane = placing.plane(extrusion_of(groups), real(groups, 30, 0.0))
    return Path2D(map_path(path, closed, plane), closed)


def spline(groups: Groups, placing: Placing) -> Path2D:
    """A SPLINE from control points and knots, or from the points it was fitted through.

    Raises:
        CurveError: the numbers do not make a spline.
    """
    control = _points(groups, 10, placing)
    fit = _points(groups, 11, placing)
    degree = whole(groups, 71, 3)
    knots = [float(k) for k in groups.get(40, [])]
    weights: list[float] | None = [float(w) for w in groups.get(41, [])]
    if len(control) < 2:
        if len(fit) < 2:
            raise CurveError("it has neither control points nor fit points")
        control, knots, degree = _through(fit, groups, placing)
        weights = None
    if weights is not None and len(weights) != len(control):
        weights = None
    stated = len(knots) - len(control) - 1
    if not knots:
        degree = min(degree, len(control) - 1)
        inner = range(1, len(control) - degree)
        knots = [0.0] * (degree + 1) + [float(k) for k in inner]
        knots += [float(len(control) - degree)] * (degree + 1)
    elif stated != degree:
        if not 1 <= stated <= 15:
            raise CurveError(f"it has {len(control)} control points but {len(knots)} knots")
        degree = stated
    try:
        curve = spline_curve(control, degree, knots, weights)
    except ValueError as error:
        raise CurveError(str(error)) from error
    return Path2D([curve], False)


def _points(groups: Groups, code: int, placing: Placing) -> list[complex]:
    xs, ys = groups.get(code, []), groups.get(code + 10, [])
    zs = groups.get(code + 20, [])
    if len(xs) != len(ys):
        raise MissingGroupError(f"it has {len(xs)} x and {len(ys)} y coordinates")
    if len(zs) != len(xs):
        zs = [0.0] * len(xs)
    return [placing.xy(float(x), float(y), float(z)) for x, y, z in zip(xs, ys, zs, strict=True)]


def _through(
    fit: list[complex], groups: Groups, placing: Placing
) -> tuple[list[complex], list[float], int]:
    """Control points, knots and degree of the curve that CAD programs draw through points."""
    kept = [fit[0]]
    for p in fit[1:]:
        if abs(p - kept[-1]) > 1e-9:
            kept.append(p)
    if len(kept) < 2:
        raise CurveError("its fit points all lie in one place")
    if len(kept) == 2:
        return kept, [0.0, 0.0, 1.0, 1.0], 1
    ends: list[Vec3] = []
    for code in (12, 13):
        v = Vec3(real(groups, code, 0.0), real(groups, code + 10, 0.0), 0.0)
        way = placing.direction(v)
        ends.append(Vec3(way.real, way.imag))
    tangents = ends if all(e.magnitude > 1e-9 for e in ends) else None
    curve = fit_points_to_cad_cv([Vec3(p.real, p.imag) for p in kept], tangents)
    control = [complex(p.x, p.y) for p in curve.control_points]
    return control, [float(k) for k in curve.knots()], int(curve.degree)


def _radius(groups: Groups) -> float:
    radius = abs(real(groups, 40))
    if radius == 0.0:
        raise EmptyCurveError("its radius is zero")
    return radius
