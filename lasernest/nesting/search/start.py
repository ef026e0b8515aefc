"""A first separated layout: the boxes of all items laid against a skyline."""

from __future__ import annotations

import numpy as np

from lasernest.nesting.outlines import Floats
from lasernest.nesting.rows import Skyline
from lasernest.nesting.search.layout import Layout
from lasernest.nesting.search.stream import Feasible


def lay_boxes(layout: Layout, rooms: Floats) -> Feasible | None:
    """Lay all items by their boxes, room after room; the rooms not needed are left out.

    Args:
        layout: its items are moved.
        rooms: as many as it may take, the last one as long as it may take.

    Returns:
        The layout, or None when the rooms do not suffice.
    """
    boxes = layout.model.boxes
    spans = boxes[:, 2:] - boxes[:, :2]
    first, count = layout.items[: layout.movable, 0], layout.items[: layout.movable, 1]
    left = sorted(range(layout.movable), key=lambda i: (-layout.sizes[i], layout.kinds[i], i))
    home = np.zeros(layout.movable, dtype=np.int64)
    used = 0
    for room, (x0, y0, x1, y1) in enumerate(rooms):
        if not left:
            break
        skyline = Skyline(float(x0), float(y0), float(x1), float(y1))
        rest: list[int] = []
        hopeless: set[int] = set()
        for i in left:
            best: tuple[float, int, float, float] | None = None
            if int(layout.kinds[i]) not in hopeless:
                for v in range(int(first[i]), int(first[i] + count[i])):
                    place = skyline.find(float(spans[v, 0]), float(spans[v, 1]))
                    if place is not None and (best is None or place[0] + spans[v, 0] < best[0]):
                        best = (place[0] + float(spans[v, 0]), v, *place)
            if best is None:
                hopeless.add(int(layout.kinds[i]))
                rest.append(i)
                continue
            _, v, x, y = best
            skyline.take(x, y, float(spans[v, 0]), float(spans[v, 1]))
            layout.stance[i] = v
            layout.places[i, :2] = (x - boxes[v, 0], y - boxes[v, 1])
            home[i] = room
        if len(rest) == len(left):
            return None
        left = rest
        used = room + 1
    if left:
        return None
    layout.set_rooms(rooms[:used])
    end = layout.places[: layout.movable, 4][home == used - 1].max()
    return Feasible(layout.snapshot(), float(end - rooms[used - 1, 0]))
