"""Names of panels on a printed plan: inside where there is room, else a number and a key."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from lasernest.domain.job_sheet import LyingPanel
from lasernest.geometry.label_spots import label_spot

ROOM_SHARE = 0.5
"""Free space around a name, over the height of its capitals."""


@dataclass(frozen=True, slots=True)
class PlacedLabel:
    """A text on the plan: its middle in sheet coordinates, and its size on paper."""

    text: str
    x_mm: float
    y_mm: float
    size: float


@dataclass(frozen=True, slots=True)
class PlanLabels:
    """All names of one plan."""

    placed: tuple[PlacedLabel, ...]
    key: tuple[tuple[str, str], ...]
    """Number and name of panels too small for their name."""


def place_labels(
    panels: Sequence[LyingPanel],
    *,
    scale: float,
    width_of: Callable[[str], float],
    cap_share: float,
    sizes: Sequence[float],
) -> PlanLabels:
    """Find room for every name, in the largest of some sizes that fits.

    Args:
        panels: where they lie.
        scale: paper for a millimetre of the sheet, in the unit of `sizes`.
        width_of: width of a text over the size of the type.
        cap_share: height of capitals over the size of the type.
        sizes: of the type, largest first.
    """
    placed: list[PlacedLabel] = []
    key: list[tuple[str, str]] = []
    for lying in panels:
        found = _fitting(lying, lying.label, scale, width_of, cap_share, sizes)
        if found is None:
            number = str(len(key) + 1)
            key.append((number, lying.label))
            found = _fitting(lying, number, scale, width_of, cap_share, sizes)
            if found is None:
                x0, y0, x1, y1 = lying.panel.bounds_mm()
                found = PlacedLabel(number, 0.5 * (x0 + x1), 0.5 * (y0 + y1), sizes[-1])
        placed.append(found)
    return PlanLabels(tuple(placed), tuple(key))


def _fitting(
    lying: LyingPanel,
    text: str,
    scale: float,
    width_of: Callable[[str], float],
    cap_share: float,
    sizes: Sequence[float],
) -> PlacedLabel | None:
    around = ROOM_SHARE * cap_share
    aspect = max(1.0, (width_of(text) + around) / (cap_share + around))
    spot = label_spot(lying.panel, aspect=aspect)
    if spot is None:
        return None
    for size in sizes:
        if 2.0 * spot.half_height_mm * scale >= (cap_share + around) * size:
            return PlacedLabel(text, spot.x_mm, spot.y_mm, size)
    return None
