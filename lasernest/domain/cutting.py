"""Cut paths: what the beam follows on one sheet, in the order it follows it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import Enum

from lasernest.domain.contours import Contour
from lasernest.domain.findings import counted
from lasernest.errors import BadValueError


class PathKind(Enum):
    """What the beam does along a path; the order is the order of work."""

    ENGRAVE = "engrave"
    SCORE = "score"
    CUT_INNER = "inner cut"
    CUT_OUTER = "outer cut"

    @property
    def is_cut(self) -> bool:
        return self in (PathKind.CUT_INNER, PathKind.CUT_OUTER)


@dataclass(frozen=True, slots=True)
class CutPath:
    """One run of the beam, compensated for kerf, in sheet coordinates (mm)."""

    kind: PathKind
    path: Contour
    panel_name: str = ""
    copy: int = 1


@dataclass(frozen=True, slots=True)
class SheetCut:
    """All paths of one sheet in the order of work."""

    width_mm: float
    height_mm: float
    paths: tuple[CutPath, ...]
    outline: Contour | None = None
    """Shape of the sheet when it is not a full rectangle."""

    @property
    def cut_length_mm(self) -> float:
        """Length cut through, marks not counted."""
        return sum(p.path.length_mm for p in self.paths if p.kind.is_cut)

    @property
    def mark_length_mm(self) -> float:
        return sum(p.path.length_mm for p in self.paths if not p.kind.is_cut)

    @property
    def pierces(self) -> int:
        """Times the beam starts a cut."""
        return sum(1 for p in self.paths if p.kind.is_cut)


@dataclass(frozen=True, slots=True)
class LayerStyle:
    """How a kind of path is told to the machine's own program."""

    layer: str
    aci: int
    """Colour number of the DXF's indexed palette, for programs that know no other."""
    rgb: tuple[int, int, int]

    @property
    def hex(self) -> str:
        """The colour as `#rrggbb`."""
        return "#{:02x}{:02x}{:02x}".format(*self.rgb)


OKABE_ITO = {
    "black": (0, 0, 0),
    "orange": (230, 159, 0),
    "sky blue": (86, 180, 233),
    "green": (0, 158, 115),
    "yellow": (240, 228, 66),
    "blue": (0, 114, 178),
    "vermilion": (213, 94, 0),
    "purple": (204, 121, 167),
}
"""Colours told apart by colour-blind readers. Source: Okabe and Ito, Color Universal Design."""


class Corner(Enum):
    """The corner of the sheet that lies at 0, 0 in the machine's coordinates."""

    LOWER_LEFT = "lower left"
    LOWER_RIGHT = "lower right"
    UPPER_LEFT = "upper left"
    UPPER_RIGHT = "upper right"

    def offset_mm(self, width_mm: float, height_mm: float) -> tuple[float, float]:
        """How far sheet coordinates are moved so that this corner lies at 0, 0."""
        right = self in (Corner.LOWER_RIGHT, Corner.UPPER_RIGHT)
        upper = self in (Corner.UPPER_LEFT, Corner.UPPER_RIGHT)
        return (-width_mm if right else 0.0, -height_mm if upper else 0.0)


class MarkUse(Enum):
    """What a machine does with lines that are not cut through."""

    KEEP = "as drawn"
    ALL_SCORED = "all scored"
    ALL_ENGRAVED = "all engraved"
    LEFT_OUT = "left out"


class WorkOrder(Enum):
    """The order of cuts; marks always come first and holes before what holds them."""

    BY_PANEL = "panel by panel"
    """Each panel is finished before the next: short travel."""
    BY_KIND = "all inner cuts, then all outer ones"
    SPREAD_HEAT = "spread the heat"
    """Each cut far from the last ones: for acrylic, which bows when it gets hot in one place."""


