"""What time costs in a shop, and how long work by hand takes."""

from __future__ import annotations

import math
from dataclasses import dataclass

from lasernest.errors import BadValueError


@dataclass(frozen=True, slots=True)
class Rates:
    """What an hour costs in this shop, and what is laid on top."""

    machine_per_h: float
    wage_per_h: float
    overhead_share: float = 0.0

    def __post_init__(self) -> None:
        for name, value in (
            ("machine hour", self.machine_per_h),
            ("hour of work", self.wage_per_h),
            ("share of overhead", self.overhead_share),
        ):
            if not (math.isfinite(value) and value >= 0):
                raise BadValueError(
                    f"{value:g} for a {name} cannot be right", todo="Give zero or more."
                )


@dataclass(frozen=True, slots=True)
class HandlingTimes:
    """Work by hand, in seconds; middle of the ranges of common practice, no source."""

    peel_per_panel_s: float = 15.0
    """Masking off both faces."""
    wipe_per_panel_s: float = 15.0
    """Soot off wood."""
    deburr_per_panel_s: float = 5.0
    glue_per_joint_s: float = 45.0
    load_per_sheet_s: float = 150.0
    """Laying a sheet in and focusing; the machine stands meanwhile."""
    inspect_per_panel_s: float = 20.0
    inspected_share: float = 0.1
    setup_per_order_s: float = 600.0
    """Drawing up, focusing, a first trial cut: once, however many units."""

    def by_hand_s(self, *, panels: int, masked: bool, wood: bool, glued_joints: int = 0) -> float:
        """Work on so many panels."""
        per_panel_s = (
            (self.peel_per_panel_s if masked else 0.0)
            + (self.wipe_per_panel_s if wood else 0.0)
            + self.deburr_per_panel_s
            + self.inspected_share * self.inspect_per_panel_s
        )
        return panels * per_panel_s + glued_joints * self.glue_per_joint_s
