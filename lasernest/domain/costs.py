"""What an order costs, by its parts."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Cost:
    """The parts of an order's cost, in the shop's own currency."""

    material: float
    machine: float
    hands: float
    setup: float
    good_units: int
    overhead_share: float
    unpriced: tuple[str, ...] = ()
    """Sheets that nobody stated a price of: their material is missing from the cost."""

    @property
    def total(self) -> float:
        """Before overhead."""
        return self.material + self.machine + self.hands + self.setup

    @property
    def per_unit(self) -> float:
        """Before overhead."""
        return self.total / self.good_units

    @property
    def per_unit_with_overhead(self) -> float:
        return self.per_unit * (1.0 + self.overhead_share)

    @property
    def parts_per_unit(self) -> tuple[tuple[str, float], ...]:
        """The parts of `per_unit_with_overhead` by their names, those that are not zero."""
        parts = [
            ("material", self.material),
            ("machine", self.machine),
            ("work", self.hands),
            ("set-up", self.setup),
            ("overhead", self.total * self.overhead_share),
        ]
        return tuple((name, value / self.good_units) for name, value in parts if value)
