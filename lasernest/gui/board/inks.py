"""How lines and faces are drawn: colour and kind together, thin at any zoom.

Outer cut solid ink, inner cut solid blue, score dashed, engrave dotted.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QFont, QFontMetricsF, QPainter, QPainterPath, QPen

from lasernest.domain.cutting import PathKind
from lasernest.domain.findings import Severity
from lasernest.gui.board.shapes import COARSE_PX, Bundle, PanelPicture
from lasernest.gui.board.view import View
from lasernest.gui.look.theme import TextSize, theme

_DASHES = {PathKind.SCORE: [5.0, 3.0], PathKind.ENGRAVE: [1.2, 2.4]}
_COLOURS = {
    PathKind.CUT_OUTER: "outer_cut",
    PathKind.CUT_INNER: "inner_cut",
    PathKind.SCORE: "score",
    PathKind.ENGRAVE: "engrave",
}
SMALL_PX = 3.0
"""Panels smaller than this on the canvas become plain blocks."""
_DENSE_PX = 12.0
"""Lines of an engraving that are shorter on the screen are drawn without dashes."""


def line_pen(kind: PathKind, *, width: float = 1.3) -> QPen:
    """The pen of a kind of line; its width is in pixels at any zoom."""
    pen = thin_pen(theme.colour(_COLOURS[kind]), width)
    if kind in _DASHES:
        pen.setDashPattern(_DASHES[kind])
    return pen


def thin_pen(colour: QColor, width: float = 1.0) -> QPen:
    """A solid pen whose width is in pixels at any zoom."""
    # A cosmetic pen counts the screen's own pixels, which are finer on a dense screen.
    pen = QPen(colour, width * theme.pixel_ratio)
    pen.setCosmetic(True)
    pen.setJoinStyle(Qt.PenJoinStyle.MiterJoin)
    return pen


def stray_pen() -> QPen:
    """A faint dashed line: drawn, but not cut."""
    pen = thin_pen(theme.colour("bad", 0.8), 1.4)
    pen.setDashPattern([4.0, 3.0])
    return pen


def kerf_pen(kerf_mm: float) -> QPen:
    """The swept kerf: a translucent band as wide as the beam's cut."""
    pen = QPen(theme.colour("kerf", 0.38), kerf_mm)
    pen.setCapStyle(Qt.PenCapStyle.RoundCap)
    pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    return pen


class Ink:
    """Pens and brushes of one drawing pass, made once."""

    def __init__(self) -> None:
        self.outer = line_pen(PathKind.CUT_OUTER)
        self.inner = line_pen(PathKind.CUT_INNER)
        self.score = line_pen(PathKind.SCORE)
        self.engrave = line_pen(PathKind.ENGRAVE)
        self.engrave_dense = thin_pen(theme.colour("engrave"), 1.0)
        self.score_dense = thin_pen(theme.colour("score"), 1.0)
        self.face = QBrush(theme.colour("panel"))
        self.face_chosen = QBrush(theme.colour("panel_chosen"))
        self.chosen = thin_pen(theme.colour("accent"), 2.4)
        self.none = QPen(Qt.PenStyle.NoPen)

    def panel(
        self, painter: QPainter, picture: PanelPicture, *, scale: float, chosen: bool = False
    ) -> None:
        """Draw a panel in the painter's millimetres."""
        for _ in self.panel_in_steps(painter, picture, scale=scale, chosen=chosen):
            pass

    def panel_in_steps(
        self,
        painter: QPainter,
        picture: PanelPicture,
        *,
        scale: float,
        chosen: bool = False,
        visible: QRectF | None = None,
    ) -> Iterator[None]:
        """Draw a panel in the painter's millimetres, a large one with pauses.

        Args:
            visible: what is seen of it, in its own millimetres; all when not given.
        """
        face = self.face_chosen if chosen else self.face
        size_px = max(picture.bounds.width(), picture.bounds.height()) * scale
        if size_px < SMALL_PX:
            painter.fillRect(picture.bounds, face)
            return
        fill_face(painter, picture, face)
        # Where lines are shorter than a dash or two nobody sees dashes; they take 30 times as long.
        dense = picture.has_many_marks and picture.mark_step_mm * scale < _DENSE_PX
        marks: tuple[tuple[tuple[Bundle, ...], QPen], ...] = (
            (picture.engrave, self.engrave_dense if dense else self.engrave),
            (picture.score, self.score_dense if dense else self.score),
        )
        if picture.has_many_marks and size_px < COARSE_PX:
            pen = self.engrave_dense if picture.engrave else self.score_dense
            painter.strokePath(picture.coarse_marks, pen)
            marks = ()
        rim = (picture.rim, self.chosen if chosen else self.outer)
        for lines, pen in (*marks, (picture.inner, self.inner), rim):
            for path, box in lines:
                if visible is None or _meet(box, visible):
                    painter.strokePath(path, pen)
                    if len(lines) > 1:
                        yield


