"""Generated values for the property tests."""

from __future__ import annotations

import math

from hypothesis import assume
from hypothesis import strategies as st

from lasernest.domain.contours import Contour, Vertex
from lasernest.geometry.flatten import ring_polygon


@st.composite
def star_contours(
    draw: st.DrawFn, *, arcs: bool = True, most_corners: int = 14, grid_mm: float = 0.01
) -> Contour:
    """Simple closed contours about the origin, with sharp and blunt corners, arcs in and out."""
    count = draw(st.integers(3, most_corners))
    steps = draw(st.lists(st.integers(2, 12), min_size=count, max_size=count))
    radii = draw(st.lists(st.integers(150, 4000), min_size=count, max_size=count))
    bulges = st.sampled_from([0.0, 0.0, 0.2, -0.2, 0.05, -0.05, math.tan(math.pi / 8), -0.6, 1.0])
    vertices = []
    angle = 0.0
    for step, radius in zip(steps, radii, strict=True):
        x, y = radius * math.cos(angle), radius * math.sin(angle)
        bulge = draw(bulges) if arcs else 0.0
        vertices.append(Vertex(round(x) * grid_mm, round(y) * grid_mm, bulge))
        angle += 2.0 * math.pi * step / sum(steps)
    return _simple(vertices)


@st.composite
def notched_contours(draw: st.DrawFn) -> Contour:
    """Plates with notches and fingers on the upper edge, some narrower than a kerf."""
    widths = draw(st.lists(st.integers(1, 60), min_size=3, max_size=15))
    heights = draw(st.lists(st.integers(1, 60), min_size=len(widths), max_size=len(widths)))
    corners = [(0.0, 0.0)]
    x = 0.05 * sum(widths)
    corners.append((x, 0.0))
    for width, height in zip(widths, heights, strict=True):
        y = 1.0 + 0.05 * height
        corners += [(x, y), (x - 0.05 * width, y)]
        x -= 0.05 * width
    corners[-1] = (0.0, corners[-1][1])
    unique = [c for i, c in enumerate(corners) if c != corners[i - 1]]
    return _simple([Vertex(*corner) for corner in unique])


def _simple(vertices: list[Vertex]) -> Contour:
    """The ring of the vertices; without its arcs where they cross each other."""
    assume(len({(v.x_mm, v.y_mm) for v in vertices}) == len(vertices))
    ring = Contour(tuple(vertices))
    if not _has_a_sure_inside(ring):
        ring = Contour(tuple(Vertex(v.x_mm, v.y_mm) for v in vertices))
        assume(_has_a_sure_inside(ring))
    return ring.oriented(anticlockwise=True)


def _has_a_sure_inside(ring: Contour) -> bool:
    segments = list(ring.segments())
    for before, after in zip(segments[-1:] + segments, segments, strict=False):
        # Arcs that double back on each other cross by less than the polygon below shows.
        (ax, ay), (bx, by) = before.tangent_at(1.0), after.tangent_at(0.0)
        if ax * bx + ay * by < -0.999:
            return False
    shape = ring_polygon(ring, chord_error_mm=2e-5)
    if not (shape.is_valid and shape.area > 0.5):
        return False
    # Corners that nearly touch a far edge have no certain inside.
    shrunk, grown = shape.buffer(-1e-3), shape.buffer(1e-3)
    return shrunk.geom_type == "Polygon" and not grown.interiors
