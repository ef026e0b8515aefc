"""Picking on the board: the first edge, then its mate, and the joint they make."""

from __future__ import annotations

from PySide6.QtCore import QObject, Signal

from lasernest.domain.contours import Point
from lasernest.domain.joints import Joint, JointKind, PanelLine
from lasernest.domain.panels import Panel
from lasernest.errors import LasernestError
from lasernest.gui.desk import Desk
from lasernest.gui.joining.edge_scene import EdgeScene
from lasernest.gui.joining.edge_spots import EdgeSpot
from lasernest.gui.tiles import Step
from lasernest.gui.words import tr
from lasernest.services.commands import AddJoint
from lasernest.services.joint_making import ON_FACE, line_on_edge


class Picker(QObject):
    """What was picked so far on one board."""

    joined = Signal(int)
    """A joint was added, with its index."""

    def __init__(self, desk: Desk, scene: EdgeScene) -> None:
        super().__init__()
        self._desk = desk
        self._scene = scene
        self.kind = JointKind.FINGER
        """What the next pick makes."""
        scene.edge_picked.connect(self._pick_edge)
        scene.line_picked.connect(self._pick_line)

    def set_kind(self, kind: JointKind) -> None:
        """Let the next pick make another kind; a first edge is kept."""
        self.kind = kind
        self._hold(self._scene.first)

    def let_go(self) -> bool:
        """Forget the first edge; False when there was none."""
        if self._scene.first is None:
            return False
        self._hold(None)
        return True

    def forget_stale(self) -> None:
        """Forget a first edge whose panel is gone or drawn anew."""
        first = self._scene.first
        if first is None:
            return
        panel = next((p for p in self._desk.job.panels if p.name == first.edge.panel), None)
        if panel is None or first.edge not in self._scene.edges_of(panel.name):
            self._hold(None)

    def _hold(self, first: EdgeSpot | None) -> None:
        self._scene.set_first(first, self._line_at if self.kind in ON_FACE else None)

    def _pick_edge(self, spot: EdgeSpot) -> None:
        first = self._scene.first
        if first is None:
            self._hold(spot)
            self._scene.hover(None)
        else:
            self._add(first, line_on_edge(self._panel(spot), spot.edge, spot.at, self.kind))

    def _pick_line(self, line: PanelLine) -> None:
        first = self._scene.first
        if first is not None:
            self._add(first, line)

    def _add(self, first: EdgeSpot, second: PanelLine) -> None:
        a = line_on_edge(self._panel(first), first.edge, first.at, self.kind)
        self._hold(None)
        self._scene.hover(None)
        try:
            joint = Joint(a, second, self.kind)
        except LasernestError as error:
            self._desk.trouble(Step.JOINTS, tr("Joining"), error)
            return
        if self._desk.do(AddJoint(joint), Step.JOINTS):
            self.joined.emit(len(self._desk.job.joints) - 1)

    def _panel(self, spot: EdgeSpot) -> Panel:
        return self._scene.drawn(spot.edge.panel)

    def _line_at(self, name: str, at: Point) -> PanelLine | None:
        """The line on a face that the pointer means."""
        from lasernest.joints.faces import line_near  # noqa: PLC0415 - heavy

        first = self._scene.first
        if first is None or name == first.edge.panel:
            return None
        try:
            return line_near(self._scene.drawn(name), at, first.edge.length_mm)
        except LasernestError:
            return None  # over a hole: there is nothing to pick
