"""The strip of small plans below the board, one for each sheet."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from PySide6.QtCore import QPoint, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QContextMenuEvent,
    QFontMetrics,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QPixmap,
)
from PySide6.QtWidgets import QFrame, QScrollArea, QSizePolicy, QWidget

from lasernest.domain.panels import Panel
from lasernest.domain.plan import SheetPlan
from lasernest.gui.board.inks import fill_face, thin_pen
from lasernest.gui.board.shapes import pictures, transform_of
from lasernest.gui.board.sheet_scene import sheet_path
from lasernest.gui.board.view import fitted
from lasernest.gui.look.theme import TextSize, theme
from lasernest.gui.parts.basics import horizontal
from lasernest.gui.words import tr

_PICTURE_AT = 8
_PICTURE = 84
_WIDEST = 264
_HIGH, _HIGH_WHEN_LOW = 64, 32


@dataclass(frozen=True, slots=True)
class SmallText:
    """What is written beside a small plan."""

    heading: str
    detail: str
    stock: str = ""
    """Told where a job has several."""


def small_plan(plan: SheetPlan, panels: Mapping[str, Panel], size: QSize, ratio: float) -> QPixmap:
    """A picture of a sheet plan, small."""
    pixmap = QPixmap(size * ratio)
    pixmap.setDevicePixelRatio(ratio)
    pixmap.fill(Qt.GlobalColor.transparent)
    painter = QPainter(pixmap)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    sheet = QRectF(0, 0, plan.sheet.width_mm, plan.sheet.height_mm)
    view = fitted(sheet, QRectF(1, 1, size.width() - 2, size.height() - 2))
    to_px = view.transform()
    painter.setTransform(to_px)
    outline = sheet_path(plan.sheet)
    painter.fillPath(outline, theme.colour("sheet"))
    line = thin_pen(theme.colour("outer_cut", 0.75), 0.8)
    face = theme.colour("panel")
    for placement in plan.placements:
        panel = panels.get(placement.panel_name)
        if panel is not None:
            picture = pictures.of(panel)
            painter.setTransform(transform_of(placement.pose) * to_px)
            fill_face(painter, picture, face)
            painter.strokePath(picture.outer, line)
    painter.setTransform(to_px)
    painter.strokePath(outline, thin_pen(theme.colour("sheet_border"), 1.0))
    painter.end()
    return pixmap


class _Small(QWidget):
    """One small plan."""

    pressed = Signal()

    def __init__(self) -> None:
        super().__init__()
        self.plan: SheetPlan | None = None
        self._panels: Mapping[str, Panel] = {}
        self._text = SmallText("", "")
        self._pixmap: QPixmap | None = None
        self.chosen = self.low = False
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)

    def show_plan(self, plan: SheetPlan, panels: Mapping[str, Panel], text: SmallText) -> None:
        if plan is not self.plan or panels is not self._panels:
            self._pixmap = None
        self.plan, self._panels, self._text = plan, panels, text
        said = [part for part in (text.heading, text.detail, text.stock) if part]
        self.setAccessibleName(", ".join(said))
        self.setToolTip("\n".join(said))
        self.update()

    def redraw(self) -> None:
        self._pixmap = None
        self.update()

    def need(self) -> int:
        """The width that its longest line takes beside the picture."""
        head, line = (QFontMetrics(theme.font(TextSize.SMALL, strong=s)) for s in (True, False))
        heading = head.horizontalAdvance(self._text.heading)
        if self.low:
            return 2 * _PICTURE_AT + heading
        lines = (self._text.detail, self._text.stock)
        longest = max(map(line.horizontalAdvance, lines))
        return _PICTURE_AT + theme.pixels(_PICTURE) + 24 + max(heading, longest)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802 - Qt's name
        if self.plan is None:
            return
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        frame = QRectF(self.rect()).adjusted(1, 1, -1, -1)
        painter.setPen(
            QPen(theme.colour("accent"), 2.0)
            if self.chosen
            else QPen(theme.colour("card_border"), 1.0)
        )
        painter.setBrush(theme.colour("chosen" if self.chosen else "card"))
        painter.drawRoundedRect(frame, 6, 6)
        if self.low:
            painter.setFont(theme.font(TextSize.SMALL, strong=True))
            painter.setPen(theme.colour("ink"))
            painter.drawText(frame, Qt.AlignmentFlag.AlignCenter, self._text.heading)
            painter.end()
            return
        size = QSize(theme.pixels(_PICTURE), self.height() - 16)
        if self._pixmap is None:
            self._pixmap = small_plan(self.plan, self._panels, size, self.devicePixelRatioF())
        painter.drawPixmap(_PICTURE_AT, _PICTURE_AT, self._pixmap)
        left = 2 * _PICTURE_AT + size.width()
        lines = [text for text in (self._text.heading, self._text.detail, self._text.stock) if text]
        line = QRectF(left, 8, self.width() - left - 6, size.height() / len(lines))
        for number, text in enumerate(lines):
            painter.setFont(theme.font(TextSize.SMALL, strong=number == 0))
            painter.setPen(theme.colour("quiet" if number else "ink"))
            elide = Qt.TextElideMode.ElideRight
            shown = painter.fontMetrics().elidedText(text, elide, int(line.width()))
            place = Qt.AlignmentFlag.AlignTop
            if len(lines) == 2 and number == 0:
                place = Qt.AlignmentFlag.AlignBottom  # the two stand together in the middle
            painter.drawText(line, place | Qt.AlignmentFlag.AlignLeft, shown)
            line.translate(0, line.height())
        painter.end()

    def mousePressEvent(self, event: QMouseEvent) -> None:  # noqa: N802 - Qt's name
        self.pressed.emit()


class PlanStrip(QScrollArea):
    """All sheets of a plan; the arrow keys go through them."""

    chosen = Signal(int)
    """Index of the sheet to show."""
    menu_wanted = Signal(QPoint)
    """What can be done with the sheet that is shown is asked for, at a place of the screen."""

    def __init__(self) -> None:
        super().__init__()
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setWidgetResizable(True)
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName(tr("Sheets of the plan"))
        inner = QWidget()
        inner.setProperty("kind", "scrolled")
        self._row = horizontal(inner, gap=8)
        self._row.setContentsMargins(14, 2, 8, 2)
        self._row.addStretch(1)
        self.setWidget(inner)
        self._small: list[_Small] = []
        self._index = 0
        self._low = False
        theme.changed.connect(self._dress)
        self._dress()
        self.hide()

    def _dress(self) -> None:
        self.setFixedHeight(self._high() + 20)
        for small in self._small:
            small.redraw()
        self._size_all()

    def _size_all(self) -> None:
        """All as wide as the longest text asks, within reason."""
        for small in self._small:
            small.low = self._low
        need = max((small.need() for small in self._small), default=0)
        width = min(max(need, theme.pixels(80 if self._low else 184)), theme.pixels(_WIDEST))
        for small in self._small:
            small.setFixedSize(width, self._high())

    def _high(self) -> int:
        return theme.pixels(_HIGH_WHEN_LOW if self._low else _HIGH)

    def set_low(self, low: bool) -> None:
        """Whether names must do, in one line without pictures; the tips tell the rest."""
        self._low = low
        self._dress()

    def show_plans(
        self,
        plans: Sequence[SheetPlan],
        panels: Mapping[str, Panel],
        texts: Sequence[SmallText],
        index: int,
    ) -> None:
        """Show these sheets; a single one needs no strip."""
        while len(self._small) < len(plans):
            small = _Small()
            small.redraw()
            small.pressed.connect(lambda at=small: self.choose(self._small.index(at)))
            self._row.insertWidget(len(self._small), small)
            self._small.append(small)
        while len(self._small) > len(plans):
            gone = self._small.pop()
            self._row.removeWidget(gone)
            gone.hide()
            gone.deleteLater()
        self._index = index
        for i, (small, plan, text) in enumerate(zip(self._small, plans, texts, strict=True)):
            small.chosen = i == index
            small.show_plan(plan, panels, text)
        self._size_all()
        self.setVisible(len(plans) > 1)

    def choose(self, index: int) -> None:
        """Go to a sheet."""
        if 0 <= index < len(self._small):
            self.chosen.emit(index)
            self.ensureWidgetVisible(self._small[index])

    def sheet_at(self, place: QPoint) -> int | None:
        """The sheet whose small plan lies at a place of the screen."""
        if not self.isVisible():
            return None
        for index, small in enumerate(self._small):
            if small.rect().contains(small.mapFromGlobal(place)):
                return index
        return None

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:  # noqa: N802 - Qt's name
        at = event.globalPos()
        by_pointer = event.reason() is QContextMenuEvent.Reason.Mouse
        index = self.sheet_at(at) if by_pointer else self._index
        if index is not None and index < len(self._small):
            self.choose(index)
            small = self._small[index]
            self.menu_wanted.emit(at if by_pointer else small.mapToGlobal(small.rect().center()))

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802 - Qt's name
        moves = {Qt.Key.Key_Left: -1, Qt.Key.Key_Right: 1}
        if event.key() in moves:
            self.choose(self._index + moves[Qt.Key(event.key())])
        else:
            super().keyPressEvent(event)
