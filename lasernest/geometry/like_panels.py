"""Finding among many panels the one that another one was, without trying every pair.

A revision of a drawing may change all of its thousand panels: a million pairs, of
which `likeness.is_same` takes milliseconds each where boxes agree. Here most are told
apart by their boxes and by single corners first; what is left is decided by `is_same`.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property

import numpy as np
import numpy.typing as npt
import shapely

from lasernest.domain.panels import Panel
from lasernest.geometry.flatten import Shapes, line_strings
from lasernest.geometry.likeness import CHORD_ERROR_MM, SAME_MM, is_same

_ROUNDING_MM = 1e-9
_LOOKED_AT = 12
"""Corners that are tried before `is_same` is."""

Bools = npt.NDArray[np.bool_]


class LikePanels:
    """Some panels, to be found by others.

    Args:
        panels: in the order in which they are preferred.
    """

    def __init__(self, panels: Sequence[Panel]) -> None:
        self._panels = panels
        self._boxes = np.array([p.bounds_mm() for p in panels]).reshape(-1, 4)
        self._parts = np.array([(len(p.inner), len(p.marks)) for p in panels]).reshape(-1, 2)

    @cached_property
    def _lines(self) -> Shapes:
        """Outer contours, the lower left corner of each box at 0, 0."""
        lines = line_strings([p.outer for p in self._panels], chord_error_mm=CHORD_ERROR_MM)
        points, owner = shapely.get_coordinates(lines, return_index=True)
        made: Shapes = shapely.linestrings(points - self._boxes[owner, :2], indices=owner)
        return made

    def same(self, panel: Panel, free: Bools, *, moved: bool = False) -> int | None:
        """The first free one that is the same panel, in the same place or anywhere.

        Args:
            panel: to be found.
            free: which ones may be.
            moved: lay the lower left corners of their boxes on each other first.
        """
        box = np.array(panel.bounds_mm())
        found = free & (self._parts == (len(panel.inner), len(panel.marks))).all(axis=1)
        if moved:
            sizes = self._boxes[:, 2:] - self._boxes[:, :2]
            off = np.abs(sizes - (box[2:] - box[:2]))
        else:
            off = np.abs(self._boxes - box)
        left = np.flatnonzero(found & (off <= SAME_MM + _ROUNDING_MM).all(axis=1))
        if len(left) > 1:
            left = self._near_corners(panel, box if moved else None, left)
        return next(
            (k for k in left.tolist() if is_same(self._panels[k], panel, moved=moved)), None
        )

    def _near_corners(
        self, panel: Panel, box: npt.NDArray[np.float64] | None, left: npt.NDArray[np.int64]
    ) -> npt.NDArray[np.int64]:
        """Those on whose outer contour some corners of the panel lie, as all of the same do."""
        corners = np.array([(v.x_mm, v.y_mm) for v in panel.outer.vertices])
        for corner in corners[:: max(1, len(corners) // _LOOKED_AT)]:
            origins = self._boxes[left, :2] if box is None else box[:2]
            far = shapely.distance(self._lines[left], shapely.points(corner - origins))
            left = left[far <= SAME_MM + _ROUNDING_MM]
            if len(left) < 2:
                break
        return left

    def overlapping(self, panel: Panel, free: Bools, *, share: float) -> int | None:
        """The first free one whose box has more than this share in common with the panel's.

        Args:
            panel: to be found.
            free: which ones may be.
            share: common area over that of both, as `likeness.overlap_share` tells it.
        """
        box = np.array(panel.bounds_mm())
        low = np.maximum(self._boxes[:, :2], box[:2])
        high = np.minimum(self._boxes[:, 2:], box[2:])
        common = np.prod(np.maximum(high - low, 0.0), axis=1)
        both = np.prod(self._boxes[:, 2:] - self._boxes[:, :2], axis=1)
        both += np.prod(box[2:] - box[:2]) - common
        found = np.flatnonzero(free & (common > share * both))
        return int(found[0]) if len(found) else None
