"""Many copies of the same paths, each after a similarity of its own, made in one pass.

A library of blocks comes in tens of thousands of copies. Numbers go through numpy, and
contours are made without asking each whether it is one: that is asked of all together.
Half a microsecond for each vertex and one for each contour, a sixth of what one after the
other costs.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator, Sequence
from functools import partial
from itertools import chain, islice, repeat
from typing import Any, NamedTuple, TypeVar

import numpy as np
import numpy.typing as npt

from lasernest.domain.contours import Contour, Vertex
from lasernest.domain.control import Control
from lasernest.errors import BadContourError
from lasernest.geometry.affine import Affine
from lasernest.geometry.mapping import SHORTEST_MM, contour_of

_VERTICES_AT_ONCE = 100_000
_T = TypeVar("_T")


class Shape(NamedTuple):
    """A path of one vertex or more, and whether its last vertex goes on to its first."""

    path: Sequence[Vertex]
    closed: bool


class _Table(NamedTuple):
    """All shapes of all groups in one: rows x, y, bulge; of each shape its count of rows and
    whether it is closed; where the shapes and the rows of each group begin and end."""

    rows: np.ndarray
    counts: np.ndarray
    closed: np.ndarray
    shape_ends: np.ndarray
    row_ends: np.ndarray


def copies_of(
    groups: Sequence[Sequence[Shape]],
    copies: Sequence[tuple[int, Affine]],
    *,
    control: Control,
) -> list[Contour | None]:
    """The shapes of groups in many places, as `contour_of` makes them.

    Args:
        groups: shapes that are copied together.
        copies: which group, and the similarity that it is taken through.
        control: who watches.

    Returns:
        For each copy one contour per shape of its group, in order; None for what is a point,
        or lies beyond all numbers.
    """
    made: list[Contour | None] = []
    if not copies:
        return made
    table = _table_of(groups)
    which = np.array([group for group, _ in copies])
    maps = np.array([affine for _, affine in copies])
    sizes = np.diff(table.row_ends)[which]
    begin = 0
    for batch in _batches(sizes):
        control.check()
        made += _copied(table, which[begin : begin + batch], maps[begin : begin + batch])
        begin += batch
    return made


def _batches(sizes: np.ndarray) -> Iterator[int]:
    """How many copies are made at once, again and again."""
    number = np.cumsum(sizes) // _VERTICES_AT_ONCE
    yield from np.unique(number, return_counts=True)[1].tolist()


def _table_of(groups: Sequence[Sequence[Shape]]) -> _Table:
    shapes = [shape for group in groups for shape in group]
    numbers = chain.from_iterable(chain.from_iterable(shape.path for shape in shapes))
    counts = np.array([len(shape.path) for shape in shapes], dtype=np.int64)
    shape_ends = np.cumsum([0, *map(len, groups)])
    return _Table(
        np.fromiter(numbers, np.float64, 3 * int(counts.sum())).reshape(-1, 3),
        counts,
        np.array([shape.closed for shape in shapes], dtype=bool),
        shape_ends,
        np.concatenate([[0], np.cumsum(counts)])[shape_ends],
    )


def _copied(table: _Table, which: np.ndarray, maps: np.ndarray) -> list[Contour | None]:
    row = _runs(table.row_ends, which)
    shape = _runs(table.shape_ends, which)
    counts, closed = table.counts[shape], table.closed[shape]
    x, y, bulge = table.rows[row].T
    a, b, c, d, e, f = np.repeat(maps, np.diff(table.row_ends)[which], axis=0).T
    with np.errstate(over="ignore", invalid="ignore"):
        bulge = np.where((a * d < b * c) & (bulge != 0.0), -bulge, bulge)
        x, y = a * x + c * y + e, b * x + d * y + f
    odd = _odd(x, y, bulge, counts, closed)
    numbers = zip(x.tolist(), y.tolist(), bulge.tolist(), strict=True)
    # What `Vertex._make` does, without its check.
    rows = map(partial(tuple.__new__, Vertex), numbers)
    paths: list[tuple[Vertex, ...]] = [tuple(islice(rows, count)) for count in counts.tolist()]
    contours: list[Contour | None] = made_of(Contour, vertices=paths, closed=closed.tolist())
    for k in odd.tolist():
        contours[k] = drawn_contour(paths[k], bool(closed[k]))
    return contours


def drawn_contour(path: Sequence[Vertex], closed: bool) -> Contour | None:
    """`contour_of`, and None also for what lies beyond all numbers."""
    try:
        return contour_of(path, closed)
    except BadContourError:
        return None


def _runs(ends: npt.NDArray[np.int64], which: npt.NDArray[np.int64]) -> npt.NDArray[np.int64]:
    """The numbers from `ends[k]` to `ends[k + 1]` for each k, one run after the other."""
    lengths = ends[which + 1] - ends[which]
    total = np.cumsum(lengths)
    numbers: npt.NDArray[np.int64] = np.repeat(ends[which] - total + lengths, lengths)
    return numbers + np.arange(len(numbers))


def _odd(
    x: np.ndarray, y: np.ndarray, bulge: np.ndarray, counts: np.ndarray, closed: np.ndarray
) -> np.ndarray:
    """Numbers of the paths that are no contours as they are."""
    ends = np.cumsum(counts)
    firsts = ends - counts
    after = np.arange(1, len(x) + 1)
    after[ends - 1] = firsts
    with np.errstate(invalid="ignore"):
        near = (np.abs(x[after] - x) <= SHORTEST_MM) & (np.abs(y[after] - y) <= SHORTEST_MM)
    wrong = near | ~(np.isfinite(x) & np.isfinite(y) & np.isfinite(bulge))
    hurt = np.logical_or.reduceat(wrong, firsts)
    bent = bulge[ends - 1] != 0.0
    there_and_back = closed & (counts == 2) & (bulge[firsts] == 0.0) & ~bent
    return np.flatnonzero(hurt | there_and_back | (~closed & bent))


def made_of(kind: type[_T], /, **values: Iterable[Any]) -> list[_T]:
    """Values of a frozen, slotted dataclass made without its constructor, at a quarter of the cost.

    Whoever calls this has made sure of what the constructor would ask.

    Args:
        kind: the dataclass.
        values: for each field its values in order; one of them at least ends.
    """
    columns = list(values.values())
    first = list(columns[0])
    made: list[_T] = list(map(object.__new__, repeat(kind, len(first))))
    for name, column in zip(values, [first, *columns[1:]], strict=True):
        deque(map(getattr(kind, name).__set__, made, column), maxlen=0)
    return made
