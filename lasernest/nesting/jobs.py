"""From a request to streams of search, and from a searched layout back to sheets.

Sheets lie side by side in one long plane, each with its own *room* for the
grown outlines: the sheet less margin, plus half the gap. What must stay free
on a shaped sheet (outside its outline, clamps, defects) becomes items that
never move.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
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
class Board:
    """The outlines of a request as the kernels know them, and what blocks each kind of sheet."""

    request: NestRequest
    model: Model
    kind_of_order: dict[int, int]
    """Outline of each order that takes part."""
    obstacles: tuple[tuple[tuple[int, float, float], ...], ...]
    """Per kind of sheet: outline and place of what must stay free."""

    def job(self, start: Sequence[FilledSheet], adrift: Sequence[int] = ()) -> Job:
        """What the search begins from.

        Args:
            start: filled sheets; only what lies on them takes part.
            adrift: orders of more copies that lie nowhere yet.
        """
        request, half_mm = self.request, 0.5 * self.request.gap_mm
        step_mm = SHEET_STEP * max(sheet.width_mm for sheet in request.sheets)
        lefts = np.array([k * step_mm for k in range(len(start))])
        rooms, fixed, places = [], [], []
        for left, one in zip(lefts, start, strict=True):
            x0, y0, x1, y1 = _room(request.sheets[one.kind], half_mm)
            rooms.append((left + x0, y0, left + x1, y1))
            for outline, x, y in self.obstacles[one.kind]:
                fixed.append(outline)
                places.append((left + x, y))
        orders = [*(laid.order for one in start for laid in one.laid), *adrift]
        kinds = np.array([*(self.kind_of_order[o] for o in orders), *fixed], dtype=np.int64)
        return Job(
            self,
            kinds,
            np.array(orders, dtype=np.int64),
            np.array(rooms),
            lefts,
            tuple(start),
            len(adrift),
            np.array(places).reshape(-1, 2),
        )


@dataclass(frozen=True, slots=True)
class Job:
    """Sheets with panels on them as the search sees them."""

    board: Board
    kinds: Ints
    """Outline of each item; those after the orders' are obstacles."""
    orders: Ints
    """Order of each movable item."""
    rooms: Floats
    lefts: Floats
    """Left edge of each room's sheet in the plane."""
    start: tuple[FilledSheet, ...]
    adrift: int
    """How many of the movable items, the last ones, lie nowhere yet."""
    obstacle_places: Floats


def search_shapes(
    request: NestRequest, orders: Sequence[int], *, poll: Callable[[], object] = lambda: None
) -> dict[int, shapely.Polygon]:
    """The outlines of orders as the search sees them: grown by half the gap, few corners.

    Args:
        request: panels and gap.
        orders: by index.
        poll: called between panels; may raise.
    """
    shapes = []
    for index in orders:
        poll()
        shapes.append(grown(covering_polygon(request.orders[index].panel), 0.5 * request.gap_mm))
    return dict(zip(orders, simpler(shapes, gap_mm=request.gap_mm, poll=poll), strict=True))


def board_of(
    request: NestRequest,
    shapes: Mapping[int, shapely.Polygon],
    stances: Sequence[Sequence[Stance]],
    *,
    stopped: Callable[[], bool] = lambda: False,
) -> Board | None:
    """The search's view of a request.

    Args:
        request: panels, sheets, gap.
        shapes: of the orders that take part, from `search_shapes`.
        stances: per order, the ways its panel may be laid.
        stopped: asked every few milliseconds.

    Returns:
        None when it was stopped.
    """
    half_mm = 0.5 * request.gap_mm
    outlines = [Outline(shape, tuple(stances[order])) for order, shape in shapes.items()]
    obstacles: list[tuple[tuple[int, float, float], ...]] = []
    for sheet in request.sheets:
        found = []
        for part in _blocked(sheet, half_mm, _room(sheet, half_mm)):
            x0, y0, x1, y1 = part.bounds
            found.append((len(outlines), 0.5 * (x0 + x1), 0.5 * (y0 + y1)))
            outlines.append(Outline(part, (Stance(0.0),)))
        obstacles.append(tuple(found))
    model = build_model(outlines, movable=len(shapes), stopped=stopped)
    if model is None:
        return None
    kind_of_order = {order: kind for kind, order in enumerate(shapes)}
    return Board(request, model, kind_of_order, tuple(obstacles))


def _room(sheet: Sheet, half_mm: float) -> tuple[float, float, float, float]:
    """Where grown outlines may lie on a sheet."""
    inset_mm = sheet.margin_mm - half_mm
    return (inset_mm, inset_mm, sheet.width_mm - inset_mm, sheet.height_mm - inset_mm)


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
    """Streams that begin from the job's sheets; what is adrift lies anywhere, in each elsewhere."""
    model, movable = job.board.model, len(job.orders)
    streams: list[Stream] = []
    for k in range(count):
        layout = Layout(
            model,
            job.kinds,
            job.rooms,
            seed=count * seed + k,
            tuning=tuning,
            fixed=len(job.kinds) - movable,
        )
        _lay_start(job, layout)
        streams.append(Stream(layout, first_only=job.adrift > 0))
        if not job.adrift:
            length = layout.used_to(len(job.rooms) - 1) - float(job.rooms[-1, 0])
            streams[-1].adopt(Feasible(layout.snapshot(), length))
    return streams


def _lay_start(job: Job, layout: Layout) -> None:
    model = job.board.model
    n = 0
    for left, one in zip(job.lefts, job.start, strict=True):
        for laid in one.laid:
            first, count = (int(value) for value in layout.items[n, :2])
            v = first + model.stance_of[first : first + count].index(laid.stance)
            layout.stance[n] = v
            layout.places[n, :2] = np.array([laid.x_mm + left, laid.y_mm]) - model.origins[v]
            n += 1
    layout.places[len(job.orders) :, :2] = job.obstacle_places
    if job.adrift:
        layout.scatter(np.arange(n, n + job.adrift))
    layout.refresh()


def sheets_of(job: Job, feasible: Feasible) -> list[FilledSheet]:
    """A searched layout as filled sheets."""
    snapshot, model = feasible.snapshot, job.board.model
    rooms = home_rooms(snapshot.places, snapshot.rooms)
    filled = [FilledSheet(job.start[k].kind) for k in range(len(snapshot.rooms))]
    half_mm = 0.5 * job.board.request.gap_mm
    for i, order in enumerate(job.orders):
        v = int(snapshot.stance[i])
        room = int(rooms[i])
        x, y = snapshot.places[i, :2] + model.origins[v]
        filled[room].laid.append(
            Laid(int(order), model.stance_of[v], float(x - job.lefts[room]), float(y))
        )
        right_mm = float(snapshot.places[i, 4] - job.lefts[room]) - half_mm
        filled[room].used_length_mm = max(filled[room].used_length_mm, right_mm)
    return [one for one in filled if one.laid]
