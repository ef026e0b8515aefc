"""A drawing as read from a file, before its lines become panels.

Readers turn every entity into strokes of exact lines and arcs in millimetres
and say in findings what they left out; nothing is chained or judged here.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from pathlib import Path

from lasernest.domain.contours import Contour
from lasernest.domain.findings import Finding
from lasernest.domain.panels import Panel


class LineUse(Enum):
    """What a line of a drawing is for."""

    CUT = "cut"
    SCORE = "score"
    ENGRAVE = "engrave"
    IGNORE = "ignore"

    @property
    def words(self) -> str:
        """What a maker would say of it; the value is what files and options hold."""
        return "leave out" if self is LineUse.IGNORE else self.value


@dataclass(frozen=True, slots=True)
class Stroke:
    """One curve of a drawing: a closed ring or an open run, in mm, y up.

    `kind` is the entity's own name (`LINE`, `path`), `block` the block or group
    it was drawn in, `colour` a `#rrggbb` string where the file states one.
    """

    path: Contour
    layer: str = ""
    colour: str | None = None
    block: str | None = None
    kind: str = ""


@dataclass(frozen=True, slots=True)
class LayerInfo:
    """A layer of the drawing, and whether its file shows and prints it."""

    name: str
    visible: bool = True
    plotted: bool = True
    """False where the file shows it on the screen but never prints it."""


@dataclass(frozen=True, slots=True)
class Drawing:
    """What a reader found in one file."""

    path: Path
    format: str
    """Short name with version, such as `DXF R2000` or `SVG`."""
    unit: str
    """The unit the numbers were taken to be in, such as `mm` or `in`."""
    mm_per_unit: float
    strokes: tuple[Stroke, ...]
    layers: tuple[LayerInfo, ...] = ()
    findings: tuple[Finding, ...] = ()
    unit_stated: bool = True
    """False when the file names no unit and a default was taken."""


@dataclass(frozen=True, slots=True)
class LineKind:
    """The lines of one layer and colour of a drawing, and what they were taken for."""

    layer: str
    colour: str | None
    count: int
    use: LineUse
    hidden: bool = False
    """True on a layer that the file does not show, and that nobody asked for."""


@dataclass(frozen=True, slots=True)
class Outlines:
    """A drawing after its strokes became panels."""

    drawing: Drawing
    panels: tuple[Panel, ...]
    open_chains: int
    findings: tuple[Finding, ...]
    """The reader's findings and those of chaining and nesting, in that order."""
    loose: tuple[Contour, ...] = ()
    """Lines that were left out, to be shown: those on no panel, and outlines that stay open."""
    lines: tuple[LineKind, ...] = ()
    """All lines of the drawing by layer and colour, in reading order."""
