"""From a request to streams of search, and from a searched layout back to sheets.

Sheets lie side by side in one long plane, each with its own *room* for the
grown outlines: the sheet less margin, plus half the gap. What must stay free
on a shaped sheet (outside its outline, clamps, defects) becomes items that
never move.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
import shapely.affinity

from lasernest.domain.plan import NestRequest, Sheet
from lasernest.nesting.outlines import (
    Floats,
    Stance,
    covering_polygon,
    covering_ring,
    grown,
)
from lasernest.nesting.rows import FilledSheet, Laid, is_plain
from lasernest.nesting.search.layout import Layout, Tuning, home_rooms
from lasernest.nesting.search.model import Ints, Model, Outline, build_model
from lasernest.nesting.search.stream import Feasible, Stream
from lasernest.nesting.simplify import simpler

SHEET_STEP = 1.02
"""Distance of the left edges of neighbouring sheets, in widths of the widest."""


@dataclass(frozen=True, slots=True)
class Job:
    """A request as the search sees it."""

    request: NestRequest
    model: Model
    kinds: Ints
    """Outline of each item; the last `fixed` ones are obstacles."""
    orders: Ints
    """Order of each movable item."""
    fixed: int
    rooms: Floats
    sheet_kinds: tuple[int, ...]
    """Kind of sheet of each room."""
    lefts: Floats
    """Left edge of each room's sheet in the plane."""
    start: Sequence[FilledSheet]
    obstacle_places: Floats


def search_shapes(request: NestRequest, orders: Sequence[int]) -> dict[int, shapely.Polygon]:
    """The outlines of orders as the search sees them: grown by half the gap, few corners."""
    shapes = [
        grown(covering_polygon(request.orders[index].panel), 0.5 * request.gap_mm)
        for index in orders
    ]
    return dict(zip(orders, simpler(shapes, gap_mm=request.gap_mm), strict=True))


def job_of(
    request: NestRequest,
    start: Sequence[FilledSheet],
    shapes: Mapping[int, shapely.Polygon],
    stances: Sequence[Sequence[Stance]],
) -> Job:
    """The search's view of a request, beginning from a first plan.

    Args:
        request: panels, sheets, gap.
        start: sheets filled by the first plan; only what lies on them takes part.
        shapes: from `search_shapes`.
        stances: per order, the ways its panel may be laid.
    """
    half_mm = 0.5 * request.gap_mm
    used = sorted({laid.order for one in start for laid in one.laid})
    outlines = [Outline(shapes[index], tuple(stances[index])) for index in used]
    step_mm = SHEET_STEP * max(sheet.width_mm for sheet in request.sheets)
    lefts = np.array([k * step_mm for k in range(len(start))])
    rooms, obstacles, obstacle_places = [], [], []
    obstacle_kinds: dict[tuple[int, int], int] = {}
    for left, one in zip(lefts, start, strict=True):
        sheet = request.sheets[one.kind]
        inset_mm = sheet.margin_mm - half_mm
        room = (inset_mm, inset_mm, sheet.width_mm - inset_mm, sheet.height_mm - inset_mm)
        rooms.append((left + room[0], room[1], left + room[2], room[3]))
        for number, part in enumerate(_blocked(sheet, half_mm, room)):
            key = (one.kind, number)
            if key not in obstacle_kinds:
                obstacle_kinds[key] = len(outlines)
                outlines.append(Outline(part, (Stance(0.0),)))
            x0, y0, x1, y1 = part.bounds
            obstacles.append(obstacle_kinds[key])
            obstacle_places.append((left + 0.5 * (x0 + x1), 0.5 * (y0 + y1)))
    kind_of_order = {order: kind for kind, order in enumerate(used)}
    orders = np.array([laid.order for one in start for laid in one.laid], dtype=np.int64)
    kinds = np.array([*(kind_of_order[int(o)] for o in orders), *obstacles], dtype=np.int64)
    return Job(
        request,
        build_model(outlines),
        kinds,
        orders,
        len(obstacles),
        np.array(rooms),
        tuple(one.kind for one in start),
        lefts,
        start,
        np.array(obstacle_places).reshape(-1, 2),
    )


