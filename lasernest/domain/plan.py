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


class Axis(Enum):
    """The directions of a sheet."""

    X = "x"
    """Along the grain and the machine's long axis."""
    Y = "y"


@dataclass(frozen=True, slots=True)
class PanelOrder:
    """A panel and how many copies of it are wanted."""

    panel: Panel
    quantity: int = 1
    turns: Turns = Turns.QUARTER
    may_mirror: bool = False
    turn_step_deg: float | None = None
    """Where any angle is allowed: only multiples of this one."""
    priority: int = 0
    """Where sheets are short, panels of a higher priority are placed first."""
    as_many_as_fit: bool = False
    """Besides the quantity: as many more as the sheets used have room for."""
    product: str = ""
    """What the panel is a part of; see `NestRequest.together`."""
    per_product: int = 0
    """Copies that go into one product; 0 for all of them."""

    def __post_init__(self) -> None:
        if self.quantity < 0 or self.per_product < 0:
            raise BadValueError(
                f"{min(self.quantity, self.per_product)} copies of {self.panel.name} "
                "cannot be made",
                todo="Give a quantity of zero or more.",
            )
        step_deg = self.turn_step_deg
        if step_deg is not None and not 1.0 <= step_deg <= 360.0:
            raise BadValueError(
                f"{self.panel.name} cannot be turned in steps of {step_deg:g} degrees",
                todo="Give a step from 1 to 360 degrees.",
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
    stock_name: str = ""
    """What it is a sheet of; empty: of the stock that the job has of its own."""

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
    together: bool = False
    """Keep the panels of one product on one sheet, where a sheet can hold them."""
    long_sides_along: Axis | None = None
    """Lay panels with their longer side along this axis, where their turns allow it."""

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
        """Panels asked for by number; those of `as_many_as_fit` come on top."""
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
