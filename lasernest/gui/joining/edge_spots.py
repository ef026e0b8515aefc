"""What lies under the pointer among panels and edges, and the tags that stand on them."""

from __future__ import annotations

from dataclasses import dataclass, field

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QPainter, QPen

from lasernest.domain.contours import Point
from lasernest.domain.joints import PanelLine
from lasernest.gui.look.theme import TextSize, theme
from lasernest.joints.edges import StraightEdge


@dataclass(frozen=True, slots=True)
class EdgeSpot:
    """A straight edge under the pointer."""

    edge: StraightEdge
    at: Point
    """The nearest point of the panel's drawing, to a tenth of a millimetre."""


@dataclass(frozen=True, slots=True)
class FaceSpot:
    """A place on a panel's face, where the tabs of another may go through."""

    panel: str
    at: Point


@dataclass(frozen=True, slots=True)
class TagSpot:
    """The tag of a joint (or of a proposal) under the pointer."""

    index: int
    proposed: bool = False


@dataclass(frozen=True, slots=True)
class MarkedPair:
    """Two lines that belong together on the board: a joint, or a proposal."""

    tag: str
    a: PanelLine
    b: PanelLine
    tip: str


@dataclass(frozen=True, slots=True)
class TagPlaces:
    """Where tags stand on the screen at one view."""

    of: dict[tuple[str, PanelLine], tuple[QRectF, bool]] = field(default_factory=dict)
    """By tag and line: its place, and whether it is free of other tags there."""
    taken: dict[str, list[QRectF]] = field(default_factory=dict)
    """By panel: the places of those that are free."""


def draw_tag(painter: QPainter, rect: QRectF, text: str, colour: str, strong: bool) -> None:
    """A number or letter in a small frame; filled when it is strong; in pixels."""
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    ink = theme.colour(colour)
    painter.setPen(QPen(ink, 1.2))
    painter.setBrush(ink if strong else theme.colour("card"))
    painter.drawRoundedRect(rect, 4.0, 4.0)
    painter.setFont(theme.font(TextSize.SMALL, strong=True))
    painter.setPen(theme.colour("card") if strong else ink)
    painter.drawText(rect, Qt.AlignmentFlag.AlignCenter, text)
    painter.restore()
