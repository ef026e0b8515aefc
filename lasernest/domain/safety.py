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

from lasernest.errors import RefusedMaterialError


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
        # Trade names of PVC foam board and of films are words of the trade, too.
        r"pvc|pvdc|vinyl|chlorid|chloropren|neopren|hypalon|\bforex\b|foamex|\bsintra\b|komatex|"
        r"palight|leatherette|pleather|"
        r"(?:faux|artificial|imitation|synthetic|vegan)[ -]leather",
        "It holds chlorine: the fumes poison people and corrode the machine.",
    ),
    (
        r"ptfe|teflon|fluoro|fluorid|fluorin|\bfep\b|\bpfa\b|\bpvdf\b|\betfe\b",
        "Fluoropolymers give off toxic fluorine compounds when burnt.",
    ),
    (
        r"fib(?:re|er)[ -]?glass|glass[ -]?(?:fib|reinforced|epoxy)|carbon[ -]?(?:fib|reinforced)|"
        r"\b[gc]f?rp\b|\bfr-?4\b|\bg-?10\b",
        "Fibre composites give off toxic fumes and sharp dust.",
    ),
    (r"\bpvb\b|butyral", "It gives off toxic fumes when burnt."),
    (
        r"halogen|flame[ -]?retard|fire[ -]?retard|bromin|chlorin",
        "Halogens give off toxic, corrosive fumes.",
    ),
    (r"chrom(?:e|ium)?[ -]?(?:tan|\(?vi\b|6)", "Chrome-tanned leather gives off toxic fumes."),
    (
        r"pressure[ -]?treated|tanali[sz]ed|creosot|\bcca\b",
        "Treated timber gives off arsenic, chromium or tar when burnt.",
    ),
)
"""Sources: the rules named in the module's head; treated timber and chloroprene are
common knowledge of their makers' data sheets. Word parts are meant: uPVC, polyvinyl."""

_WARNED: tuple[tuple[str, str], ...] = (
    (r"polycarbonate|\bpc\b|lexan|makrolon", "It chars and catches fire easily and cuts badly."),
    (
        r"\babs\b|styren|styrofoam|acrylonitril",
        "It melts, catches fire, and its fumes may hold hydrogen cyanide.",
    ),
    (
        r"polyurethan|\bpu\b|polyamid|nylon|aramid",
        "Its fumes may hold hydrogen cyanide and isocyanates.",
    ),
    (
        r"\b(?:hd|ld|lld|uhmw-?)?pe\b|polyethylene|polypropylene|\bpp\b|foam",
        "It melts and catches fire easily.",
    ),
    (r"mirror", "Cut it from the back: the mirrored face throws the beam back."),
    (
        r"steel|alumin|copper|brass|bronze|titanium|galvani|\bzinc\b|\btin\b|metal",
        "Bare metal throws the beam back and needs a machine made for it.",
    ),
    (r"leather", "Only vegetable-tanned leather may be cut; make sure of the tanning."),
    (
        r"unknown|unnamed|unlabel|no name|plastic",
        "Nobody knows what this sheet is: find its safety data sheet before cutting.",
    ),
)

_FREE_OF = re.compile(
    r"\b(?:pvc|vinyl|halogen|chlorine)-free\b(?! *(?:foam|standing|blown|rise))|"
    r"\b(?:no|without|free of|free from|not) (?:pvc|vinyl|halogens?|chlorine)\b"
)
"""What says the opposite of what it names. `PVC free foam` is not among it: that is
PVC that was foamed freely."""

_KNOWN = re.compile(
    r"\b(?:ply|mdf|hdf|acryl|acrylic|acrylics|pmma|birch|poplar|beech|oak|maple|walnut|cherry|"
    r"alder|lime|ash|pine|spruce|larch|balsa|bamboo|veneer|cork|felt|cotton|card|paper|wood)\b|"
    r"\w(?:wood|board|paper)\b|\bboard\b"
)