@dataclass(frozen=True, slots=True)
class HoldingTabs:
    """Bridges that keep small panels from tipping between the bed's slats or cells.

    Source of the defaults: common practice, no source: 0.3 to 0.5 mm wide, two
    to four on a panel, for panels narrower than the bed's cell.
    """

    width_mm: float = 0.4
    """What stays uncut, after the beam has passed."""
    below_mm: float = 12.0
    """Panels whose shorter side is below this get tabs."""
    count: int = 2

    def __post_init__(self) -> None:
        if not 0.0 < self.width_mm <= 5.0:
            raise BadValueError(
                f"a tab {self.width_mm:g} mm wide cannot hold", todo="Give 0.1 to 5 mm."
            )
        if not 1 <= self.count <= 12:
            raise BadValueError(f"{self.count} tabs cannot be placed", todo="Give 1 to 12.")
        if not (math.isfinite(self.below_mm) and self.below_mm >= 0.0):
            raise BadValueError(f"a size of {self.below_mm:g} mm cannot be")


class NamePlace(Enum):
    """Where the names of panels are engraved."""

    NOWHERE = "nowhere"
    ON_PANELS = "on the panels"
    IN_HOLES = "in holes that fall out"


@dataclass(frozen=True, slots=True)
class CutChoices:
    """How a sheet is cut, beyond where its lines lie."""

    lead_mm: float = 0.0
    """Length of the way in from the pierce, on the waste side; 0 pierces on the line."""
    tabs: HoldingTabs | None = None
    order: WorkOrder = WorkOrder.BY_PANEL
    names: NamePlace = NamePlace.NOWHERE

    def __post_init__(self) -> None:
        if not (math.isfinite(self.lead_mm) and 0.0 <= self.lead_mm <= 20.0):
            raise BadValueError(
                f"a lead-in of {self.lead_mm:g} mm cannot be", todo="Give 0 to 20 mm."
            )


@dataclass(frozen=True, slots=True)
class MachineProfile:
    """Layer names and colours that one machine's program wants, and where its zero lies."""

    inner: LayerStyle = LayerStyle("CUT-INNER", 5, OKABE_ITO["blue"])
    outer: LayerStyle = LayerStyle("CUT-OUTER", 7, OKABE_ITO["black"])
    score: LayerStyle = LayerStyle("SCORE", 30, OKABE_ITO["orange"])
    engrave: LayerStyle = LayerStyle("ENGRAVE", 6, OKABE_ITO["purple"])
    sheet: LayerStyle = LayerStyle("SHEET", 3, OKABE_ITO["green"])
    origin: Corner = Corner.LOWER_LEFT
    marks: MarkUse = MarkUse.KEEP

    def style(self, kind: PathKind) -> LayerStyle:
        return {
            PathKind.ENGRAVE: self.engrave,
            PathKind.SCORE: self.score,
            PathKind.CUT_INNER: self.inner,
            PathKind.CUT_OUTER: self.outer,
        }[kind]

    def kind_of_colour(self, colour: str | None) -> PathKind | None:
        """The kind of path drawn in a colour such as `#0072b2`; None for other colours."""
        for kind in PathKind:
            if colour is not None and self.style(kind).hex.lower() == colour.lower():
                return kind
        return None

    def kind_of_layer(self, layer: str) -> PathKind | None:
        """The kind of path a layer of a cut file holds; None for the sheet and strangers."""
        for kind in PathKind:
            if self.style(kind).layer == layer:
                return kind
        return None


@dataclass(frozen=True, slots=True)
class JointProof:
    """What the beam leaves of one joint."""

    a: str
    b: str
    interference_mm: float
    worst_mm: float
    u_mm: float
    fit: str


@dataclass(frozen=True, slots=True)
class PanelProof:
    """What the beam leaves of one panel."""

    panel_name: str
    copy: int
    found: bool
    deviation_mm: float
    """Largest distance from the drawn contour, inner corner radii not counted."""
    corner_radius_mm: float = 0.0
    """What inner corners lose to the round beam: known and shown, not an error."""
    worst_at_mm: tuple[float, float] | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class Proof:
    """The simulated cut of one written file."""

    passed: bool
    panels_expected: int
    panels_found: int
    max_deviation_mm: float
    tolerance_mm: float
    panels: tuple[PanelProof, ...] = ()
    problems: tuple[str, ...] = ()
    """Sentences that say why it did not pass."""
    joints: tuple[JointProof, ...] = ()

    @property
    def found(self) -> str:
        """What was found, in words: `1 of 1 panel found, worst deviation 0.0010 mm`."""
        expected = counted(self.panels_expected, "panel", "panels")
        return (
            f"{self.panels_found} of {expected} found, "
            f"worst deviation {self.max_deviation_mm:.4f} mm"
        )
