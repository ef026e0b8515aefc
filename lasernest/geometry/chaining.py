"""Chaining: loose lines and arcs joined end to end into rings and open runs.

Ends that lie in the same place (within `SAME_PLACE_MM`) are one *node*. A
*loose end* that meets nothing is joined to the nearest loose end of another
segment within the joining gap (how: `gap_joining`), and that is said. Through
nodes where two segments meet a chain runs on; where more meet, they form a
net, and every face of the net is a ring of its own (`lasernest.geometry.net`),
so that an edge drawn once between two neighbours is given to both.

Cost: n log n; 100 000 lines in a second or two.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import chain as chain_up
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import shapely

from lasernest.domain.contours import Contour, Point, Segment
from lasernest.geometry.gap_joining import joined, without_points
from lasernest.geometry.mapping import contour_of
from lasernest.geometry.net import rings_of_net
from lasernest.geometry.walks import walks_of

SAME_PLACE_MM = 1e-4
"""Ends nearer than this are one point: the rounding of a drawing file."""

JOINING_GAP_MM = 0.01
"""The default: loose ends farther apart than this stay open."""

Points = npt.NDArray[np.float64]

_SLANTED = np.array([1.0, 0.6180339887498949])
"""Points in rows and columns come apart along this direction."""
_SLANTED_REACH_MM = 2.0**1.5 * SAME_PLACE_MM * 1.2
"""Two points that share a cell are no farther apart along it: its diagonal times the length."""


class Chain(NamedTuple):
    """A ring or an open run, and which of the given segments it is made of."""

    path: Contour
    members: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Chained:
    """What chaining made of a set of segments."""

    rings: tuple[Chain, ...]
    runs: tuple[Chain, ...]
    joined: tuple[Point, ...] = ()
    """Places where a gap was closed."""
    widest_gap_mm: float = 0.0
    shared: tuple[Point, ...] = ()
    """A point on each line that now belongs to two rings."""


def chain(
    segments: Sequence[Segment],
    *,
    joining_gap_mm: float = JOINING_GAP_MM,
    split_shared: bool = True,
) -> Chained:
    """Join segments end to end.

    Args:
        segments: lines and arcs in any order and direction, none of zero length.
        joining_gap_mm: widest gap between two loose ends that is closed.
        split_shared: a ring for each area of a net; else one for its outside,
            and runs for the lines within.
    """
    if not segments:
        return Chained((), ())
    table = table_of(segments)
    points = table[:, :4].reshape(-1, 2)
    node = _nodes(points)
    pairs = _loose_pairs(node, points, joining_gap_mm)
    for a, b in pairs:
        node[b] = node[a]
    table, node, bridged, straight = _closed_up(table, node, pairs)
    walks = walks_of(table, node)
    if bridged:
        walks = walks._replace(members=[_owners(m, len(segments), bridged) for m in walks.members])
    meeting = np.bincount(node)
    in_net = ~walks.closed & (meeting[walks.first] > 1) & (meeting[walks.last] > 1)
    paths = walks.runs()
    chains: list[Chain] = []
    for i in np.flatnonzero(~in_net).tolist():
        made = contour_of(paths[i], bool(walks.closed[i]))
        if made is not None:
            chains.append(Chain(made, walks.members[i]))
    shared: tuple[Point, ...] = ()
    if in_net.any():
        numbers = np.flatnonzero(in_net)
        edges, runs = walks.at(numbers), [paths[i] for i in numbers.tolist()]
        net = rings_of_net(edges, runs, split=split_shared)
        shared = net.shared
        chains += [Chain(ring.path, ring.members) for ring in net.rings]
        for i in net.bridges:
            made = contour_of(runs[i], False)
            if made is not None:
                chains.append(Chain(made, edges.members[i]))
    if straight:
        chains = [Chain(without_points(c.path, straight), c.members) for c in chains]
    return Chained(
        tuple(c for c in chains if c.path.closed),
        tuple(c for c in chains if not c.path.closed),
        tuple((float(points[a][0]), float(points[a][1])) for a, _ in pairs),
        max((float(np.hypot(*(points[a] - points[b]))) for a, b in pairs), default=0.0),
        shared,
    )


def table_of(segments: Sequence[Segment]) -> Points:
    """Segments as rows x0, y0, x1, y1, bulge; several times faster than `np.array`."""
    numbers = np.fromiter(chain_up.from_iterable(segments), np.float64, 5 * len(segments))
    return numbers.reshape(-1, 5)


def same_place_labels(points: Points) -> npt.NDArray[np.int64]:
    """A label for each point, the same for points in the same place.

    Points exactly alike are one at once. Of the others only those that come near to
    each other along a slanted direction are looked at closely.
    """
    along = points @ _SLANTED
    order = np.argsort(along, kind="stable")
    placed = points[order]
    fresh = np.ones(len(points), dtype=bool)
    fresh[1:] = (placed[1:] != placed[:-1]).any(axis=1)
    starts = np.flatnonzero(fresh)
    label = np.minimum.reduceat(order, starts)
    near = np.diff(along[order][starts]) <= _SLANTED_REACH_MM
    doubtful = np.flatnonzero(np.append(near, False) | np.append(False, near))
    if len(doubtful):
        same = _labels_by_cells(placed[starts[doubtful]])
        smallest = label.copy()
        np.minimum.at(smallest, doubtful[same], label[doubtful])
        label[doubtful] = smallest[doubtful[same]]
    labels = np.empty(len(points), dtype=np.int64)
    labels[order] = label[np.cumsum(fresh) - 1]
    return labels


def _labels_by_cells(points: Points) -> npt.NDArray[np.int64]:
    """For each point the number of one in the same place, the same for all of them.

    Points within `SAME_PLACE_MM` share a cell of at least one of four grids,
    each moved by half a cell; cells that share points are one place.
    """
    labels = np.arange(len(points), dtype=np.int64)
    cell = 2.0 * SAME_PLACE_MM
    groups = []
    for dx, dy in ((0.0, 0.0), (0.5, 0.0), (0.0, 0.5), (0.5, 0.5)):
        cells = np.floor(points / cell + (dx, dy)).astype(np.int64)
        order = np.lexsort((cells[:, 1], cells[:, 0]))
        fresh = np.ones(len(points), dtype=bool)
        fresh[1:] = (cells[order][1:] != cells[order][:-1]).any(axis=1)
        groups.append((order, np.flatnonzero(fresh), np.cumsum(fresh) - 1))
    changed = True
    while changed:
        before = labels.copy()
        for order, starts, number in groups:
            smallest = np.minimum.reduceat(labels[order], starts)
            labels[order] = smallest[number]
        changed = bool((labels != before).any())
    return labels


def _nodes(points: Points) -> npt.NDArray[np.int64]:
    """The node of each end; ends are 2i and 2i + 1 of segment i."""
    numbers: npt.NDArray[np.int64]
    _, numbers = np.unique(same_place_labels(points), return_inverse=True)
    return numbers


def _loose_pairs(
    node: npt.NDArray[np.int64], points: Points, gap_mm: float
) -> list[tuple[int, int]]:
    """Loose ends within the gap in pairs, nearest first."""
    loose = np.flatnonzero(np.bincount(node)[node] == 1)
    if len(loose) < 2 or gap_mm <= SAME_PLACE_MM:
        return []
    left, right, apart = _close_pairs(points[loose], gap_mm)
    pairs: list[tuple[int, int]] = []
    taken: set[int] = set()
    for k in np.argsort(apart, kind="stable").tolist():
        a, b = int(loose[left[k]]), int(loose[right[k]])
        if a not in taken and b not in taken and a >> 1 != b >> 1:
            taken.update((a, b))
            pairs.append((a, b))
    return pairs


def _closed_up(
    table: Points, node: npt.NDArray[np.int64], pairs: Sequence[tuple[int, int]]
) -> tuple[Points, npt.NDArray[np.int64], list[int], set[Point]]:
    """Segments run on, cut back or bridged where ends were joined.

    Returns:
        The segments with bridges at the end, the node of each end, for each bridge the
        segment it belongs to, and places in the middle of straight lines.
    """
    rows = table.copy()
    bridges: list[Segment] = []
    bridge_nodes: list[int] = []
    owners: list[int] = []
    straight: set[Point] = set()
    for a, b in pairs:
        before = Segment(*rows[a >> 1].tolist())
        after = Segment(*rows[b >> 1].tolist())
        made = joined(
            before if a & 1 else before.reversed(),
            after.reversed() if b & 1 else after,
            narrow_mm=JOINING_GAP_MM,
        )
        if made is None:
            continue
        rows[a >> 1] = made.before if a & 1 else made.before.reversed()
        if made.bridge is None:
            rows[b >> 1] = made.after.reversed() if b & 1 else made.after
        else:
            bridges.append(made.bridge)
            owners.append(a >> 1)
            fresh = len(node) + len(bridge_nodes)
            node[b] = fresh  # a bridge parts what joining made one node
            bridge_nodes += [int(node[a]), fresh]
        if made.straight_at is not None:
            straight.add(made.straight_at)
    if bridges:
        rows = np.vstack([rows, table_of(bridges)])
        node = np.unique(np.append(node, bridge_nodes), return_inverse=True)[1]
    return rows, node, owners, straight


def _owners(members: tuple[int, ...], count: int, owners: Sequence[int]) -> tuple[int, ...]:
    """The members with bridges, which come after all segments, as what they belong to."""
    return tuple(dict.fromkeys(m if m < count else owners[m - count] for m in members))


def _close_pairs(
    places: Points, gap_mm: float
) -> tuple[npt.NDArray[np.int64], npt.NDArray[np.int64], Points]:
    """Pairs of points within the gap, and how far apart they are."""
    geometries = shapely.points(places)
    left, right = shapely.STRtree(geometries).query(
        geometries, predicate="dwithin", distance=gap_mm
    )
    keep = left < right
    left, right = left[keep], right[keep]
    return left, right, np.hypot(*(places[left] - places[right]).T)
