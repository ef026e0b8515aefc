"""Kerf compensation: from a panel's contours to the paths the beam follows.

The beam takes away the full kerf, half of it on each side of its path. So
outer contours move out and inner contours move in by half the kerf; marks stay
where they are drawn. Where the beam does not fit, nothing is guessed: a slot
narrower than the kerf is an error that names the panel and the place.

With different kerfs along x and y (an elliptical spot) the sheet is scaled so
that the spot becomes round, shifted there, and scaled back: lines stay exact,
arcs follow the true path within `ELLIPSE_ERROR_MM`.
"""

from __future__ import annotations

import math

import numpy as np

from lasernest.domain.contours import Contour, Point, Pose, Segment
from lasernest.domain.cutting import CutPath, PathKind
from lasernest.domain.panels import MarkKind, Panel
from lasernest.domain.stock import Kerf
from lasernest.errors import BadContourError, VanishedContourError, Where
from lasernest.geometry.affine import Affine
from lasernest.geometry.curves import settled
from lasernest.geometry.distances import distances_to_contours
from lasernest.geometry.mapping import contour_of, map_path
from lasernest.geometry.offsets import shift_contour

ELLIPSE_ERROR_MM = 0.001

MITRE_LIMIT = 4.0
"""Keeps corners above 28.955 degrees sharp. Source: common practice, no source."""

_MARK_KINDS = {MarkKind.SCORE: PathKind.SCORE, MarkKind.ENGRAVE: PathKind.ENGRAVE}


def cut_paths(panel: Panel, kerf: Kerf, *, copy: int = 1) -> tuple[CutPath, ...]:
    """The paths that leave a panel as it is drawn.

    Args:
        panel: where it lies on the sheet; with different kerfs along x and y
            its turn matters.
        kerf: the full width that the beam takes away.
        copy: number of this copy, from 1.

    Returns:
        Marks, then inner contours, then the outer one.

    Raises:
        VanishedContourError: the beam does not fit into an inner contour or a
            notch of the outer one.
    """
    marks = [
        CutPath(_MARK_KINDS[mark.kind], mark.path, panel.name, copy)
        for mark in sorted(panel.marks, key=lambda mark: mark.kind is MarkKind.SCORE)
    ]
    *inner, outer = _all_shifted(panel, [*panel.inner, panel.outer], kerf)
    cuts = [CutPath(PathKind.CUT_INNER, ring, panel.name, copy) for ring in inner]
    return (*marks, *cuts, CutPath(PathKind.CUT_OUTER, outer, panel.name, copy))


def posed_paths(paths: tuple[CutPath, ...], pose: Pose, *, copy: int) -> tuple[CutPath, ...]:
    """Paths of a panel as drawn, moved to where a copy of it lies.

    Right for a round beam only, whose kerf is the same at every turn.
    """
    posed = []
    for path in paths:
        contour = path.path.posed(pose)
        if path.kind.is_cut:
            contour = contour.oriented(anticlockwise=path.kind is PathKind.CUT_OUTER)
        posed.append(CutPath(path.kind, contour, path.panel_name, copy))
    return tuple(posed)


def misfits(panel: Panel, kerf: Kerf) -> tuple[tuple[Contour, VanishedContourError], ...]:
    """The contours that the beam does not fit into, with what `cut_paths` would say of each.

    A contour that crosses itself, which cannot be shifted, is not among them.
    """
    found = []
    for ring in (*panel.inner, panel.outer):
        try:
            _all_shifted(panel, [ring], kerf)
        except VanishedContourError as error:
            found.append((ring, error))
        except BadContourError:
            continue
    return tuple(found)


def _all_shifted(panel: Panel, rings: list[Contour], kerf: Kerf) -> list[Contour]:
    """Contours of a panel, each shifted to where the beam runs."""
    if kerf.is_round or min(kerf.x_mm, kerf.y_mm) <= 0.0:
        return [_shifted(panel, ring, kerf, outward=ring is panel.outer) for ring in rings]
    # Stretched until the beam is round; all at once, since curves are fitted faster together.
    stretch = kerf.x_mm / kerf.y_mm
    round_kerf = Kerf.same(kerf.x_mm)
    shifted = []
    for ring, seen in zip(rings, _stretched(rings, stretch), strict=True):
        try:
            shifted.append(_shifted(panel, seen, round_kerf, outward=ring is panel.outer))
        except VanishedContourError as error:
            x, y = error.where.at_mm or seen.start
            raise VanishedContourError(
                error.what,
                where=Where(panel=panel.name, at_mm=(x, y / stretch)),
                todo=error.todo,
            ) from None
    return _stretched(shifted, 1.0 / stretch)


