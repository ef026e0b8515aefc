"""All panels with their edges to pick, the joints they have, and proposals.

The pointer picks the straight edge under it, or a line on a face where a slot
or nut joint asks for one. Keys do the same: up and down (or Tab) go through the
panels, left and right through the edges, Enter picks, Esc lets go.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import lru_cache
from typing import Any

from PySide6.QtCore import QPointF, QRectF, Qt, Signal
from PySide6.QtGui import QFontMetricsF, QKeyEvent, QPainter

from lasernest.domain.contours import Point
from lasernest.domain.joints import PanelLine
from lasernest.domain.panels import Panel
from lasernest.gui.board.inks import fill_face, thin_pen
from lasernest.gui.board.outlines_scene import FindingSpot, OutlinesScene
from lasernest.gui.board.sheet_scene import Placed
from lasernest.gui.board.shelves import DrawnFile
from lasernest.gui.board.view import View
from lasernest.gui.joining.edge_spots import (
    EdgeSpot,
    FaceSpot,
    MarkedPair,
    TagPlaces,
    TagSpot,
    draw_tag,
)
from lasernest.gui.joining.key_walk import KeyWalk
from lasernest.gui.lengths import lengths
from lasernest.gui.look.theme import TextSize, theme
from lasernest.gui.words import tr
from lasernest.joints.edges import StraightEdge, straight_edges

_REACH_PX = 9.0
_TAG_FROM_PX = 26.0
"""Edges shorter than this on the canvas carry no tag unless they are chosen."""
SAME_LENGTH_MM = 0.05


LineAt = Callable[[str, Point], PanelLine | None]
"""The line on a face that a point means; None where there can be none."""


class EdgeScene(OutlinesScene):
    """Panels with edges."""

    edge_picked = Signal(object)
    """An `EdgeSpot`."""
    line_picked = Signal(object)
    """A `PanelLine` on a face."""
    joint_clicked = Signal(int)
    proposal_clicked = Signal(int)
    let_go = Signal()
    hint_changed = Signal()

    def __init__(self) -> None:
        super().__init__()
        self._drawn: dict[str, Panel] = {}
        self._edges: dict[int, tuple[Panel, tuple[StraightEdge, ...]]] = {}
        self._joints: tuple[MarkedPair, ...] = ()
        self._proposals: tuple[MarkedPair, ...] = ()
        self._chosen_joint: int | None = None
        self.first: EdgeSpot | None = None
        """The edge picked first."""
        self._line_at: LineAt | None = None
        self.face_line: PanelLine | None = None
        """The line that would be picked now."""
        self.walk = KeyWalk(self)
        self._shifts: dict[str, QPointF] = {}
        """By name of the panel: how far its drawing is moved on the board."""
        self._on_face: dict[PanelLine, bool] = {}
        self._tags: list[tuple[tuple[object, ...], object, TagPlaces]] = []
        """For the two views last asked for: the lasting picture is drawn in a wider one."""

    # --- what is shown ---------------------------------------------------------------

    def show_panels(
        self,
        files: Sequence[DrawnFile],
        shaped: Mapping[str, Panel],
    ) -> None:
        """Show drawings with their panels as they are shaped by joints."""
        self._drawn = {p.name: p for f in files for p in f.panels}
        left, right = self._title
        self.show_files(files, left=left, right=right)
        for laid in self._laid:
            laid.shape(tuple(shaped.get(drawn.name, drawn) for drawn in laid.drawn.panels))
        self._shifts = {
            drawn.name: QPointF(laid.dx_mm, laid.dy_mm)
            for laid in self._laid
            for drawn in laid.drawn.panels
        }
        self._on_face.clear()

    def set_caption(self, left: str, right: str) -> None:
        """Say something else at the top of the board."""
        if (left, right) != self._title:
            self._title = (left, right)
            self.caption_changed.emit()

    def show_joints(self, joints: Sequence[MarkedPair], chosen: int | None) -> None:
        """Tag the edges of these joints."""
        moved = self._joints != tuple(joints)
        self._joints, self._chosen_joint = tuple(joints), chosen
        self.over_changed.emit()
        if moved:
            self.changed.emit()  # names make room for tags

    def show_proposals(self, proposals: Sequence[MarkedPair]) -> None:
        """Show pairs that could be joined."""
        moved = self._proposals != tuple(proposals)
        self._proposals = tuple(proposals)
        self.over_changed.emit()
        if moved:
            self.changed.emit()

    def set_first(self, first: EdgeSpot | None, line_at: LineAt | None = None) -> None:
        """Hold the first edge; with `line_at` the second pick is a line on a face."""
        self.first, self._line_at = first, line_at
        self.face_line = None
        self.over_changed.emit()
        self.hint_changed.emit()

    @property
    def wants_face(self) -> bool:
        """True when a line on a face is to be picked now."""
        return self.first is not None and self._line_at is not None

    @property
    def hovered(self) -> Any:
        """What the pointer or the keys are at."""
        return self._hovered

    def edges_of(self, name: str) -> tuple[StraightEdge, ...]:
        """The straight edges of a panel as drawn, found once."""
        panel = self._drawn[name]
        known = self._edges.get(id(panel))
        if known is None:
            # The panel is kept with its edges, so an id cannot come back for another.
            known = self._edges[id(panel)] = (panel, straight_edges(panel))
        return known[1]

    def drawn(self, name: str) -> Panel:
        """A panel as drawn."""
        return self._drawn[name]

    def offset(self, name: str) -> QPointF | None:
        """How far a panel's drawing is moved on the board."""
        return self._shifts.get(name)

    def place_of_pair(self, pair: MarkedPair) -> QRectF:
        """The box around both lines of a pair."""
        box = QRectF()
        for line in (pair.a, pair.b):
            shift = self.offset(line.panel)
            if shift is not None:
                a, b = (QPointF(*p) + shift for p in (line.start, line.end))
                box = box.united(QRectF(a, b).normalized().adjusted(-1, -1, 1, 1))
        return box

    def line_for(self, name: str, at: Point) -> PanelLine | None:
        """The line on a face that a point means."""
        return self._line_at(name, at) if self._line_at is not None else None

    # --- drawing ---------------------------------------------------------------------

    def draw_over(self, painter: QPainter, view: View) -> None:
        for placed in self.all_placed():
            if placed.key[0] in self._chosen:
                painter.setTransform(placed.transform * view.transform())
                fill_face(painter, placed.picture, theme.colour("accent", 0.14))
                painter.resetTransform()
        self._draw_alike(painter, view)
        for i, pair in enumerate(self._proposals):
            hot = self._hovered == TagSpot(i, proposed=True)
            self._draw_pair(painter, view, pair, colour="accent", dashed=True, strong=hot)
        for i, pair in enumerate(self._joints):
            hot = i == self._chosen_joint or self._hovered == TagSpot(i)
            self._draw_pair(painter, view, pair, colour="good", dashed=False, strong=hot)
        if self.first is not None:
            self._draw_edge(painter, view, self.first.edge, 4.0, 1.0)
        if isinstance(self._hovered, EdgeSpot):
            self._draw_edge(painter, view, self._hovered.edge, 4.0, 0.75)
        if self.face_line is not None:
            self._stroke(painter, view, self.face_line, "accent", 3.0, dashed=True)
        self.draw_rings(painter, view)

    def _draw_alike(self, painter: QPainter, view: View) -> None:
        """Dot the edges as long as the first one: they are likely mates."""
        if self.first is None or self._line_at is not None:
            return
        wanted_mm = self.first.edge.length_mm
        for placed in self.all_placed():
            name = placed.key[0]
            if name == self.first.edge.panel:
                continue
            for edge in self.edges_of(name):
                if abs(edge.length_mm - wanted_mm) <= SAME_LENGTH_MM:
                    pen = thin_pen(theme.colour("accent", 0.9), 3.0)
                    pen.setCapStyle(Qt.PenCapStyle.RoundCap)
                    pen.setDashPattern([0.1, 2.2])
                    painter.setPen(pen)
                    painter.drawLine(*self._ends(view, edge))

    def _draw_edge(
        self, painter: QPainter, view: View, edge: StraightEdge, width: float, alpha: float
    ) -> None:
        pen = thin_pen(theme.colour("accent", alpha), width)
        pen.setCapStyle(Qt.PenCapStyle.RoundCap)
        painter.setPen(pen)
        painter.drawLine(*self._ends(view, edge))

    def _stroke(
        self,
        painter: QPainter,
        view: View,
        line: PanelLine,
        colour: str,
        width: float,
        *,
        dashed: bool,
    ) -> None:
        pen = thin_pen(theme.colour(colour), width)
        if dashed:
            pen.setDashPattern([3.0, 2.0])
        painter.setPen(pen)
        painter.drawLine(*self._ends(view, line))

    def _draw_pair(
        self,
        painter: QPainter,
        view: View,
        pair: MarkedPair,
        *,
        colour: str,
        dashed: bool,
        strong: bool,
    ) -> None:
        for line in (pair.a, pair.b):
            if self.offset(line.panel) is None:
                continue
            if strong or dashed:
                self._stroke(painter, view, line, colour, 3.0 if strong else 2.0, dashed=dashed)
            rect, clear = self._tag_places(view).of[pair.tag, line]
            if strong or clear:
                draw_tag(painter, rect, pair.tag, colour, strong)

    def taken_px(self, placed: Placed, view: View) -> Sequence[QRectF]:
        return self._tag_places(view).taken.get(placed.key[0], ())

    def _tag_places(self, view: View) -> TagPlaces:
        """Where tags stand; none over another, those of joints first."""
        key, shifts = (view, self._joints, self._proposals), self._shifts
        for known, known_shifts, places in self._tags:
            if known_shifts is shifts and known == key:
                return places
        found = TagPlaces()
        for pair in (*self._joints, *self._proposals):
            for line in (pair.a, pair.b):
                if self.offset(line.panel) is None:
                    continue
                a, b = self._ends(view, line)
                rect = self._tag_rect(pair, line, a, b)
                own = found.taken.setdefault(line.panel, [])
                large = (b - a).manhattanLength() >= _TAG_FROM_PX
                clear = large and not any(rect.intersects(other) for other in own)
                found.of[pair.tag, line] = rect, clear
                if clear:
                    own.append(rect)
        self._tags = [*self._tags[-1:], (key, shifts, found)]
        return found

    def _ends(self, view: View, line: StraightEdge | PanelLine) -> tuple[QPointF, QPointF]:
        shift = self.offset(line.panel) or QPointF()
        return (
            view.to_screen(line.start[0] + shift.x(), line.start[1] + shift.y()),
            view.to_screen(line.end[0] + shift.x(), line.end[1] + shift.y()),
        )

    def _tag_rect(self, pair: MarkedPair, line: PanelLine, a: QPointF, b: QPointF) -> QRectF:
        """The tag stands inside the panel, beside the middle of its edge or where a lap crosses.

        On a face it stands near the start of the line: the name is often in the middle.
        """
        width, height = _tag_size(pair.tag, theme.pixels(TextSize.SMALL.value))
        way = b - a
        size = max((way.x() ** 2 + way.y() ** 2) ** 0.5, 1e-6)
        # Left of travel is inside; on the screen y runs down.
        inward = QPointF(way.y(), -way.x()) / size
        middle = a + way * line.at_share + inward * (0.5 * height + 7.0)
        if self._is_on_face(line):
            middle = a + way * min(0.5, (height + 10.0) / size) + inward * (0.5 * width + 5.0)
        return QRectF(middle.x() - width / 2, middle.y() - height / 2, width, height)

    def _is_on_face(self, line: PanelLine) -> bool:
        known = self._on_face.get(line)
        if known is None:
            ends = {line.start, line.end}
            known = not any({e.start, e.end} == ends for e in self.edges_of(line.panel))
            self._on_face[line] = known
        return known

    # --- pointer ---------------------------------------------------------------------

    def thing_at(self, x_mm: float, y_mm: float, view: View) -> Any:
        ring = self.ring_at(x_mm, y_mm, view)
        if ring is not None:
            return ring
        if self.first is None:
            tag = self._tag_at(view.to_screen(x_mm, y_mm), view)
            if tag is not None:
                return tag
        if self.wants_face:
            return self._face_at(x_mm, y_mm)
        return self._edge_at(x_mm, y_mm, _REACH_PX / view.scale)

    def _tag_at(self, at: QPointF, view: View) -> TagSpot | None:
        of = self._tag_places(view).of
        for proposed, pairs in ((True, self._proposals), (False, self._joints)):
            for i, pair in enumerate(pairs):
                for line in (pair.a, pair.b):
                    rect, clear = of.get((pair.tag, line), (QRectF(), False))
                    if clear and rect.adjusted(-2, -2, 2, 2).contains(at):
                        return TagSpot(i, proposed)
        return None

    def _face_at(self, x_mm: float, y_mm: float) -> FaceSpot | None:
        assert self.first is not None
        for placed in self.all_placed():
            name = placed.key[0]
            if name != self.first.edge.panel and placed.holds(x_mm, y_mm):
                return FaceSpot(name, _on_drawing(placed, x_mm, y_mm))
        return None

    def _edge_at(self, x_mm: float, y_mm: float, reach_mm: float) -> EdgeSpot | None:
        best: tuple[float, EdgeSpot] | None = None
        taken = self.first.edge.panel if self.first is not None else ""
        for placed in self.all_placed():
            name = placed.key[0]
            near = placed.bounds.adjusted(-reach_mm, -reach_mm, reach_mm, reach_mm)
            if not near.contains(x_mm, y_mm):
                continue
            at = _on_drawing(placed, x_mm, y_mm)
            for edge in self.edges_of(name):
                far_mm = edge.distance_mm(at)
                if far_mm <= reach_mm and (best is None or far_mm < best[0]) and name != taken:
                    best = (far_mm, EdgeSpot(edge, _rounded(edge, at)))
        return best[1] if best else None

    def tip(self, thing: Any) -> str:
        if isinstance(thing, EdgeSpot):
            return f"{thing.edge.panel}, {lengths.text(thing.edge.length_mm)}"
        if isinstance(thing, TagSpot):
            pairs = self._proposals if thing.proposed else self._joints
            return pairs[thing.index].tip if thing.index < len(pairs) else ""
        return super().tip(thing)

    def hover(self, thing: Any) -> None:
        self._hovered = thing
        if isinstance(thing, FaceSpot):
            self.face_line = self.line_for(thing.panel, thing.at)
        else:
            self.face_line = None
        self.over_changed.emit()
        self.hint_changed.emit()

    def click(self, thing: Any, modifiers: Qt.KeyboardModifier) -> None:
        if isinstance(thing, FindingSpot):
            self.finding_clicked.emit(thing.number)
        elif isinstance(thing, TagSpot):
            signal = self.proposal_clicked if thing.proposed else self.joint_clicked
            signal.emit(thing.index)
        elif isinstance(thing, EdgeSpot):
            self.edge_picked.emit(thing)
        elif isinstance(thing, FaceSpot):
            line = self.line_for(thing.panel, thing.at)
            if line is not None:
                self.line_picked.emit(line)
        elif self.first is None:
            self.choose("")
            self.let_go.emit()

    # --- keys ------------------------------------------------------------------------

    def key(self, event: QKeyEvent) -> bool:
        return self.walk.key(event)

    def tab(self, *, forward: bool) -> bool:
        return self.walk.tab(forward=forward)


