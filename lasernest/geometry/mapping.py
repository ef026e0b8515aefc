"""Paths of lines and arcs carried through an affine map.

Under a similarity every arc stays an arc, exactly. Under any other map it
becomes a piece of an ellipse, a curve that is still to be fitted.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from lasernest.domain.contours import Contour, Segment, Vertex
from lasernest.geometry.affine import Affine
from lasernest.geometry.curves import Draft
from lasernest.geometry.ellipses import ellipse_path

SHORTEST_MM = 1e-9
"""Points nearer to each other than this are one."""


def map_path(path: Sequence[Vertex], closed: bool, affine: Affine) -> Draft:
    """The path after the map, still open or closed as it was.

    Args:
        path: vertices; the bulge of the last counts only when closed.
        closed: whether the last vertex goes on to the first.
        affine: the map.
    """
    a, b, c, d, e, f = affine
    if affine.is_similarity or not any(v[2] for v in path):
        sign = -1.0 if affine.mirrors else 1.0
        return [
            Vertex(a * x + c * y + e, b * x + d * y + f, sign * bulge if bulge else 0.0)
            for x, y, bulge in path
        ]
    mapped: Draft = []
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
        mapped += follow_on(complex(px, py), ellipse_path(centre, u, v, 0.0, segment.sweep_rad))
    return mapped


def map_draft(draft: Draft, affine: Affine) -> Draft:
    """A draft after a similarity: arcs stay arcs, and splines go with their control points."""
    a, b, c, d, e, f = affine
    sign = -1.0 if affine.mirrors else 1.0
    mapped: Draft = []
    for part in draft:
        if isinstance(part, Vertex):
            x, y, bulge = part
            mapped.append(
                Vertex(a * x + c * y + e, b * x + d * y + f, sign * bulge if bulge else 0.0)
            )
        else:
            control = [complex(*affine.apply(p.real, p.imag)) for p in part.control]
            middle = part.quarter_about
            if middle is not None:
                middle = complex(*affine.apply(middle.real, middle.imag))
            mapped.append(replace(part, control=control, quarter_about=middle))
    return mapped


def follow_on(start: complex, path: Draft) -> Draft:
    """A path begun exactly at this place and left open before its last point."""
    first = path[0]
    if isinstance(first, Vertex):
        return [Vertex(start.real, start.imag, first.bulge), *path[1:-1]]
    return list(path)


def contour_of(path: Sequence[Vertex], closed: bool) -> Contour | None:
    """A contour without zero-length segments, or None where nothing is left to draw."""
    kept = _without_doubles(path)
    if len(kept) > 2 and not closed and _same(kept[0], kept[-1]):
        kept, closed = kept[:-1], True
    if closed:
        while len(kept) > 1 and _same(kept[-1], kept[0]):
            kept = kept[:-1]
        if len(kept) == 2 and not (kept[0].bulge or kept[1].bulge):
            # Out and back along the same line: one line, drawn twice.
            closed = False
    if len(kept) < 2:
        return None
    if not closed and kept[-1].bulge:
        kept = [*kept[:-1], Vertex(kept[-1].x_mm, kept[-1].y_mm)]
    return Contour(tuple(kept), closed)


def _without_doubles(path: Sequence[Vertex]) -> Sequence[Vertex]:
    """The path itself, or without vertices that the next one lies on, whose bulge stays."""
    near = SHORTEST_MM
    x = y = math.inf
    doubles = []
    for i, (next_x, next_y, _) in enumerate(path):
        if -near <= next_x - x <= near and -near <= next_y - y <= near:
            doubles.append(i)
        else:
            x, y = next_x, next_y
    if not doubles:
        return path
    double = set(doubles)
    kept: list[Vertex] = []
    for i, v in enumerate(path):
        if i in double:
            kept[-1] = Vertex(kept[-1].x_mm, kept[-1].y_mm, v.bulge)
        else:
            kept.append(v)
    return kept


def _same(a: Vertex, b: Vertex) -> bool:
    return abs(a.x_mm - b.x_mm) <= SHORTEST_MM and abs(a.y_mm - b.y_mm) <= SHORTEST_MM
