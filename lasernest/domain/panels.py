"""Panels: flat parts to cut, with their holes and the marks on their face."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from enum import Enum
from typing import Self

from lasernest.domain.contours import Bounds, Contour, Point, Pose
from lasernest.errors import BadContourError, Where


class MarkKind(Enum):
    """What the beam does along a mark: lines that do not go through the sheet."""

    SCORE = "score"
    ENGRAVE = "engrave"


@dataclass(frozen=True, slots=True)
class Mark:
    """A line on a panel's face that is scored or engraved, not cut through."""

    path: Contour
    kind: MarkKind = MarkKind.SCORE


@dataclass(frozen=True, slots=True)
class Panel:
    """One flat part in the coordinates of its drawing, in millimetres.

    The outer contour runs anticlockwise and inner contours clockwise; use
    `Panel.of` to have them turned the right way.
    """

    name: str
    outer: Contour
    inner: tuple[Contour, ...] = ()
    marks: tuple[Mark, ...] = ()
    source: str = field(default="", compare=False)
    """Name of the drawing file it came from, for people."""

    def __post_init__(self) -> None:
        for ring in (self.outer, *self.inner):
            if not ring.closed:
                raise BadContourError("a contour is open", where=Where(panel=self.name))
        if not self.outer.is_anticlockwise:
            raise BadContourError("the outer contour is clockwise", where=Where(panel=self.name))
        if any(ring.is_anticlockwise for ring in self.inner):
            raise BadContourError("an inner contour is anticlockwise", where=Where(panel=self.name))

    @classmethod
    def of(
        cls,
        name: str,
        outer: Contour,
        inner: tuple[Contour, ...] | list[Contour] = (),
        marks: tuple[Mark, ...] | list[Mark] = (),
        source: str = "",
    ) -> Self:
        """A panel from contours that may run either way round."""
        return cls(
            name,
            outer.oriented(anticlockwise=True),
            tuple(ring.oriented(anticlockwise=False) for ring in inner),
            tuple(marks),
            source,
        )

    @property
    def contours(self) -> tuple[Contour, ...]:
        """The outer contour, then the inner ones."""
        return (self.outer, *self.inner)

    @property
    def net_area_mm2(self) -> float:
        return self.outer.area_mm2 - sum(ring.area_mm2 for ring in self.inner)

    def bounds_mm(self) -> Bounds:
        return self.outer.bounds_mm()

    @property
    def size_mm(self) -> tuple[float, float]:
        x0, y0, x1, y1 = self.bounds_mm()
        return (x1 - x0, y1 - y0)

    def posed_bounds_mm(self, pose: Pose) -> Bounds:
        """The box of the panel as it lies on a sheet."""
        if pose.turn_deg % 90.0 != 0.0:
            return self.outer.posed(pose).bounds_mm()
        return pose.box(self.bounds_mm())

    def posed(self, pose: Pose) -> Panel:
        """The panel as it lies on a sheet."""
        return Panel.of(
            self.name,
            self.outer.posed(pose),
            tuple(ring.posed(pose) for ring in self.inner),
            tuple(Mark(mark.path.posed(pose), mark.kind) for mark in self.marks),
            self.source,
        )

    def corners(self) -> Iterator[Point]:
        """All vertices of the outer contour."""
        for v in self.outer.vertices:
            yield (v.x_mm, v.y_mm)

    @property
    def cut_length_mm(self) -> float:
        """Length of the drawn contours, before kerf compensation."""
        return math.fsum(ring.length_mm for ring in self.contours)
