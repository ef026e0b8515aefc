"""One sheet with its panels as they will be cut.

Panels are shared pictures under a pose. Names stand inside panels where there
is room; the kept offcut is hatched; the swept kerf shows when it is at least
a pixel wide.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from PySide6.QtCore import QPointF, QRectF, Qt, QTimer, Signal
from PySide6.QtGui import QKeyEvent, QPainter, QPainterPath, QTransform

from lasernest.domain.contours import Pose
from lasernest.domain.cutting import SheetCut
from lasernest.domain.panels import Panel
from lasernest.domain.plan import Placement, Sheet, SheetPlan
from lasernest.gui.board.inks import Ink, fill_face, hatch, kerf_pen, stroke_outline, thin_pen
from lasernest.gui.board.names import Names
from lasernest.gui.board.played import PlayedCut
from lasernest.gui.board.scene import MARKED_AT_ONCE, Scene
from lasernest.gui.board.shapes import (
    PanelPicture,
    add_contour,
    contours_path,
    pictures,
    transform_of,
)
from lasernest.gui.board.snapping import snap_point
from lasernest.gui.board.view import View
from lasernest.gui.lengths import lengths
from lasernest.gui.look.theme import theme
from lasernest.gui.parts.entries import Entry
from lasernest.gui.words import tr
from lasernest.services.cut_timeline import Doing

PanelKey = tuple[str, int]


@dataclass(frozen=True, slots=True)
class Placed:
    """A copy of a panel on the sheet, ready to draw."""

    key: PanelKey
    label: str
    picture: PanelPicture
    pose: Pose
    transform: QTransform
    bounds: QRectF

    def on_drawing(self, area: QRectF) -> QRectF:
        """An area of the sheet in the millimetres of the panel's drawing."""
        back, _ = self.transform.inverted()
        return back.mapRect(area)

    def holds(self, x_mm: float, y_mm: float) -> bool:
        """Whether a point of the sheet lies on the panel's face."""
        if not self.bounds.contains(x_mm, y_mm):
            return False
        back, _ = self.transform.inverted()
        return self.picture.face.contains(back.map(QPointF(x_mm, y_mm)))


def place(placement: Placement, panel: Panel, *, label: str, known: Placed | None = None) -> Placed:
    """A placement with its picture; the known one where it lies there already."""
    if (
        known is not None
        and known.picture.panel is panel
        and known.pose == placement.pose
        and known.label == label
    ):
        return known
    picture = pictures.of(panel)
    transform = transform_of(placement.pose)
    return Placed(
        (placement.panel_name, placement.copy),
        label,
        picture,
        placement.pose,
        transform,
        transform.mapRect(picture.bounds),
    )


def sheet_path(sheet: Sheet) -> QPainterPath:
    """The usable area of a sheet: its outline without its holes."""
    path = QPainterPath()
    path.setFillRule(Qt.FillRule.OddEvenFill)
    if sheet.outline is not None:
        add_contour(path, sheet.outline)
    else:
        path.addRect(QRectF(0, 0, sheet.width_mm, sheet.height_mm))
    for hole in sheet.holes:
        add_contour(path, hole)
    return path


