"""Which materials may be cut with a laser, and the cautions that go with cutting.

The list follows published makerspace and university rules (Kansas State
University, Carnegie Mellon, Iowa State University laser cutter pages) and
common practice. It cannot be complete: whoever cuts checks the safety data
sheet, the machine's own manual and the local rules.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import Enum


class Verdict(Enum):
    """What the program does when asked for a cut file in this material."""

    ALLOWED = "allowed"
    WARNED = "warned"
    """Written only after the maker acknowledges the reason."""
    REFUSED = "refused"
    """Never written."""


@dataclass(frozen=True, slots=True)
class MaterialVerdict:
    """A verdict with its reason, a sentence for the maker (empty when allowed)."""

    verdict: Verdict
    reason: str = ""


_REFUSED: tuple[tuple[str, str], ...] = (
    (
        r"\bu?pvc\b|vinyl|chlorid|leatherette|(?:faux|artificial|imitation|synthetic)[ -]leather",
        "It holds chlorine: the fumes poison people and corrode the machine.",
    ),
    (
        r"ptfe|fluoro|\bfep\b|\bpfa\b|\bpvdf\b",
        "Fluoropolymers give off toxic fluorine compounds when burnt.",
    ),
    (
        r"fibre ?glass|fiber ?glass|glass[ -]fib|carbon[ -]fib|\bgrp\b|\bcfrp\b|\bgfrp\b|\bfr-?4\b",
        "Fibre composites give off toxic fumes and sharp dust.",
    ),
    (r"\bpvb\b|butyral", "It gives off toxic fumes when burnt."),
    (r"halogen|flame[ -]?retard|brominat|chlorinat", "Halogens give off toxic, corrosive fumes."),
    (r"chrom(?:e|ium)[ -]?(?:tan|\(?vi|6)", "Chrome-tanned leather gives off toxic fumes."),
)

_WARNED: tuple[tuple[str, str], ...] = (
    (r"polycarbonate|\bpc\b", "It chars and catches fire easily and cuts badly."),
    (r"\babs\b|styrene", "It melts, catches fire, and its fumes may hold hydrogen cyanide."),
    (r"\bhd?pe\b|polyethylene|polypropylene|\bpp\b|foam", "It melts and catches fire easily."),
    (r"mirror", "Cut it from the back: the mirrored face throws the beam back."),
    (
        r"steel|alumin|copper|brass|metal",
        "Bare metal throws the beam back and needs a machine made for it.",
    ),
    (r"leather", "Only vegetable-tanned leather may be cut; make sure of the tanning."),
    (
        r"unknown|unnamed|plastic",
        "Nobody knows what this sheet is: find its safety data sheet before cutting.",
    ),
)

_KNOWN = re.compile(
    r"plywood|\bply\b|\bmdf\b|\bhdf\b|acryl|pmma|board|card|paper|wood|birch|poplar|beech|oak|"
    r"basswood|maple|walnut|cherry|veneer|cork|felt|hardboard",
    re.IGNORECASE,
)


def judge_material(name: str) -> MaterialVerdict:
    """What to do when a cut file for this material is asked for.

    Args:
        name: the material in the shop's own words; more than one may be named.

    Source: see the module's head; a name that nothing here knows must be
    acknowledged, which is common practice for sheets without a data sheet.
    """
    lowered = name.lower()
    # "PVC-free" and "vinyl free" say the opposite of what they name.
    lowered = re.sub(r"\b(?:pvc|vinyl|halogen|chlorine)[ -]free\b", "", lowered)
    for pattern, reason in _REFUSED:
        if re.search(pattern, lowered):
            return MaterialVerdict(Verdict.REFUSED, reason)
    for pattern, reason in _WARNED:
        if re.search(pattern, lowered):
            return MaterialVerdict(Verdict.WARNED, reason)
    if not _KNOWN.search(lowered):
        return MaterialVerdict(
            Verdict.WARNED,
            "This material is not known here: find its safety data sheet before cutting.",
        )
    return MaterialVerdict(Verdict.ALLOWED)


CAUTIONS: tuple[str, ...] = (
    "Stay with the machine: never leave a running laser, and keep watching for a while after.",
    "Keep the lid shut and the interlocks working; wear the eye protection the machine's "
    "manual asks for.",
    "Run the extraction during the cut and for 20 minutes after; the fumes of acrylic, plywood "
    "and MDF harm the lungs, and smell is no measure of them.",
    "Keep a fire extinguisher that the machine's manual allows within reach, and know the "
    "site's fire procedure.",
    "Know the sheet: never cut PVC, vinyl or a plastic without a safety data sheet.",
    "All settings here are starting points. The machine's own manual, local codes and, where "
    "required, a trained or licensed person decide.",
)
