"""Lines with fewer corners, for looking at: nothing that is cut is made of them."""

from __future__ import annotations

import shapely

from lasernest.domain.contours import Contour
from lasernest.geometry.extents import vertex_table


def with_fewer_corners(contour: Contour, *, within_mm: float) -> Contour:
    """The contour without corners that lie so near to the line between others.

    Args:
        contour: of straight lines; one with arcs, or of which too little would be left,
            stays as it is.
        within_mm: no corner that is left out lies farther from the new line.

    Source: Douglas and Peucker, Algorithms for the reduction of the number of points required
    to represent a digitized line or its caricature, 1973; as shapely does it.
    """
    if contour.has_arcs:
        return contour
    table, _ = vertex_table([contour])
    corners = table[:, :2]
    line = shapely.linearrings(corners) if contour.closed else shapely.linestrings(corners)
    left = shapely.get_coordinates(shapely.simplify(line, within_mm, preserve_topology=False))
    points: list[tuple[float, float]] = [(x, y) for x, y in left.tolist()]
    if contour.closed:
        points.pop()  # the first one once more
        return Contour.polygon(points) if len(points) >= 3 else contour
    return Contour.polyline(points)