def _on_drawing(placed: Placed, x_mm: float, y_mm: float) -> Point:
    return (x_mm - placed.pose.x_mm, y_mm - placed.pose.y_mm)


def _rounded(edge: StraightEdge, at: Point) -> Point:
    """The foot of a point on the edge, so coarse that hovering along it is one thing."""
    station_mm = min(max(edge.station_mm(at), 0.0), edge.length_mm)
    return edge.point(round(station_mm, 1))


def hint(scene: EdgeScene) -> str:
    """What can be picked now, in one line."""
    if scene.first is None:
        if isinstance(scene.hovered, EdgeSpot):
            edge = scene.hovered.edge
            return tr(
                "{panel}, edge of {length}: press to pick it",
                panel=edge.panel,
                length=lengths.text(edge.length_mm),
            )
        return tr("Press an edge, then the one it meets")
    first = f"{scene.first.edge.panel}, {lengths.text(scene.first.edge.length_mm)}"
    if scene.wants_face:
        return tr("{edge}: now the face its tabs go through", edge=first)
    if isinstance(scene.hovered, EdgeSpot):
        mate = scene.hovered.edge
        return tr(
            "{edge} meets {mate}",
            edge=first,
            mate=f"{mate.panel}, {lengths.text(mate.length_mm)}",
        )
    return tr("{edge}: now its mate; dotted edges are as long", edge=first)


@lru_cache(maxsize=1000)
def _tag_size(tag: str, _pixels: int) -> tuple[float, float]:
    """Width and height of a tag, measured once for each size of text: frames ask for all."""
    metrics = QFontMetricsF(theme.font(TextSize.SMALL, strong=True))
    height = metrics.height() + 1.0
    return max(metrics.horizontalAdvance(tag) + 9.0, height), height
