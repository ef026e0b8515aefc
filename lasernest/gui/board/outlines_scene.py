"""All drawings of the job side by side, with their panels, marks and findings.

Every drawing keeps its own coordinates; the scene only sets one beside the
other on shelves, so that the whole is about as wide as the board.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from operator import is_
from typing import Any

from PySide6.QtCore import QPointF, QRectF, Qt, Signal
from PySide6.QtGui import QPainter, QTransform

from lasernest.domain.contours import Point
from lasernest.domain.panels import Panel
from lasernest.gui.board.begun_picture import MARGIN_PX
from lasernest.gui.board.dimensions import draw_dimensions, hole_sizes
from lasernest.gui.board.inks import (
    Ink,
    caption,
    fill_face,
    numbered_ring,
    severity_colour,
    stray_pen,
    stroke_outline,
    thin_pen,
)
from lasernest.gui.board.names import Names
from lasernest.gui.board.rings import Ring, gathered
from lasernest.gui.board.scene import MARKED_AT_ONCE, Scene
from lasernest.gui.board.shapes import contours_path
from lasernest.gui.board.sheet_scene import Placed
from lasernest.gui.board.shelves import DrawnFile, Laid, NumberedFinding, on_shelves
from lasernest.gui.board.snapping import snap_point
from lasernest.gui.board.view import View
from lasernest.gui.lengths import lengths
from lasernest.gui.look.theme import theme
from lasernest.gui.parts.entries import Entry
from lasernest.gui.words import tr


@dataclass(frozen=True, slots=True)
class PanelSpot:
    """A panel under the pointer."""

    name: str


@dataclass(frozen=True, slots=True)
class FindingSpot:
    """A finding's ring under the pointer."""

    number: int
    hidden: int = 0
    """Findings so near that they have no ring of their own."""


