"""Stock: the kinds of sheet a shop holds, and what is known of their kerf and fit."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from enum import Enum

from lasernest.domain.cutting import MachineProfile
from lasernest.errors import BadValueError

NOT_STATED = "material not stated"
"""Material of a sheet of which only the size is told."""


@dataclass(frozen=True, slots=True)
class Kerf:
    """Full width of material that the beam removes, along x and along y.

    `x_mm` is the width lost at an edge that faces x (a cut that runs along y).
    `u_mm` is the standard uncertainty (JCGM 100:2008), None while nothing was
    measured; `basis` says what the number rests on.
    """

    x_mm: float
    y_mm: float
    u_mm: float | None = None
    basis: str = "unmeasured"

    def __post_init__(self) -> None:
        for value in (self.x_mm, self.y_mm):
            if not (math.isfinite(value) and 0.0 <= value <= 1.0):
                raise BadValueError(
                    f"a kerf of {value:g} mm cannot be right",
                    todo="Kerf is the full width of the cut, from 0 to 1 mm; most lasers "
                    "take 0.05 to 0.6 mm.",
                )
        if self.u_mm is not None and not (math.isfinite(self.u_mm) and self.u_mm >= 0):
            raise BadValueError(f"an uncertainty of {self.u_mm:g} mm cannot be right")

    @classmethod
    def same(cls, width_mm: float, *, u_mm: float | None = None, basis: str = "given") -> Kerf:
        """The same kerf along x and y."""
        return cls(width_mm, width_mm, u_mm, basis)

    @property
    def measured(self) -> bool:
        return self.u_mm is not None

    @property
    def mean_mm(self) -> float:
        return 0.5 * (self.x_mm + self.y_mm)

    @property
    def is_round(self) -> bool:
        """True when x and y are alike within 0.02 mm, so that their mean serves.

        Source: common practice, no source; below the repeatability of a calliper.
        """
        return abs(self.x_mm - self.y_mm) <= 0.02 + 1e-9

    def half_width_mm(self, normal_rad: float) -> float:
        """Offset for an edge whose normal points at this angle (elliptical spot)."""
        return 0.5 * math.hypot(self.x_mm * math.cos(normal_rad), self.y_mm * math.sin(normal_rad))


class Fit(Enum):
    """How a joint is to go together."""

    SLIP = "slip"
    PUSH = "push"
    PRESS = "press"


@dataclass(frozen=True, slots=True)
class FitTargets:
    """The interference that gives each fit in a stock, learnt from combs."""

    slip_mm: float
    push_mm: float
    press_mm: float
    u_mm: float
    """Standard uncertainty of the least known of them."""
    basis: str = ""
    """What they rest on, such as `comb of 19 Nov 2026`."""

    def of(self, fit: Fit) -> float:
        return {Fit.SLIP: self.slip_mm, Fit.PUSH: self.push_mm, Fit.PRESS: self.press_mm}[fit]


@dataclass(frozen=True, slots=True)
class SheetSize:
    """A size this stock comes in; x runs along the grain."""

    width_mm: float
    height_mm: float
    price: float | None = None
    """Price of one sheet in the shop's own currency."""
    count: int | None = None
    """Sheets on hand; None when the shop does not count them."""
    price_invented: bool = False
    """True for the demo's prices: never shown as a market price."""

    def __post_init__(self) -> None:
        for side in (self.width_mm, self.height_mm):
            if not (math.isfinite(side) and side > 0):
                raise BadValueError(f"a sheet side of {side:g} mm cannot be")
        if self.price is not None and not (math.isfinite(self.price) and self.price > 0):
            raise BadValueError(
                f"a sheet price of {self.price:g} cannot be right",
                todo="Give a price above zero, or leave it empty.",
            )
        if self.count is not None and self.count < 0:
            raise BadValueError(f"a count of {self.count} sheets cannot be")

    @property
    def area_mm2(self) -> float:
        return self.width_mm * self.height_mm

    def __str__(self) -> str:
        return f"{self.width_mm:g} x {self.height_mm:g} mm"


