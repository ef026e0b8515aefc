"""Small pictures of panels, made once."""

from __future__ import annotations

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPixmap

from lasernest.domain.panels import Panel
from lasernest.gui.board.inks import Ink
from lasernest.gui.board.shapes import pictures
from lasernest.gui.board.view import fitted
from lasernest.gui.look.theme import theme

_most = 1500
_made: dict[tuple[int, int, int, float, str], tuple[Panel, QPixmap]] = {}


def thumbnail(panel: Panel, size: QSize, ratio: float) -> QPixmap:
    """A picture of the panel that fits a size."""
    key = (id(panel), size.width(), size.height(), ratio, theme.palette.name)
    known = _made.get(key)
    if known is not None:
        return known[1]
    if len(_made) >= _most:
        _made.clear()
    pixmap = QPixmap(size * ratio)
    pixmap.setDevicePixelRatio(ratio)
    pixmap.fill(Qt.GlobalColor.transparent)
    painter = QPainter(pixmap)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    picture = pictures.of(panel)
    view = fitted(picture.bounds, QRectF(1.5, 1.5, size.width() - 3, size.height() - 3))
    painter.setTransform(view.transform())
    ink = Ink()
    for pen in (ink.outer, ink.inner, ink.score, ink.engrave):
        pen.setWidthF(1.0)
    ink.panel(painter, picture, scale=view.scale)
    painter.end()
    _made[key] = (panel, pixmap)
    return pixmap
