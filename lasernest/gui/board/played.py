"""A cut at one of its moments: what is cut so far, where the head is and goes.

What is cut so far is collected in a layer of its own, so that a frame costs
only what came to it since the last one; a large sheet that is scrubbed or
zoomed fills its layer in slices over a few frames.
"""

from __future__ import annotations

import math
import time
from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPainterPath, QPen, QPixmap

from lasernest.gui.board.inks import thin_pen
from lasernest.gui.board.shapes import contours_path, partial_path
from lasernest.gui.board.view import View
from lasernest.gui.look.theme import theme
from lasernest.services.cut_timeline import CutTimeline, Doing, Moment

_SLICE_S = 0.008


@dataclass(slots=True)
class _Layer:
    """The finished paths as painted in one view."""

    pixmap: QPixmap
    view: View
    palette: str
    done: int = 0


class PlayedCut:
    """Draws one cut at one moment."""

    def __init__(self, timeline: CutTimeline) -> None:
        self.timeline = timeline
        self.moment = timeline.moment(0.0)
        self._paths: list[QPainterPath | None] = [None] * len(timeline.paths)
        self._layer: _Layer | None = None

    def go_to(self, seconds: float) -> Moment:
        """Show another moment."""
        self.moment = self.timeline.moment(seconds)
        return self.moment

    def draw(self, painter: QPainter, view: View) -> bool:
        """Draw the moment over the sheet; True when there is more to paint at once."""
        layer = self._layer_for(painter, view)
        waits = self._paint_done(layer)
        painter.drawPixmap(QPointF(0, 0), layer.pixmap)
        moment = self.moment
        if moment.doing is Doing.DONE:
            return waits
        path = self.timeline.paths[moment.path]
        head = view.to_screen(*moment.at)
        if moment.doing is Doing.TRAVEL:
            pen = thin_pen(theme.colour("quiet"), 1.2)
            pen.setDashPattern([4.0, 4.0])
            painter.setPen(pen)
            painter.drawLine(head, view.to_screen(*path.path.start))
        elif moment.share > 0.0:
            painter.setTransform(view.transform())
            painter.strokePath(partial_path(path.path, moment.share), _done_pen(cut=True))
            painter.resetTransform()
        _draw_head(painter, head, beam=moment.doing is not Doing.TRAVEL)
        return waits

    def _layer_for(self, painter: QPainter, view: View) -> _Layer:
        device = painter.device()
        ratio = device.devicePixelRatio()
        width, height = math.ceil(device.width() * ratio), math.ceil(device.height() * ratio)
        layer = self._layer
        if (
            layer is None
            or layer.view != view
            or layer.palette != theme.palette.name
            or (layer.pixmap.width(), layer.pixmap.height()) != (width, height)
            or layer.done > self.moment.path
        ):
            pixmap = QPixmap(width, height)
            pixmap.setDevicePixelRatio(ratio)
            pixmap.fill(Qt.GlobalColor.transparent)
            layer = self._layer = _Layer(pixmap, view, theme.palette.name)
        return layer

    def _paint_done(self, layer: _Layer) -> bool:
        """Add what was finished since the last frame, as far as a frame allows."""
        if layer.done >= self.moment.path:
            return False
        end = time.perf_counter() + _SLICE_S
        painter = QPainter(layer.pixmap)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        size = layer.pixmap.deviceIndependentSize()
        shown = layer.view.rect_to_mm(QRectF(0, 0, size.width(), size.height()))
        painter.setTransform(layer.view.transform())
        pens = {cut: _done_pen(cut=cut) for cut in (True, False)}
        while layer.done < self.moment.path and time.perf_counter() < end:
            path = self._path(layer.done)
            if path.boundingRect().adjusted(-1, -1, 1, 1).intersects(shown):
                is_cut = self.timeline.paths[layer.done].kind.is_cut
                painter.strokePath(path, pens[is_cut])
            layer.done += 1
        painter.end()
        return layer.done < self.moment.path

    def _path(self, index: int) -> QPainterPath:
        known = self._paths[index]
        if known is None:
            known = self._paths[index] = contours_path([self.timeline.paths[index].path])
        return known


def _done_pen(*, cut: bool) -> QPen:
    return thin_pen(theme.colour("kerf"), 2.4 if cut else 1.6)


def _draw_head(painter: QPainter, at: QPointF, *, beam: bool) -> None:
    """A ring with a cross; filled while the beam is on."""
    painter.setBrush(theme.colour("kerf", 0.5) if beam else Qt.BrushStyle.NoBrush)
    painter.setPen(thin_pen(theme.colour("sheet"), 4.0))
    painter.drawEllipse(at, 7.0, 7.0)
    painter.setPen(thin_pen(theme.colour("ink"), 1.6))
    painter.drawEllipse(at, 7.0, 7.0)
    for dx, dy in ((1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0)):
        step = QPointF(dx, dy)
        painter.drawLine(at + step * 7.0, at + step * 12.0)
    painter.setBrush(Qt.BrushStyle.NoBrush)