def _blocked(
    sheet: Sheet, half_mm: float, room: tuple[float, float, float, float]
) -> list[shapely.Polygon]:
    """Where grown outlines must not be inside a sheet's room, besides its walls."""
    if is_plain(sheet):
        return []
    reach_mm = max(0.0, sheet.margin_mm - half_mm)
    box = shapely.box(*room)
    zones: list[shapely.Geometry] = []
    if sheet.outline is not None:
        # Walked clockwise, the covering ring covers the outside of the sheet.
        ring = covering_ring(sheet.outline.oriented(anticlockwise=False), chord_error_mm=0.02)
        zones.append(box.buffer(reach_mm + 1.0).difference(shapely.Polygon(ring)))
    zones += [
        shapely.Polygon(covering_ring(hole.oriented(anticlockwise=True), chord_error_mm=0.02))
        for hole in sheet.holes
    ]
    blocked = shapely.union_all([_rounded(zone, reach_mm) for zone in zones]).intersection(box)
    parts = getattr(blocked, "geoms", [blocked])
    return [part for part in parts if isinstance(part, shapely.Polygon) and part.area > 1e-9]


def _rounded(zone: shapely.Geometry, reach_mm: float) -> shapely.Geometry:
    """A zone grown by the margin; its rounding lies outside the true one."""
    if reach_mm <= 0.0:
        return zone
    # Six chords a quarter lie up to 0.86 % inside the circle they are drawn in.
    return zone.buffer(reach_mm * 1.0087, quad_segs=6)


def streams_of(job: Job, *, seed: int, count: int, tuning: Tuning) -> list[Stream]:
    """Streams that all begin with the first plan."""
    streams: list[Stream] = []
    for k in range(count):
        layout = Layout(
            job.model,
            job.kinds,
            job.rooms,
            seed=count * seed + k,
            tuning=tuning,
            fixed=job.fixed,
        )
        begin = _lay_start(job, layout)
        streams.append(Stream(layout))
        streams[-1].adopt(begin)
    return streams


def _lay_start(job: Job, layout: Layout) -> Feasible:
    n = 0
    for left, one in zip(job.lefts, job.start, strict=True):
        for laid in one.laid:
            first, count = layout.items[n, :2]
            v = next(
                v
                for v in range(int(first), int(first + count))
                if job.model.stance_of[v] == laid.stance
            )
            layout.stance[n] = v
            layout.places[n, :2] = np.array([laid.x_mm + left, laid.y_mm]) - job.model.origins[v]
            n += 1
    layout.places[n:, :2] = job.obstacle_places
    layout.refresh()
    return Feasible(layout.snapshot(), layout.used_to(len(job.rooms) - 1) - float(job.rooms[-1, 0]))


def sheets_of(job: Job, feasible: Feasible) -> list[FilledSheet]:
    """A searched layout as filled sheets."""
    snapshot = feasible.snapshot
    rooms = home_rooms(snapshot.places, snapshot.rooms)
    filled = [FilledSheet(job.sheet_kinds[k]) for k in range(len(snapshot.rooms))]
    half_mm = 0.5 * job.request.gap_mm
    for i, order in enumerate(job.orders):
        v = int(snapshot.stance[i])
        room = int(rooms[i])
        x, y = snapshot.places[i, :2] + job.model.origins[v]
        filled[room].laid.append(
            Laid(int(order), job.model.stance_of[v], float(x - job.lefts[room]), float(y))
        )
        right_mm = float(snapshot.places[i, 4] - job.lefts[room]) - half_mm
        filled[room].used_length_mm = max(filled[room].used_length_mm, right_mm)
    return [one for one in filled if one.laid]
