"""The board of Kerf and fit: the comb to scale, where to measure it, and two plots.

Slots and gaps of the comb are pressed (or walked with the arrow keys) to say
how the tongue felt in them; keys 1 to 6 are the six words, 0 takes it back.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFontMetricsF, QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QMenu, QSizePolicy, QWidget

from lasernest.domain.contours import Bounds
from lasernest.domain.readings import Feel, Rung
from lasernest.domain.stock import Fit
from lasernest.gui.board.how_to import HowTo, Places, draw_how_to
from lasernest.gui.board.inks import Ink, thin_pen
from lasernest.gui.board.pictures import PictureSet, plot_picture
from lasernest.gui.board.plots import FEEL_COLOURS, FEEL_WORDS, draw_feels, draw_history
from lasernest.gui.board.shapes import pictures
from lasernest.gui.board.view import View, fitted
from lasernest.gui.look.theme import TextSize, theme
from lasernest.gui.tuner import TuningView
from lasernest.gui.words import tr

Spot = tuple[Rung, int]
_WORDS_PX, _HOW_TO_PX = 250, 90
_NARROW_PX, _LEAST_PX = 520, 170
"""Below the first width all stands in one column, which may be as narrow as the second."""
_PLOT_PX, _GAP_PX = 190, 16
_STEPS = (
    "Write the comb and cut it in this very sheet, on your machine, with your settings.",
    "Slide the strips of each frame together and measure the gap that is left. Measure the "
    "plug and its hole across. Type the four numbers on the card.",
    "Try a strip in every gap and the sheet's edge in every slot, and say how each felt.",
)


class KerfBoard(QWidget):
    """Comb, calliper places and plots."""

    felt = Signal(object, int, object)
    """Kind of rung, its number, and the `Feel` or None."""

    def __init__(self) -> None:
        super().__init__()
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMouseTracking(True)
        self.setAccessibleName(tr("Comb: arrow keys go through the slots, 1 to 6 say how it felt"))
        self._view: TuningView | None = None
        self._feels: dict[Spot, Feel] = {}
        self._subject = HowTo.KERF
        self._places = Places(600.0, 400.0)
        self._at: Spot | None = None
        self._hover: Spot | None = None
        self._to_px = View()
        policy = QSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Expanding)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)
        theme.changed.connect(self.update)
        theme.changed.connect(self.updateGeometry)

    def minimumSizeHint(self) -> QSize:  # noqa: N802 - Qt's name
        return QSize(theme.pixels(_LEAST_PX), theme.pixels(520))

    def heightForWidth(self, width: int) -> int:  # noqa: N802 - Qt's name
        if width >= theme.pixels(_NARROW_PX) or self._view is None:
            return theme.pixels(520)
        area = QRectF(self.rect()).adjusted(24, 12, -24, -16)
        area.setWidth(width - 48)
        return round(self._in_a_column(area)[-1].bottom()) + 16

    def _in_a_column(self, area: QRectF) -> tuple[QRectF, QRectF, QRectF, QRectF, QRectF]:
        """Places of comb, words, picture and both plots, one below the other."""
        assert self._view is not None
        bounds = pictures.of(self._view.comb.body).bounds
        words = QFontMetricsF(theme.font())
        wrap = int(Qt.TextFlag.TextWordWrap)
        room = QRectF(0, 0, area.width() - theme.pixels(18) - 8, 4000)
        texts = sum(words.boundingRect(room, wrap, tr(text)).height() + 14 for text in _STEPS)
        comb = area.width() * bounds.height() / bounds.width() + theme.pixels(20) + 60
        plot = float(theme.pixels(_PLOT_PX))
        places, y = [], area.top()
        for height in (comb, texts, theme.pixels(_HOW_TO_PX) * 1.6, plot, plot):
            places.append(QRectF(area.left(), y, area.width(), height))
            y += height + _GAP_PX
        one, two, three, four, five = places
        return one, two, three, four, five

    def show_view(self, view: TuningView | None, feels: dict[Spot, Feel]) -> None:
        """Show what is known, and the feels of the draft."""
        self._view, self._feels = view, dict(feels)
        self.updateGeometry()
        self.update()

    def explain(self, subject: HowTo, places: Places | None = None) -> None:
        """Draw how something is measured, or what a figure means."""
        self._subject = subject
        self._places = places or self._places
        self.update()

    # --- drawing -----------------------------------------------------------------------

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802 - Qt's name
        if self._view is None:
            return
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        whole = QRectF(self.rect()).adjusted(24, 12, -24, -16)
        if self.width() < theme.pixels(_NARROW_PX):
            self._draw_column(painter, whole)
            painter.end()
            return
        upper = QRectF(whole.left(), whole.top(), whole.width(), whole.height() * 0.6)
        lower = QRectF(whole.left(), upper.bottom() + 16, whole.width(), 0)
        lower.setBottom(whole.bottom())
        self._draw_comb(painter, upper)
        half = (lower.width() - 32) / 2
        left = QRectF(lower.left(), lower.top(), half, lower.height())
        self._draw_history(painter, left)
        self._draw_feels(painter, left.translated(half + 32, 0))
        painter.end()

    def _draw_column(self, painter: QPainter, whole: QRectF) -> None:
        comb, words, how_to, history, feels = self._in_a_column(whole)
        self._fit_comb(painter, comb)
        self._draw_words(painter, words)
        draw_how_to(painter, how_to, self._subject, self._places)
        self._draw_pieces(painter)
        self._draw_history(painter, history)
        self._draw_feels(painter, feels)

    def _draw_history(self, painter: QPainter, area: QRectF) -> None:
        if self._view is not None:
            draw_history(painter, area, self._view.history, self._view.stock.name)

    def _draw_feels(self, painter: QPainter, area: QRectF) -> None:
        if self._view is None:
            return
        model = self._view.tuning.model
        known = model.rung_count > 0
        target = model.window(Fit.PRESS).target_mm if known else None
        draw_feels(painter, area, model, target, felt=known)

    def pictures(self) -> list[PictureSet]:
        """Both plots, to be saved."""
        if self._view is None:
            return []
        name = self._view.stock.name
        history, feels = plot_picture(self._draw_history), plot_picture(self._draw_feels)
        return [
            PictureSet(tr("Kerf over time"), f"{name}-kerf", (history,)),
            PictureSet(tr("How joints feel"), f"{name}-fit", (feels,)),
        ]

    def _fit_comb(self, painter: QPainter, area: QRectF) -> QRectF:
        """Write the comb's title and find its scale; returns where it will be drawn."""
        assert self._view is not None
        comb = self._view.comb
        painter.setFont(theme.font(TextSize.SMALL))
        painter.setPen(theme.colour("quiet"))
        how = tr("drawn for its kerf") if comb.spec.compensated else tr("cut without compensation")
        title = tr("comb, {how} · press a slot or gap to say how the tongue felt in it", how=how)
        wrap = int(Qt.TextFlag.TextWordWrap)
        head = painter.boundingRect(QRectF(area.topLeft(), area.size()), wrap, title)
        painter.drawText(head, wrap, title)
        room = area.adjusted(0, head.height() + 26, 0, -24)
        picture = pictures.of(comb.body)
        self._to_px = fitted(picture.bounds, room)
        # Keep to the left, so that the words stand beside the comb.
        shown = self._to_px.rect_to_screen(picture.bounds)
        self._to_px = self._to_px.panned(room.left() - shown.left(), 0.0)
        shown.moveLeft(room.left())
        return shown

    def _draw_comb(self, painter: QPainter, area: QRectF) -> None:
        line = QFontMetricsF(theme.font(TextSize.SMALL)).height()
        shown = self._fit_comb(painter, area.adjusted(0, 0, -theme.pixels(_WORDS_PX), 0))
        beside = QRectF(shown.right() + 24, shown.top(), 0, shown.height())
        beside.setRight(area.right())
        used = self._draw_words(painter, beside)
        beside.setTop(used + 8)
        # Beside a low comb the words leave no room; then it may reach below the comb.
        wanted = beside.top() + theme.pixels(_HOW_TO_PX)
        beside.setBottom(max(beside.bottom(), min(area.bottom(), wanted)))
        if beside.height() >= 2 * line:
            draw_how_to(painter, beside, self._subject, self._places)
        self._draw_pieces(painter)

    def _draw_pieces(self, painter: QPainter) -> None:
        assert self._view is not None
        comb = self._view.comb
        picture = pictures.of(comb.body)
        painter.setTransform(self._to_px.transform())
        ink = Ink()
        ink.engrave = thin_pen(theme.colour("engrave"), 0.9)  # small letters, not dots
        ink.panel(painter, picture, scale=self._to_px.scale)
        for piece, _ in comb.loose:
            ink.panel(painter, pictures.of(piece), scale=self._to_px.scale)
        painter.resetTransform()
        for spot, place in self._spots():
            self._draw_spot(painter, spot, place)
        self._draw_calliper(painter)

    def _draw_words(self, painter: QPainter, place: QRectF) -> float:
        """The three things to do, beside the comb; returns where they end."""
        y = place.top()
        for number, words in enumerate(_STEPS, start=1):
            font = theme.font()
            painter.setFont(font)
            side = theme.pixels(18)
            text = QRectF(place.left() + side + 8, y, place.width() - side - 8, 4000)
            flags = int(Qt.TextFlag.TextWordWrap)
            used = painter.boundingRect(text, flags, tr(words))
            painter.setPen(theme.colour("ink"))
            painter.drawText(text, flags, tr(words))
            painter.setPen(QPen(theme.colour("accent"), 1.6))
            chip = QRectF(place.left(), y, side, side)
            painter.drawEllipse(chip)
            painter.setFont(theme.font(TextSize.SMALL, strong=True))
            painter.drawText(chip, Qt.AlignmentFlag.AlignCenter, str(number))
            y += used.height() + 14
        return y

    def _spots(self) -> Iterator[tuple[Spot, QRectF]]:
        """Each rung with the place on the screen where its feel is written."""
        if self._view is None:
            return
        comb = self._view.comb
        x0, y0, x1, y1 = comb.body.bounds_mm()
        for kind, centres, y_mm, below in (
            (Rung.SLOT, comb.slot_centres_mm, y0, True),
            (Rung.GAP, comb.gap_centres_mm, y1, False),
        ):
            width = (x1 - x0) / max(len(centres), 1) * self._to_px.scale
            for number, x_mm in enumerate(centres):
                at = self._to_px.to_screen(x_mm, y_mm)
                top = at.y() + 2 if below else at.y() - 24
                yield (kind, number), QRectF(at.x() - width / 2, top, width, 22)

    def _draw_spot(self, painter: QPainter, spot: Spot, place: QRectF) -> None:
        feel = self._feels.get(spot)
        if spot in (self._at, self._hover) and (self.hasFocus() or spot == self._hover):
            painter.setBrush(theme.colour("chosen"))
            painter.setPen(QPen(theme.colour("accent"), 1.2))
            painter.drawRoundedRect(place.adjusted(1, 0, -1, 0), 5, 5)
        painter.setFont(theme.font(TextSize.SMALL, strong=feel is not None))
        if feel is None:
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(QPen(theme.colour("quiet"), 1.0))
            painter.drawEllipse(place.center(), 3.0, 3.0)
            return
        colour = theme.colour(FEEL_COLOURS[feel])
        below = spot[0] is Rung.SLOT
        y = place.top() + 1.5 if below else place.bottom() - 1.5
        painter.setPen(QPen(colour, 3.0))
        painter.drawLine(QPointF(place.left() + 3, y), QPointF(place.right() - 3, y))
        painter.setPen(theme.colour("ink"))
        text = place.adjusted(0, 3 if below else 0, 0, 0 if below else -3)
        painter.drawText(text, Qt.AlignmentFlag.AlignCenter, FEEL_WORDS[feel])

    def _draw_calliper(self, painter: QPainter) -> None:
        """Two jaws and a line between them where the focused field is measured."""
        assert self._view is not None
        comb = self._view.comb
        gap_mm = comb.spec.kerf.mean_mm * (comb.strips + 1)
        places: dict[HowTo, tuple[Bounds, bool]] = {
            HowTo.GAP_X: (_right_end(comb.frame_x_mm, gap_mm), False),
            HowTo.GAP_Y: (_top_end(comb.frame_y_mm, gap_mm), True),
            HowTo.PLUG: (_shrunk(comb.hole_mm, 0.5), False),
            HowTo.HOLE: (comb.hole_mm, False),
        }
        for subject, (bounds, upright) in places.items():
            focused = subject is self._subject
            if subject is HowTo.HOLE and not focused:
                continue
            x0, y0, x1, y1 = bounds
            middle_x, middle_y = 0.5 * (x0 + x1), 0.5 * (y0 + y1)
            ends = (
                (self._to_px.to_screen(middle_x, y0), self._to_px.to_screen(middle_x, y1))
                if upright
                else (self._to_px.to_screen(x0, middle_y), self._to_px.to_screen(x1, middle_y))
            )
            _jaws(painter, ends, strong=focused)

    # --- pointer and keys ------------------------------------------------------------------

    def _spot_at(self, point: QPointF) -> Spot | None:
        if self._view is None:
            return None
        comb_top = self._to_px.to_screen(0, self._view.comb.body.bounds_mm()[3]).y()
        comb_bottom = self._to_px.to_screen(0, 0).y()
        reach = 0.22 * (comb_bottom - comb_top)
        for spot, place in self._spots():
            deep = (
                place.adjusted(0, -reach, 0, 0)
                if spot[0] is Rung.SLOT
                else place.adjusted(0, 0, 0, reach)
            )
            if deep.contains(point):
                return spot
        return None

    def mouseMoveEvent(self, event: QMouseEvent) -> None:  # noqa: N802 - Qt's name
        hover = self._spot_at(event.position())
        if hover != self._hover:
            self._hover = hover
            pointing = Qt.CursorShape.PointingHandCursor
            self.setCursor(pointing) if hover else self.unsetCursor()
            self.update()

    def leaveEvent(self, event: object) -> None:  # noqa: N802 - Qt's name
        self._hover = None
        self.update()

    def mousePressEvent(self, event: QMouseEvent) -> None:  # noqa: N802 - Qt's name
        spot = self._spot_at(event.position())
        self._at = spot
        self.update()
        if spot is None:
            return
        menu = QMenu(self)
        menu.setFont(theme.font())
        for number, feel in enumerate(Feel, start=1):
            menu.addAction(f"&{number}  {tr(feel.value)}").triggered.connect(
                lambda _checked=False, f=feel: self.felt.emit(*spot, f)
            )
        menu.addSeparator()
        menu.addAction(f"&0  {tr('not tried')}").triggered.connect(
            lambda _checked=False: self.felt.emit(*spot, None)
        )
        menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        menu.popup(event.globalPosition().toPoint())

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802 - Qt's name
        spots = [spot for spot, _ in self._spots()]
        moves: dict[Any, int] = {Qt.Key.Key_Left: -1, Qt.Key.Key_Right: 1}
        if event.key() in moves and spots:
            at = spots.index(self._at) if self._at in spots else -1
            self._at = spots[(at + moves[Qt.Key(event.key())]) % len(spots)]
        elif event.key() in (Qt.Key.Key_Up, Qt.Key.Key_Down) and self._at in spots:
            other = Rung.GAP if event.key() == Qt.Key.Key_Up else Rung.SLOT
            same = [s for s in spots if s[0] is other]
            self._at = same[min(self._at[1], len(same) - 1)]
        elif event.text() in ("1", "2", "3", "4", "5", "6") and self._at is not None:
            self.felt.emit(*self._at, list(Feel)[int(event.text()) - 1])
        elif event.text() == "0" and self._at is not None:
            self.felt.emit(*self._at, None)
        else:
            super().keyPressEvent(event)
            return
        self.update()


def _right_end(bounds: Bounds, gap_mm: float) -> Bounds:
    _x0, y0, x1, y1 = bounds
    return (x1 - gap_mm, y0, x1, y1)


def _top_end(bounds: Bounds, gap_mm: float) -> Bounds:
    x0, _y0, x1, y1 = bounds
    return (x0, y1 - gap_mm, x1, y1)


def _shrunk(bounds: Bounds, by_mm: float) -> Bounds:
    x0, y0, x1, y1 = bounds
    return (x0 + by_mm, y0 + by_mm, x1 - by_mm, y1 - by_mm)


def _jaws(painter: QPainter, ends: tuple[QPointF, QPointF], *, strong: bool) -> None:
    colour = theme.colour("kerf", 1.0 if strong else 0.55)
    painter.setPen(QPen(colour, 2.6 if strong else 1.6))
    a, b = ends
    across = QPointF(0, 7) if abs(a.x() - b.x()) > abs(a.y() - b.y()) else QPointF(7, 0)
    painter.drawLine(a, b)
    for end in ends:
        painter.drawLine(end - across, end + across)