@dataclass(frozen=True, slots=True)
class Stock:
    """A kind of sheet: material, thickness, sizes, and what cutting it takes away."""

    name: str
    material: str
    thickness_mm: float
    """What it is sold as."""
    sizes: tuple[SheetSize, ...]
    kerf: Kerf
    measured_thickness_mm: float | None = None
    thickness_u_mm: float | None = None
    grain: bool = False
    """True when panels may only turn by 180 degrees, to keep the grain along x."""
    density_g_per_cm3: float | None = None
    cut_speed_mm_per_s: float = 10.0
    interference_mm: float = 0.0
    """Starting interference of a press fit; unmeasured until a comb replaces it."""
    note: str = field(default="", compare=False)
    masked: bool = False
    """True when both faces carry a film or paper that somebody peels off."""
    supplier: str = ""
    """Who sells it and under which number."""
    fits: FitTargets | None = None
    """None until a comb of this stock was felt."""

    def __post_init__(self) -> None:
        if not self.name.strip():
            raise BadValueError("a stock needs a name", todo="Call it what the shop calls it.")
        if not (math.isfinite(self.thickness_mm) and self.thickness_mm > 0):
            raise BadValueError(f"a thickness of {self.thickness_mm:g} mm cannot be")
        if self.measured_thickness_mm is not None and not (
            math.isfinite(self.measured_thickness_mm) and self.measured_thickness_mm > 0
        ):
            raise BadValueError(f"a thickness of {self.measured_thickness_mm:g} mm cannot be")
        if self.thickness_u_mm is not None and not (
            math.isfinite(self.thickness_u_mm) and self.thickness_u_mm >= 0
        ):
            raise BadValueError(f"an uncertainty of {self.thickness_u_mm:g} mm cannot be right")
        if self.density_g_per_cm3 is not None and not (
            math.isfinite(self.density_g_per_cm3) and self.density_g_per_cm3 > 0
        ):
            raise BadValueError(f"a density of {self.density_g_per_cm3:g} g/cm3 cannot be")
        if not (math.isfinite(self.interference_mm) and abs(self.interference_mm) <= 1.0):
            raise BadValueError(
                f"an interference of {self.interference_mm:g} mm cannot be right",
                todo="Interference is a few hundredths of a millimetre; positive is tight.",
            )
        if not self.sizes:
            raise BadValueError(
                f"the stock {self.name} has no sheet size", todo="Give it one, like 600x400."
            )
        if not (math.isfinite(self.cut_speed_mm_per_s) and self.cut_speed_mm_per_s > 0):
            raise BadValueError(f"a cut speed of {self.cut_speed_mm_per_s:g} mm/s cannot be")

    @property
    def working_thickness_mm(self) -> float:
        """The measured thickness, or the nominal one while nothing was measured."""
        return self.measured_thickness_mm or self.thickness_mm


@dataclass(frozen=True, slots=True)
class Machine:
    """What the figures need to know of a machine; the defaults are common practice, no source."""

    name: str = "workshop laser"
    bed_width_mm: float = 1300.0
    bed_height_mm: float = 900.0
    travel_mm_per_s: float = 200.0
    acceleration_mm_per_s2: float = 1000.0
    pierce_s: float = 0.4
    mark_speed_mm_per_s: float = 100.0
    profile: MachineProfile = field(default_factory=MachineProfile)
    """Layer names and colours that its program wants."""
    note: str = field(default="", compare=False)

    def __post_init__(self) -> None:
        if not self.name.strip():
            raise BadValueError(
                "a machine needs a name", todo="Call it what the workshop calls it."
            )
        for name, value in (
            ("bed width", self.bed_width_mm),
            ("bed height", self.bed_height_mm),
            ("travel speed", self.travel_mm_per_s),
            ("acceleration", self.acceleration_mm_per_s2),
            ("marking speed", self.mark_speed_mm_per_s),
        ):
            if not (math.isfinite(value) and value > 0):
                raise BadValueError(f"a {name} of {value:g} cannot be", todo="Give more than zero.")
        if not (math.isfinite(self.pierce_s) and self.pierce_s >= 0):
            raise BadValueError(f"a pierce time of {self.pierce_s:g} s cannot be")
