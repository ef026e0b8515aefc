"""Names inside panels: where they may stand, and when they are left out."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QFontMetricsF, QPainter

from lasernest.domain.contours import Pose
from lasernest.domain.panels import Panel
from lasernest.gui.board.view import View
from lasernest.gui.look.theme import TextSize, theme

if TYPE_CHECKING:
    from lasernest.geometry.label_spots import LabelSpot
    from lasernest.gui.board.shapes import PanelPicture
    from lasernest.gui.board.sheet_scene import Placed

_LEAST_NAME_PX = 22.0


class Names:
    """Spots for names by panel and turn, found once."""

    def __init__(self) -> None:
        self._spots: dict[tuple[int, float, bool, float], tuple[Panel, LabelSpot | None]] = {}

    def spot(self, picture: PanelPicture, pose: Pose, aspect: float) -> LabelSpot | None:
        """Where the name may stand, relative to the pose's place."""
        panel = picture.panel
        rough = max(1.0, round(aspect))
        key = (id(panel), pose.turn_deg % 360.0, pose.mirrored, rough)
        known = self._spots.get(key)
        if known is None:
            from lasernest.geometry.label_spots import label_spot  # noqa: PLC0415 - numpy is heavy

            turned = Pose(0.0, 0.0, pose.turn_deg, pose.mirrored)
            known = self._spots[key] = (
                panel,
                label_spot(picture.label_lines, aspect=rough, pose=turned),
            )
        return known[1]

    def draw(
        self, painter: QPainter, placed: Placed, view: View, taken_px: Sequence[QRectF] = ()
    ) -> None:
        """Write the name inside the panel, beside what is taken, or leave it out."""
        shown = view.rect_to_screen(placed.bounds)
        if max(shown.width(), shown.height()) < _LEAST_NAME_PX:
            return
        for size in (TextSize.BODY, TextSize.SMALL):
            font = theme.font(size, strong=True)
            metrics = QFontMetricsF(font)
            width = metrics.horizontalAdvance(placed.label) + 6.0
            height = metrics.capHeight() + 8.0
            if shown.width() < width or shown.height() < height:
                continue
            spot = self.spot(placed.picture, placed.pose, width / height)
            if spot is not None and taken_px:
                spot = _beside(taken_px, placed, view, width / height, spot)
            if spot is None:
                continue
            room_px = spot.half_height_mm * 2.0 * view.scale
            aspect = max(1.0, round(width / height))
            if room_px >= height and room_px * aspect >= width:
                at = view.to_screen(spot.x_mm + placed.pose.x_mm, spot.y_mm + placed.pose.y_mm)
                painter.setFont(font)
                painter.setPen(theme.colour("ink"))
                painter.drawText(
                    QPointF(at.x() - (width - 6.0) / 2, at.y() + metrics.capHeight() / 2),
                    placed.label,
                )
                return


def _beside(
    taken_px: Sequence[QRectF], placed: Placed, view: View, aspect: float, usual: LabelSpot
) -> LabelSpot | None:
    """A spot that is clear of what is drawn over the panel; the usual one where it is."""
    from lasernest.geometry.label_spots import label_spot  # noqa: PLC0415 - numpy is heavy

    back = view.rect_to_screen(placed.bounds)
    x0, y0 = placed.bounds.left() - placed.pose.x_mm, placed.bounds.top() - placed.pose.y_mm
    boxes = [
        (
            x0 + (box.left() - back.left()) / view.scale,
            y0 + (back.bottom() - box.bottom()) / view.scale,
            x0 + (box.right() - back.left()) / view.scale,
            y0 + (back.bottom() - box.top()) / view.scale,
        )
        for box in taken_px
    ]
    half_y = usual.half_height_mm
    half_x = half_y * aspect
    if all(
        usual.x_mm + half_x < left
        or usual.x_mm - half_x > right
        or usual.y_mm + half_y < low
        or usual.y_mm - half_y > high
        for left, low, right, high in boxes
    ):
        return usual
    turned = Pose(0.0, 0.0, placed.pose.turn_deg, placed.pose.mirrored)
    lines, rough = placed.picture.label_lines, max(1.0, round(aspect))
    return label_spot(lines, aspect=rough, pose=turned, taken_mm=boxes)
