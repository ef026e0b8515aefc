"""What the beam leaves of a sheet: sweep it along every cut line, look at the pieces.

Only lines and the kerf go in; nothing here knows how the lines were made. With
different kerfs along x and y everything is looked at in coordinates stretched
so that the beam is round, and the pieces are shrunk back.

Cost: most of a proof's time; 60 panels of 17 contours take well under a second.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry.base import BaseGeometry

from lasernest.domain.contours import Contour
from lasernest.domain.stock import Kerf
from lasernest.geometry.flatten import Points, all_points
from lasernest.geometry.sweeping import swept_area

CHORD_ERROR_MM = 0.0005

GRID_MM = 1e-6
"""Overlays are rounded to this: without a grid GEOS fails where edges all but coincide."""

THINNEST_BEAM_MM = 1e-4
"""A kerf of zero still parts the sheet."""


class BeamSpace(NamedTuple):
    """Coordinates in which the beam is a disc: x as it is, y stretched."""

    radius_mm: float
    stretch: float

    @classmethod
    def of(cls, kerf: Kerf) -> BeamSpace:
        if kerf.is_round or kerf.x_mm == 0.0 or kerf.y_mm == 0.0:
            return cls(max(0.5 * kerf.mean_mm, THINNEST_BEAM_MM), 1.0)
        return cls(0.5 * kerf.x_mm, kerf.x_mm / kerf.y_mm)

    def into(self, points: Points) -> Points:
        stretched: Points = points * np.array([1.0, self.stretch])
        return stretched

    def back(self, shape: BaseGeometry) -> BaseGeometry:
        if self.stretch == 1.0:
            return shape
        return shapely.transform(shape, lambda xy: xy / np.array([1.0, self.stretch]))


@dataclass(frozen=True, slots=True)
class Piece:
    """One piece of material that the beam leaves."""

    shape: shapely.Polygon
    on_rim: bool
    """True for what still hangs on the sheet's edge."""


@dataclass(frozen=True, slots=True)
class Leftovers:
    """Pieces of a sheet, and which cut lines run into each other."""

    pieces: tuple[Piece, ...]
    touching: tuple[tuple[int, int], ...]
    """Numbers of cut lines that come within a kerf of each other."""


def leftovers(cuts: Sequence[Contour], sheet: shapely.Polygon, kerf: Kerf) -> Leftovers:
    """Cut a sheet along lines with a beam of the given kerf.

    Args:
        cuts: the cut lines, closed or open, in sheet coordinates.
        sheet: the sheet's outline.
        kerf: full width of the beam.
    """
    space = BeamSpace.of(kerf)
    memory: dict[bytes, list[shapely.Polygon]] = {}
    bands: list[shapely.Polygon] = []
    owners: list[int] = []
    for i, (contour, points) in enumerate(
        zip(cuts, all_points(cuts, chord_error_mm=CHORD_ERROR_MM), strict=True)
    ):
        for band in _band(space.into(points), contour.closed, space.radius_mm, memory):
            bands.append(band)
            owners.append(i)
    if not bands:
        return Leftovers((Piece(sheet, True),), ())
    bands, owners = _sound(bands, owners)
    whole = shapely.Polygon(space.into(np.array(sheet.exterior.coords)))
    first, second = shapely.STRtree(bands).query(bands, predicate="intersects")
    ahead = first < second
    touching = {
        (min(owners[i], owners[j]), max(owners[i], owners[j]))
        for i, j in zip(first[ahead].tolist(), second[ahead].tolist(), strict=True)
        if owners[i] != owners[j]
    }
    if ahead.any():
        bands = _merged(bands, first[ahead], second[ahead])
    if all(shapely.contains_properly(whole, bands)):
        pieces = _pieces_between(whole, bands)
    else:
        pieces = _pieces_by_difference(whole, bands)
    return Leftovers(
        tuple(Piece(space.back(piece.shape), piece.on_rim) for piece in pieces),
        tuple(sorted(touching)),
    )


def _sound(
    bands: Sequence[shapely.Polygon], owners: Sequence[int]
) -> tuple[list[shapely.Polygon], list[int]]:
    """Bands without rings that touch themselves, which GEOS cannot put together."""
    if all(shapely.is_valid(bands)):
        return list(bands), list(owners)
    parts, number = shapely.get_parts(shapely.make_valid(bands), return_index=True)
    flat = [(p, owners[i]) for p, i in zip(parts, number.tolist(), strict=True) if p.area > 0.0]
    return [p for p, _ in flat], [owner for _, owner in flat]


def _band(
    points: Points, closed: bool, radius_mm: float, memory: dict[bytes, list[shapely.Polygon]]
) -> list[shapely.Polygon]:
    """The swept area of one line; copies that were only moved are not swept again."""
    origin = points[0]
    moved = points - origin
    key = np.rint(moved * 1e7).astype(np.int64).tobytes() + bytes([closed])
    if key not in memory:
        memory[key] = swept_area(moved, closed=closed, radius_mm=radius_mm)
    return [shapely.transform(band, lambda xy: xy + origin) for band in memory[key]]


def _merged(
    bands: list[shapely.Polygon], first: npt.NDArray[np.int64], second: npt.NDArray[np.int64]
) -> list[shapely.Polygon]:
    """Bands that touch put together, so that all bands are apart."""
    meeting = sorted({*first.tolist(), *second.tolist()})
    alone = set(range(len(bands))) - set(meeting)
    apart = [bands[i] for i in sorted(alone)]
    together = shapely.union_all([bands[i] for i in meeting], grid_size=GRID_MM)
    return [*apart, *shapely.get_parts(together)]


def _pieces_between(whole: shapely.Polygon, bands: Sequence[shapely.Polygon]) -> list[Piece]:
    """Pieces of a sheet that holds all bands: every ring of a band parts two pieces.

    The sheet and the inside of every hole of a band are frames; a piece is a
    frame without the bands that lie directly in it.
    """
    frames = [whole]
    maker = [-1]
    for i, band in enumerate(bands):
        for hole in band.interiors:
            frames.append(shapely.Polygon(hole))
            maker.append(i)
    areas = np.array([frame.area for frame in frames])
    corners = shapely.points([band.exterior.coords[0] for band in bands])
    inside, holder = shapely.STRtree(frames).query(corners, predicate="within")
    nearest = np.zeros(len(bands), dtype=np.int64)
    for i, j in zip(inside.tolist(), holder.tolist(), strict=True):
        if maker[j] != i and areas[j] < areas[nearest[i]]:
            nearest[i] = j
    children: list[list[shapely.LinearRing]] = [[] for _ in frames]
    for i, j in enumerate(nearest.tolist()):
        children[j].append(bands[i].exterior)
    return [
        Piece(shapely.Polygon(frame.exterior, rings), number == 0)
        for number, (frame, rings) in enumerate(zip(frames, children, strict=True))
    ]


def _pieces_by_difference(whole: shapely.Polygon, bands: Sequence[shapely.Polygon]) -> list[Piece]:
    """Pieces of a sheet whose edge is cut too."""
    left = shapely.difference(whole, shapely.union_all(bands, grid_size=GRID_MM), grid_size=GRID_MM)
    rim = whole.exterior
    shapely.prepare(rim)
    parts = [part for part in shapely.get_parts(left) if part.area > 0.0]
    return [Piece(part, bool(rim.distance(part) < 1e-6)) for part in parts]
