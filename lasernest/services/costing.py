"""What an order costs: material, machine, hands and setup, per good unit. Pure arithmetic.

Definitions, as the help states them:

- *good units*: what the order asks for; *started*: good / (1 - scrap), rounded up;
- *material*: sheets at their price, offcuts used at theirs, less the credit for
  offcuts kept;
- *machine*: cutting time of all sheets and their loading, at the machine's rate;
- *hands*: peeling, wiping, deburring, glueing and inspecting, at the wage;
- *setup*: once per order, at the wage;
- *unit cost*: all of it over the good units, times one plus overhead.

Nothing here knows a market price or a wage: rates come from the shop, times
are common practice without source until the shop replaces them.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from lasernest.domain.costs import Cost
from lasernest.domain.rates import Rates
from lasernest.domain.stock import SheetSize, Stock
from lasernest.errors import BadValueError


@dataclass(frozen=True, slots=True)
class SheetCost:
    """Sheets of one size, or an offcut, that an order takes."""

    count: int
    price: float | None
    """Of one; None when nobody stated it."""
    label: str = ""

    def __post_init__(self) -> None:
        if self.count < 0:
            raise BadValueError(f"{self.count} sheets cannot be used")
        if self.price is not None and not (math.isfinite(self.price) and self.price > 0):
            raise BadValueError(
                f"a sheet price of {self.price:g} cannot be right",
                todo="Give a price above zero, or leave it empty.",
            )

    @classmethod
    def of(cls, size: SheetSize, count: int) -> SheetCost:
        return cls(count, size.price, str(size))


def order_cost(
    sheets: Sequence[SheetCost],
    *,
    rates: Rates,
    machine_s: float,
    hands_s: float,
    setup_s: float,
    good_units: int,
    offcut_credit: float = 0.0,
) -> Cost:
    """The cost of an order.

    Args:
        sheets: what it takes, offcuts used included.
        rates: of the shop.
        machine_s: cutting and loading of all sheets.
        hands_s: work on all panels.
        setup_s: once.
        good_units: that the order asks for, one or more.
        offcut_credit: what the offcuts kept are counted as.

    Raises:
        BadValueError: no unit, or a time or credit below zero.
    """
    if good_units < 1:
        raise BadValueError("an order of no unit has no unit cost", todo="Ask for one or more.")
    for value in (machine_s, hands_s, setup_s, offcut_credit):
        if not (math.isfinite(value) and value >= 0):
            raise BadValueError(
                f"{value:g} cannot be a time or a credit", todo="Give zero or more."
            )
    material = math.fsum(s.count * s.price for s in sheets if s.price is not None)
    return Cost(
        material=material - offcut_credit,
        machine=machine_s / 3600.0 * rates.machine_per_h,
        hands=hands_s / 3600.0 * rates.wage_per_h,
        setup=setup_s / 3600.0 * rates.wage_per_h,
        good_units=good_units,
        overhead_share=rates.overhead_share,
        unpriced=tuple(s.label for s in sheets if s.price is None and s.count),
    )


def sheets_needed(pieces: int, per_sheet: int) -> int:
    """Sheets for so many pieces.

    Raises:
        BadValueError: none fits on a sheet.
    """
    if per_sheet < 1:
        raise BadValueError("not one piece fits on the sheet", todo="Choose a larger sheet.")
    return -(-pieces // per_sheet)


@dataclass(frozen=True, slots=True)
class SheetAreas:
    """Where the area of a sheet goes, in mm2."""

    sheet_mm2: float
    net_mm2: float
    """Of the panels cut from it, holes not counted."""
    offcut_mm2: float
    """Kept."""
    kerf_mm2: float
    """Cut length times kerf; part of the waste."""

    @property
    def waste_mm2(self) -> float:
        """What is neither panel nor kept, the kerf included."""
        return self.sheet_mm2 - self.net_mm2 - self.offcut_mm2

    @property
    def yield_share(self) -> float:
        """Net panel area over the whole sheet."""
        return self.net_mm2 / self.sheet_mm2

    @property
    def used_yield_share(self) -> float:
        """Net panel area over what was not kept."""
        return self.net_mm2 / (self.sheet_mm2 - self.offcut_mm2)

    @property
    def offcut_share(self) -> float:
        return self.offcut_mm2 / self.sheet_mm2


def sheet_weight_kg(stock: Stock, width_mm: float, height_mm: float) -> float | None:
    """Weight of a sheet as sold; None when the density is not known."""
    if stock.density_g_per_cm3 is None:
        return None
    return width_mm * height_mm * stock.thickness_mm * stock.density_g_per_cm3 / 1e6
