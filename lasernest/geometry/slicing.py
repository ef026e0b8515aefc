"""Parts of contours by length along them, lines and arcs kept exact."""

from __future__ import annotations

import math

from lasernest.domain.contours import Contour, Vertex
from lasernest.geometry.runs import Run, run_of

SHORTEST_MM = 1e-9


def part_between(contour: Contour, start_mm: float, end_mm: float) -> Contour:
    """The open part of a contour between two stations along it.

    Args:
        contour: closed or open.
        start_mm: length from the contour's start; 0 or more.
        end_mm: greater than the start; on a closed contour it may go round
            once, up to start + length.
    """
    vertices: list[Vertex] = []
    end = (0.0, 0.0)
    station = 0.0
    runs = [run_of(s) for s in contour.segments()]
    for run in runs * (2 if contour.closed else 1):
        length = run.length
        t0 = max(start_mm - station, 0.0) / length if length else 1.0
        t1 = min(end_mm - station, length) / length if length else 0.0
        if (t1 - t0) * length > SHORTEST_MM:
            part = run.between(t0, t1)
            vertices.append(_vertex(part))
            end = part.end
        station += length
        if station >= end_mm:
            break
    return Contour((*vertices, Vertex(*end)), closed=False)


def stations_mm(contour: Contour) -> list[tuple[float, float]]:
    """Start and end of each segment, as lengths along the contour."""
    stations = []
    here = 0.0
    for segment in contour.segments():
        stations.append((here, here + segment.length_mm))
        here += segment.length_mm
    return stations


def _vertex(run: Run) -> Vertex:
    return Vertex(run.x0, run.y0, math.tan(0.25 * run.sweep))
