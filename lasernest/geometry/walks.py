"""Walks: ways along loose segments, from one node to the next or round to the start.

A *node* is a place where ends of segments lie; a walk runs on through nodes where
exactly two ends meet. A *step* is the end at which a segment is entered: end 2i is the
start of segment i, end 2i + 1 its end.

Cost: numpy for all but the steps of walks with several segments; 100 000 segments in
some 0.2 s.
"""

from __future__ import annotations

from functools import partial
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from lasernest.domain.contours import Vertex

Numbers = npt.NDArray[np.float64]
Labels = npt.NDArray[np.int64]

Run = tuple[Vertex, ...]
"""An open run of lines and arcs; the bulge of its last vertex is zero."""


class Walks(NamedTuple):
    """n walks with m vertices in all, those of one walk after those of the other."""

    first: Labels
    """Node at which each starts (n,)."""
    last: Labels
    """Node at which each ends (n,)."""
    closed: npt.NDArray[np.bool_]
    """Whether each goes round to its start (n,); its last vertex then goes on to its first."""
    table: Numbers
    """x, y and bulge of all vertices (m, 3)."""
    counts: Labels
    """How many vertices each has (n,)."""
    members: list[tuple[int, ...]]
    """The segments of each, in its order."""

    def at(self, which: Labels) -> Walks:
        """These walks alone."""
        starts = np.cumsum(self.counts) - self.counts
        counts = self.counts[which]
        rows = np.repeat(starts[which] - (np.cumsum(counts) - counts), counts)
        return Walks(
            self.first[which],
            self.last[which],
            self.closed[which],
            self.table[rows + np.arange(len(rows))],
            counts,
            [self.members[i] for i in which.tolist()],
        )

    def runs(self) -> list[Run]:
        """The vertices of each walk."""
        # What `Vertex._make` does, without its check, for hundreds of thousands of them.
        columns = self.table.T.tolist()
        vertices = list(map(partial(tuple.__new__, Vertex), zip(*columns, strict=True)))
        runs = []
        here = 0
        for count in self.counts.tolist():
            runs.append(tuple(vertices[here : here + count]))
            here += count
        return runs


def walks_of(segments: Numbers, node: Labels) -> Walks:
    """All walks along segments, each segment in one of them.

    Where ends do not quite meet the joint lies between them, except that the end of an
    arc stays where it is when a straight line can go to it.

    Args:
        segments: rows x0, y0, x1, y1, bulge (k, 5).
        node: the node of each end (2k,).
    """
    steps, sizes, closed = _followed(node)
    back = (steps & 1).astype(bool)
    rows = segments[steps >> 1]
    x0, y0, x1, y1, bulge = rows.T
    x0, x1 = np.where(back, x1, x0), np.where(back, x0, x1)
    y0, y1 = np.where(back, y1, y0), np.where(back, y0, y1)
    bulge = np.where(back & (bulge != 0.0), -bulge, bulge)
    last = np.cumsum(sizes) - 1
    first = last - sizes + 1
    before = np.arange(len(steps)) - 1
    before[first] = last
    bent, bent_before = bulge != 0.0, bulge[before] != 0.0
    middle = bent == bent_before
    x = np.where(middle, 0.5 * (x1[before] + x0), np.where(bent_before, x1[before], x0))
    y = np.where(middle, 0.5 * (y1[before] + y0), np.where(bent_before, y1[before], y0))
    begin, end = first[~closed], last[~closed]
    x[begin], y[begin] = x0[begin], y0[begin]
    table = np.column_stack([x, y, bulge])
    ends = np.column_stack([x1[end], y1[end], np.zeros(len(end))])
    members = (steps >> 1).tolist()
    return Walks(
        node[steps[first]],
        node[steps[last] ^ 1],
        closed,
        np.insert(table, end + 1, ends, axis=0),
        sizes + ~closed,
        [tuple(members[a : b + 1]) for a, b in zip(first.tolist(), last.tolist(), strict=True)],
    )


def _followed(node: Labels) -> tuple[Labels, Labels, npt.NDArray[np.bool_]]:
    """The steps of all walks one after the other; of each how many, and whether it closes."""
    partner = _partners(node)
    lone = (partner.reshape(-1, 2) < 0).all(axis=1)
    onward: list[int] = partner.tolist()
    used = bytearray(lone.tobytes())
    steps: list[int] = (2 * np.flatnonzero(lone)).tolist()
    sizes = [1] * len(steps)

    def follow(entry: int) -> None:
        size = 0
        while entry >= 0 and not used[entry >> 1]:
            used[entry >> 1] = 1
            steps.append(entry)
            size += 1
            entry = onward[entry ^ 1]
        sizes.append(size)

    for entry in np.flatnonzero((partner < 0) & ~np.repeat(lone, 2)).tolist():
        if not used[entry >> 1]:
            follow(entry)
    open_ones = len(sizes)
    for i in range(len(used)):
        if not used[i]:
            follow(2 * i)
    return np.array(steps), np.array(sizes), np.arange(len(sizes)) >= open_ones


def _partners(node: Labels) -> Labels:
    """For each end the other one at its node; -1 where not exactly two ends meet."""
    order = np.argsort(node, kind="stable")
    pairs = order[np.bincount(node)[node[order]] == 2].reshape(-1, 2)
    partner = np.full(len(node), -1, dtype=np.int64)
    partner[pairs[:, 0]], partner[pairs[:, 1]] = pairs[:, 1], pairs[:, 0]
    return partner
