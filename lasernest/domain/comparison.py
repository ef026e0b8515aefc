"""A job on several stocks, side by side: the figures and plans that are kept with the job."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from lasernest.domain.costs import Cost
from lasernest.domain.figures import Figure
from lasernest.domain.findings import Finding
from lasernest.domain.job_sheet import SheetPicture
from lasernest.domain.plan import Plan, Unplaced
from lasernest.domain.rates import Rates
from lasernest.domain.stock import SheetSize, Stock


@dataclass(frozen=True, slots=True)
class OtherSheets:
    """Sheets for panels that stay on a stock of their own, whatever is compared."""

    stock_name: str
    size: SheetSize
    count: int


@dataclass(frozen=True, slots=True)
class UnitsMade:
    """What making so many units takes."""

    units: int
    sheets: float
    """Whole ones, and the used share of the compared stock's last one: 2.41 is two and 41 %."""
    machine_s: float
    """With laying the sheets in."""
    hands_s: float
    setup_s: float
    cost: Cost
    others: tuple[OtherSheets, ...] = ()
    """Among the sheets."""
    planned_units: int = 0
    """Where these are too many to be planned: sheets are in proportion to a plan of so many
    units. 0: all of them were planned."""


@dataclass(frozen=True, slots=True)
class ComparedStock:
    """What one stock would take for the job."""

    stock: Stock
    size: SheetSize
    plan: Plan
    panels: int
    sheets: float
    """As in `UnitsMade`."""
    yield_share: float
    used_yield_share: float
    kerf_mm2: float
    kept_offcut_mm2: float
    cut_length_mm: float
    pierces: int
    travel_mm: float
    machine_s: float
    """The beam's work on all sheets, without laying them in."""
    loading_s: float
    hands_s: float
    weight_per_unit_g: float | None
    """None where the density is not known."""
    share_in_fit: float | None
    """Share of joints expected in the wanted fit; None without joints."""
    made: tuple[UnitsMade, ...]
    """By number of units, rising; larger ones are missing when the work was stopped."""
    findings: tuple[Finding, ...] = ()

    @property
    def unplaced(self) -> tuple[Unplaced, ...]:
        return self.plan.unplaced

    @property
    def sizes(self) -> tuple[SheetSize, ...]:
        """Of all sheets that are counted."""
        return (self.size, *(other.size for made in self.made for other in made.others))

    def made_of(self, units: int) -> UnitsMade | None:
        """What so many units take; None when it was not worked out."""
        return next((m for m in self.made if m.units == units), None)


@dataclass(frozen=True, slots=True)
class Comparison:
    """A job on two or more stocks."""

    units: int
    """Of the plans; costs are told for other numbers too."""
    columns: tuple[ComparedStock, ...]
    rates: Rates | None = None
    """None: only material is counted."""
    made_from: str = ""
    """Digest of what the job was, to see later that it changed."""
    on: date = date.min

    @property
    def names(self) -> tuple[str, ...]:
        """A name for each column: its stock, with the sheet where that is needed."""
        stocks = [column.stock.name for column in self.columns]
        return tuple(
            name if stocks.count(name) == 1 else f"{name}, {size.width_mm:g} × {size.height_mm:g}"
            for name, size in zip(stocks, (column.size for column in self.columns), strict=True)
        )

    @property
    def counts(self) -> tuple[int, ...]:
        """Numbers of units whose cost is told, rising."""
        return tuple(sorted({m.units for column in self.columns for m in column.made}))


@dataclass(frozen=True, slots=True)
class ComparisonRow:
    """One figure of all columns."""

    figure: Figure
    name: str
    """With what it is of, such as the number of units."""
    unit: str
    """Of the values; empty for bare numbers."""
    values: tuple[float | None, ...]
    texts: tuple[str, ...]
    """As they are shown, with their unit."""


@dataclass(frozen=True, slots=True)
class ComparisonPaper:
    """A comparison to be printed."""

    title: str
    made_on: date
    program: str
    heads: tuple[str, ...]
    sheets: tuple[str, ...]
    """Size of each column's sheet, in words."""
    rows: tuple[ComparisonRow, ...]
    costs: tuple[Mapping[int, Cost], ...]
    """Of each column, by number of units."""
    pictures: tuple[tuple[str, SheetPicture], ...]
    """Plans of all columns with their titles."""
    notes: tuple[str, ...]
