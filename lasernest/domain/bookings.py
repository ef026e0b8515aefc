"""Bookings: what a cut took from the shop, what it left, and which panels it gave.

They are the history of what was cut from what, and what an order still lacks
is worked out from them.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date

from lasernest.domain.offcuts import Offcut
from lasernest.errors import BadValueError


@dataclass(frozen=True, slots=True)
class SheetUse:
    """Whole sheets of one size that were taken."""

    stock_name: str
    width_mm: float
    height_mm: float
    count: int = 1

    def __post_init__(self) -> None:
        if self.count < 1:
            raise BadValueError(f"{self.count} sheets cannot be taken")


@dataclass(frozen=True, slots=True)
class CutPanel:
    """Copies of one panel that came out of a cut."""

    product: str
    panel: str
    count: int
    stock_name: str
    revision: str = ""
    """Digest of the drawing it was cut from, to see later that it changed."""
    sheet: str = ""
    """Cut file or label of the offcut it came from."""

    def __post_init__(self) -> None:
        if self.count < 1:
            raise BadValueError(f"{self.count} copies of {self.panel} cannot have been cut")


@dataclass(frozen=True, slots=True)
class Booking:
    """One cut, booked."""

    on: date
    job: str
    sheets: tuple[SheetUse, ...] = ()
    offcuts_used: tuple[Offcut, ...] = ()
    offcuts_kept: tuple[Offcut, ...] = ()
    """With the labels that the shop book gave them."""
    panels: tuple[CutPanel, ...] = ()
    failed: tuple[CutPanel, ...] = ()
    """Copies cut earlier that were found to have failed or got lost: they count no longer."""
    number: int = 0
    """Given by the shop book; 0 until then."""
    note: str = field(default="", compare=False)
