"""The standing case as faces, to be drawn: turned, exploded, cut open, parts hidden.

A plate has an outer and an inner face, each its outline with holes, and one
narrow face for every segment of its contours. A view is a parallel projection
with the faces back to front (`painting`), so that painting them in order shows
the case.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry.polygon import orient

from lasernest.domain.joints import JointKind
from lasernest.geometry.flatten import polygon
from lasernest.joints.assembly import Assembly
from lasernest.joints.joined import Joined
from lasernest.joints.laid import LaidLine
from lasernest.joints.painting import (
    Node,
    Piece,
    all_pieces,
    back_to_front,
    half_plane,
    tree_of,
)
from lasernest.joints.stances import Stance, Vector

CHORD_ERROR_MM = 0.1
"""Fine enough to look at."""
_ON_EDGE_MM = 1e-6
_EDGE_ON = 1e-9

Ring = npt.NDArray[np.float64]
"""Corners in mm, shape (n, 3) in space or (n, 2) in a plane."""


@dataclass(frozen=True, slots=True)
class Section:
    """Cut the case open: what lies beyond a share of its size along an axis goes."""

    axis: int
    """0, 1 or 2."""
    share: float
    """0 keeps nothing, 1 keeps all."""


@dataclass(frozen=True, slots=True, eq=False)
class Face:
    """One flat face of a standing panel."""

    panel: str
    flat: tuple[Ring, ...]
    """The outline, then holes, in coordinates of the face's own plane."""
    frame: Ring
    """Three rows in space: what one mm of either coordinate is, and where 0, 0 lies."""
    outward: Vector
    is_edge: bool
    """True for the narrow faces that the beam made."""

    @property
    def rings(self) -> tuple[Ring, ...]:
        """The same in space."""
        return tuple(ring @ self.frame[:2] + self.frame[2] for ring in self.flat)


@dataclass(frozen=True, slots=True, eq=False)
class SeenFace:
    """A face in a view, x right and y up in mm."""

    face: Face
    matrix: tuple[float, ...]
    """Six numbers a to f from the plane of the face: x = a u + c v + e, y = b u + d v + f."""
    light: float
    """0 dark to 1 bright: how squarely it faces the viewer."""

    @property
    def panel(self) -> str:
        return self.face.panel

    @property
    def rings(self) -> tuple[Ring, ...]:
        """The outline, then holes, as seen."""
        rows = np.array(self.matrix).reshape(3, 2)
        return tuple(ring @ rows[:2] + rows[2] for ring in self.face.flat)


@dataclass(frozen=True, slots=True, eq=False)
class StandingCase:
    """The case ready to be looked at from any side.

    A face keeps its coordinates while the view turns, so whoever draws it can keep
    what he made of them; a view of a thousand faces is a few milliseconds.
    """

    tree: Node | None
    _faces: tuple[Face, ...]
    _of: Mapping[Piece, range]
    """Which faces a piece has; walls first: whichever flat face is seen lies before them."""
    _normals: Ring
    """Outward vectors of all faces, shape (n, 3)."""
    _frames: Ring
    """Frames of all faces, shape (n, 3, 3)."""

    @classmethod
    def of(cls, tree: Node | None, faces_of: Mapping[Piece, Sequence[Face]]) -> StandingCase:
        """From the faces of every piece of the tree."""
        faces: list[Face] = []
        ranges: dict[Piece, range] = {}
        for piece, own in faces_of.items():
            ranges[piece] = range(len(faces), len(faces) + len(own))
            faces += own
        return cls(
            tree,
            tuple(faces),
            ranges,
            np.array([f.outward for f in faces]).reshape(-1, 3),
            np.array([f.frame for f in faces]).reshape(-1, 3, 3),
        )

    def faces(self) -> tuple[Face, ...]:
        """All faces, in no order."""
        return self._faces

    def seen_from(self, *, turn_deg: float, tilt_deg: float) -> tuple[SeenFace, ...]:
        """The faces that look towards the viewer, back to front.

        Args:
            turn_deg: about the upright (third) axis, anticlockwise from above.
            tilt_deg: how far the viewer is above the horizon.
        """
        right, up, towards = view_axes(turn_deg, tilt_deg)
        lights: list[float] = (self._normals @ towards).tolist()
        matrices = (self._frames @ np.column_stack([right, up])).reshape(-1, 6).tolist()
        return tuple(
            SeenFace(self._faces[k], tuple(matrices[k]), lights[k])
            for piece in back_to_front(self.tree, towards)
            for k in self._of[piece]
            if lights[k] > _EDGE_ON
        )


def _faces(piece: Piece, whole: shapely.Polygon, covered: shapely.Geometry) -> tuple[Face, ...]:
    """Faces of a piece.

    Args:
        piece: a plate or a part of one.
        whole: its whole panel, to tell cut walls from splits.
        covered: where its walls are hidden by the mates.
    """
    body, s = orient(piece.body), piece.stance
    rings = tuple(np.array(ring.coords)[:-1] for ring in (body.exterior, *body.interiors))
    under = s.origin - piece.thickness_mm * s.outward
    return (
        *(wall for ring in rings for wall in _walls(piece, ring, whole, covered)),
        Face(piece.panel, rings, np.array([s.x_axis, s.y_axis, s.origin]), s.outward, False),
        Face(piece.panel, rings, np.array([s.x_axis, s.y_axis, under]), -s.outward, False),
    )


