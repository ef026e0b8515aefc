"""The first plan: the boxes of the grown outlines laid against a skyline, in a blink.

A skyline is the staircase of what is already taken, seen from the left edge
of the sheet: for each stretch of y, the x up to which it is filled. Each
panel goes where its right side ends up lowest, so sheets fill from the left
and the remainder stays one piece. Equal rectangles come out as the full grid.
Sheets with a shape of their own or with holes are laid on a raster of places
instead. Cost: about 50 us a panel and skyline step; nothing is searched.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely

from lasernest.domain.panels import Panel
from lasernest.domain.plan import Sheet
from lasernest.nesting.outlines import Floats, Stance, covering_polygon, covering_ring

SLACK_MM = 1e-9
"""What a box may seem too large by rounding alone."""

RASTER_STEPS = 60
"""Places tried along the longer side of a shaped sheet."""


@dataclass(frozen=True, slots=True)
class Box:
    """The box of a grown panel in one stance, around the drawing's turned origin."""

    stance: Stance
    x0_mm: float
    y0_mm: float
    width_mm: float
    height_mm: float


@dataclass(frozen=True, slots=True)
class Kind:
    """What the first plan knows about one order."""

    order: int
    boxes: tuple[Box, ...]
    shapes: tuple[shapely.Polygon, ...]
    """The covering outline in each stance, not grown."""


@dataclass(frozen=True, slots=True)
class Laid:
    """One copy laid on a sheet; x and y move the turned drawing."""

    order: int
    stance: Stance
    x_mm: float
    y_mm: float


@dataclass(slots=True)
class FilledSheet:
    """A sheet and what was laid on it."""

    kind: int
    """Index of the sheet among the request's sheets."""
    laid: list[Laid] = field(default_factory=list)
    used_length_mm: float = 0.0

    def copies(self) -> Counter[int]:
        """How many panels of each order lie here."""
        return Counter(laid.order for laid in self.laid)


class Skyline:
    """What is taken of a rectangular sheet, seen from the left."""

    def __init__(self, x0_mm: float, y0_mm: float, x1_mm: float, y1_mm: float) -> None:
        self.x1_mm = x1_mm
        self._ys = [y0_mm]
        self._xs = [x0_mm]
        self._end_mm = y1_mm

    def find(self, width_mm: float, height_mm: float) -> tuple[float, float] | None:
        """Lower left corner for a box with the least right side, or None."""
        best: tuple[float, float] | None = None
        ys, xs = self._ys, self._xs
        limit_mm = self.x1_mm - width_mm + SLACK_MM
        count = len(ys)
        for i in range(count):
            top_mm = ys[i] + height_mm
            if top_mm > self._end_mm + SLACK_MM:
                break
            x = xs[i]
            if x > limit_mm or (best is not None and x >= best[0]):
                continue
            j = i + 1
            while j < count and ys[j] < top_mm - SLACK_MM:
                x = max(x, xs[j])
                j += 1
            if x <= limit_mm and (best is None or x < best[0] - SLACK_MM):
                best = (x, ys[i])
        return best

    def mark(self) -> Callable[[], None]:
        """A way back to what is taken now."""
        ys, xs = self._ys.copy(), self._xs.copy()

        def back() -> None:
            self._ys, self._xs = ys, xs

        return back

    def take(self, x_mm: float, y_mm: float, width_mm: float, height_mm: float) -> None:
        """Mark a found box as taken."""
        ys, xs = self._ys, self._xs
        top_mm = min(y_mm + height_mm, self._end_mm)
        i = ys.index(y_mm)
        j, last = i, xs[i]
        while j < len(ys) and ys[j] < top_mm - SLACK_MM:
            last = xs[j]
            j += 1
        new_ys, new_xs = [y_mm], [x_mm + width_mm]
        following_mm = ys[j] if j < len(ys) else self._end_mm
        if top_mm < following_mm - SLACK_MM:
            new_ys.append(top_mm)
            new_xs.append(last)
        ys[i:j], xs[i:j] = new_ys, new_xs
        for k in range(len(ys) - 1, 0, -1):
            if xs[k] == xs[k - 1]:
                del ys[k], xs[k]


