"""Contours as painter paths, in millimetres.

Arcs become cubic curves of at most 30 degrees each, which leave the true arc
by less than 5e-7 of its radius (the error of the standard approximation falls
with the sixth power of the angle: Goldapp, Approximation of circular arcs by
cubic polynomials, 1991), far below a pixel at any zoom.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainterPath, QPolygonF, QTransform

from lasernest.domain.contours import Contour, Pose, Segment, Vertex
from lasernest.domain.panels import MarkKind, Panel

if TYPE_CHECKING:
    from lasernest.geometry.label_spots import LabelLines
    from lasernest.geometry.near_segments import NearSegments

_LARGEST_PIECE_RAD = math.pi / 6.0
BUNDLE = 800
"""Corners: some 2 ms of painting."""
_FIELDS = 8
_ARC = 6
COARSE_PX = 96.0
_UNSEEN_PX = 0.2
"""A corner that lies so near to a line drawn past it is not missed."""


def add_contour(path: QPainterPath, contour: Contour) -> None:
    """Append a contour to a painter path."""
    if not contour.has_arcs:
        corners = [QPointF(v.x_mm, v.y_mm) for v in contour.vertices]
        path.addPolygon(QPolygonF(corners))
        if contour.closed:
            path.closeSubpath()
        return
    path.moveTo(*contour.start)
    for segment in contour.segments():
        if segment.is_arc:
            _add_arc(path, segment)
        else:
            path.lineTo(segment.x1_mm, segment.y1_mm)
    if contour.closed:
        path.closeSubpath()


def partial_path(contour: Contour, share: float) -> QPainterPath:
    """The beginning of a contour: so much of its length, 0 to 1."""
    path = QPainterPath(QPointF(*contour.start))
    left_mm = share * contour.length_mm
    for segment in contour.segments():
        length_mm = segment.length_mm
        part = 1.0 if length_mm <= left_mm else left_mm / length_mm
        if part < 1e-9:
            break
        if segment.is_arc:
            bulge = math.tan(part * segment.sweep_rad / 4.0)
            end = segment.point_at(part)
            _add_arc(path, Segment(*segment.start, *end, bulge))
        else:
            path.lineTo(*segment.point_at(part))
        left_mm -= length_mm
        if left_mm <= 0.0:
            break
    return path


def _add_arc(path: QPainterPath, segment: Segment) -> None:
    sweep = segment.sweep_rad
    pieces = max(1, math.ceil(abs(sweep) / _LARGEST_PIECE_RAD - 1e-9))
    reach = 4.0 / 3.0 * math.tan(abs(sweep) / pieces / 4.0) * segment.radius_mm
    x0, y0 = segment.start
    for i in range(pieces):
        x1, y1 = segment.point_at((i + 1) / pieces) if i + 1 < pieces else segment.end
        tx0, ty0 = segment.tangent_at(i / pieces)
        tx1, ty1 = segment.tangent_at((i + 1) / pieces)
        path.cubicTo(x0 + reach * tx0, y0 + reach * ty0, x1 - reach * tx1, y1 - reach * ty1, x1, y1)
        x0, y0 = x1, y1


def contours_path(contours: Iterable[Contour]) -> QPainterPath:
    """One painter path of several contours; holes stay holes."""
    path = QPainterPath()
    path.setFillRule(Qt.FillRule.OddEvenFill)
    for contour in contours:
        add_contour(path, contour)
    return path


class Bundle(NamedTuple):
    """Lines that lie near each other, few enough to be drawn between two frames."""

    path: QPainterPath
    box: QRectF


def bundles(contours: Sequence[Contour]) -> tuple[Bundle, ...]:
    """Contours in bundles of some hundred corners; all in one where there are no more."""
    if sum(map(_weight, contours)) <= BUNDLE:
        return (_bundle(contours),) if contours else ()
    runs = [run for contour in contours for run in _short_runs(contour)]
    xs, ys = zip(*(run.start for run in runs), strict=True)
    side = max(max(xs) - min(xs), max(ys) - min(ys)) / _FIELDS or 1.0
    runs.sort(key=lambda run: (run.start[1] // side, run.start[0] // side))
    made, waiting, weight = [], [], 0
    for run in runs:
        waiting.append(run)
        weight += _weight(run)
        if weight >= BUNDLE:
            made.append(_bundle(waiting))
            waiting, weight = [], 0
    return (*made, _bundle(waiting)) if waiting else tuple(made)


def _weight(contour: Contour) -> int:
    """What drawing it takes, in straight lines; an arc takes as much as several."""
    return len(contour.vertices) * (_ARC if contour.has_arcs else 1)


def _bundle(contours: Iterable[Contour]) -> Bundle:
    path = contours_path(contours)
    return Bundle(path, path.boundingRect())


def _short_runs(contour: Contour) -> Iterator[Contour]:
    """The contour, or open runs of it where it has too many corners for one bundle."""
    corners = contour.vertices
    if _weight(contour) <= BUNDLE:
        yield contour
        return
    most = max(1, BUNDLE // (_ARC if contour.has_arcs else 1))
    if contour.closed:
        corners = (*corners, corners[0])
    for at in range(0, len(corners) - 1, most):
        yield Contour(corners[at : at + most + 1], closed=False)


def coarse_path(contours: Iterable[Contour], step_mm: float) -> QPainterPath:
    """Lines as they look where a step is less than a pixel.

    What stays in its cell is left out, and so is a line between neighbouring cells that
    have been drawn in before.
    """
    path = QPainterPath()
    inked: set[tuple[float, float]] = set()
    for contour in contours:
        corners = contour.vertices
        start, (x, y) = corners[0], _cell(corners[0], step_mm)
        at_start = False
        for end in (*corners[1:], corners[0]) if contour.closed else corners[1:]:
            new_x, new_y = _cell(end, step_mm)
            if (new_x, new_y) == (x, y):
                continue
            near = abs(new_x - x) <= 1 and abs(new_y - y) <= 1
            if near and (x, y) in inked and (new_x, new_y) in inked:
                at_start = False
            else:
                if not at_start:
                    path.moveTo(start.x_mm, start.y_mm)
                path.lineTo(end.x_mm, end.y_mm)
                inked |= {(x, y), (new_x, new_y)}
                at_start = True
            start, x, y = end, new_x, new_y
    return path


def _cell(corner: Vertex, step_mm: float) -> tuple[float, float]:
    return (corner.x_mm // step_mm, corner.y_mm // step_mm)


def transform_of(pose: Pose) -> QTransform:
    """A pose as a painter transform of millimetres."""
    a, b, c, d = pose.matrix()
    return QTransform(a, c, b, d, pose.x_mm, pose.y_mm)


def box(bounds: tuple[float, float, float, float]) -> QRectF:
    """Bounds x0, y0, x1, y1 as a rectangle."""
    x0, y0, x1, y1 = bounds
    return QRectF(x0, y0, x1 - x0, y1 - y0)


class PanelPicture:
    """The painter paths and figures of one panel as drawn, shared by all its copies.

    Each is made when it is first asked for: a job of a thousand panels is opened without
    drawing those that are not seen.
    """

    def __init__(self, panel: Panel) -> None:
        self.panel = panel
        self.bounds = box(panel.bounds_mm())
        self._rims: dict[int, tuple[Bundle, ...]] = {}

    @cached_property
    def cut_length_mm(self) -> float:
        return self.panel.cut_length_mm

    @cached_property
    def net_area_mm2(self) -> float:
        return self.panel.net_area_mm2

    @cached_property
    def outer(self) -> QPainterPath:
        return contours_path([self.panel.outer])

    @cached_property
    def face(self) -> QPainterPath:
        """Outer and inner contours together: what stays."""
        path = QPainterPath(self.outer)
        inner = self.inner
        path.addPath(inner[0].path if len(inner) == 1 else contours_path(self.panel.inner))
        return path

    @cached_property
    def rim(self) -> tuple[Bundle, ...]:
        few = _weight(self.panel.outer) <= BUNDLE
        return (Bundle(self.outer, self.bounds),) if few else bundles([self.panel.outer])

    def rim_at(self, scale: float) -> tuple[Bundle, ...]:
        """The outline as it looks at so many pixels to a millimetre.

        Thick lines of tens of thousands of corners, mostly less than a pixel apart, take 50 ms.
        """
        if _weight(self.panel.outer) <= BUNDLE or self.panel.outer.has_arcs:
            return self.rim
        doubled = math.ceil(math.log2(max(scale, 1e-6)))
        if doubled not in self._rims:
            from lasernest.geometry.fewer_corners import (  # noqa: PLC0415 - shapely is heavy
                with_fewer_corners,
            )

            within_mm = _UNSEEN_PX / 2.0**doubled
            self._rims[doubled] = bundles(
                [with_fewer_corners(self.panel.outer, within_mm=within_mm)]
            )
        return self._rims[doubled]

    @cached_property
    def inner(self) -> tuple[Bundle, ...]:
        return bundles(self.panel.inner)

    @cached_property
    def score(self) -> tuple[Bundle, ...]:
        return bundles(self._marks(MarkKind.SCORE))

    @cached_property
    def engrave(self) -> tuple[Bundle, ...]:
        return bundles(self._marks(MarkKind.ENGRAVE))

    @cached_property
    def coarse_marks(self) -> QPainterPath:
        """All marks, where the whole panel is smaller than `COARSE_PX` on the screen."""
        step_mm = max(self.bounds.width(), self.bounds.height()) / COARSE_PX
        return coarse_path((m.path for m in self.panel.marks), step_mm)

    @cached_property
    def is_large(self) -> bool:
        """Whether it has more lines than are drawn between two frames."""
        lines = (*self.panel.contours, *(m.path for m in self.panel.marks))
        return sum(map(_weight, lines)) > 4 * BUNDLE

    @cached_property
    def label_lines(self) -> LabelLines:
        """What its name must not touch."""
        from lasernest.geometry.label_spots import LabelLines  # noqa: PLC0415 - numpy is heavy

        return LabelLines.of(self.panel)

    @cached_property
    def segments(self) -> NearSegments:
        """The lines and arcs of its contours by where they lie."""
        from lasernest.geometry.near_segments import NearSegments  # noqa: PLC0415 - numpy is heavy

        return NearSegments(self.panel.contours)

    @cached_property
    def mark_step_mm(self) -> float:
        """How long the lines of its marks are, on average."""
        lengths_mm = [mark.path.length_mm for mark in self.panel.marks]
        corners = sum(len(mark.path.vertices) for mark in self.panel.marks)
        return math.fsum(lengths_mm) / corners if corners else 0.0

    @cached_property
    def has_many_marks(self) -> bool:
        """Whether its marks alone make it large; few are told by their kind of line."""
        return sum(_weight(mark.path) for mark in self.panel.marks) > 4 * BUNDLE

    def make_ready(self) -> None:
        """Make paths and figures of a large panel, so that the window need not; in any thread."""
        if self.is_large:
            _ = (self.cut_length_mm, self.net_area_mm2)
            _ = (self.face, self.rim, self.inner, self.score, self.engrave)
            _ = (self.coarse_marks, self.label_lines, self.mark_step_mm)

    def _marks(self, kind: MarkKind) -> list[Contour]:
        return [m.path for m in self.panel.marks if m.kind is kind]


@dataclass(slots=True)
class Pictures:
    """Painter paths by panel, so that nothing is made twice while a panel lives."""

    _made: dict[int, PanelPicture] = field(default_factory=dict)
    most: int = 4000

    def of(self, panel: Panel) -> PanelPicture:
        """The picture of this very panel object (panels are frozen)."""
        made = self._made.get(id(panel))
        # The picture holds its panel, so an id cannot come back for another one.
        if made is None:
            if len(self._made) >= self.most:
                self._let_oldest_go()
            made = self._made[id(panel)] = PanelPicture(panel)
        return made

    def _let_oldest_go(self) -> None:
        """Make room: what was made last is likely to be shown."""
        for key in list(self._made)[: self.most // 4]:
            self._made.pop(key, None)


pictures = Pictures()
"""The one store of panel pictures."""
