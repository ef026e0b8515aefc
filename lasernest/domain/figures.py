"""The figures that the program tells, each under the one name it has everywhere.

How each is computed stands under its name in `resources/guide/figures.md`.
"""

from __future__ import annotations

from enum import Enum


class Figure(Enum):
    """A figure by its name."""

    UNITS = "Units"
    PANELS = "Panels"
    SHEETS = "Sheets"
    YIELD = "Yield"
    USED_YIELD = "Yield, used part"
    KERF_LOSS = "Kerf loss"
    OFFCUT_KEPT = "Offcut kept"
    CUT_LENGTH = "Cut length"
    PIERCES = "Pierces"
    TRAVEL = "Travel"
    CUT_TIME = "Cut time"
    LOADING = "Loading"
    HAND_TIME = "Work by hand"
    WEIGHT = "Weight"
    JOINTS_IN_FIT = "Joints in the wanted fit"
    UNIT_COST = "Cost per unit"
