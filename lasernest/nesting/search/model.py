"""What the kernels know of a job: stances of outlines and their no-fit regions, in flat arrays."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely

from lasernest.domain.contours import Pose, exact_cos_sin
from lasernest.nesting.nofit._kernels import cell_lists, edge_rows, is_convex
from lasernest.nesting.nofit.regions import bridged, no_fit_rings
from lasernest.nesting.outlines import Floats, Stance

Ints = npt.NDArray[np.int64]
SmallInts = npt.NDArray[np.int32]

MANY_STANCES = 200
"""Of more, regions get coarser cells: making them would take too long."""


@dataclass(frozen=True, slots=True)
class Outline:
    """A kind of part as the search sees it: a grown polygon and the ways it may be laid."""

    shape: shapely.Polygon
    stances: tuple[Stance, ...]


@dataclass(frozen=True, slots=True)
class Model:
    """Flat arrays for the kernels; their rows are described in `_kernels`."""

    first_stance: Ints
    """Per outline: the number of its first stance."""
    stance_count: Ints
    stance_of: tuple[Stance, ...]
    """Per stance number."""
    origins: Floats
    """Per stance: where the drawing's origin lies seen from the reference point, shape (n, 2)."""
    boxes: Floats
    pairs: SmallInts
    frames: Floats
    heads: Ints
    edges: Floats
    cells: SmallInts
    sizes: Floats
    """Per outline: its longer side."""
    areas: Floats
    """Per outline: area of its convex hull."""
    net_areas: Floats
    """Per outline: its own area."""


def build_model(
    outlines: Sequence[Outline],
    *,
    movable: int | None = None,
    stopped: Callable[[], bool] = lambda: False,
) -> Model | None:
    """The model of a set of outlines.

    Args:
        outlines: all pairs of their stances may meet,
        movable: but for those of two outlines after so many, which never move.
        stopped: asked every few milliseconds.

    Returns:
        None when it was stopped.
    """
    rings = [bridged(outline.shape) for outline in outlines]
    first_stance: list[int] = []
    stance_of: list[Stance] = []
    origins: list[Floats] = []
    boxes: list[list[float]] = []
    posed: list[tuple[int, Stance]] = []
    for index, (outline, ring) in enumerate(zip(outlines, rings, strict=True)):
        first_stance.append(len(stance_of))
        centre = 0.5 * (ring.min(axis=0) + ring.max(axis=0))
        rings[index] = ring - centre
        for stance in outline.stances:
            turned = turned_ring(rings[index], stance)
            stance_of.append(stance)
            posed.append((index, stance))
            origins.append(-_turned(centre, stance))
            boxes.append([*turned.min(axis=0), *turned.max(axis=0)])
    return _with_regions(
        rings,
        posed,
        movable=len(outlines) if movable is None else movable,
        stopped=stopped,
        first_stance=np.array(first_stance, dtype=np.int64),
        stance_count=np.array([len(o.stances) for o in outlines], dtype=np.int64),
        stance_of=tuple(stance_of),
        origins=np.array(origins),
        boxes=np.array(boxes),
        sizes=np.array([float((r.max(axis=0) - r.min(axis=0)).max()) for r in rings]),
        areas=np.array([float(o.shape.convex_hull.area) for o in outlines]),
        net_areas=np.array([float(o.shape.area) for o in outlines]),
    )


def turned_ring(ring: Floats, stance: Stance) -> Floats:
    """A ring mirrored and turned, walked anticlockwise again."""
    turned = _turned(ring, stance)
    return np.ascontiguousarray(turned[::-1] if stance.mirrored else turned)


def _turned(points: Floats, stance: Stance) -> Floats:
    a, b, c, d = Pose(0.0, 0.0, stance.turn_deg, stance.mirrored).matrix()
    return np.asarray(points @ np.array([[a, c], [b, d]]), dtype=np.float64)


def _with_regions(
    rings: Sequence[Floats],
    posed: Sequence[tuple[int, Stance]],
    *,
    movable: int,
    stopped: Callable[[], bool],
    **known: object,
) -> Model | None:
    count = len(posed)
    pairs = np.zeros((count, count), dtype=np.int32)
    frames: list[list[float]] = []
    heads: list[list[int]] = []
    all_edges: list[Floats] = []
    all_cells: list[SmallInts] = []
    edge_total = cell_total = 0
    cache: dict[tuple[int, bool, int, bool, float], tuple[Floats, Ints, bool]] = {}
    for a, (ia, sa) in enumerate(posed):
        for b in range(a, count):
            ib, sb = posed[b]
            if ia >= movable and ib >= movable:
                continue
            if stopped():
                return None
            # Turning both parts turns the region: one convolution per relative turn.
            relative = round((sb.turn_deg - sa.turn_deg) % 360.0, 9)
            key = (ia, sa.mirrored, ib, sb.mirrored, relative)
            if key not in cache:
                rings_of = no_fit_rings(
                    turned_ring(rings[ia], Stance(0.0, sa.mirrored)),
                    turned_ring(rings[ib], Stance(relative, sb.mirrored)),
                )
                cache[key] = _joined(rings_of)
            points, starts, convex = cache[key]
            cos, sin = exact_cos_sin(sa.turn_deg)
            edges, frame = edge_rows(points, starts, cos, sin, convex)
            finer = 1.5 if count <= MANY_STANCES else 0.8
            side = 0 if convex else min(24, max(6, round(finer * len(edges) ** 0.5)))
            heads.append([edge_total, len(edges), -1 if convex else cell_total, side])
            x0, y0, x1, y1 = (float(value) for value in frame)
            frames.append([x0, y0, x1, y1, side / (x1 - x0), side / (y1 - y0)])
            if not convex:
                cells = cell_lists(edges, frame, side)
                all_cells.append(cells)
                cell_total += len(cells)
            all_edges.append(edges)
            edge_total += len(edges)
            pairs[a, b] = len(heads)
            if a != b:
                pairs[b, a] = -len(heads)
    return Model(
        pairs=pairs,
        frames=np.array(frames),
        heads=np.array(heads, dtype=np.int64),
        edges=np.concatenate(all_edges),
        cells=np.concatenate(all_cells) if all_cells else np.zeros(1, dtype=np.int32),
        **known,  # type: ignore[arg-type]
    )


def _joined(rings: Sequence[Floats]) -> tuple[Floats, Ints, bool]:
    """Rings in one array, where each starts, and whether they are one convex ring."""
    starts = np.cumsum([0, *(len(ring) for ring in rings)])
    return np.concatenate(rings), starts, len(rings) == 1 and bool(is_convex(rings[0]))
