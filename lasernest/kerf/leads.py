"""Lead-ins: the beam pierces beside the path, on the waste side, and runs into it.

Waste lies outside an outline and inside a hole. The lead slants into the path
so that the beam does not stop where it meets it. Where a lead would come near
another cut it is made shorter or begins elsewhere; where none fits, the beam
pierces on the path. Holes narrower than `SMALL_HOLE_MM` are pierced in their
middle. Source: common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
import shapely

from lasernest.domain.contours import Contour, Point, Vertex
from lasernest.domain.cutting import CutPath, PathKind
from lasernest.domain.stock import Kerf
from lasernest.geometry.flatten import all_points
from lasernest.kerf.starts import started, starts_of

SMALL_HOLE_MM = 4.0
CLEAR_MM = 0.3
"""Solid material left between a lead and any other cut."""
SHARES = (1.0, 0.5)
"""Lengths tried, as shares of the wanted one."""
CLEAR_SHARE = 0.5
"""A pierce keeps this share of the lead from its path; beside a straight one it is 0.71."""
ALMOST_SHARE = 0.98
"""Of a lead, the part that may not touch its own path; it ends on it."""
CHORD_ERROR_MM = 0.02


def with_leads(
    paths: Sequence[CutPath],
    *,
    lead_mm: float,
    kerf: Kerf,
    sheet: shapely.Polygon,
) -> tuple[CutPath, ...]:
    """The closed cuts begun with a lead-in; marks and open runs stay as they are.

    Args:
        paths: in the order of work.
        lead_mm: length of the lead.
        kerf: full width of the beam.
        sheet: leads stay on it.
    """
    lines = [
        shapely.LineString(np.vstack([points, points[:1]]) if path.path.closed else points)
        for path, points in zip(
            paths, all_points([p.path for p in paths], chord_error_mm=CHORD_ERROR_MM), strict=True
        )
    ]
    room = _Room(paths, lines, max(kerf.x_mm, kerf.y_mm) + CLEAR_MM, sheet)
    return tuple(
        replace(path, path=_led_in(i, path, lead_mm, room))
        if path.kind.is_cut and path.path.closed
        else path
        for i, path in enumerate(paths)
    )


class _Room:
    """Where leads may lie."""

    def __init__(
        self,
        paths: Sequence[CutPath],
        lines: Sequence[shapely.LineString],
        clear_mm: float,
        sheet: shapely.Polygon,
    ) -> None:
        self.lines = lines
        self.clear_mm = clear_mm
        self.inside = sheet.buffer(-clear_mm)
        self.is_outer = [path.kind is PathKind.CUT_OUTER for path in paths]
        self.cuts = [i for i, path in enumerate(paths) if path.kind.is_cut]
        self.tree = shapely.STRtree([lines[i] for i in self.cuts])

    def takes(self, own: int, pierce: Point, joint: Point, length_mm: float) -> bool:
        """True when a lead keeps clear of other cuts and of the far sides of its own."""
        lead = shapely.LineString([pierce, joint])
        if not self.inside.contains(lead):
            return False
        near = self.tree.query(lead, predicate="dwithin", distance=self.clear_mm)
        if any(self.cuts[i] != own for i in near.tolist()):
            return False
        # In a narrow tip a lead could lie beside it, or run through its far side, in the panel.
        ring = shapely.Polygon(self.lines[own])
        if ring.contains(shapely.Point(pierce)) is self.is_outer[own]:
            return False
        almost = [p + ALMOST_SHARE * (q - p) for p, q in zip(pierce, joint, strict=True)]
        if self.lines[own].intersects(shapely.LineString([pierce, almost])):
            return False
        return bool(shapely.Point(pierce).distance(self.lines[own]) > CLEAR_SHARE * length_mm)


def _led_in(own: int, path: CutPath, lead_mm: float, room: _Room) -> Contour:
    outer = path.kind is PathKind.CUT_OUTER
    # Walked with the panel on the left, the waste lies on the right.
    ring = path.path.oriented(anticlockwise=outer)
    circle = ring.as_circle()
    if circle is not None and not outer and 2.0 * circle.radius_mm < SMALL_HOLE_MM:
        return _open(ring, (circle.x_mm, circle.y_mm))
    for share in SHARES:
        length = share * lead_mm
        for begun in _beginnings(ring):
            first = next(begun.segments())
            tx, ty = first.tangent_at(0.0)
            x, y = begun.start
            side = length * math.sqrt(0.5)
            pierce = (x + side * (ty - tx), y + side * (-tx - ty))
            if room.takes(own, pierce, begun.start, length):
                return _open(begun, pierce)
    return path.path


def _beginnings(ring: Contour) -> Iterator[Contour]:
    """The ring as it begins now, then begun elsewhere."""
    yield ring
    circle = ring.as_circle()
    if circle is None:
        for start in starts_of(ring, split_all=True):
            yield started(ring, start)
        return
    for quarter in (1, 2, 3):
        c, s = math.cos(0.5 * math.pi * quarter), math.sin(0.5 * math.pi * quarter)
        dx, dy = ring.start[0] - circle.x_mm, ring.start[1] - circle.y_mm
        rx, ry = c * dx - s * dy, s * dx + c * dy
        bulge = ring.vertices[0].bulge
        yield Contour(
            (
                Vertex(circle.x_mm + rx, circle.y_mm + ry, bulge),
                Vertex(circle.x_mm - rx, circle.y_mm - ry, bulge),
            )
        )


def _open(ring: Contour, pierce: Point) -> Contour:
    return Contour((Vertex(*pierce), *ring.vertices, Vertex(*ring.start)), closed=False)
