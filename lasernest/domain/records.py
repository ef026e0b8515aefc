"""Kerf records: what was measured and felt on one test cut, and what it was cut with.

A record keeps readings as they were taken; kerf and fit are worked out from
them again whenever they are asked for (`lasernest.kerf`).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from datetime import date

from lasernest.domain.readings import FeelReading, Reading
from lasernest.errors import BadValueError


@dataclass(frozen=True, slots=True)
class CutSettings:
    """How a sheet was cut; what is unknown stays None or empty."""

    machine: str = ""
    lens: str = ""
    """Lens or nozzle, as the shop calls it."""
    speed_mm_per_s: float | None = None
    power_share: float | None = None
    """0 to 1 of the machine's full power."""
    passes: int = 1

    def __post_init__(self) -> None:
        if self.speed_mm_per_s is not None and not (
            math.isfinite(self.speed_mm_per_s) and self.speed_mm_per_s > 0
        ):
            raise BadValueError(f"a cut speed of {self.speed_mm_per_s:g} mm/s cannot be")
        if self.power_share is not None and not 0.0 < self.power_share <= 1.0:
            raise BadValueError(
                f"a power of {self.power_share:.0%} cannot be", todo="Give 1 to 100 %."
            )
        if self.passes < 1:
            raise BadValueError(f"{self.passes} passes cut nothing", todo="Give one or more.")


@dataclass(frozen=True, slots=True)
class CombDrawn:
    """The comb of a record, as it was drawn; enough to draw it again."""

    thickness_mm: float
    kerf_x_mm: float
    kerf_y_mm: float
    interferences_mm: tuple[float, ...]
    compensated: bool


@dataclass(frozen=True, slots=True)
class KerfRecord:
    """One test cut of a stock."""

    stock_name: str
    on: date
    readings: tuple[Reading, ...] = ()
    felt: tuple[FeelReading, ...] = ()
    settings: CutSettings = CutSettings()
    thickness_mm: tuple[float, ...] = ()
    """Measured at so many places of that sheet; may be empty."""
    comb: CombDrawn | None = None
    number: int = 0
    """Given by the shop book; 0 until then."""
    note: str = field(default="", compare=False)

    def __post_init__(self) -> None:
        if not self.stock_name.strip():
            raise BadValueError("a record belongs to no stock", todo="Name the stock it is of.")
        for value in self.thickness_mm:
            if not (math.isfinite(value) and value > 0):
                raise BadValueError(f"a thickness of {value:g} mm cannot be")

    @property
    def mean_thickness_mm(self) -> float | None:
        """Of the sheet that was cut; None when nobody measured."""
        if not self.thickness_mm:
            return None
        return math.fsum(self.thickness_mm) / len(self.thickness_mm)

    @property
    def name(self) -> str:
        """How it is called in job sheets and lists: `comb of 19 Nov 2026`."""
        kind = "comb" if self.comb is not None or self.felt else "reading"
        return f"{kind} of {self.on.day} {_MONTHS[self.on.month - 1]} {self.on.year}"


_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
"""Not the library's: its names follow the system's language, the rest of the text does not."""
