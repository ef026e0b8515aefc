"""Orders: products made of panels, how many are wanted, and what more to start."""

from __future__ import annotations

import math
from dataclasses import dataclass

from lasernest.errors import BadValueError


@dataclass(frozen=True, slots=True)
class PanelNeed:
    """A panel that one unit of a product is made of."""

    panel: str
    stock_name: str
    per_unit: int = 1
    revision: str = ""
    """Digest of its drawing; copies cut from another one do not count."""

    def __post_init__(self) -> None:
        if self.per_unit < 1:
            raise BadValueError(f"a unit cannot hold {self.per_unit} of {self.panel}")


@dataclass(frozen=True, slots=True)
class OrderLine:
    """So many units of one product."""

    product: str
    units: int
    panels: tuple[PanelNeed, ...]
    spares: int = 0
    """Of each panel, besides what the units need."""

    def __post_init__(self) -> None:
        if self.units < 0 or self.spares < 0:
            raise BadValueError(
                f"{min(self.units, self.spares)} of {self.product} cannot be made",
                todo="Give zero or more.",
            )


@dataclass(frozen=True, slots=True)
class Order:
    """What a customer or a batch asks for."""

    name: str
    lines: tuple[OrderLine, ...]
    scrap_share: float = 0.0
    """Expected share of panels that fail."""

    def __post_init__(self) -> None:
        check_scrap(self.scrap_share)


@dataclass(frozen=True, slots=True)
class CutLine:
    """How many copies of one panel are to be cut for an order."""

    product: str
    panel: str
    stock_name: str
    needed: int
    """Good ones, spares included."""
    on_hand: int
    """Good ones of this revision that were cut for the order already."""
    to_cut: int
    """What is lacking, with the expected scrap."""
    failed: int = 0
    """Of those cut earlier, found to have failed since; no longer on hand."""
    outdated: int = 0
    """Cut earlier from another drawing of the panel; not on hand."""

    @property
    def why_again(self) -> str:
        """Why copies that were cut do not count; empty when all do."""
        parts = [f"{self.failed} failed"] if self.failed else []
        if self.outdated:
            parts.append(f"{self.outdated} of an older drawing")
        return ", ".join(parts)


def start_count(good: int, scrap_share: float) -> int:
    """How many to start so that, with the expected scrap, enough are good.

    Raises:
        BadValueError: a share that leaves nothing, or a negative number.
    """
    if good < 0:
        raise BadValueError(f"{good} good ones cannot be asked for")
    check_scrap(scrap_share)
    # A hair less before rounding up: 95 / 0.95 is 100, not 101.
    return math.ceil(good / (1.0 - scrap_share) - 1e-9)


def check_scrap(share: float) -> None:
    """Refuse an expected scrap that cannot be.

    Raises:
        BadValueError: a share that leaves nothing, or a negative one.
    """
    if not 0.0 <= share < 1.0:
        raise BadValueError(
            f"a scrap of {share:.0%} leaves nothing", todo="Give a share from 0 to below 1."
        )
