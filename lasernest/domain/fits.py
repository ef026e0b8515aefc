"""How tight laser-cut joints may be, by family of material.

All ranges are common practice without a source: starting values that a comb
replaces. Interference is finger minus gap after cutting; positive is tight.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import Enum

from lasernest.domain.stock import Fit

Range = tuple[float, float]
"""From, to, in mm of interference."""


class Family(Enum):
    """Materials that behave alike when panels are pressed together."""

    CAST_ACRYLIC = "cast acrylic"
    EXTRUDED_ACRYLIC = "extruded acrylic"
    PLYWOOD = "plywood"
    MDF = "MDF"
    CARD = "card"
    OTHER = "other"

    @property
    def is_acrylic(self) -> bool:
        return self in (Family.CAST_ACRYLIC, Family.EXTRUDED_ACRYLIC)

    @property
    def is_wooden(self) -> bool:
        """Comes out of the machine with soot on it."""
        return self in (Family.PLYWOOD, Family.MDF)


_FAMILIES = (
    (r"extruded.*(?:acryl|pmma)|(?:acryl|pmma).*extruded", Family.EXTRUDED_ACRYLIC),
    (r"acryl|pmma|plexi", Family.CAST_ACRYLIC),
    (r"\b(?:mdf|hdf|hardboard|fibreboard|fiberboard)\b", Family.MDF),
    (r"card|greyboard|grayboard|paper|\bboard\b", Family.CARD),
    (r"ply|birch|poplar|wood|veneer|bamboo|basswood|\bfir\b|\boak\b", Family.PLYWOOD),
)


def family_of(material: str) -> Family:
    """The family a material's name speaks of; OTHER when it tells nothing."""
    lowered = material.lower()
    for pattern, family in _FAMILIES:
        if re.search(pattern, lowered):
            return family
    return Family.OTHER


@dataclass(frozen=True, slots=True)
class FitRanges:
    """Interference that each fit starts from, in mm."""

    slip: Range
    push: Range
    press: Range | None
    """None: this material does not take a press fit."""
    most_mm: float
    """Never exceed."""
    reason: str
    start_press_mm: float
    """Where a press fit starts before anything was measured."""

    def range_of(self, fit: Fit) -> Range:
        """The range of a fit; a press fit that cannot be had is a push fit."""
        if fit is Fit.SLIP:
            return self.slip
        if fit is Fit.PUSH or self.press is None:
            return self.push
        return self.press

    def start_mm(self, fit: Fit) -> float:
        """The starting interference of a fit."""
        if fit is Fit.PRESS:
            return self.start_press_mm
        low, high = self.range_of(fit)
        return 0.5 * (low + high)

    def fit_of(self, interference_mm: float) -> Fit | None:
        """The fit an interference gives, or None when it is loose or too tight.

        Between two ranges the nearer one counts, of two that overlap the tighter.
        """
        # A thousandth of a millimetre is far below what can be measured.
        interference_mm = round(interference_mm, 3)
        if interference_mm > self.most_mm + 1e-9 or interference_mm < self.slip[0] - 0.05:
            return None
        fits = [
            f
            for f in (Fit.PRESS, Fit.PUSH, Fit.SLIP)
            if f is not Fit.PRESS or self.press is not None
        ]
        return min(fits, key=lambda f: _distance_mm(interference_mm, self.range_of(f)))


def _distance_mm(value_mm: float, span: Range) -> float:
    return max(span[0] - value_mm, value_mm - span[1], 0.0)


_BRITTLE = "acrylic is brittle and cracks"
FIT_RANGES: dict[Family, FitRanges] = {
    Family.CAST_ACRYLIC: FitRanges(
        (-0.15, -0.05), (-0.05, 0.0), (0.0, 0.03), 0.05, _BRITTLE, start_press_mm=0.0
    ),
    Family.EXTRUDED_ACRYLIC: FitRanges(
        (-0.18, -0.08), (-0.08, -0.03), None, 0.0, _BRITTLE, start_press_mm=-0.05
    ),
    Family.PLYWOOD: FitRanges(
        (-0.10, -0.05), (0.0, 0.05), (0.05, 0.15), 0.20, "the fingers split", start_press_mm=0.05
    ),
    Family.MDF: FitRanges(
        (-0.10, -0.05), (0.0, 0.05), (0.03, 0.10), 0.15, "its edge delaminates", start_press_mm=0.03
    ),
    Family.CARD: FitRanges(
        (-0.05, 0.0), (0.05, 0.2), (0.1, 0.5), 0.5, "the edge crumples", start_press_mm=0.1
    ),
    Family.OTHER: FitRanges(
        (-0.10, -0.05), (-0.05, 0.05), (0.0, 0.15), 0.15, "nothing is known of it",
        start_press_mm=0.0,
    ),
}  # fmt: skip