def _shifted(panel: Panel, ring: Contour, kerf: Kerf, *, outward: bool) -> Contour:
    half_mm = 0.5 * kerf.mean_mm
    rings, whole = shift_contour(
        ring, half_mm if outward else -half_mm, mitre_limit=MITRE_LIMIT, rolled=True
    )
    if whole:
        return rings[0]
    if len(rings) == 1:
        lost_at = _lost_place(ring, rings, half_mm)
        if lost_at is None:
            return rings[0]
    elif not rings:
        x0, y0, x1, y1 = ring.bounds_mm()
        lost_at = (0.5 * (x0 + x1), 0.5 * (y0 + y1))
    else:
        lost_at = _lost_place(ring, rings, half_mm) or ring.start
    raise VanishedContourError(
        f"{'a gap in the outline' if outward else 'a hole or slot'} is narrower than the kerf of "
        f"{kerf.mean_mm:.2f} mm, so the beam does not fit in",
        where=Where(panel=panel.name, at_mm=lost_at),
        todo=f"Make it wider than {kerf.mean_mm:.2f} mm, or draw it as a score line.",
    )


def _stretched(rings: list[Contour], factor: float) -> list[Contour]:
    """Rings with their y stretched; circles become arcs that follow the ellipse."""
    drafts = [map_path(ring.vertices, True, Affine.scaling(1.0, factor)) for ring in rings]
    chord_error_mm = 0.4 * ELLIPSE_ERROR_MM * min(1.0, factor)
    paths = settled(drafts, chord_error_mm=chord_error_mm)
    return [contour_of(path, True) or ring for path, ring in zip(paths, rings, strict=True)]


def _lost_place(ring: Contour, paths: tuple[Contour, ...], half_mm: float) -> Point | None:
    """The drawn corner that the beam passes by too far off, if there is one.

    The path stays half the kerf away from the drawn contour; at inner corners
    half / sin(angle / 2), and more where the corner's sides are curved. Up to
    the mitre limit, or twice a corner's own figure, that is what a round beam
    does to corners and small fillets; beyond it the beam never went in. Between
    curved sides that run together nearly without an angle it stops where they are
    a kerf apart, and what lies deeper is no place of its own.
    """
    segments = list(ring.segments())
    places = [(s.middle, 1.0) for s in segments]
    cusps: list[tuple[Point, float]] = []
    for before, after in zip(segments[-1:] + segments, segments, strict=False):
        (ax, ay), (bx, by) = before.tangent_at(1.0), after.tangent_at(0.0)
        turn = math.atan2(ax * by - ay * bx, ax * bx + ay * by)
        ratio = 1.0 / max(math.cos(0.5 * turn), 1e-3)
        places.append((after.start, ratio))
        apart = _curvature(before) + _curvature(after)
        if ratio > MITRE_LIMIT and apart > 0.0:
            # Sides apart by apart * depth^2 / 2; half as much again for what bends less.
            cusps.append((after.start, 1.5 * math.sqrt(4.0 * half_mm / apart)))
    points = np.array([at for at, _ in places])
    distances = np.min(distances_to_contours([points] * len(paths), paths), axis=0)
    worst, place = 0.0, None
    for (at, ratio), distance in zip(places, distances.tolist(), strict=True):
        allowed = half_mm * max(2.0 * ratio, MITRE_LIMIT) * 1.001 + 2e-3
        if distance - allowed > worst and not any(math.dist(at, c) <= deep for c, deep in cusps):
            worst, place = distance - allowed, at
    return place


def _curvature(segment: Segment) -> float:
    """Per mm, positive for an arc that turns left."""
    return math.copysign(1.0 / segment.radius_mm, segment.bulge) if segment.bulge else 0.0
