"""Flattening: contours of exact lines and arcs turned into points and polygons.

Every polygon in the program is made here, from an arc's centre and radius, so
that the stated chord error is the true one (going through a cubic Bézier path
would add 2.7e-4 of the radius, whatever error is asked for).

*Inscribed* points lie on the curve. *Circumscribed* points keep the material,
which lies on the left of the walk, wholly inside: arcs that bulge out get the
crossings of their tangents, arcs that bulge in keep their chords.

Cost: one numpy pass per call, for one contour or for many.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

import numpy as np
import numpy.typing as npt
import shapely

from lasernest.domain.contours import Contour
from lasernest.domain.panels import Panel
from lasernest.errors import BadValueError
from lasernest.geometry.extents import vertex_table

Points = npt.NDArray[np.float64]
"""Points in mm, float64, shape (n, 2)."""

Shapes = npt.NDArray[np.object_]
"""Shapely geometries, one for each contour."""

WIDEST_HALF_STEP_RAD = math.pi / 3.0
"""A full circle never gets fewer than three corners."""


def chords_of_arc(radius_mm: float, sweep_rad: float, *, chord_error_mm: float) -> int:
    """How many equal chords keep an arc within the chord error.

    A full circle takes ceil(pi / acos(1 - e/R)).

    Raises:
        BadValueError: the chord error is not above zero.
    """
    counts = _chord_counts(
        np.array([radius_mm]), np.array([sweep_rad]), chord_error_mm, circumscribed=False
    )
    return int(counts[0])


def ring_points(contour: Contour, *, chord_error_mm: float, circumscribed: bool = False) -> Points:
    """The contour as points, arcs replaced by chords of equal length.

    Args:
        contour: closed or open; every vertex stays a point.
        chord_error_mm: largest distance between the curve and the chords.
        circumscribed: keep the material on the left of the walk inside the
            points (see the module's head); for closed contours of panels.

    Returns:
        float64, shape (n, 2), in the order of the walk; the first point of a
        closed contour is not repeated. Zero-length segments add no point.

    Raises:
        BadValueError: the chord error is not above zero.
    """
    (points,) = all_points([contour], chord_error_mm=chord_error_mm, circumscribed=circumscribed)
    return points


def all_points(
    contours: Sequence[Contour], *, chord_error_mm: float, circumscribed: bool = False
) -> list[Points]:
    """`ring_points` of many contours in one pass, which is much faster for small ones.

    Raises:
        BadValueError: the chord error is not above zero.
    """
    if not contours:
        return []
    points, sizes = _points_of_all(contours, chord_error_mm, circumscribed)
    return [np.ascontiguousarray(part) for part in np.split(points, np.cumsum(sizes)[:-1])]


def _points_of_all(
    contours: Sequence[Contour], chord_error_mm: float, circumscribed: bool
) -> tuple[Points, npt.NDArray[np.int64]]:
    """The points of all contours one after the other, and how many each has."""
    xyb, counts = vertex_table(contours)
    ends = np.cumsum(counts)
    following = np.arange(1, len(xyb) + 1)
    following[ends - 1] = ends - counts
    xyb_next = xyb[following]
    chord = xyb_next[:, :2] - xyb[:, :2]
    # The last vertex of an open run starts no segment but stays a point.
    last = np.zeros(len(xyb), dtype=bool)
    last[ends[[i for i, contour in enumerate(contours) if not contour.closed]] - 1] = True
    xyb[last, 2] = 0.0
    keep = (chord != 0.0).any(axis=1) | last
    owner = np.repeat(np.arange(len(contours)), counts)[keep]
    start, chord = xyb[keep], chord[keep]
    arcs = np.flatnonzero(start[:, 2])
    # A sliver of one line and one flat arc keeps a corner on the arc, so that it has an area.
    sizes = np.bincount(owner, minlength=len(contours))
    closed = np.array([contour.closed for contour in contours])
    fewest = np.where((sizes < 3) & closed, 2, 1)[owner[arcs]]
    points, per_segment = _with_arcs(start, chord, arcs, fewest, chord_error_mm, circumscribed)
    sizes = np.bincount(owner, weights=per_segment, minlength=len(contours)).astype(np.int64)
    return points, sizes


def ring_polygon(
    contour: Contour, *, chord_error_mm: float, circumscribed: bool = False
) -> shapely.Polygon:
    """A closed contour as a polygon without holes; not checked for crossings."""
    points = ring_points(contour, chord_error_mm=chord_error_mm, circumscribed=circumscribed)
    return shapely.Polygon(points)


def ring_polygons(contours: Sequence[Contour], *, chord_error_mm: float) -> Shapes:
    """`ring_polygon` of many closed contours in one pass."""
    if not contours:
        return np.empty(0, dtype=np.object_)
    points, sizes = _points_of_all(contours, chord_error_mm, False)
    rings = shapely.linearrings(points, indices=np.repeat(np.arange(len(sizes)), sizes))
    made: Shapes = shapely.polygons(rings)
    return made


def polygon(
    panel: Panel | Iterable[Contour], *, chord_error_mm: float, circumscribed: bool = False
) -> shapely.Polygon:
    """A panel's material as a polygon: outer contour minus inner contours.

    Args:
        panel: a panel, or its outer contour followed by the inner ones, with
            the material on the left of each (outer anticlockwise).
        chord_error_mm: largest distance between curves and chords.
        circumscribed: the polygon holds the whole panel, never less.

    Raises:
        BadValueError: the chord error is not above zero.
    """
    contours = panel.contours if isinstance(panel, Panel) else tuple(panel)
    outer, *inner = all_points(contours, chord_error_mm=chord_error_mm, circumscribed=circumscribed)
    return shapely.Polygon(outer, [ring for ring in inner if len(ring) > 2])


def line_string(contour: Contour, *, chord_error_mm: float) -> shapely.LineString:
    """A contour as a line; a closed one ends where it starts."""
    (made,) = line_strings([contour], chord_error_mm=chord_error_mm)
    return made


def line_strings(contours: Sequence[Contour], *, chord_error_mm: float) -> Shapes:
    """`line_string` of many contours in one pass."""
    if not contours:
        return np.empty(0, dtype=np.object_)
    points, sizes = _points_of_all(contours, chord_error_mm, False)
    closed = np.array([contour.closed for contour in contours])
    owner = np.repeat(np.arange(len(sizes)), sizes)
    ends = np.cumsum(sizes)[closed]
    points = np.insert(points, ends, points[ends - sizes[closed]], axis=0)
    owner = np.insert(owner, ends, np.flatnonzero(closed))
    made: Shapes = shapely.linestrings(points, indices=owner)
    return made


def _chord_counts(
    radius: npt.NDArray[np.float64],
    sweep: npt.NDArray[np.float64],
    chord_error_mm: float,
    *,
    circumscribed: bool,
) -> npt.NDArray[np.int64]:
    if not chord_error_mm > 0.0:
        raise BadValueError(
            f"a chord error of {chord_error_mm:g} mm cannot be", todo="Give one above zero."
        )
    ratio = chord_error_mm / radius
    # 1 - cos(h) = ratio inside the arc, 1/cos(h) - 1 = ratio outside it; written
    # with half-angle tangents and sines so that tiny ratios keep their digits.
    if circumscribed:
        half = 2.0 * np.arctan(np.sqrt(ratio / (2.0 + ratio)))
    else:
        half = 2.0 * np.arcsin(np.sqrt(np.minimum(0.5 * ratio, 1.0)))
    half = np.minimum(half, WIDEST_HALF_STEP_RAD)
    # The margin keeps a sweep that is a whole number of steps from taking one more.
    counts = np.ceil(np.abs(sweep) / (2.0 * half) - 1e-9)
    return np.maximum(counts, 1).astype(np.int64)


def _with_arcs(
    start: Points,
    chord: Points,
    arcs: npt.NDArray[np.int64],
    fewest: npt.NDArray[np.int64],
    chord_error_mm: float,
    circumscribed: bool,
) -> tuple[Points, npt.NDArray[np.int64]]:
    """Starts of all segments, with the points inside each arc after its start.

    Each arc gets at least the given number of chords.

    Returns:
        The points, and how many of them each segment gave.
    """
    b = start[arcs, 2]
    cx, cy = chord[arcs, 0], chord[arcs, 1]
    k = (1.0 - b * b) / (4.0 * b)
    # From the arc's start to its centre, so that no large coordinate enters the sines.
    to_centre = np.column_stack([0.5 * cx - k * cy, 0.5 * cy + k * cx])
    radius = np.hypot(to_centre[:, 0], to_centre[:, 1])
    sweep = 4.0 * np.arctan(b)
    counts = _chord_counts(radius, sweep, chord_error_mm, circumscribed=False)
    counts = np.maximum(counts, fewest)
    if circumscribed:
        outward = b > 0.0
        counts[outward] = _chord_counts(
            radius[outward], sweep[outward], chord_error_mm, circumscribed=True
        )
        tangents = outward
    else:
        tangents = np.zeros(len(arcs), dtype=bool)
    extra = counts - 1 + tangents

    per_segment = np.ones(len(start), dtype=np.int64)
    per_segment[arcs] += extra
    first = np.concatenate([[0], np.cumsum(per_segment)[:-1]])
    points = np.empty((int(per_segment.sum()), 2))
    points[first] = start[:, :2]

    owner = np.repeat(np.arange(len(arcs)), extra)
    number = np.arange(len(owner)) - np.repeat(np.cumsum(extra) - extra, extra)
    # Chords break at 1/n, 2/n, ...; tangents cross half a step earlier and further out.
    step = (sweep / counts)[owner]
    angle = (number + np.where(tangents[owner], 0.5, 1.0)) * step
    reach = np.where(tangents[owner], 1.0 / np.cos(0.5 * step), 1.0)
    cos, sin = np.cos(angle) * reach, np.sin(angle) * reach
    vx, vy = -to_centre[owner, 0], -to_centre[owner, 1]
    at = first[arcs][owner] + 1 + number
    origin = start[arcs, :2][owner] + to_centre[owner]
    points[at, 0] = origin[:, 0] + cos * vx - sin * vy
    points[at, 1] = origin[:, 1] + sin * vx + cos * vy
    return points, per_segment