class OutlinesScene(Scene):
    """The drawings as they came in."""

    panel_clicked = Signal(str, bool)
    """Its name, empty beside all panels; True to add it to those chosen, or take it out."""
    finding_clicked = Signal(int)

    def __init__(self) -> None:
        super().__init__()
        self._files: tuple[DrawnFile, ...] = ()
        self._laid: list[Laid] = []
        self._whole = QRectF()
        self._sized: tuple[Panel, bool, list[tuple[str, Point]]] | None = None
        """Whose holes were measured last, in which unit, and their sizes."""
        self._names = Names()
        self._chosen: frozenset[str] = frozenset()
        self.entries_for: Callable[[], Sequence[Entry]] = tuple
        """What the context menu offers for the chosen panels."""
        self._hovered: Any = None
        self._finding = 0
        self._title = ("", "")
        self._about = ""

    def show_files(self, files: Sequence[DrawnFile], *, left: str = "", right: str = "") -> None:
        """Show these drawings."""
        self._title = (left, right)
        if len(files) == len(self._files) and all(map(_are_same, files, self._files)):
            self.changed.emit()
            return
        names = [f.name for f in self._files]
        self._files = tuple(files)
        self._laid = on_shelves(files)
        self._whole = QRectF()
        for laid in self._laid:
            self._whole = self._whole.united(laid.area)
        if names != [f.name for f in files]:
            self.bounds_changed.emit()
        self.changed.emit()

    def choose(self, panel_names: Iterable[str]) -> None:
        """Mark panels."""
        before, self._chosen = self._chosen, frozenset(panel_names)
        self._about = ""
        if before != self._chosen and max(len(before), len(self._chosen)) > MARKED_AT_ONCE:
            self.changed.emit()
        self.over_changed.emit()
        self.caption_changed.emit()

    def tell_about(self, about: str) -> None:
        """Say something about the chosen panels at the board's top."""
        self._about = about
        self.caption_changed.emit()

    def choose_finding(self, number: int) -> None:
        """Mark a finding; 0 for none."""
        self._finding = number
        self.over_changed.emit()

    def place_of_finding(self, number: int) -> tuple[float, float] | None:
        """Where a finding's ring is on the board."""
        for laid, at, numbered in self._rings():
            if numbered.number == number:
                return (at.x() + laid.dx_mm, at.y() + laid.dy_mm)
        return None

    def place_of_panel(self, name: str) -> QRectF:
        """The box of a panel on the board; null when it is not shown."""
        for placed in self.all_placed():
            if placed.key[0] == name:
                return placed.bounds
        return QRectF()

    def all_placed(self) -> Iterator[Placed]:
        """All panels where they lie on the board."""
        for laid in self._laid:
            yield from laid.each_placed()

    def _rings(self) -> Iterator[tuple[Laid, QPointF, NumberedFinding]]:
        for laid in self._laid:
            if not laid.drawn.findings:
                continue
            boxes = {p.panel.name: p for p in (x.picture for x in laid.placed)}
            for numbered in laid.drawn.findings:
                finding = numbered.finding
                if finding.where_mm is not None:
                    yield laid, QPointF(*finding.where_mm), numbered
                elif finding.panel in boxes:
                    yield laid, boxes[finding.panel].bounds.center(), numbered

    # --- drawing ---------------------------------------------------------------------

    def bounds_mm(self) -> QRectF:
        return self._whole

    def headroom_px(self) -> float:
        return float(theme.pixels(16))  # numbers of findings and dimensions stand above the panels

    def padding_px(self) -> float:
        return 10.0 + theme.pixels(18)  # the drawing's name stands below it

    def caption(self) -> tuple[str, str]:
        return self._title[0], self._about or self._title[1]

    def draw(self, painter: QPainter, view: View, visible_mm: QRectF) -> Iterator[None]:
        ink = Ink()
        to_px = view.transform()
        for laid in self._laid:
            if not laid.area.adjusted(-50, -50, 50, 50).intersects(visible_mm):
                continue
            if laid.drawn.loose:
                painter.setTransform(QTransform.fromTranslate(laid.dx_mm, laid.dy_mm) * to_px)
                painter.strokePath(contours_path(laid.drawn.loose), stray_pen())
                yield
            for placed in laid.each_placed():
                if placed.bounds.intersects(visible_mm):
                    painter.setTransform(placed.transform * to_px)
                    seen = placed.on_drawing(visible_mm)
                    yield from ink.panel_in_steps(
                        painter, placed.picture, scale=view.scale, visible=seen
                    )
                    yield
        painter.resetTransform()
        # Names are shortened where the board ends. Its picture reaches beyond it; one that is
        # saved does not, and there is room in it beside the drawings.
        edge_px = view.rect_to_screen(visible_mm).right() - MARGIN_PX - 4
        edge_px = max(edge_px, view.rect_to_screen(self._whole).right() + 20)
        for laid in self._laid:
            line = None if laid.drawn.is_made_here else self.name_px(laid, view)
            if line is not None and line.left() + theme.pixels(48) < edge_px:
                line.setRight(min(line.right(), edge_px))
                caption(painter, line, laid.drawn.name)
            for placed in laid.each_placed():
                if placed.bounds.intersects(visible_mm):
                    self._names.draw(painter, placed, view, self.taken_px(placed, view))
                    yield
        if len(self._chosen) > MARKED_AT_ONCE:
            for placed in self.all_placed():
                if placed.key[0] in self._chosen and placed.bounds.intersects(visible_mm):
                    self._mark(painter, placed, to_px)
                    yield
            painter.resetTransform()

    @staticmethod
    def name_px(laid: Laid, view: View) -> QRectF | None:
        """Where on the screen a drawing's name stands; None where it would meet another drawing."""
        area = view.rect_to_screen(laid.area)
        wide, high = (room * view.scale for room in laid.room_mm)
        line = QRectF(area.left(), area.bottom() + 4, min(wide - 8, 480.0), theme.pixels(18))
        return line if line.height() + 4 <= high and line.width() >= theme.pixels(48) else None

    def taken_px(self, placed: Placed, view: View) -> Sequence[QRectF]:
        """Where on the screen a panel's name must leave room."""
        return ()

    def _mark(self, painter: QPainter, placed: Placed, to_px: QTransform) -> None:
        """A chosen panel is tinted, and drawn round like one under the pointer."""
        painter.setTransform(placed.transform * to_px)
        if placed.key[0] in self._chosen:
            fill_face(painter, placed.picture, theme.colour("accent", 0.14))
        stroke_outline(painter, placed.picture, thin_pen(theme.colour("accent"), 2.2))

    def draw_over(self, painter: QPainter, view: View) -> None:
        to_px = view.transform()
        marked = self._chosen if len(self._chosen) <= MARKED_AT_ONCE else frozenset[str]()
        if isinstance(self._hovered, PanelSpot) and self._hovered.name:
            marked |= {self._hovered.name}
        if marked:
            for placed in self.all_placed():
                if placed.key[0] in marked:
                    self._mark(painter, placed, to_px)
            painter.resetTransform()
        self.draw_rings(painter, view)
        if len(self._chosen) == 1:
            self._draw_sizes(painter, view)

    def _draw_sizes(self, painter: QPainter, view: View) -> None:
        """The dimensions of the one chosen panel."""
        (name,) = self._chosen
        placed = next((p for p in self.all_placed() if p.key[0] == name), None)
        if placed is None:
            return
        panel, pose = placed.picture.panel, placed.pose
        box_mm = placed.picture.bounds.translated(pose.x_mm, pose.y_mm)
        if self._sized is None or self._sized[0] is not panel or self._sized[1] != lengths.inches:
            # A perforated plate has thousands, and this is drawn at each move of the pointer.
            self._sized = (panel, lengths.inches, hole_sizes(panel.inner))
        holes = [(text, pose.apply(*at)) for text, at in self._sized[2]]
        draw_dimensions(painter, view, box_mm, holes)

    def draw_rings(self, painter: QPainter, view: View) -> None:
        """Number the places of the findings."""
        said = {numbered.number: numbered.finding for _, _, numbered in self._rings()}
        for ring in self._rings_apart(view):
            finding = said[ring.number]
            numbered_ring(
                painter,
                ring.at,
                ring.label,
                severity_colour(finding.severity, mended=finding.mended),
                chosen=ring.number == self._finding,
            )

    def _rings_apart(self, view: View) -> list[Ring]:
        spots = (
            (view.to_screen(at.x() + laid.dx_mm, at.y() + laid.dy_mm), numbered.number)
            for laid, at, numbered in self._rings()
        )
        return gathered(spots, chosen=self._finding)

    # --- pointer ---------------------------------------------------------------------

    def thing_at(self, x_mm: float, y_mm: float, view: View) -> Any:
        ring = self.ring_at(x_mm, y_mm, view)
        if ring is not None:
            return ring
        best: Placed | None = None
        for placed in self.all_placed():
            if placed.holds(x_mm, y_mm):
                best = placed
        return PanelSpot(best.key[0]) if best is not None else None

    def ring_at(self, x_mm: float, y_mm: float, view: View) -> FindingSpot | None:
        """The finding whose ring is under a point."""
        at = view.to_screen(x_mm, y_mm)
        for ring in self._rings_apart(view):
            if ring.is_under(at):
                return FindingSpot(ring.number, ring.hidden)
        return None

    def tip(self, thing: Any) -> str:
        if isinstance(thing, FindingSpot):
            for _, _, numbered in self._rings():
                if numbered.number == thing.number:
                    said = f"{numbered.finding.message} {numbered.finding.todo}".strip()
                    more = tr("+ {count} more here: zoom in.", count=thing.hidden)
                    return "\n".join([lengths.retold(said), *([more] if thing.hidden else [])])
        return ""

    def hover(self, thing: Any) -> None:
        self._hovered = thing
        self.over_changed.emit()

    def click(self, thing: Any, modifiers: Qt.KeyboardModifier) -> None:
        if isinstance(thing, FindingSpot):
            self.finding_clicked.emit(thing.number)
        else:
            name = thing.name if isinstance(thing, PanelSpot) else ""
            self.panel_clicked.emit(name, bool(modifiers & Qt.KeyboardModifier.ControlModifier))

    def menu(self, thing: Any) -> Sequence[Entry]:
        if isinstance(thing, PanelSpot) and thing.name not in self._chosen:
            self.panel_clicked.emit(thing.name, False)
        return self.entries_for()

    def snap(self, x_mm: float, y_mm: float, within_mm: float) -> tuple[float, float] | None:
        best: tuple[float, tuple[float, float]] | None = None
        for placed in self.all_placed():
            reach = placed.bounds.adjusted(-within_mm, -within_mm, within_mm, within_mm)
            if not reach.contains(x_mm, y_mm):
                continue
            found = snap_point(placed.picture.segments, placed.pose, x_mm, y_mm, within_mm)
            if found is not None and (best is None or found[0] < best[0]):
                best = found
        return best[1] if best else None


def _are_same(one: DrawnFile, other: DrawnFile) -> bool:
    """Whether nothing changed; equal panels are not compared, a thousand take 0.05 s."""
    if (one.name, one.findings) != (other.name, other.findings):
        return False
    lines, others = (*one.panels, *one.loose), (*other.panels, *other.loose)
    return len(lines) == len(others) and all(map(is_, lines, others))