class SheetScene(Scene):
    """A sheet plan on the canvas."""

    chosen_changed = Signal(object)
    """The set of chosen panels as (name, copy)."""
    put_away_wanted = Signal()
    """No moment of the cut is to be shown any more."""

    def __init__(self) -> None:
        super().__init__()
        self.entries_for: Callable[[frozenset[PanelKey]], Sequence[Entry]] = lambda _keys: ()
        """What the context menu offers for panels."""
        self._plan: SheetPlan | None = None
        self._placed: list[Placed] = []
        self._cut: SheetCut | None = None
        self._swept: list[QPainterPath] = []
        """Its paths as far as they were drawn."""
        self._kerf_mm = 0.0
        self.played: PlayedCut | None = None
        """The cut that is played; shown from its first moment on."""
        self._kept: QPainterPath | None = None
        self._captions, self.hint = ("", ""), ""
        self._chosen: frozenset[PanelKey] = frozenset()
        self._hovered: PanelKey | None = None
        self._names = Names()
        self.names_shown = True
        self.kerf_shown = True

    def show_plan(
        self,
        plan: SheetPlan | None,
        panels: Mapping[str, Panel],
        *,
        left: str = "",
        right: str = "",
        hint: str = "",
    ) -> None:
        """Show a sheet plan; panels that are not known any more are left out.

        Args:
            plan: panels on one sheet, or none.
            panels: by name, as they will be cut.
            left: what the sheet is, above it.
            right: which one it is.
            hint: what to do, on the sheet itself while nothing lies on it.
        """
        old = self._plan.sheet if self._plan is not None else None
        self._plan = plan
        placements = plan.placements if plan is not None else ()
        copies: dict[str, int] = {}
        for p in placements:
            copies[p.panel_name] = max(copies.get(p.panel_name, 0), p.copy)
        known = {placed.key: placed for placed in self._placed}
        self._placed = [
            place(
                p,
                panels[p.panel_name],
                label=p.panel_name if copies[p.panel_name] == 1 else f"{p.panel_name} {p.copy}",
                known=known.get((p.panel_name, p.copy)),
            )
            for p in placements
            if p.panel_name in panels
        ]
        self._captions, self.hint = (left, right), hint
        self._cut, self._swept = None, []
        self.played = None
        self._kept = None
        if (plan.sheet if plan is not None else None) != old:
            self.bounds_changed.emit()
        self.changed.emit()

    def show_cut(self, cut: SheetCut | None, kerf_mm: float) -> None:
        """Show what the beam sweeps away."""
        if cut is not self._cut:
            self._cut, self._swept = cut, []
        self._kerf_mm = kerf_mm
        self.changed.emit()

    def show_kerf(self, shown: bool) -> None:
        """Show the swept kerf, or hide it."""
        self.kerf_shown = shown
        self.changed.emit()

    def play_at(self, seconds: float) -> None:
        """Show another moment of the played cut."""
        if self.played is not None:
            self.played.go_to(seconds)
            self.over_changed.emit()
            self.caption_changed.emit()

    def show_played(self, played: PlayedCut | None) -> None:
        """Take a cut that can be played, or put it away."""
        self.played = played
        self.over_changed.emit()
        self.caption_changed.emit()

    @property
    def is_played(self) -> bool:
        """True when a moment of a cut is shown."""
        return self.played is not None and self.played.moment.seconds > 0.0

    def show_kept(self, kept: QPainterPath | None) -> None:
        """Hatch the offcut that is kept."""
        self._kept = kept
        self.changed.emit()

    @property
    def has_kept(self) -> bool:
        return self._kept is not None

    @property
    def placed(self) -> list[Placed]:
        return self._placed

    @property
    def chosen(self) -> frozenset[PanelKey]:
        return self._chosen

    def choose(self, keys: frozenset[PanelKey]) -> None:
        """Mark panels as chosen."""
        if keys != self._chosen:
            before, self._chosen = self._chosen, keys
            if max(len(before), len(keys)) > MARKED_AT_ONCE:
                self.changed.emit()
            self.over_changed.emit()
            self.caption_changed.emit()
            self.chosen_changed.emit(keys)

    # --- drawing ---------------------------------------------------------------------

    def bounds_mm(self) -> QRectF:
        if self._plan is None:
            return QRectF()
        return QRectF(0, 0, self._plan.sheet.width_mm, self._plan.sheet.height_mm)

    def caption(self) -> tuple[str, str]:
        if not self.is_played:
            return self._captions
        return self._captions[0], self._words_of_moment()

    def _words_of_moment(self) -> str:
        """Which cut it is, of which panel, and where the head is."""
        assert self.played is not None
        moment, paths = self.played.moment, self.played.timeline.paths
        x, y = (lengths.number(v, 1).replace("-", "−") for v in moment.at)
        place = f"x {x}  y {y} {lengths.unit}"
        if moment.path >= len(paths):
            return tr("{n} of {all} done", n=len(paths), all=len(paths)) + " · " + place
        path = paths[moment.path]
        name = " ".join(p for p in (path.panel_name, str(path.copy)) if p)
        what = path.kind.value if moment.doing is Doing.WORK else moment.doing.value
        count = tr("{n} of {all}", n=moment.path + 1, all=len(paths))
        return " · ".join((count, name, what, place))

    def draw(self, painter: QPainter, view: View, visible_mm: QRectF) -> Iterator[None]:
        if self._plan is None:
            return
        ink = Ink()
        to_px = view.transform()
        outline = sheet_path(self._plan.sheet)
        painter.setTransform(to_px)
        painter.fillPath(outline, theme.colour("sheet"))
        painter.resetTransform()
        if self._kept is not None:
            hatch(painter, self._kept, view)
        self._draw_margin(painter, view)
        yield
        for placed in self._placed:
            if placed.bounds.intersects(visible_mm):
                painter.setTransform(placed.transform * to_px)
                seen = placed.on_drawing(visible_mm)
                yield from ink.panel_in_steps(
                    painter, placed.picture, scale=view.scale, visible=seen
                )
                yield
        painter.setTransform(to_px)
        if self.kerf_shown and self._cut is not None and self._kerf_mm * view.scale >= 1.0:
            painter.setPen(kerf_pen(self._kerf_mm))
            for path in self._swept_paths(self._cut):
                if path.boundingRect().intersects(visible_mm):
                    painter.drawPath(path)
                yield
        painter.strokePath(outline, thin_pen(theme.colour("sheet_border"), 1.4))
        painter.resetTransform()
        if not self._placed and self.hint:
            painter.setFont(theme.font())
            painter.setPen(theme.colour("quiet"))
            room = view.rect_to_screen(self.bounds_mm()).adjusted(24, 24, -24, -24)
            middle = Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap
            painter.drawText(room, int(middle), self.hint)
        if self.names_shown:
            for placed in self._placed:
                if placed.bounds.intersects(visible_mm):
                    self._names.draw(painter, placed, view)
                    yield
        if len(self._chosen) > MARKED_AT_ONCE:
            for placed in self._placed:
                if placed.key in self._chosen and placed.bounds.intersects(visible_mm):
                    self._mark(painter, placed, to_px)
                    yield
            painter.resetTransform()

    def _mark(self, painter: QPainter, placed: Placed, to_px: QTransform) -> None:
        """A chosen panel is tinted, and drawn round like one under the pointer."""
        chosen = placed.key in self._chosen
        painter.setTransform(placed.transform * to_px)
        if chosen:
            fill_face(painter, placed.picture, theme.colour("accent", 0.16))
        stroke_outline(
            painter, placed.picture, thin_pen(theme.colour("accent"), 2.6 if chosen else 1.8)
        )

    def _swept_paths(self, cut: SheetCut) -> Iterator[QPainterPath]:
        """The cuts as painter paths, each made once."""
        swept = self._swept
        for i, cut_path in enumerate(p for p in cut.paths if p.kind.is_cut):
            if i == len(swept):
                swept.append(contours_path([cut_path.path]))
            yield swept[i]

    def _draw_margin(self, painter: QPainter, view: View) -> None:
        """A faint line where the margin of a whole sheet ends."""
        assert self._plan is not None
        sheet = self._plan.sheet
        margin_mm = sheet.margin_mm
        if sheet.outline is None and margin_mm * view.scale >= 3.0:
            inner = self.bounds_mm().adjusted(margin_mm, margin_mm, -margin_mm, -margin_mm)
            pen = thin_pen(theme.colour("hatch"))
            pen.setDashPattern([2.0, 4.0])
            painter.setPen(pen)
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(view.rect_to_screen(inner))

    def draw_over(self, painter: QPainter, view: View) -> None:
        if self.is_played and self.played is not None and self.played.draw(painter, view):
            QTimer.singleShot(0, self, self.over_changed.emit)
        marked = self._chosen if len(self._chosen) <= MARKED_AT_ONCE else frozenset()
        if self._hovered:
            marked |= {self._hovered}
        if not marked:
            return
        to_px = view.transform()
        for placed in self._placed:
            if placed.key in marked:
                self._mark(painter, placed, to_px)
        painter.resetTransform()

    # --- pointer and keys ------------------------------------------------------------

    def key(self, event: QKeyEvent) -> bool:
        if Qt.Key(event.key()) is Qt.Key.Key_Escape and self.is_played:
            self.put_away_wanted.emit()
            return True
        return False

    def menu(self, thing: Any) -> Sequence[Entry]:
        if thing is not None and thing not in self.chosen:
            self.choose(frozenset({thing}))
        return self.entries_for(self.chosen)

    def thing_at(self, x_mm: float, y_mm: float, view: View) -> Any:
        for placed in reversed(self._placed):
            if placed.holds(x_mm, y_mm):
                return placed.key
        return None

    def hover(self, thing: Any) -> None:
        self._hovered = thing
        self.over_changed.emit()

    def click(self, thing: Any, modifiers: Qt.KeyboardModifier) -> None:
        if thing is None:
            self.choose(frozenset())
        elif modifiers & Qt.KeyboardModifier.ControlModifier:
            self.choose(self._chosen ^ {thing})
        else:
            self.choose(frozenset({thing}))

    def snap(self, x_mm: float, y_mm: float, within_mm: float) -> tuple[float, float] | None:
        best: tuple[float, tuple[float, float]] | None = None
        for placed in self._placed:
            reach = placed.bounds.adjusted(-within_mm, -within_mm, within_mm, within_mm)
            if not reach.contains(x_mm, y_mm):
                continue
            found = snap_point(placed.picture.segments, placed.pose, x_mm, y_mm, within_mm)
            if found is not None and (best is None or found[0] < best[0]):
                best = found
        return best[1] if best else None
