"""Where millimetres lie on the canvas: scale, position, zoom about a point, fit.

A `View` is frozen; the canvas replaces it. Screen y runs down, millimetres run
up; one place turns it round, here.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QTransform

LEAST_SCALE = 0.01
"""Pixels per millimetre: 100 m on a screen of 1000 px."""
MOST_SCALE = 2000.0
"""Half a micrometre per pixel."""
ZOOM_STEP = 1.25


@dataclass(frozen=True, slots=True)
class View:
    """Pixels per millimetre, and where the millimetre origin lies on the canvas."""

    scale: float = 1.0
    x_px: float = 0.0
    y_px: float = 0.0

    def to_screen(self, x_mm: float, y_mm: float) -> QPointF:
        return QPointF(self.x_px + self.scale * x_mm, self.y_px - self.scale * y_mm)

    def to_mm(self, point: QPointF) -> tuple[float, float]:
        return ((point.x() - self.x_px) / self.scale, (self.y_px - point.y()) / self.scale)

    def rect_to_mm(self, rect: QRectF) -> QRectF:
        """A rectangle of the canvas in millimetres (top is the least y)."""
        x0, y1 = self.to_mm(rect.topLeft())
        x1, y0 = self.to_mm(rect.bottomRight())
        return QRectF(x0, y0, x1 - x0, y1 - y0)

    def rect_to_screen(self, rect: QRectF) -> QRectF:
        """A rectangle in millimetres on the canvas."""
        return QRectF(
            self.to_screen(rect.left(), rect.bottom()), self.to_screen(rect.right(), rect.top())
        )

    def transform(self) -> QTransform:
        """Millimetres to pixels, y turned round."""
        return QTransform(self.scale, 0.0, 0.0, -self.scale, self.x_px, self.y_px)

    def panned(self, dx_px: float, dy_px: float) -> View:
        return View(self.scale, self.x_px + dx_px, self.y_px + dy_px)

    def zoomed(self, factor: float, about: QPointF) -> View:
        """Nearer or farther, with the millimetre under a point of the canvas staying there."""
        scale = min(max(self.scale * factor, LEAST_SCALE), MOST_SCALE)
        ratio = scale / self.scale
        return View(
            scale,
            about.x() - ratio * (about.x() - self.x_px),
            about.y() - ratio * (about.y() - self.y_px),
        )

    def onto(self, other: View) -> QTransform:
        """What turns a picture drawn in this view into one drawn in another."""
        ratio = other.scale / self.scale
        return QTransform(
            ratio, 0.0, 0.0, ratio, other.x_px - ratio * self.x_px, other.y_px - ratio * self.y_px
        )


def fitted(bounds_mm: QRectF, area_px: QRectF, *, most_scale: float = 40.0) -> View:
    """The view that shows a rectangle as large as it fits, in the middle of an area."""
    width_mm, height_mm = max(bounds_mm.width(), 1e-3), max(bounds_mm.height(), 1e-3)
    scale = min(area_px.width() / width_mm, area_px.height() / height_mm)
    scale = min(max(scale, LEAST_SCALE), most_scale)
    centre = bounds_mm.center()
    middle = area_px.center()
    return View(scale, middle.x() - scale * centre.x(), middle.y() + scale * centre.y())


def nice_step(least: float) -> float:
    """The smallest of 1, 2, 5 times a power of ten that is not below `least`."""
    power = 10.0 ** math.floor(math.log10(least))
    for factor in (1.0, 2.0, 5.0):
        if factor * power >= least * (1.0 - 1e-9):
            return factor * power
    return 10.0 * power
