"""Drawings with one part per layer, all drawn in the same place.

Layers usually work together: outlines on one, holes on another. Layers are
*stacked* when that cannot be: their outlines cross, or the same outline is on
both with holes of its own, or holes of one would become parts of the other.
Stacked layers are read each by itself.
"""

from __future__ import annotations

from collections.abc import Sequence

import shapely

from lasernest.domain.contours import Contour
from lasernest.geometry.flatten import ring_polygon
from lasernest.geometry.nesting_depth import CHORD_MM, Nest, nested

_ALIKE_MM = 0.01


def stacked_layers(rings: dict[str, Sequence[Contour]]) -> list[list[str]]:
    """Groups of layers, each to be read by itself.

    Args:
        rings: closed contours by layer, each layer chained alone.

    Returns:
        One group with all layers where they work together; else each stacked
        layer alone, and the layers that stack with none in one group.
    """
    names = [name for name, paths in rings.items() if paths]
    alone = {name: nested(rings[name]) for name in names}
    stacked: set[str] = set()
    for i, a in enumerate(names):
        for b in names[i + 1 :]:
            if _stack(alone[a], alone[b]):
                stacked |= {a, b}
    others = [name for name in rings if name not in stacked]
    groups = [[name] for name in names if name in stacked]
    return [*groups, others] if others else groups


def _stack(a: Nest, b: Nest) -> bool:
    roots_a = [i for i, depth in enumerate(a.depths) if depth == 0]
    roots_b = [i for i, depth in enumerate(b.depths) if depth == 0]
    polygons_a, polygons_b = a.polygons[roots_a], b.polygons[roots_b]
    tree = shapely.STRtree(polygons_b)
    left, right = tree.query(polygons_a, predicate="intersects")
    for k, m in zip(left.tolist(), right.tolist(), strict=True):
        if _roots_stack(a, roots_a[k], polygons_a[k], b, roots_b[m], polygons_b[m]):
            return True
    return False


def _roots_stack(
    a: Nest, i: int, polygon_a: shapely.Polygon, b: Nest, j: int, polygon_b: shapely.Polygon
) -> bool:
    box_a, box_b = a.rings[i].bounds_mm(), b.rings[j].bounds_mm()
    if max(abs(p - q) for p, q in zip(box_a, box_b, strict=True)) <= _ALIKE_MM:
        # The same outline on both: a copy, unless both layers go on inside it.
        return bool(a.children(i)) and bool(b.children(j))
    if not (polygon_a.is_valid and polygon_b.is_valid):
        return False
    common = polygon_a.intersection(polygon_b).area
    smaller = min(polygon_a.area, polygon_b.area)
    if common <= 0.01 * smaller:
        return False
    if common < 0.99 * smaller:
        return True
    # One lies inside the other: in its material, with holes of its own, it is no hole.
    outer, root, inner, kid = (a, i, b, j) if polygon_a.area > polygon_b.area else (b, j, a, i)
    if not inner.children(kid):
        return False
    point = ring_polygon(inner.rings[kid], chord_error_mm=CHORD_MM).representative_point()
    around = [
        h
        for h in outer.children(root)
        if ring_polygon(outer.rings[h], chord_error_mm=CHORD_MM).contains(point)
    ]
    return not around
