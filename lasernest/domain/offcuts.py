"""Offcuts: kept remainders of a sheet, in their real shape.

Coordinates: x runs along the grain of the sheet it came from; the lower left
corner of the box around the outline is 0, 0, as sheet plans expect it.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from lasernest.domain.contours import Contour, Pose
from lasernest.domain.plan import Sheet
from lasernest.errors import BadContourError, BadValueError

LEAST_OFFCUT_MM = 50.0
"""Narrower remainders are not worth keeping (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Offcut:
    """A kept remainder; `label` is what stands on the piece itself."""

    label: str
    stock_name: str
    outline: Contour
    holes: tuple[Contour, ...] = ()
    measured_thickness_mm: float | None = None
    price: float | None = None
    """What it is counted as when a job uses it; None for nothing."""
    cut_from: str = ""
    """The job and sheet it remained from."""
    note: str = field(default="", compare=False)

    def __post_init__(self) -> None:
        if not self.stock_name.strip():
            raise BadValueError(
                f"the offcut {self.label} belongs to no stock", todo="Name the stock it is of."
            )
        if not all(ring.closed for ring in (self.outline, *self.holes)):
            raise BadContourError(f"the outline of the offcut {self.label} is open")
        if self.price is not None and not self.price >= 0:
            raise BadValueError(f"a price of {self.price:g} for an offcut cannot be right")
        if self.measured_thickness_mm is not None and not self.measured_thickness_mm > 0:
            raise BadValueError(f"a thickness of {self.measured_thickness_mm:g} mm cannot be")

    @classmethod
    def of(
        cls, label: str, stock_name: str, outline: Contour, holes: tuple[Contour, ...] = ()
    ) -> Offcut:
        """An offcut from contours that lie anywhere, such as on the sheet it remained from."""
        x0, y0, _, _ = outline.bounds_mm()
        home = Pose(-x0, -y0)
        return cls(
            label,
            stock_name,
            outline.posed(home).oriented(anticlockwise=True),
            tuple(hole.posed(home).oriented(anticlockwise=False) for hole in holes),
        )

    @classmethod
    def rectangle(cls, label: str, stock_name: str, width_mm: float, height_mm: float) -> Offcut:
        """A rectangular offcut; the width runs along the grain."""
        if not (width_mm > 0 and height_mm > 0):
            raise BadValueError(f"an offcut of {width_mm:g} x {height_mm:g} mm cannot be")
        return cls(label, stock_name, Contour.rectangle(0.0, 0.0, width_mm, height_mm))

    @property
    def size_mm(self) -> tuple[float, float]:
        """Width along the grain and height of the box around it."""
        x0, y0, x1, y1 = self.outline.bounds_mm()
        return (x1 - x0, y1 - y0)

    @property
    def area_mm2(self) -> float:
        return self.outline.area_mm2 - sum(hole.area_mm2 for hole in self.holes)

    @property
    def is_rectangle(self) -> bool:
        """True when the piece fills its box."""
        width_mm, height_mm = self.size_mm
        return not self.holes and abs(width_mm * height_mm - self.outline.area_mm2) < 1e-6

    def sheet(self, *, margin_mm: float) -> Sheet:
        """The one sheet of its shape that nesting may use."""
        width_mm, height_mm = self.size_mm
        return Sheet(
            width_mm,
            height_mm,
            margin_mm,
            outline=None if self.is_rectangle else self.outline,
            holes=self.holes,
            available=1,
            price=self.price,
            label=self.label,
            is_offcut=True,
        )