def fill_face(painter: QPainter, picture: PanelPicture, brush: QBrush | QColor) -> None:
    """Fill what stays of a panel, in the painter's millimetres.

    With hundreds of holes smooth edges take a second, and 30 times as long as plain ones; the
    lines drawn over them are smooth all the same.
    """
    smooth = painter.testRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, smooth and not picture.is_large)
    painter.fillPath(picture.face, brush)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, smooth)


def stroke_outline(painter: QPainter, picture: PanelPicture, pen: QPen) -> None:
    """Draw round a panel, in the painter's millimetres: what is seen of it, as it is seen."""
    to_px = painter.transform()
    lines = picture.rim_at(math.sqrt(abs(to_px.determinant())))
    if len(lines) == 1:
        painter.strokePath(lines[0].path, pen)
        return
    visible = to_px.inverted()[0].mapRect(QRectF(painter.viewport()))
    for path, box in lines:
        if _meet(box, visible):
            painter.strokePath(path, pen)


def _meet(a: QRectF, b: QRectF) -> bool:
    """Whether boxes have a point in common; a line's box has no area."""
    apart_x = a.left() > b.right() or b.left() > a.right()
    return not apart_x and a.top() <= b.bottom() and b.top() <= a.bottom()


def hatch(painter: QPainter, path: QPainterPath, view: View) -> None:
    """Hatch an area given in millimetres with thin slanted lines; the painter is in pixels."""
    painter.save()
    painter.setClipPath(view.transform().map(path), Qt.ClipOperation.IntersectClip)
    area = view.rect_to_screen(path.boundingRect())
    shown = QRectF(painter.viewport()).intersected(area) if area.isValid() else area
    painter.setPen(thin_pen(theme.colour("hatch"), 1.0))
    step = 10.0
    # Lines keep to the sheet while it is panned: they start from the view's origin.
    base = (view.x_px + view.y_px) % step
    reach = shown.height()
    x = shown.left() - ((shown.left() + shown.bottom() - base) % step)
    while x < shown.right() + reach:
        painter.drawLine(QPointF(x, shown.bottom()), QPointF(x + reach, shown.top()))
        x += step
    # The other half of the slanted lines comes in from the left edge.
    x = shown.left() - ((shown.left() + shown.bottom() - base) % step) - step
    while x + reach > shown.left():
        painter.drawLine(QPointF(x, shown.bottom()), QPointF(x + reach, shown.top()))
        x -= step
    painter.restore()


def grip_bar(painter: QPainter, rect: QRectF, *, tight: bool) -> None:
    """How much a wall presses (filled) or stands off (framed); the painter is in pixels."""
    if tight:
        painter.fillRect(rect, theme.colour("kerf", 0.75))
    else:
        painter.setPen(thin_pen(theme.colour("inner_cut")))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRect(rect)


def severity_colour(severity: Severity, *, mended: bool = False) -> QColor:
    """The colour of a finding's ring."""
    if mended or severity is Severity.NOTE:
        return theme.colour("accent")
    return theme.colour("bad" if severity is Severity.ERROR else "question")


def numbered_ring(
    painter: QPainter, at: QPointF, number: str, colour: QColor, *, chosen: bool = False
) -> None:
    """A finding's spot: a ring around the place and its number beside it, in pixels."""
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    radius = 9.0
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(QPen(theme.colour("sheet", 0.85), 5.0 if chosen else 4.0))
    painter.drawEllipse(at, radius, radius)
    painter.setPen(QPen(colour, 3.0 if chosen else 2.0))
    painter.drawEllipse(at, radius, radius)
    font = theme.font(TextSize.SMALL, strong=True)
    metrics = QFontMetricsF(font)
    width = max(metrics.horizontalAdvance(number) + 8.0, metrics.height())
    tag = QRectF(at.x() + radius - 1.0, at.y() - radius - metrics.height() + 3.0, width, 0.0)
    tag.setHeight(metrics.height())
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(colour)
    painter.drawRoundedRect(tag, 4.0, 4.0)
    painter.setFont(font)
    painter.setPen(theme.colour("card"))
    painter.drawText(tag, Qt.AlignmentFlag.AlignCenter, number)
    painter.restore()


def caption(
    painter: QPainter,
    rect: QRectF,
    text: str,
    *,
    right: bool = False,
    colour: str = "quiet",
    font: QFont | None = None,
) -> None:
    """A line of quiet text, cut with an ellipsis when it does not fit; in pixels."""
    chosen = font or theme.font(TextSize.SMALL)
    painter.setFont(chosen)
    painter.setPen(theme.colour(colour))
    short = QFontMetricsF(chosen).elidedText(text, Qt.TextElideMode.ElideRight, rect.width())
    side = Qt.AlignmentFlag.AlignRight if right else Qt.AlignmentFlag.AlignLeft
    painter.drawText(rect, side | Qt.AlignmentFlag.AlignVCenter, short)
