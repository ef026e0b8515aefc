"""All drawings of the job side by side, with their panels, marks and findings.

Every drawing keeps its own coordinates; the scene only sets one beside the
other on shelves, so that the whole is about as wide as the board.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from operator import is_, is_not
from typing import Any

from PySide6.QtCore import QPointF, QRectF, Qt, Signal
from PySide6.QtGui import QPainter, QTransform

from lasernest.domain.contours import Contour, Pose
from lasernest.domain.findings import Finding
from lasernest.domain.panels import Panel
from lasernest.gui.board.dimensions import draw_dimensions, hole_sizes
from lasernest.gui.board.inks import (
    Ink,
    caption,
    numbered_ring,
    severity_colour,
    stray_pen,
    thin_pen,
)
from lasernest.gui.board.names import Names
from lasernest.gui.board.rings import Ring, gathered
from lasernest.gui.board.scene import MARKED_AT_ONCE, Scene
from lasernest.gui.board.shapes import PanelPicture, box, contours_path, pictures
from lasernest.gui.board.sheet_scene import Placed
from lasernest.gui.board.snapping import snap_point
from lasernest.gui.board.view import View
from lasernest.gui.lengths import lengths
from lasernest.gui.look.theme import theme
from lasernest.gui.parts.entries import Entry
from lasernest.gui.words import tr

_NAME_SHARE = 0.045
"""Room for a line of text, as a share of the width of the whole."""
_WIDE = 1.7
"""Width over height that the shelves aim at."""
_WIDENINGS = 4
_Box = tuple[float, float, float, float]
"""Left, top, width and height."""


@dataclass(frozen=True, slots=True)
class NumberedFinding:
    """A finding with the number it has in the card's list."""

    number: int
    finding: Finding
    file: str = ""
    """Name of the drawing it speaks of."""


@dataclass(frozen=True, slots=True)
class DrawnFile:
    """What one drawing brings to the scene."""

    name: str
    panels: tuple[Panel, ...]
    loose: tuple[Contour, ...] = ()
    """Lines that belong to no panel, and outlines that do not close."""
    findings: tuple[NumberedFinding, ...] = ()


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


@dataclass(slots=True)
class Laid:
    """A drawing with its place on the shelves."""

    drawn: DrawnFile
    bounds: QRectF
    """In the drawing's own coordinates."""
    dx_mm: float = 0.0
    dy_mm: float = 0.0
    _panels: tuple[Panel, ...] = ()
    _placed: list[Placed] = field(default_factory=list)

    @property
    def area(self) -> QRectF:
        return self.bounds.translated(self.dx_mm, self.dy_mm)

    @property
    def placed(self) -> list[Placed]:
        """Its panels on the board, all of them."""
        return list(self.each_placed())

    def each_placed(self) -> Iterator[Placed]:
        """Its panels on the board, each made when it is first looked at."""
        placed = self._placed
        for i, panel in enumerate(self._panels or self.drawn.panels):
            if i == len(placed):
                placed.append(placed_at(pictures.of(panel), self.dx_mm, self.dy_mm))
            yield placed[i]

    def shape(self, panels: tuple[Panel, ...]) -> None:
        """Show its panels in another shape."""
        if any(map(is_not, panels, self._panels or self.drawn.panels)):
            self._panels, self._placed = panels, []


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
        self._laid = _on_shelves(files)
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
        return 16.0  # numbers of findings and dimensions stand above the panels

    def padding_px(self) -> float:
        return 28.0  # the drawing's name stands below it

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
                    ink.panel(painter, placed.picture, scale=view.scale)
                    yield
        painter.resetTransform()
        written = QRectF()
        for laid in self._laid:
            area = view.rect_to_screen(laid.area)
            line = QRectF(area.left(), area.bottom() + 6, max(area.width(), 60.0), 18)
            if not line.intersects(written):
                caption(painter, line, laid.drawn.name)
                written = line
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

    def taken_px(self, placed: Placed, view: View) -> Sequence[QRectF]:
        """Where on the screen a panel's name must leave room."""
        return ()

    def _mark(self, painter: QPainter, placed: Placed, to_px: QTransform) -> None:
        """A chosen panel is tinted, and drawn round like one under the pointer."""
        painter.setTransform(placed.transform * to_px)
        if placed.key[0] in self._chosen:
            painter.fillPath(placed.picture.face, theme.colour("accent", 0.14))
        painter.strokePath(placed.picture.outer, thin_pen(theme.colour("accent"), 2.2))

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
        x0, y0, x1, y1 = panel.outer.bounds_mm()
        box_mm = QRectF(x0 + pose.x_mm, y0 + pose.y_mm, x1 - x0, y1 - y0)
        holes = [(text, pose.apply(*at)) for text, at in hole_sizes(panel.inner)]
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
                    more = tr("+ {count} more here: come nearer.", count=thing.hidden)
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
            panel = placed.picture.panel
            found = snap_point(panel.contours, placed.pose, x_mm, y_mm, within_mm)
            if found is not None and (best is None or found[0] < best[0]):
                best = found
        return best[1] if best else None


