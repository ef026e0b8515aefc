"""Which part of a standing case hides which: plates ordered by a tree of planes.

Panels are split where they cross each other's middle plane and kept in a binary
tree of planes; from any side the tree gives them back to front. A panel that
pokes through a plane by no more than a thickness, as fingers do, is not split.
Source: Fuchs, Kedem and Naylor, On visible surface generation by a priori tree
structures, 1980.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from lasernest.joints.stances import Stance, Vector

_POKE_IN_THICKNESSES = 1.5
_LEAST_AREA_MM2 = 1e-3


@dataclass(frozen=True, slots=True, eq=False)
class Piece:
    """A plate, or a part of one, that lies on one side of every plane above it in the tree."""

    panel: str
    body: shapely.Polygon
    thickness_mm: float
    stance: Stance

    @property
    def height_mm(self) -> float:
        """Of the middle plane, along its normal."""
        return float(self.stance.origin @ self.stance.outward) - 0.5 * self.thickness_mm


@dataclass(frozen=True, slots=True, eq=False)
class Node:
    """A piece, with what lies under its middle plane and what lies over it."""

    piece: Piece
    under: Node | None
    over: Node | None


def tree_of(pieces: Sequence[Piece]) -> Node | None:
    """The tree of some plates; large ones first, so that few are split."""
    if not pieces:
        return None
    root = max(pieces, key=lambda p: p.body.area)
    under: list[Piece] = []
    over: list[Piece] = []
    for piece in pieces:
        if piece is not root:
            low, high = _parted(piece, root)
            under += low
            over += high
    return Node(root, tree_of(under), tree_of(over))


def back_to_front(node: Node | None, towards: Vector) -> Iterator[Piece]:
    """The pieces in the order in which they are to be painted."""
    if node is None:
        return
    faces_viewer = float(node.piece.stance.outward @ towards) >= 0.0
    far, near = (node.under, node.over) if faces_viewer else (node.over, node.under)
    yield from back_to_front(far, towards)
    yield node.piece
    yield from back_to_front(near, towards)


def all_pieces(node: Node | None) -> Iterator[Piece]:
    """Every piece of the tree once."""
    if node is not None:
        yield from all_pieces(node.under)
        yield node.piece
        yield from all_pieces(node.over)


def _parted(piece: Piece, by: Piece) -> tuple[list[Piece], list[Piece]]:
    """A piece under and over another's middle plane."""
    normal, s = by.stance.outward, piece.stance
    start = float(s.point((0.0, 0.0), 0.5 * piece.thickness_mm) @ normal) - by.height_mm
    ways = np.array([s.x_axis @ normal, s.y_axis @ normal])
    heights = start + shapely.get_coordinates(piece.body) @ ways
    poke_mm = _POKE_IN_THICKNESSES * max(piece.thickness_mm, by.thickness_mm)
    if heights.min() > -poke_mm and heights.max() > -heights.min():
        return [], [piece]
    if heights.max() < poke_mm:
        return [piece], []
    if heights.min() > -poke_mm:
        return [], [piece]
    low = half_plane(piece.body, ways, -start)
    parts = (low, piece.body.difference(low))
    under, over = (
        [
            Piece(piece.panel, part, piece.thickness_mm, s)
            for part in shapely.get_parts(side)
            if part.geom_type == "Polygon" and part.area > _LEAST_AREA_MM2
        ]
        for side in parts
    )
    return under, over


def half_plane(body: shapely.Polygon, ways: Vector, limit: float) -> shapely.Geometry:
    """What of a body has  ways . point <= limit.

    Args:
        body: in a panel's drawing.
        ways: two numbers, not both zero.
        limit: see above.
    """
    slope = float(np.hypot(*ways))
    x0, y0, x1, y1 = body.bounds
    far = 10.0 * (abs(x0) + abs(y0) + abs(x1) + abs(y1) + 1.0)
    along, square = ways / slope, np.array([-ways[1], ways[0]]) / slope
    edge = along * limit / slope
    corners = [edge - far * square, edge + far * square]
    corners += [c - 2.0 * far * along for c in corners[::-1]]
    return body.intersection(shapely.Polygon(corners))
