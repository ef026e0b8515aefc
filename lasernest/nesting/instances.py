"""Benchmark instances of strip and sheet packing: read, pack, write the layout.

Strip form: `{"name", "strip_height", "items": [{"id", "demand",
"allowed_rotations_deg", "polygon"}]}`; sheet form: `sheet_width` and
`sheet_height` instead of `strip_height`. `allowed_rotations_deg` is a list of
angles, or null for any angle. Lengths have no unit. Layouts list placements
as item, turn about the item's origin, then shift, as in the instance's own
coordinates; no gap, no margin, no mirroring.
"""

from __future__ import annotations

import json
import math
from collections.abc import Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import shapely

from lasernest.domain.contours import Pose
from lasernest.domain.control import Control
from lasernest.errors import BadValueError, UnreadableFileError, Where
from lasernest.nesting.budget import Budget, Clock
from lasernest.nesting.outlines import Floats, distinct_stances, largest_part, posed_polygon
from lasernest.nesting.search.driver import STREAMS
from lasernest.nesting.search.layout import Layout, Tuning, concatenated_kinds, home_rooms
from lasernest.nesting.search.model import Ints, Model, Outline, build_model
from lasernest.nesting.search.start import lay_boxes
from lasernest.nesting.search.stream import Feasible, Stream
from lasernest.nesting.search.windows import shorten
from lasernest.nesting.simplify import thinned

FEWEST_STEPS, MOST_STEPS = 4, 16
"""Angles tried where any angle is allowed,"""

ALL_STEPS = 240
"""and of all items together: their no-fit regions grow with the square."""

THINNING = 2e-4
"""How far outlines with very many corners may grow, in shares of their size."""


@dataclass(frozen=True, slots=True)
class Item:
    """One kind of part of an instance."""

    id: Any
    demand: int
    turns_deg: tuple[float, ...]
    polygon: shapely.Polygon


@dataclass(frozen=True, slots=True)
class Instance:
    """A packing problem; `width` is None for a strip of open length."""

    name: str
    width: float | None
    height: float
    items: tuple[Item, ...]

    @property
    def total_area(self) -> float:
        return math.fsum(item.polygon.area * item.demand for item in self.items)


def read_instance(path: Path) -> Instance:
    """Read an instance file.

    Raises:
        UnreadableFileError: it is not one of the two forms.
    """
    try:
        data = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError) as error:
        raise UnreadableFileError(
            f"it cannot be read as an instance ({error})", where=Where(file=path)
        ) from error
    return instance_of(data, file=path)


