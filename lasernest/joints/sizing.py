"""Sizes of fingers, gaps, slots and webs from thickness, fit and material.

All sizes are *finished* sizes: what is left after cutting. Kerf compensation
is a later stage that moves every cut line by half the kerf, so nothing here
knows the kerf.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from lasernest.domain.findings import Finding, Severity
from lasernest.domain.fits import FIT_RANGES, Family, family_of
from lasernest.domain.joints import Joint, JointRules, PanelSheet
from lasernest.errors import Where
from lasernest.joints.edges import JointError
from lasernest.units import format_mm

USUAL_WIDTH_IN_THICKNESSES = 3.0
LEAST_WIDTH_IN_THICKNESSES = 1.0
MOST_WIDTH_IN_THICKNESSES = 5.0
SLOT_LENGTH_SLACK_MM = 0.1
"""A slot is longer than its tab by this: the press is on the thickness only."""
ACRYLIC_RELIEF_MM = 0.5


@dataclass(frozen=True, slots=True)
class Division:
    """A length cut into an odd number of equal fingers and gaps."""

    count: int
    width_mm: float


def divide_length(
    length_mm: float, *, thickness_mm: float, target_mm: float | None, where: Where
) -> Division:
    """Odd number of equal widths, as near above the wished width as odd allows.

    n = floor(length / target), one less if even, at least 3; then more or fewer
    until the width is from one to five thicknesses. Common practice, no source.

    Args:
        length_mm: what fingers and gaps share.
        thickness_mm: of the thicker of the two panels.
        target_mm: wished width; None: three thicknesses.
        where: the place, for the error.

    Raises:
        JointError: three fingers as wide as the thickness do not fit.
    """
    least_mm = LEAST_WIDTH_IN_THICKNESSES * thickness_mm
    most_mm = MOST_WIDTH_IN_THICKNESSES * thickness_mm
    if length_mm < 3.0 * least_mm - 1e-9:
        raise JointError(
            f"an edge of {format_mm(length_mm)} is too short for fingers",
            where=where,
            todo=f"It needs {format_mm(3.0 * least_mm)}, three times the thickness; "
            "leave this joint out or use one tab and slot.",
        )
    wished_mm = USUAL_WIDTH_IN_THICKNESSES * thickness_mm if target_mm is None else target_mm
    wished_mm = min(max(wished_mm, least_mm), most_mm)
    count = odd_count(length_mm, wished_mm)
    while length_mm / count > most_mm + 1e-9 and length_mm / (count + 2) >= least_mm - 1e-9:
        count += 2
    return Division(count, length_mm / count)


def odd_count(length_mm: float, target_mm: float) -> int:
    """floor(length / target), one less if even, at least 3."""
    count = math.floor(length_mm / target_mm + 1e-9)
    return max(count - 1 if count % 2 == 0 else count, 3)


def slot_width_mm(thickness_mm: float, interference_mm: float) -> float:
    """Finished width of a slot for a tongue of this thickness."""
    return thickness_mm - interference_mm


def web_mm(sheet: PanelSheet) -> float:
    """Least material between a slot and the next cut: T, in acrylic 1.5 T.

    Source: common practice, no source.
    """
    return (1.5 if family_of(sheet.material).is_acrylic else 1.0) * sheet.thickness_mm


def relief_radius_mm(joint: Joint, sheet: PanelSheet) -> float:
    """Radius of the relief in inner corners: as chosen, else only in acrylic.

    A sharp inner corner starts cracks in acrylic (common practice, no source).
    The radius is kept small enough to leave two thirds of the finger's sides.
    """
    wished_mm = joint.relief_mm
    if wished_mm is None:
        wished_mm = ACRYLIC_RELIEF_MM if family_of(sheet.material).is_acrylic else 0.0
    return min(wished_mm, sheet.thickness_mm / (3.0 * math.sqrt(2.0)))


def interference_of(joint: Joint, rules: JointRules, sheets: Iterable[PanelSheet]) -> float:
    """The wanted interference: the joint's own, else the job's, else what combs told,
    else the materials' start.

    Where two materials meet, the one that takes less decides.
    """
    if joint.interference_mm is not None:
        return joint.interference_mm
    if rules.interference_mm is not None:
        return rules.interference_mm
    return min(
        s.fits.of(rules.fit)
        if s.fits is not None
        else FIT_RANGES[family_of(s.material)].start_mm(rules.fit)
        for s in sheets
    )


def tightness_findings(
    joint: Joint, interference_mm: float, sheets: Iterable[PanelSheet]
) -> tuple[Finding, ...]:
    """A warning for every material that the interference is too much for."""
    found = []
    for name, sheet in zip((joint.a.panel, joint.b.panel), sheets, strict=True):
        family = family_of(sheet.material)
        ranges = FIT_RANGES[family]
        if family is Family.OTHER or interference_mm <= ranges.most_mm + 1e-9:
            continue
        found.append(
            Finding(
                Severity.WARNING,
                "too-tight",
                f"an interference of {format_mm(interference_mm)} is too much for {name} in "
                f"{sheet.material}: {ranges.reason}",
                where_mm=(joint.a if name == joint.a.panel else joint.b).middle,
                panel=name,
                todo=f"Stay at or below {format_mm(ranges.most_mm)}, and try it on a comb.",
            )
        )
    return tuple(found)
