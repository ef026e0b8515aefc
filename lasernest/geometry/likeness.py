"""How far two panels are from being the same panel: what a new revision of a drawing changed.

Cost: a few milliseconds for a pair whose boxes agree, microseconds for others.
"""

from __future__ import annotations

import math

import shapely

from lasernest.domain.contours import Contour
from lasernest.domain.panels import MarkKind, Panel
from lasernest.geometry.flatten import line_string

SAME_MM = 0.01
"""Panels that differ by less are the same: twice what curves may be off."""
CHORD_ERROR_MM = 0.002


def furthest_mm(old: Panel, new: Panel, *, moved: bool = False) -> float:
    """Largest distance from a line of one panel to the other's lines of the same kind.

    Args:
        old: as it was.
        new: as it is.
        moved: lay the lower left corners of their boxes on each other first.

    Returns:
        Millimetres; infinite where one has holes or marks and the other none.
    """
    ox, oy = old.bounds_mm()[:2] if moved else (0.0, 0.0)
    nx, ny = new.bounds_mm()[:2] if moved else (0.0, 0.0)
    furthest = 0.0
    for before, after in zip(_kinds(old), _kinds(new), strict=True):
        if bool(before) != bool(after):
            return math.inf
        if before:
            furthest = max(
                furthest, shapely.hausdorff_distance(_laid(before, ox, oy), _laid(after, nx, ny))
            )
    return furthest


def is_same(old: Panel, new: Panel, *, moved: bool = False) -> bool:
    """True for panels that differ by less than `SAME_MM`, their marks included."""
    boxes = old.bounds_mm(), new.bounds_mm()
    a, b = (old.size_mm, new.size_mm) if moved else boxes
    if any(abs(p - q) > SAME_MM for p, q in zip(a, b, strict=True)):
        return False
    if (len(old.inner), len(old.marks)) != (len(new.inner), len(new.marks)):
        return False
    return furthest_mm(old, new, moved=moved) <= SAME_MM


def overlap_share(old: Panel, new: Panel) -> float:
    """Common area of two panels' boxes over that of both, 0 to 1, as they lie in the drawing."""
    ax0, ay0, ax1, ay1 = old.bounds_mm()
    bx0, by0, bx1, by1 = new.bounds_mm()
    wide, high = min(ax1, bx1) - max(ax0, bx0), min(ay1, by1) - max(ay0, by0)
    common = max(wide, 0.0) * max(high, 0.0)
    both = (ax1 - ax0) * (ay1 - ay0) + (bx1 - bx0) * (by1 - by0) - common
    return common / both if both > 0.0 else 0.0


def _kinds(panel: Panel) -> list[list[Contour]]:
    marks = [[m.path for m in panel.marks if m.kind is kind] for kind in MarkKind]
    return [[panel.outer], list(panel.inner), *marks]


def _laid(contours: list[Contour], x: float, y: float) -> shapely.MultiLineString:
    lines = [line_string(c, chord_error_mm=CHORD_ERROR_MM) for c in contours]
    return shapely.transform(shapely.MultiLineString(lines), lambda points: points - (x, y))
