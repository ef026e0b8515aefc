"""A picture of a scene that is being painted in slices, somewhat larger than the canvas."""

from __future__ import annotations

import math
import time
from collections.abc import Generator

from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainter, QPixmap
from PySide6.QtWidgets import QWidget

from lasernest.gui.board.scene import Scene
from lasernest.gui.board.view import View
from lasernest.gui.look.theme import theme

MARGIN_PX = 96
"""How far the painted picture reaches beyond the canvas."""


class BegunPicture:
    """Painted on when there is time, then taken; or dropped."""

    def __init__(self, canvas: QWidget, scene: Scene, view: View) -> None:
        self.view = view
        self.spent_s = 0.0
        """What painting took so far."""
        ratio = canvas.devicePixelRatioF()
        width, height = canvas.width() + 2 * MARGIN_PX, canvas.height() + 2 * MARGIN_PX
        pixmap = QPixmap(math.ceil(width * ratio), math.ceil(height * ratio))
        pixmap.setDevicePixelRatio(ratio)
        pixmap.fill(theme.colour("board"))
        painter = QPainter(pixmap)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        shifted = view.panned(MARGIN_PX, MARGIN_PX)
        visible = shifted.rect_to_mm(QRectF(0, 0, width, height))
        # In this order they go, too: Qt wants a painter to leave before what it paints on.
        self._steps = scene.draw(painter, shifted, visible)
        self._painter = painter
        self.pixmap = pixmap

    def work(self, budget_s: float) -> bool:
        """Paint on for some time; True when the picture is ready."""
        start = time.perf_counter()
        for _ in self._steps:
            if time.perf_counter() > start + budget_s:
                self.spent_s += time.perf_counter() - start
                return False
        self._painter.end()
        self.spent_s += time.perf_counter() - start
        return True

    def drop(self) -> None:
        """Leave it unfinished."""
        if isinstance(self._steps, Generator):
            self._steps.close()
        self._painter.end()
