"""The standing case as faces, to be drawn: turned, exploded, cut open, parts hidden.

A plate has an outer and an inner face, each its outline with holes, and one
narrow face for every segment of its contours. A view is parallel projection;
faces are given back to front, by the depth of their middles (Newell, Newell
and Sancha's painter's algorithm without its splitting step, 1972): right for
convex cases, and good enough to look at for the rest.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry.polygon import orient

from lasernest.geometry.flatten import polygon
from lasernest.joints.assembly import Assembly
from lasernest.joints.joined import Joined
from lasernest.joints.stances import Stance, Vector

CHORD_ERROR_MM = 0.1
"""Fine enough to look at."""

Ring = npt.NDArray[np.float64]
"""Corners in mm, shape (n, 3) in space or (n, 2) in a view."""


@dataclass(frozen=True, slots=True, eq=False)
class Face:
    """One flat face of a standing panel."""

    panel: str
    rings: tuple[Ring, ...]
    """The outline, then holes."""
    outward: Vector
    is_edge: bool
    """True for the narrow faces that the beam made."""


@dataclass(frozen=True, slots=True)
class Section:
    """Cut the case open: what lies beyond a share of its size along an axis goes."""

    axis: int
    """0, 1 or 2."""
    share: float
    """0 keeps nothing, 1 keeps all."""


@dataclass(frozen=True, slots=True, eq=False)
class SeenFace:
    """A face in a view, x right and y up in mm."""

    panel: str
    rings: tuple[Ring, ...]
    light: float
    """0 dark to 1 bright: how squarely it faces the viewer."""
    is_edge: bool


def faces_of_case(
    joined: Joined,
    assembly: Assembly,
    *,
    explode_mm: float = 0.0,
    section: Section | None = None,
    hidden: Collection[str] = (),
) -> tuple[Face, ...]:
    """The faces of all standing panels.

    Args:
        joined: panels with their joints.
        assembly: where they stand.
        explode_mm: how far panels move outward from the middle of the case.
        section: where to cut the case open.
        hidden: names of panels to leave out.
    """
    thickness = _thicknesses(joined)
    standing = [p for p in joined.panels if p.name in assembly.stances]
    bodies = {p.name: polygon(p, chord_error_mm=CHORD_ERROR_MM) for p in standing}
    stances = _exploded(bodies, thickness, assembly.stances, explode_mm)
    limit = _section_limit(bodies, thickness, stances, section)
    faces: list[Face] = []
    for name, body in bodies.items():
        if name in hidden:
            continue
        kept = body if section is None else _cut(body, stances[name], thickness[name],
                                                 section.axis, limit)  # fmt: skip
        for part in shapely.get_parts(kept):
            if part.geom_type == "Polygon" and part.area > 0.0:
                faces += _plate_faces(name, part, thickness[name], stances[name])
    return tuple(faces)


def seen_from(faces: Sequence[Face], *, turn_deg: float, tilt_deg: float) -> tuple[SeenFace, ...]:
    """Faces that look towards the viewer, back to front.

    Args:
        faces: of the case.
        turn_deg: about the upright (third) axis, anticlockwise from above.
        tilt_deg: how far the viewer is above the horizon.
    """
    right, up, towards = view_axes(turn_deg, tilt_deg)
    seen: list[tuple[float, SeenFace]] = []
    for face in faces:
        light = float(face.outward @ towards)
        if light <= 1e-9:
            continue
        rings = tuple(np.column_stack([ring @ right, ring @ up]) for ring in face.rings)
        depth = float(face.rings[0].mean(axis=0) @ towards)
        seen.append((depth, SeenFace(face.panel, rings, light, face.is_edge)))
    return tuple(face for _, face in sorted(seen, key=lambda pair: pair[0]))


def view_axes(turn_deg: float, tilt_deg: float) -> tuple[Vector, Vector, Vector]:
    """Unit vectors to the right, up, and towards the viewer."""
    turn, tilt = math.radians(turn_deg), math.radians(tilt_deg)
    right = np.array([math.cos(turn), math.sin(turn), 0.0])
    towards = np.array(
        [math.sin(turn) * math.cos(tilt), -math.cos(turn) * math.cos(tilt), math.sin(tilt)]
    )
    return right, np.cross(towards, right), towards


def _thicknesses(joined: Joined) -> dict[str, float]:
    return {line.edge.panel: line.thickness_mm for j in joined.joints for line in (j.a, j.b)}


def _middle(body: shapely.Polygon, stance: Stance, thickness_mm: float) -> Vector:
    x0, y0, x1, y1 = body.bounds
    return stance.point((0.5 * (x0 + x1), 0.5 * (y0 + y1)), 0.5 * thickness_mm)


def _exploded(
    bodies: Mapping[str, shapely.Polygon],
    thickness: Mapping[str, float],
    stances: Mapping[str, Stance],
    explode_mm: float,
) -> dict[str, Stance]:
    """Every panel moved along its own outward side, away from the middle of the case."""
    middles = {n: _middle(b, stances[n], thickness[n]) for n, b in bodies.items()}
    centre = np.mean(list(middles.values()), axis=0) if middles else np.zeros(3)
    moved: dict[str, Stance] = {}
    for name in bodies:
        s = stances[name]
        side = float((middles[name] - centre) @ s.outward)
        # Dividers in the middle of the case stay where they are.
        step = explode_mm * np.sign(round(side, 6)) * s.outward
        moved[name] = Stance(s.origin + step, s.x_axis, s.y_axis, s.outward)
    return moved


def _section_limit(
    bodies: Mapping[str, shapely.Polygon],
    thickness: Mapping[str, float],
    stances: Mapping[str, Stance],
    section: Section | None,
) -> float:
    if section is None or not bodies:
        return math.inf
    reach = [
        float(stances[n].point((x, y), d)[section.axis])
        for n, b in bodies.items()
        for x, y in ((b.bounds[i], b.bounds[j]) for i in (0, 2) for j in (1, 3))
        for d in (0.0, thickness[n])
    ]
    return min(reach) + section.share * (max(reach) - min(reach))


def _cut(
    body: shapely.Polygon, stance: Stance, thickness_mm: float, axis: int, limit: float
) -> shapely.Geometry:
    """What of a plate lies before the limit, cut square to its face through its middle."""
    ways = np.array([stance.x_axis[axis], stance.y_axis[axis]])
    start = float(stance.point((0.0, 0.0), 0.5 * thickness_mm)[axis])
    slope = float(np.hypot(*ways))
    if slope < 1e-6:
        return body if start <= limit else shapely.Polygon()
    x0, y0, x1, y1 = body.bounds
    far = 10.0 * (abs(x0) + abs(y0) + abs(x1) + abs(y1) + 1.0)
    along, square = ways / slope, np.array([-ways[1], ways[0]]) / slope
    edge = along * (limit - start) / slope
    corners = [edge - far * square, edge + far * square]
    corners += [c - 2.0 * far * along for c in corners[::-1]]
    return body.intersection(shapely.Polygon(corners))


def _plate_faces(
    name: str, body: shapely.Polygon, thickness_mm: float, stance: Stance
) -> list[Face]:
    body = orient(body)
    rings = [np.array(ring.coords)[:-1] for ring in (body.exterior, *body.interiors)]
    outer = tuple(_in_space(ring, stance, 0.0) for ring in rings)
    inner = tuple(_in_space(ring, stance, thickness_mm) for ring in rings)
    faces = [
        Face(name, outer, stance.outward, False),
        Face(name, inner, -stance.outward, False),
    ]
    for top, bottom, flat in zip(outer, inner, rings, strict=True):
        ways = np.roll(flat, -1, axis=0) - flat
        for i, way in enumerate(ways):
            j = (i + 1) % len(flat)
            wall = np.array([top[i], bottom[i], bottom[j], top[j]])
            normal = stance.vector((way[1], -way[0]))
            faces.append(Face(name, (wall,), normal / np.linalg.norm(normal), True))
    return faces


def _in_space(ring: Ring, stance: Stance, depth_mm: float) -> Ring:
    flat = np.outer(ring[:, 0], stance.x_axis) + np.outer(ring[:, 1], stance.y_axis)
    return np.asarray(stance.origin + flat - depth_mm * stance.outward)