def _are_same(one: DrawnFile, other: DrawnFile) -> bool:
    """Whether nothing changed; equal panels are not compared, a thousand take 0.05 s."""
    if (one.name, one.findings) != (other.name, other.findings):
        return False
    lines, others = (*one.panels, *one.loose), (*other.panels, *other.loose)
    return len(lines) == len(others) and all(map(is_, lines, others))


def _on_shelves(files: Sequence[DrawnFile]) -> list[Laid]:
    """Set the drawings on shelves, in order, so that the whole is about as wide as a board."""
    laid = [Laid(f, _bounds(f)) for f in files]
    laid = [item for item in laid if item.bounds.isValid()]
    if not laid:
        return []
    bounds = [item.bounds for item in laid]
    boxes = [(b.left(), b.top(), b.width(), b.height()) for b in bounds]
    largest = max(max(w, h) for _, _, w, h in boxes)
    area = sum((w + 0.1 * largest) * (h + 0.1 * largest) for _, _, w, h in boxes)
    width = max((_WIDE * area) ** 0.5, *(w for _, _, w, _ in boxes))
    for _ in range(_WIDENINGS):
        floor = _shelved(laid, boxes, width, largest)
        if width >= -floor * _WIDE:
            break
        width = (width * -floor * _WIDE) ** 0.5
    for item in laid:
        # The lower left corner of the whole is 0, 0, as on a sheet; a single
        # drawing keeps its own coordinates.
        item.dy_mm -= floor
        if len(laid) == 1:
            item.dx_mm = item.dy_mm = 0.0
    return laid


def _shelved(laid: Sequence[Laid], boxes: Sequence[_Box], width: float, largest: float) -> float:
    """Set drawings beside each other on shelves; the lower end of the last shelf."""
    # The names below the drawings have a fixed size on the screen.
    gap = max(0.06 * largest, _NAME_SHARE * width)
    x = y = shelf = 0.0
    for item, (left, top, wide, high) in zip(laid, boxes, strict=True):
        if x > 0.0 and x + wide > width:
            x, y, shelf = 0.0, y - shelf - gap, 0.0
        item.dx_mm = x - left
        item.dy_mm = y - high - top
        x += wide + gap
        shelf = max(shelf, high)
    return y - shelf


def placed_at(picture: PanelPicture, dx_mm: float, dy_mm: float) -> Placed:
    """A panel beside the others, as it was drawn."""
    return Placed(
        (picture.panel.name, 1),
        picture.panel.name,
        picture,
        Pose(dx_mm, dy_mm),
        QTransform.fromTranslate(dx_mm, dy_mm),
        picture.bounds.translated(dx_mm, dy_mm),
    )


def _bounds(drawn: DrawnFile) -> QRectF:
    boxes = [pictures.of(panel).bounds for panel in drawn.panels]
    whole = QRectF(boxes[0]) if boxes else QRectF()
    for bounds in boxes[1:]:
        whole = whole.united(bounds)
    for contour in drawn.loose:
        flat = box(contour.bounds_mm())
        # A straight line has no area, and a null rectangle would be left out.
        whole = whole.united(flat.adjusted(-0.5, -0.5, 0.5, 0.5))
    for numbered in drawn.findings:
        if numbered.finding.where_mm is not None:
            x, y = numbered.finding.where_mm
            whole = whole.united(QRectF(x - 0.5, y - 0.5, 1.0, 1.0))
    return whole