def _walls(
    piece: Piece, ring: Ring, whole: shapely.Polygon, covered: shapely.Geometry
) -> Iterator[Face]:
    s, after = piece.stance, np.roll(ring, -1, axis=0)
    ways = after - ring
    lengths_mm = np.hypot(*ways.T)
    middles = shapely.points(0.5 * (ring + after))
    real = shapely.distance(middles, whole.boundary) <= _ON_EDGE_MM
    hidden = shapely.contains(covered, middles)
    for i in np.flatnonzero(real & ~hidden & (lengths_mm > 0.0)):
        long_mm, thick_mm = lengths_mm[i], piece.thickness_mm
        wall = np.array([(0.0, 0.0), (0.0, thick_mm), (long_mm, thick_mm), (long_mm, 0.0)])
        along = s.vector(ways[i] / long_mm)
        start = s.origin + s.vector(ring[i])
        outward = s.vector((ways[i, 1] / long_mm, -ways[i, 0] / long_mm))
        yield Face(piece.panel, (wall,), np.array([along, -s.outward, start]), outward, True)


def stand_up(
    joined: Joined,
    assembly: Assembly,
    *,
    explode_mm: float = 0.0,
    section: Section | None = None,
    hidden: Collection[str] = (),
) -> StandingCase:
    """The case ready to be looked at.

    Args:
        joined: panels with their joints.
        assembly: where they stand.
        explode_mm: how far panels move outward from the middle of the case.
        section: where to cut the case open.
        hidden: names of panels to leave out.
    """
    thickness = {line.edge.panel: line.thickness_mm for j in joined.joints for line in (j.a, j.b)}
    standing = [p for p in joined.panels if p.name in assembly.stances]
    bodies = {p.name: polygon(p, chord_error_mm=CHORD_ERROR_MM) for p in standing}
    stances = _exploded(bodies, thickness, assembly.stances, explode_mm)
    if section is not None:
        limit = _section_limit(bodies, thickness, stances, section)
        bodies = {
            n: _cut(b, stances[n], thickness[n], section.axis, limit) for n, b in bodies.items()
        }
    pieces = [
        Piece(name, part, thickness[name], stances[name])
        for name, body in bodies.items()
        if name not in hidden
        for part in shapely.get_parts(body)
        if part.geom_type == "Polygon" and part.area > 0.0
    ]
    nothing = shapely.Polygon()
    covered = _covered(joined) if explode_mm == 0.0 and not hidden and section is None else {}
    tree = tree_of(pieces)
    faces = {p: _faces(p, bodies[p.panel], covered.get(p.panel, nothing)) for p in all_pieces(tree)}
    return StandingCase.of(tree, faces)


def view_axes(turn_deg: float, tilt_deg: float) -> tuple[Vector, Vector, Vector]:
    """Unit vectors to the right, up, and towards the viewer."""
    turn, tilt = math.radians(turn_deg), math.radians(tilt_deg)
    right = np.array([math.cos(turn), math.sin(turn), 0.0])
    towards = np.array(
        [math.sin(turn) * math.cos(tilt), -math.cos(turn) * math.cos(tilt), math.sin(tilt)]
    )
    return right, np.cross(towards, right), towards


def _covered(joined: Joined) -> dict[str, shapely.Geometry]:
    """Where walls lie against a mate: all of a joint but the tips of its fingers."""
    strips: dict[str, list[shapely.Geometry]] = defaultdict(list)
    for joint in joined.joints:
        if joint.kind is JointKind.LAP:
            continue
        b_ends = sorted(joint.b_station_mm(s) for s in joint.span_mm)
        for line, (start, end) in ((joint.a, joint.span_mm), (joint.b, b_ends)):
            strips[line.edge.panel].append(_strip(line, start, end))
    return {name: shapely.union_all(found) for name, found in strips.items()}


def _strip(line: LaidLine, start_mm: float, end_mm: float) -> shapely.Polygon:
    edge, t = line.edge, line.thickness_mm
    high_mm = line.levels.tip_mm - _ON_EDGE_MM if line.levels else t
    low_mm = line.levels.root_mm - _ON_EDGE_MM if line.levels else -t
    inset_mm = _ON_EDGE_MM
    return shapely.Polygon(
        [
            edge.point(start_mm + inset_mm, low_mm),
            edge.point(end_mm - inset_mm, low_mm),
            edge.point(end_mm - inset_mm, high_mm),
            edge.point(start_mm + inset_mm, high_mm),
        ]
    )


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
    section: Section,
) -> float:
    reach = [
        float(stances[n].point((x, y), d)[section.axis])
        for n, b in bodies.items()
        for x, y in ((b.bounds[i], b.bounds[j]) for i in (0, 2) for j in (1, 3))
        for d in (0.0, thickness[n])
    ]
    return min(reach) + section.share * (max(reach) - min(reach)) if reach else 0.0


def _cut(
    body: shapely.Polygon, stance: Stance, thickness_mm: float, axis: int, limit: float
) -> shapely.Geometry:
    """What of a plate lies before the limit, cut square to its face through its middle."""
    ways = np.array([stance.x_axis[axis], stance.y_axis[axis]])
    start = float(stance.point((0.0, 0.0), 0.5 * thickness_mm)[axis])
    if float(np.hypot(*ways)) < 1e-6:
        return body if start <= limit else shapely.Polygon()
    return half_plane(body, ways, limit - start)


def middle_of(faces: Sequence[Face]) -> Vector:
    """Middle of the box around some faces, for turning a picture about it."""
    if not faces:
        return np.zeros(3)
    points = np.vstack([ring for face in faces for ring in face.rings])
    return np.asarray(0.5 * (points.min(axis=0) + points.max(axis=0)))


def size_of(faces: Sequence[Face]) -> float:
    """Longest way through the box around some faces, for scaling a picture."""
    if not faces:
        return 0.0
    points = np.vstack([ring for face in faces for ring in face.rings])
    return float(np.linalg.norm(np.ptp(points, axis=0)))