class Raster:
    """What is taken of a sheet of any shape: a raster of places tried in order of x."""

    def __init__(self, sheet: Sheet, gap_mm: float) -> None:
        self._free = free_region(sheet)
        shapely.prepare(self._free)
        self._gap_mm = gap_mm
        self._taken: list[tuple[float, float, float, float]] = []
        self._inside: dict[bytes, Floats] = {}

    def find(self, shape: shapely.Polygon) -> tuple[float, float] | None:
        """How far to move a shape so that its box lies free and far left, or None."""
        moves = self._moves_inside(shape)
        if not len(moves):
            return None
        x0, y0, x1, y1 = shape.bounds
        gap_mm = self._gap_mm - SLACK_MM
        clear = np.ones(len(moves), dtype=bool)
        for left, bottom, right, top in self._taken:
            clear &= (
                (moves[:, 0] + x1 <= left - gap_mm)
                | (moves[:, 0] + x0 >= right + gap_mm)
                | (moves[:, 1] + y1 <= bottom - gap_mm)
                | (moves[:, 1] + y0 >= top + gap_mm)
            )
        index = int(clear.argmax())
        return (float(moves[index, 0]), float(moves[index, 1])) if clear[index] else None

    def _moves_inside(self, shape: shapely.Polygon) -> Floats:
        """Moves on the raster that bring the shape wholly inside, leftmost first."""
        if shape.wkb in self._inside:
            return self._inside[shape.wkb]
        moves = np.zeros((0, 2))
        if not self._free.is_empty:
            x0, y0, x1, y1 = shape.bounds
            left, bottom, right, top = self._free.bounds
            step_mm = max(right - left, top - bottom) / RASTER_STEPS
            xs = _steps(left - x0, right - x1, step_mm)
            ys = _steps(bottom - y0, top - y1, step_mm)
            grid = np.stack(np.meshgrid(xs, ys, indexing="ij"), axis=-1).reshape(-1, 2)
            corners = shapely.get_coordinates(shapely.envelope(shape))
            for ring in (corners, shapely.get_coordinates(shape)):
                # Boxes first; the true outline where no box fits.
                if not len(moves) and len(grid):
                    places = shapely.polygons(ring[None, :, :] + grid[:, None, :])
                    moves = grid[shapely.covers(self._free, places)]
        self._inside[shape.wkb] = moves
        return moves

    def mark(self) -> Callable[[], None]:
        """A way back to what is taken now."""
        taken = self._taken.copy()

        def back() -> None:
            self._taken = taken

        return back

    def take(self, shape: shapely.Polygon) -> None:
        """Mark the box of a moved shape as taken."""
        self._taken.append(shape.bounds)


def _steps(low: float, high: float, step: float) -> Floats:
    """From low to high in steps, both ends included; empty if high is below low."""
    if high < low - SLACK_MM:
        return np.zeros(0)
    return np.append(np.arange(low, high, step), max(low, high))


def free_region(sheet: Sheet) -> shapely.Polygon:
    """Where finished panels may lie: the sheet less its margin and its holes."""
    margin_mm = sheet.margin_mm
    region: shapely.Geometry = shapely.box(
        margin_mm, margin_mm, sheet.width_mm - margin_mm, sheet.height_mm - margin_mm
    )
    if sheet.width_mm <= 2.0 * margin_mm or sheet.height_mm <= 2.0 * margin_mm:
        return shapely.Polygon()
    if sheet.outline is not None:
        # Walked clockwise, the covering ring covers the outside of the sheet.
        ring = covering_ring(sheet.outline.oriented(anticlockwise=False), chord_error_mm=0.02)
        outside = shapely.box(
            -margin_mm - 1.0, -margin_mm - 1.0, sheet.width_mm + 1.0, sheet.height_mm + 1.0
        ).difference(shapely.Polygon(ring))
        region = region.difference(_grown_zone(outside, margin_mm))
    for hole in sheet.holes:
        ring = covering_ring(hole.oriented(anticlockwise=True), chord_error_mm=0.02)
        region = region.difference(_grown_zone(shapely.Polygon(ring), margin_mm))
    return region


def _grown_zone(zone: shapely.Geometry, margin_mm: float) -> shapely.Geometry:
    """A zone grown by the margin, never less than the true rounding."""
    if margin_mm == 0.0:
        return zone
    # The rounding of 16 chords a quarter lies up to 0.13 % inside the true one.
    return zone.buffer(margin_mm * 1.0013, quad_segs=16)


def is_plain(sheet: Sheet) -> bool:
    """Whether a sheet is a full rectangle."""
    return sheet.outline is None and not sheet.holes


def kind_of(order: int, panel: Panel, stances: Sequence[Stance], gap_mm: float) -> Kind:
    """An order with its boxes in all stances."""
    shape = covering_polygon(panel)
    boxes: list[Box] = []
    shapes: list[shapely.Polygon] = []
    for stance in stances:
        x0, y0, x1, y1 = panel.outer.posed(stance.pose).bounds_mm()
        half_mm = 0.5 * gap_mm
        boxes.append(Box(stance, x0 - half_mm, y0 - half_mm, x1 - x0 + gap_mm, y1 - y0 + gap_mm))
        a, b, c, d = stance.pose.matrix()
        matrix = np.array([[a, c], [b, d]])
        shapes.append(
            shapely.transform(shapely.Polygon(shape.exterior), lambda xy, m=matrix: xy @ m)
        )
    return Kind(order, tuple(boxes), tuple(shapes))


def fits_somewhere(kind: Kind, sheet: Sheet, gap_mm: float) -> bool:
    """Whether a panel fits on an empty sheet of this kind."""
    width_mm = sheet.width_mm - 2.0 * sheet.margin_mm + gap_mm + SLACK_MM
    height_mm = sheet.height_mm - 2.0 * sheet.margin_mm + gap_mm + SLACK_MM
    boxes = [b for b in kind.boxes if b.width_mm <= width_mm and b.height_mm <= height_mm]
    if is_plain(sheet) or not boxes:
        return bool(boxes)
    raster = Raster(sheet, gap_mm)
    return any(raster.find(shape) is not None for shape in kind.shapes)
