"""What is asked of nesting, and the sheet plans it answers with.

Coordinates: a sheet's lower left corner is 0, 0; x runs along the grain. A
placement's pose acts on the panel as drawn (mirror, turn about the drawing's
origin, move).
"""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass
from enum import Enum

from lasernest.domain.contours import Contour, Pose
from lasernest.domain.panels import Panel
from lasernest.errors import BadValueError


class Turns(Enum):
    """The turns a panel may be given on a sheet."""

    NONE = "as drawn"
    HALF = "half turns"
    """0 and 180 degrees: keeps the grain."""
    QUARTER = "quarter turns"
    FREE = "any angle"

    @property
    def angles_deg(self) -> tuple[float, ...]:
        """The angles to try; for FREE the quarter turns to start from."""
        if self is Turns.NONE:
            return (0.0,)
        if self is Turns.HALF:
            return (0.0, 180.0)
        return (0.0, 90.0, 180.0, 270.0)


@dataclass(frozen=True, slots=True)
class PanelOrder:
    """A panel and how many copies of it are wanted."""

    panel: Panel
    quantity: int = 1
    turns: Turns = Turns.QUARTER
    may_mirror: bool = False

    def __post_init__(self) -> None:
        if self.quantity < 0:
            raise BadValueError(
                f"{self.quantity} copies of {self.panel.name} cannot be made",
                todo="Give a quantity of zero or more.",
            )


@dataclass(frozen=True, slots=True)
class Sheet:
    """One kind of sheet or offcut to arrange panels on."""

    width_mm: float
    height_mm: float
    margin_mm: float = 5.0
    """Kept free along every edge, from the finished panel."""
    outline: Contour | None = None
    """Shape of an offcut within 0..width, 0..height; None for a full rectangle."""
    holes: tuple[Contour, ...] = ()
    """Cut-away places, clamps and defects that panels must keep the margin from."""
    available: int | None = None
    """How many there are; None for as many as it takes."""
    price: float | None = None
    label: str = ""
    is_offcut: bool = False

    def __post_init__(self) -> None:
        if not (
            math.isfinite(self.width_mm)
            and math.isfinite(self.height_mm)
            and self.width_mm > 0
            and self.height_mm > 0
        ):
            raise BadValueError(f"a sheet of {self.width_mm:g} x {self.height_mm:g} mm cannot be")
        if not (math.isfinite(self.margin_mm) and self.margin_mm >= 0):
            raise BadValueError(
                f"a margin of {self.margin_mm:g} mm cannot be", todo="Give zero or more."
            )

    @property
    def area_mm2(self) -> float:
        full_mm2 = self.width_mm * self.height_mm
        gross_mm2 = self.outline.area_mm2 if self.outline is not None else full_mm2
        return gross_mm2 - sum(hole.area_mm2 for hole in self.holes)


@dataclass(frozen=True, slots=True)
class NestRequest:
    """Everything nesting needs to know."""

    orders: tuple[PanelOrder, ...]
    sheets: tuple[Sheet, ...]
    """Kinds of sheet in the order of preference."""
    gap_mm: float = 2.0
    """Least distance between finished panels."""

    def __post_init__(self) -> None:
        if not (math.isfinite(self.gap_mm) and self.gap_mm >= 0):
            raise BadValueError(f"a gap of {self.gap_mm:g} mm cannot be", todo="Give zero or more.")
        if not self.sheets:
            raise BadValueError("there is no sheet to arrange panels on", todo="Choose a stock.")
        repeated = [name for name, n in Counter(o.panel.name for o in self.orders).items() if n > 1]
        if repeated:
            raise BadValueError(f"two panels are called {repeated[0]}", todo="Rename one of them.")

    @property
    def panel_count(self) -> int:
        return sum(order.quantity for order in self.orders)


@dataclass(frozen=True, slots=True)
class Placement:
    """One copy of a panel on a sheet; copies count from 1."""

    panel_name: str
    copy: int
    pose: Pose
    pinned: bool = False
    """The maker wants it to stay where it is when the rest is arranged again."""


@dataclass(frozen=True, slots=True)
class SheetPlan:
    """Panels arranged on one sheet."""

    sheet: Sheet
    placements: tuple[Placement, ...]
    locked: bool = False
    """The maker wants the whole sheet to stay as it is."""


@dataclass(frozen=True, slots=True)
class Unplaced:
    """Copies of a panel that no sheet could take, and why."""

    panel_name: str
    count: int
    reason: str


@dataclass(frozen=True, slots=True)
class SearchPoint:
    """One entry of the search log: when the best plan got better."""

    seconds: float
    sheets: int
    used_length_mm: float


@dataclass(frozen=True, slots=True)
class Plan:
    """An arrangement of a whole request."""

    sheets: tuple[SheetPlan, ...]
    unplaced: tuple[Unplaced, ...] = ()
    evaluations: int = 0
    seconds: float = 0.0
    log: tuple[SearchPoint, ...] = ()

    @property
    def placed_count(self) -> int:
        return sum(len(sheet.placements) for sheet in self.sheets)
