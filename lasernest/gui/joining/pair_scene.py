"""The chosen joint drawn large: both edges opposite each other, with what grips where.

Beside every gap stands a bar at each wall: filled where the finger presses,
framed where it stands off, the wider the more. The number between the panels
is the interference after the cut.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QPointF, QRectF, Qt, Signal
from PySide6.QtGui import QFontMetricsF, QKeyEvent, QPainter

from lasernest.domain.joints import JointKind
from lasernest.gui.board.inks import Ink, caption, grip_bar, thin_pen
from lasernest.gui.board.scene import Scene
from lasernest.gui.board.shapes import PanelPicture
from lasernest.gui.board.view import View
from lasernest.gui.joining.joint_rows import JointRow, signed
from lasernest.gui.lengths import lengths
from lasernest.gui.look.theme import TextSize, theme
from lasernest.gui.words import tr

if TYPE_CHECKING:
    from lasernest.joints.flat_pair import FlatPair, Grip, Row
    from lasernest.joints.joined import Joined

_PX_PER_MM = 100.0
"""Of grip: a pixel for each hundredth, where the gap has room for it."""
_MOST_OF_GAP = 0.22
_LEAST_BAR_PX = 1.5
_BEHIND_IN_THICKNESSES = 1.6
_LEAST_BEHIND_MM = 4.0
_BEHIND_NUT_MM = 14.0
"""Nuts and the ends of screws lie well behind the joint."""
_BEYOND = 0.25
"""How far a row shows beyond the end of the joint, as a share of its height."""


class PairScene(Scene):
    """One joint."""

    has_rulers = False

    closed = Signal()
    """The maker wants to see all panels again."""
    step_wanted = Signal(int)
    """The next joint (1) or the one before (-1)."""

    def __init__(self) -> None:
        super().__init__()
        self._row: JointRow | None = None
        self._pair: FlatPair | None = None
        self._pictures: tuple[PanelPicture, PanelPicture] | None = None
        self._hovered: int | None = None
        self._measured = ""

    def show_row(self, row: JointRow, joined: Joined | None, measured: str = "") -> None:
        """Show a joint as it was worked out; `measured` is what the proof said of it."""
        laid = row.laid
        if laid is None or joined is None:
            self.clear()
            return
        from lasernest.joints.flat_pair import flat_pair  # noqa: PLC0415 - only when needed

        other = self._row is None or self._row.joint != row.joint
        other |= bool(self._measured) != bool(measured)  # which takes a line below it
        self._row, self._measured = row, measured
        behind_mm = max(_BEHIND_IN_THICKNESSES * laid.a.thickness_mm, _LEAST_BEHIND_MM)
        if laid.kind is JointKind.NUT:
            behind_mm = max(behind_mm, _BEHIND_NUT_MM)
        self._pair = pair = flat_pair(laid, behind_mm=behind_mm)
        names = (row.joint.a.panel, row.joint.b.panel)
        self._pictures = (
            PanelPicture(joined.panel(names[0]).posed(pair.a_pose)),
            PanelPicture(joined.panel(names[1]).posed(pair.b_pose)),
        )
        if other:
            self.bounds_changed.emit()
        self.changed.emit()

    def clear(self) -> None:
        """Show nothing."""
        self._row = self._pair = self._pictures = None
        self.changed.emit()

    @property
    def has_pair(self) -> bool:
        """True while there is something to show."""
        return self._pair is not None

    @property
    def is_loose(self) -> bool:
        """True when gaps are wider than what goes into them."""
        return self._pair is not None and any(g.interference_mm < 0 for g in self._pair.grips)

    # --- drawing ---------------------------------------------------------------------

    def bounds_mm(self) -> QRectF:
        if self._pair is None:
            return QRectF()
        whole = QRectF()
        for row in self._pair.rows:
            whole = whole.united(self._frame(row).translated(row.dx_mm, row.dy_mm))
        return whole

    def _frame(self, row: Row) -> QRectF:
        """What a row shows, before it is moved; the ends show a little beyond the joint."""
        assert self._pair is not None
        x0, y0, x1, y1 = self._pair.band_mm
        beyond_mm = _BEYOND * (y1 - y0)
        left = row.start_mm - (beyond_mm if row.start_mm <= x0 + 1e-6 else 0.0)
        right = row.end_mm + (beyond_mm if row.end_mm >= x1 - 1e-6 else 0.0)
        return QRectF(left, y0, right - left, y1 - y0)

    def headroom_px(self) -> float:
        return float(theme.pixels(24) - 20)  # for the name of a panel

    def padding_px(self) -> float:
        # A name stands below, and what was measured below that.
        return float(theme.pixels(44 if self._measured else 24))

    def caption(self) -> tuple[str, str]:
        if self._row is None or self._row.laid is None:
            return ("", "")
        laid = self._row.laid
        figures, _, tight = self._row.figures.rpartition(" · ")
        left = f"{self._row.index + 1}  {self._row.names} · {figures}"
        return (left, tr("{tight}, {depth} deep", tight=tight, depth=lengths.text(laid.depth_mm)))

    def draw(self, painter: QPainter, view: View, visible_mm: QRectF) -> Iterator[None]:
        if self._pair is None or self._pictures is None:
            return
        ink = Ink()
        low, high = self._pair.apart
        for row in self._pair.rows:
            moved = _moved(view, row)
            frame = self._frame(row)
            # Behind the joint the panels are broken off: all of them would make it small.
            parts = (
                QRectF(frame.left(), frame.top(), frame.width(), high - frame.top()),
                QRectF(frame.left(), low, frame.width(), frame.bottom() - low),
            )
            for picture, part in zip(self._pictures, parts, strict=True):
                painter.save()
                painter.setClipRect(moved.rect_to_screen(part))
                painter.setTransform(moved.transform())
                ink.panel(painter, picture, scale=view.scale)
                painter.restore()
                yield
            for picture, part in zip(self._pictures, parts, strict=True):
                _draw_breaks(painter, moved, picture, part, low, high)
            self._draw_names(painter, moved, frame, row)

    def _draw_names(self, painter: QPainter, view: View, frame: QRectF, row: Row) -> None:
        """The names of both panels outside of them, and where along the joint the row is."""
        assert self._pair is not None
        assert self._row is not None
        font = theme.font(TextSize.BODY, strong=True)
        metrics = QFontMetricsF(font)
        height = metrics.height()
        area = view.rect_to_screen(
            QRectF(row.start_mm, frame.top(), row.end_mm - row.start_mm, frame.height())
        )
        below = QRectF(area.left(), area.bottom() + 2, area.width(), height)
        above = QRectF(area.left(), area.top() - height - 2, area.width(), height)
        if row is self._pair.rows[0]:
            caption(painter, above, self._row.joint.b.panel, colour="ink", font=font)
        last, name = row is self._pair.rows[-1], self._row.joint.a.panel
        if last:
            caption(painter, below, name, colour="ink", font=font)
            below.setLeft(below.left() + metrics.horizontalAdvance(name) + 12)
        if len(self._pair.rows) > 1 and (last or self._free_px(view, row) >= height + 2):
            first = self._pair.rows[0].start_mm
            words = tr(
                "{start} to {end}",
                start=lengths.number(row.start_mm - first, 0),
                end=lengths.text(row.end_mm - first, 0),
            )
            if QFontMetricsF(theme.font(TextSize.SMALL)).horizontalAdvance(words) <= below.width():
                caption(painter, below, words, right=True)

    def _free_px(self, view: View, row: Row) -> float:
        """Space between a row and the one below it."""
        assert self._pair is not None
        below = self._pair.rows[self._pair.rows.index(row) + 1]
        return (abs(below.dy_mm - row.dy_mm) - self._frame(row).height()) * view.scale

    def draw_over(self, painter: QPainter, view: View) -> None:
        if self._pair is None:
            return
        room_px = self._room_px(view)
        for i, grip in enumerate(self._pair.grips):
            moved = _moved(view, self._row_of(grip))
            self._draw_bars(painter, moved, grip)
            self._draw_numbers(painter, moved, grip, room_px, hot=i == self._hovered)
        if self._measured:
            area = view.rect_to_screen(self.bounds_mm())
            below = QRectF(area.left(), area.bottom() + theme.pixels(26), 640, theme.pixels(18))
            caption(painter, below, self._measured)

    def _row_of(self, grip: Grip) -> Row:
        assert self._pair is not None
        rows = self._pair.rows
        return next((r for r in rows if r.start_mm <= grip.x_mm < r.end_mm), rows[-1])

    def _room_px(self, view: View) -> float:
        """Space from one grip to the next."""
        assert self._pair is not None
        xs = sorted(g.x_mm for g in self._pair.grips)
        steps = [b - a for a, b in pairwise(xs) if b - a > 1e-6]
        return (min(steps) if steps else 1e3) * view.scale

    def _draw_bars(self, painter: QPainter, view: View, grip: Grip) -> None:
        """A bar at both walls of the gap, outside it where the finger is too wide for it."""
        side_px = _PX_PER_MM * abs(grip.interference_mm)
        if side_px < 0.05:
            return
        most_px = _MOST_OF_GAP * grip.gap_mm * view.scale
        bar_px = max(min(side_px, most_px), _LEAST_BAR_PX)
        tight = grip.interference_mm > 0.0
        half, across = 0.5 * grip.gap_mm, 0.5 * grip.across_mm
        for sign in (-1.0, 1.0):
            x, y = grip.gap_at
            if grip.along_joint:
                a = view.to_screen(x + sign * half, y - across)
                b = view.to_screen(x + sign * half, y + across)
                left = a.x() - bar_px if (sign < 0) == tight else a.x()
                rect = QRectF(left, b.y(), bar_px, a.y() - b.y())
            else:
                a = view.to_screen(x - across, y + sign * half)
                b = view.to_screen(x + across, y + sign * half)
                top = a.y() - bar_px if (sign > 0) == tight else a.y()
                rect = QRectF(a.x(), top, b.x() - a.x(), bar_px)
            grip_bar(painter, rect, tight=tight)

    def _draw_numbers(
        self, painter: QPainter, view: View, grip: Grip, room_px: float, *, hot: bool
    ) -> None:
        assert self._pair is not None
        font = theme.font(TextSize.SMALL, strong=True)
        metrics = QFontMetricsF(font)
        text = signed(grip.interference_mm).removesuffix(lengths.unit).strip()
        wide = metrics.horizontalAdvance(text) + 8.0
        low, high = self._pair.apart
        middle = view.to_screen(grip.x_mm, 0.5 * (low + high))
        strip_px = (high - low) * view.scale
        flat = wide <= room_px and metrics.height() <= strip_px
        painter.save()
        painter.setFont(font)
        painter.setPen(theme.colour("accent" if hot else "ink"))
        if flat:
            rect = QRectF(0, 0, wide, metrics.height())
            rect.moveCenter(middle)
            painter.drawText(rect, Qt.AlignmentFlag.AlignCenter, text)
        elif metrics.height() <= room_px and wide <= strip_px:
            painter.translate(middle)
            painter.rotate(-90.0)
            rect = QRectF(-wide / 2, -metrics.height() / 2, wide, metrics.height())
            painter.drawText(rect, Qt.AlignmentFlag.AlignCenter, text)
        painter.restore()
        across_px, high_px = grip.gap_mm * view.scale, grip.across_mm * view.scale
        if not grip.along_joint:
            across_px, high_px = high_px, across_px
        if across_px >= wide and high_px >= metrics.height():
            self._draw_widths(painter, view, grip)

    def _draw_widths(self, painter: QPainter, view: View, grip: Grip) -> None:
        """The widths of finger and gap, each in its place."""
        font = theme.font(TextSize.SMALL)
        painter.setFont(font)
        painter.setPen(theme.colour("ink"))
        lap = self._row is not None and self._row.joint.kind is JointKind.LAP
        places = [(grip.gap_at, grip.gap_mm)]
        if not lap:  # what goes into a lap lies far behind
            places.append((grip.finger_at, grip.finger_mm))
        for at, value_mm in places:
            rect = QRectF(0, 0, 80, QFontMetricsF(font).height())
            rect.moveCenter(view.to_screen(*at))
            painter.drawText(rect, Qt.AlignmentFlag.AlignCenter, lengths.number(value_mm))

    # --- pointer and keys --------------------------------------------------------------

    def thing_at(self, x_mm: float, y_mm: float, view: View) -> Any:
        if self._pair is None:
            return None
        low, high = self._pair.apart
        reach = max(high - low, 1.0)
        for i, grip in enumerate(self._pair.grips):
            row = self._row_of(grip)
            near_x = abs(x_mm - row.dx_mm - grip.x_mm) <= 0.5 * grip.along_mm
            if near_x and low - reach <= y_mm - row.dy_mm <= high + reach:
                return i
        return None

    def tip(self, thing: Any) -> str:
        if self._pair is None or not isinstance(thing, int):
            return ""
        grip = self._pair.grips[thing]
        kind = self._row.joint.kind if self._row is not None else JointKind.FINGER
        inner, outer = ("finger", "gap") if kind is JointKind.FINGER else ("sheet", "slot")
        return tr(
            "{inner} {a} in a {outer} of {b}: {grip}",
            inner=tr(inner),
            a=lengths.text(grip.finger_mm, 3),
            outer=tr(outer),
            b=lengths.text(grip.gap_mm, 3),
            grip=signed(grip.interference_mm, 3),
        )

    def hover(self, thing: Any) -> None:
        self._hovered = thing
        self.over_changed.emit()

    def key(self, event: QKeyEvent) -> bool:
        key = Qt.Key(event.key())
        if key == Qt.Key.Key_Escape:
            self.closed.emit()
        elif key in (Qt.Key.Key_PageUp, Qt.Key.Key_PageDown):
            self.step_wanted.emit(1 if key == Qt.Key.Key_PageDown else -1)
        else:
            return False
        return True


def _moved(view: View, row: Row) -> View:
    """The view in which a row lies where it is drawn."""
    return view.panned(row.dx_mm * view.scale, -row.dy_mm * view.scale)


def _draw_breaks(
    painter: QPainter,
    view: View,
    picture: PanelPicture,
    part: QRectF,
    low_mm: float,
    high_mm: float,
) -> None:
    """Dash the sides of a part where its panel goes on."""
    panel = picture.bounds
    shown = part.intersected(panel)
    pen = thin_pen(theme.colour("faint"), 1.2)
    pen.setDashPattern([4.0, 3.0])
    sides = []
    inner_mm = 1e-6
    for y, other in ((part.top(), high_mm), (part.bottom(), low_mm)):
        if abs(y - other) > inner_mm and panel.top() < y - inner_mm < panel.bottom() - inner_mm:
            sides.append((QPointF(shown.left(), y), QPointF(shown.right(), y)))
    for x in (part.left(), part.right()):
        if panel.left() < x - inner_mm and x + inner_mm < panel.right():
            sides.append((QPointF(x, shown.top()), QPointF(x, shown.bottom())))
    painter.save()
    painter.setClipPath(view.transform().map(picture.face))
    for a, b in sides:
        ends = view.to_screen(a.x(), a.y()), view.to_screen(b.x(), b.y())
        painter.setPen(thin_pen(theme.colour("panel"), 2.0))
        painter.drawLine(*ends)
        painter.setPen(pen)
        painter.drawLine(*ends)
    painter.restore()
