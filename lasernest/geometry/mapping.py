"""Paths of lines and arcs carried through an affine map.

Under a similarity every arc stays an arc, exactly. Under any other map it
becomes a piece of an ellipse, which lines and arcs then follow within the
chord error.
"""

from __future__ import annotations

from collections.abc import Sequence

from lasernest.domain.contours import Contour, Segment, Vertex
from lasernest.geometry.affine import Affine
from lasernest.geometry.ellipses import ellipse_path

_SHORTEST_MM = 1e-9


def map_path(
    path: Sequence[Vertex], closed: bool, affine: Affine, *, chord_error_mm: float
) -> list[Vertex]:
    """The path after the map, still open or closed as it was.

    Args:
        path: vertices; the bulge of the last counts only when closed.
        closed: whether the last vertex goes on to the first.
        affine: the map.
        chord_error_mm: for arcs that become pieces of an ellipse.
    """
    a, b, c, d, e, f = affine
    if affine.is_similarity or not any(v[2] for v in path):
        sign = -1.0 if affine.mirrors else 1.0
        return [
            Vertex(a * x + c * y + e, b * x + d * y + f, sign * bulge if bulge else 0.0)
            for x, y, bulge in path
        ]
    mapped: list[Vertex] = []
    last = len(path) - 1
    for i, (x, y, bulge) in enumerate(path):
        px, py = affine.apply(x, y)
        if not bulge or (i == last and not closed):
            mapped.append(Vertex(px, py))
            continue
        x1, y1, _ = path[(i + 1) % len(path)]
        segment = Segment(x, y, x1, y1, bulge)
        if segment.chord_mm == 0.0:
            mapped.append(Vertex(px, py))
            continue
        cx, cy = segment.centre
        # Half diameters: from the centre to the start, and a quarter turn on.
        u = complex(*affine.direction(x - cx, y - cy))
        v = complex(*affine.direction(cy - y, x - cx))
        centre = complex(*affine.apply(cx, cy))
        pieces = ellipse_path(centre, u, v, 0.0, segment.sweep_rad, chord_error_mm=chord_error_mm)
        mapped.append(Vertex(px, py, pieces[0].bulge))
        mapped.extend(pieces[1:-1])
    return mapped


def contour_of(path: Sequence[Vertex], closed: bool) -> Contour | None:
    """A contour without zero-length segments, or None where nothing is left to draw."""
    kept: list[Vertex] = []
    for v in path:
        if kept and _same(kept[-1], v):
            kept[-1] = Vertex(kept[-1].x_mm, kept[-1].y_mm, v.bulge)
        else:
            kept.append(v)
    if closed:
        while len(kept) > 1 and _same(kept[-1], kept[0]):
            kept.pop()
        if len(kept) == 2 and not (kept[0].bulge or kept[1].bulge):
            # Out and back along the same line: one line, drawn twice.
            closed = False
    if len(kept) < 2:
        return None
    if not closed:
        kept[-1] = Vertex(kept[-1].x_mm, kept[-1].y_mm)
        first, last = kept[0], kept[-1]
        if len(kept) > 2 and _same(first, last):
            return contour_of(kept[:-1], True)
    return Contour(tuple(kept), closed)


def _same(a: Vertex, b: Vertex) -> bool:
    return abs(a.x_mm - b.x_mm) <= _SHORTEST_MM and abs(a.y_mm - b.y_mm) <= _SHORTEST_MM