def judge_material(name: str) -> MaterialVerdict:
    """What to do when a cut file for this material is asked for.

    Args:
        name: the material in the shop's own words; more than one may be named.

    Source: see the module's head; a name that nothing here knows must be
    acknowledged, which is common practice for sheets without a data sheet.
    """
    lowered = " ".join(name.lower().split())
    rest = _FREE_OF.sub(" ", lowered)
    for pattern, reason in _REFUSED:
        if re.search(pattern, rest):
            return MaterialVerdict(Verdict.REFUSED, reason)
    for pattern, reason in _WARNED:
        if re.search(pattern, rest):
            return MaterialVerdict(Verdict.WARNED, reason)
    if rest != lowered:
        return MaterialVerdict(
            Verdict.WARNED,
            "What it is free of does not tell what it is: find its safety data sheet before "
            "cutting.",
        )
    if not _KNOWN.search(lowered):
        return MaterialVerdict(
            Verdict.WARNED,
            "This material is not known here: find its safety data sheet before cutting.",
        )
    return MaterialVerdict(Verdict.ALLOWED)


def refuse_by_name(name: str) -> None:
    """Refuse a name that is plainly that of a material that must not be lasered.

    Raises:
        RefusedMaterialError: it is.
    """
    verdict = judge_material(name)
    if verdict.verdict is Verdict.REFUSED:
        raise RefusedMaterialError(
            f"{name} must not be laser cut. {verdict.reason}", todo="Choose another material."
        )


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


@dataclass(frozen=True, slots=True)
class AirLimits:
    """Limits of a vapour in the air of a workplace, in ppm by volume."""

    substance: str
    molar_mass_g: float
    osha_pel_ppm: float
    """Mean over a shift; law in the United States."""
    acgih_twa_ppm: float
    acgih_short_ppm: float
    """Mean over 15 minutes."""
    idlh_ppm: float
    """Immediately dangerous to life or health."""

    def mg_per_m3(self, ppm: float) -> float:
        """The same as mass per volume, at 25 degrees and one atmosphere."""
        return ppm * self.molar_mass_g / MOLAR_VOLUME_L


MOLAR_VOLUME_L = 24.45
"""Of a gas at 25 degrees Celsius and 1013 hPa, the reference of workplace limits."""

ACRYLIC_VAPOUR = AirLimits("methyl methacrylate", 100.12, 100.0, 50.0, 100.0, 1000.0)
"""What cut acrylic smells of. Sources: OSHA 29 CFR 1910.1000 table Z-1, NIOSH IDLH list
(80-62-6), ACGIH; local law may ask for less. The smell is no measure of it."""


def annealing_hours(thickness_mm: float) -> float:
    """How long cast acrylic is held at about 80 degrees before it is cemented.

    One hour for each millimetre, two at least. Source: an acrylic maker's guide to
    annealing; the maker of the sheet decides.
    """
    return max(2.0, thickness_mm)


def cooling_hours(thickness_mm: float) -> float | None:
    """How long annealed acrylic takes to cool in the oven: a quarter of its thickness in
    hours above 8 mm; None below, where slowly is enough. Source: as `annealing_hours`."""
    return 0.25 * thickness_mm if thickness_mm > 8.0 else None


def cautions_for(material: str) -> tuple[str, ...]:
    """What matters for one material besides `CAUTIONS`."""
    lowered = material.lower()
    if re.search(r"acryl|pmma", lowered):
        return (
            "Cut edges of acrylic are under stress: alcohol, cleaners, paint and cement craze "
            "them unless the part is annealed first.",
            "The vapour of cut acrylic is methyl methacrylate: limits at work are "
            f"{ACRYLIC_VAPOUR.acgih_twa_ppm:g} to {ACRYLIC_VAPOUR.osha_pel_ppm:g} ppm, and the "
            "smell is no measure of it.",
        )
    if re.search(r"ply|mdf|hdf|board|wood", lowered):
        return (
            "Smoke of wood and its glues holds fine dust and formaldehyde, which a dust filter "
            "does not hold back: lead it outside.",
        )
    return ()
