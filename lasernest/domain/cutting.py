"""Cut paths: what the beam follows on one sheet, in the order it follows it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from lasernest.domain.contours import Contour


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


@dataclass(frozen=True, slots=True)
class MachineProfile:
    """Layer names and colours that one machine's program wants."""

    inner: LayerStyle = LayerStyle("CUT-INNER", 5, OKABE_ITO["blue"])
    outer: LayerStyle = LayerStyle("CUT-OUTER", 7, OKABE_ITO["black"])
    score: LayerStyle = LayerStyle("SCORE", 30, OKABE_ITO["orange"])
    engrave: LayerStyle = LayerStyle("ENGRAVE", 6, OKABE_ITO["purple"])
    sheet: LayerStyle = LayerStyle("SHEET", 3, OKABE_ITO["green"])

    def style(self, kind: PathKind) -> LayerStyle:
        return {
            PathKind.ENGRAVE: self.engrave,
            PathKind.SCORE: self.score,
            PathKind.CUT_INNER: self.inner,
            PathKind.CUT_OUTER: self.outer,
        }[kind]

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