def instance_of(data: object, *, file: Path | None = None) -> Instance:
    """An instance from its JSON object.

    Raises:
        UnreadableFileError: it is not one of the two forms.
    """
    try:
        if not isinstance(data, Mapping):
            raise TypeError("not an object")
        if "sheet_width" in data:
            width, height = float(data["sheet_width"]), float(data["sheet_height"])
        else:
            width, height = None, float(data["strip_height"])
        steps = max(FEWEST_STEPS, min(MOST_STEPS, ALL_STEPS // max(1, len(data["items"]))))
        items = tuple(_item(entry, steps) for entry in data["items"])
        if not (math.isfinite(height) and height > 0.0 and items):
            raise ValueError("no height or no items")
        return Instance(str(data.get("name", "")), width, height, items)
    except (KeyError, TypeError, ValueError) as error:
        raise UnreadableFileError(
            f"it is not a packing instance ({error!r})",
            where=Where(file=file),
            todo="Give a file with strip_height or sheet_width and sheet_height, and items.",
        ) from error


def _item(entry: Mapping[str, Any], steps: int) -> Item:
    polygon = shapely.Polygon(entry["polygon"])
    if not polygon.is_valid:
        polygon = largest_part(shapely.make_valid(polygon))
    if not polygon.area > 0.0:
        raise ValueError(f"item {entry['id']} has no area")
    allowed = entry.get("allowed_rotations_deg", [0.0])
    if allowed is None:
        allowed = [360.0 * k / steps for k in range(steps)]
    return Item(entry["id"], int(entry["demand"]), tuple(float(a) for a in allowed), polygon)


def pack(
    instance: Instance,
    *,
    control: Control,
    seconds: float | None = None,
    work: int | None = None,
    workers: int = 1,
    seed: int = 1,
    executor: Executor | None = None,
) -> tuple[dict[str, Any], dict[str, Any]]:
    """Pack an instance.

    Args:
        instance: a strip or sheet problem.
        control: stops the search; improving lengths are reported to it.
        seconds, work: the budget, see `Budget`.
        workers: threads.
        seed: same seed and same work, same layout.
        executor: runs the search instead of threads of our own, see `drive`.

    Returns:
        The layout and a summary: density, strip_length (or sheets), seconds,
        evaluations, valid.

    Raises:
        BadValueError: an item is larger than the strip or sheet.
    """
    clock = Clock()
    lines = max(STREAMS, workers)
    make = _strip_job if instance.width is None else _sheet_job
    job = make(instance, seed, lines)
    log: list[dict[str, float]] = []
    found: list[Feasible] = []

    def better(feasible: Feasible, evaluations: int) -> None:
        found.append(feasible)
        log.append(
            {
                "seconds": round(clock.seconds, 3),
                "sheets": len(feasible.snapshot.rooms),
                "length": feasible.length,
                "evaluations": evaluations,
            }
        )
        control.offer(feasible)

    start = job[0].best
    assert start is not None  # every job begins with a layout
    better(start, 0)
    weighed = shorten(
        job,
        budget=Budget(seconds, work),
        clock=clock,
        control=control,
        workers=workers,
        executor=executor,
        on_better=better,
        seed=seed,
    )
    return _result(instance, job, found[-1], weighed, clock=clock, log=log)


def _outlines(instance: Instance) -> list[Outline]:
    return [
        Outline(
            thinned(item.polygon, THINNING * math.sqrt(item.polygon.convex_hull.area)),
            distinct_stances(item.polygon, item.turns_deg),
        )
        for item in instance.items
    ]


def _strip_job(instance: Instance, seed: int, lines: int) -> list[Stream]:
    outlines = _outlines(instance)
    model = build_model(outlines)
    assert model is not None  # nobody stops it
    kinds = concatenated_kinds([item.demand for item in instance.items])
    widest = 0.0
    for item, first, count in zip(
        instance.items, model.first_stance, model.stance_count, strict=True
    ):
        boxes = model.boxes[first : first + count]
        fits = boxes[:, 3] - boxes[:, 1] <= instance.height * (1.0 + 1e-12)
        if item.demand and not fits.any():
            raise BadValueError(
                f"item {item.id} is higher than the strip of {instance.height:g} in every turn"
            )
        widest = max(widest, float((boxes[fits, 2] - boxes[fits, 0]).min(initial=math.inf)))
    shortest = max(widest, instance.total_area / instance.height)
    longest = float(model.sizes[kinds].sum()) + 1.0
    rooms = np.array([[0.0, 0.0, longest, instance.height]])
    return _streams(model, kinds, rooms, seed, lines, shortest)


def _sheet_job(instance: Instance, seed: int, lines: int) -> list[Stream]:
    outlines = _outlines(instance)
    model = build_model(outlines)
    assert model is not None  # nobody stops it
    kinds = concatenated_kinds([item.demand for item in instance.items])
    assert instance.width is not None
    for item, first, count in zip(
        instance.items, model.first_stance, model.stance_count, strict=True
    ):
        boxes = model.boxes[first : first + count]
        fits = (boxes[:, 3] - boxes[:, 1] <= instance.height * (1.0 + 1e-12)) & (
            boxes[:, 2] - boxes[:, 0] <= instance.width * (1.0 + 1e-12)
        )
        if item.demand and not fits.any():
            raise BadValueError(f"item {item.id} fits on no sheet in any turn")
    left = np.arange(len(kinds)) * instance.width * 1.01
    bottom = np.zeros(len(kinds))
    rooms = np.column_stack([left, bottom, left + instance.width, bottom + instance.height])
    return _streams(model, kinds, rooms, seed, lines, 0.0)


def _streams(
    model: Model, kinds: Ints, rooms: Floats, seed: int, lines: int, shortest: float
) -> list[Stream]:
    """Streams that all begin with the boxes of the items laid in rows."""
    streams = []
    for k in range(lines):
        layout = Layout(model, kinds, rooms, seed=lines * seed + k, tuning=Tuning())
        start = lay_boxes(layout, rooms)
        assert start is not None  # there is a room for each item
        streams.append(Stream(layout, shortest=shortest))
        streams[-1].adopt(start)
    return streams


def _result(
    instance: Instance,
    streams: Sequence[Stream],
    feasible: Feasible,
    weighed: int,
    *,
    clock: Clock,
    log: list[dict[str, float]],
) -> tuple[dict[str, Any], dict[str, Any]]:
    snapshot = feasible.snapshot
    model, kinds = streams[0].layout.model, streams[0].layout.kinds
    homes = home_rooms(snapshot.places, snapshot.rooms)
    placements: list[dict[str, Any]] = []
    shapes: list[list[shapely.Polygon]] = [[] for _ in snapshot.rooms]
    for k, kind in enumerate(kinds):
        stance = model.stance_of[snapshot.stance[k]]
        x, y = snapshot.places[k, :2] + model.origins[snapshot.stance[k]]
        room = int(homes[k])
        x -= snapshot.rooms[room, 0]
        entry = {
            "item": instance.items[kind].id,
            "rotation_deg": stance.turn_deg,
            "x": float(x),
            "y": float(y),
        }
        if instance.width is not None:
            entry["sheet"] = room
        placements.append(entry)
        pose = Pose(float(x), float(y), stance.turn_deg)
        shapes[room].append(posed_polygon(instance.items[kind].polygon, pose))
    width = feasible.length if instance.width is None else instance.width
    sheets = len(snapshot.rooms)
    result: dict[str, Any] = {"placements": placements}
    summary: dict[str, Any] = {
        "density": instance.total_area / (width * instance.height * sheets),
        "strip_length": feasible.length if instance.width is None else None,
        "sheets": sheets,
        "seconds": clock.seconds,
        "evaluations": weighed,
        "valid": all(_apart(room, width, instance.height) for room in shapes),
        "log": log,
    }
    if instance.width is None:
        result["strip_length"] = feasible.length
    return result, summary


def _apart(shapes: list[shapely.Polygon], width: float, height: float) -> bool:
    """Whether shapes lie inside and overlap by no more than rounding; independent of the search."""
    slack = 1e-7 * height
    tree = shapely.STRtree(shapes)
    for a, shape in enumerate(shapes):
        x0, y0, x1, y1 = shape.bounds
        if min(x0, y0, width - x1, height - y1) < -slack:
            return False
        for b in tree.query(shape):
            if b > a:
                other = shapes[int(b)]
                common = shape.intersection(other)
                limit = 1e-7 * min(shape.area, other.area)
                if common.area > limit or _depth_of(common) > slack:
                    return False
    return True


def _depth_of(common: shapely.Geometry) -> float:
    """Twice the area over the outline's length: the width of a sliver."""
    parts = getattr(common, "geoms", [common])
    return max(
        (2.0 * p.area / p.length for p in parts if isinstance(p, shapely.Polygon) and p.area > 0),
        default=0.0,
    )
