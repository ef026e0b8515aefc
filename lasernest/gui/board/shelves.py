"""Drawings set beside each other on shelves, so that the whole is about as wide as the board.

Every drawing keeps its own coordinates and only gets a place.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from operator import is_not

from PySide6.QtCore import QRectF
from PySide6.QtGui import QTransform

from lasernest.domain.contours import Contour, Pose
from lasernest.domain.findings import Finding
from lasernest.domain.panels import Panel
from lasernest.gui.board.shapes import PanelPicture, box, pictures
from lasernest.gui.board.sheet_scene import Placed

_NAME_SHARE = 0.045
"""Room for a line of text, as a share of the width of the whole."""
_WIDE = 1.7
"""Width over height that the shelves aim at."""
_WIDENINGS = 4
_Box = tuple[float, float, float, float]
"""Left, top, width and height."""


@dataclass(frozen=True, slots=True)
class NumberedFinding:
    """A finding with the number it has in the card's list."""

    number: int
    finding: Finding
    file: str = ""
    """Name of the drawing it speaks of."""


@dataclass(frozen=True, slots=True)
class DrawnFile:
    """What one drawing brings to the scene."""

    name: str
    panels: tuple[Panel, ...]
    loose: tuple[Contour, ...] = ()
    """Lines that belong to no panel, and outlines that do not close."""
    findings: tuple[NumberedFinding, ...] = ()

    @property
    def is_made_here(self) -> bool:
        """Whether it is a panel of no drawing, with a name that stands on it already."""
        return [panel.name for panel in self.panels] == [self.name]


@dataclass(slots=True)
class Laid:
    """A drawing with its place on the shelves."""

    drawn: DrawnFile
    bounds: QRectF
    """In the drawing's own coordinates."""
    dx_mm: float = 0.0
    dy_mm: float = 0.0
    room_mm: tuple[float, float] = (math.inf, math.inf)
    """What is free for its name: from its left edge on, and below it."""
    _panels: tuple[Panel, ...] = ()
    _placed: list[Placed] = field(default_factory=list)

    @property
    def area(self) -> QRectF:
        return self.bounds.translated(self.dx_mm, self.dy_mm)

    @property
    def placed(self) -> list[Placed]:
        """Its panels on the board, all of them."""
        return list(self.each_placed())

    def each_placed(self) -> Iterator[Placed]:
        """Its panels on the board, each made when it is first looked at."""
        placed = self._placed
        for i, panel in enumerate(self._panels or self.drawn.panels):
            if i == len(placed):
                placed.append(placed_at(pictures.of(panel), self.dx_mm, self.dy_mm))
            yield placed[i]

    def shape(self, panels: tuple[Panel, ...]) -> None:
        """Show its panels in another shape."""
        if any(map(is_not, panels, self._panels or self.drawn.panels)):
            self._panels, self._placed = panels, []


def on_shelves(files: Sequence[DrawnFile]) -> list[Laid]:
    """Set the drawings on shelves, in order, so that the whole is about as wide as a board."""
    laid = [Laid(f, _bounds(f)) for f in files]
    laid = [item for item in laid if item.bounds.isValid()]
    if not laid:
        return []
    bounds = [item.bounds for item in laid]
    boxes = [(b.left(), b.top(), b.width(), b.height()) for b in bounds]
    largest = max(max(w, h) for _, _, w, h in boxes)
    area = sum((w + 0.1 * largest) * (h + 0.1 * largest) for _, _, w, h in boxes)
    width = max((_WIDE * area) ** 0.5, *(w for _, _, w, _ in boxes))
    for _ in range(_WIDENINGS):
        floor = _shelved(laid, boxes, width, largest)
        if width >= -floor * _WIDE:
            break
        width = (width * -floor * _WIDE) ** 0.5
    for item in laid:
        # The lower left corner of the whole is 0, 0, as on a sheet; a single
        # drawing keeps its own coordinates.
        item.dy_mm -= floor
        if len(laid) == 1:
            item.dx_mm = item.dy_mm = 0.0
    return laid


def _shelved(laid: Sequence[Laid], boxes: Sequence[_Box], width: float, largest: float) -> float:
    """Set drawings beside each other on shelves; the lower end of the last shelf."""
    # The names below the drawings have a fixed size on the screen.
    gap = max(0.06 * largest, _NAME_SHARE * width)
    x = y = 0.0
    shelf: list[tuple[Laid, float]] = []
    for item, (left, top, wide, high) in zip(laid, boxes, strict=True):
        if x > 0.0 and x + wide > width:
            x, y = 0.0, y - _close(shelf, gap) - gap
        item.dx_mm = x - left
        item.dy_mm = y - high - top
        item.room_mm = (wide + gap, math.inf)
        x += wide + gap
        shelf.append((item, high))
    shelf[-1][0].room_mm = (math.inf, math.inf)
    return y - max(high for _, high in shelf)


def _close(shelf: list[tuple[Laid, float]], gap: float) -> float:
    """Begin another shelf below this one, whose height this is."""
    height = max(high for _, high in shelf)
    for item, high in shelf:
        item.room_mm = (item.room_mm[0], height - high + gap)
    last = shelf[-1][0]
    last.room_mm = (math.inf, last.room_mm[1])
    shelf.clear()
    return height


def placed_at(picture: PanelPicture, dx_mm: float, dy_mm: float) -> Placed:
    """A panel beside the others, as it was drawn."""
    return Placed(
        (picture.panel.name, 1),
        picture.panel.name,
        picture,
        Pose(dx_mm, dy_mm),
        QTransform.fromTranslate(dx_mm, dy_mm),
        picture.bounds.translated(dx_mm, dy_mm),
    )


def _bounds(drawn: DrawnFile) -> QRectF:
    boxes = [pictures.of(panel).bounds for panel in drawn.panels]
    whole = QRectF(boxes[0]) if boxes else QRectF()
    for bounds in boxes[1:]:
        whole = whole.united(bounds)
    for contour in drawn.loose:
        flat = box(contour.bounds_mm())
        # A straight line has no area, and a null rectangle would be left out.
        whole = whole.united(flat.adjusted(-0.5, -0.5, 0.5, 0.5))
    for numbered in drawn.findings:
        if numbered.finding.where_mm is not None:
            x, y = numbered.finding.where_mm
            whole = whole.united(QRectF(x - 0.5, y - 0.5, 1.0, 1.0))
    return whole
