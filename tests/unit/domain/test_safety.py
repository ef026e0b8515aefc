"""H1 to H4 of the trade's check table: what must not be lasered, and what to know."""

from __future__ import annotations

import pytest

from lasernest.domain.safety import (
    ACRYLIC_VAPOUR,
    CAUTIONS,
    Verdict,
    annealing_hours,
    cautions_for,
    cooling_hours,
    judge_material,
)

REFUSED = (
    "PVC", "uPVC", "CPVC", "rigid pvc sheet", "Pvc foam board", "polyvinyl chloride", "vinyl",
    "adhesive vinyl", "PVC free foam", "pvc-free foam", "pvc free standing display board",
    "faux leather", "vegan leather", "leatherette", "neoprene", "PVDC", "Forex 3 mm",
    "PTFE", "Teflon", "fluoropolymer", "PVDF", "fibreglass", "fiberglass", "glass fibre",
    "glass-reinforced epoxy", "GRP", "CFRP", "FR4", "FR-4", "G10", "carbon fibre", "carbon fiber",
    "carbonfibre", "PVB", "flame retardant MDF", "halogenated plastic", "brominated polystyrene",
    "chrome-tanned leather", "chromium(VI) leather", "pressure-treated pine", "plywood with vinyl",
)  # fmt: skip
WARNED = (
    "ABS", "polycarbonate", "PC", "polystyrene", "HDPE", "PE", "LDPE", "polypropylene", "PP",
    "EVA foam", "acrylic mirror", "stainless steel", "galvanised sheet", "leather", "unknown",
    "unknown plastic", "plastic", "mystery sheet", "", "carbon", "PETG", "soaked fabric", "nylon",
    "acrylonitrile butadiene styrene", "polyurethane", "PVC-free sheet", "vinyl-free flooring",
    "halogen-free board", "no pvc", "granite", "discarded stuff",
)  # fmt: skip
ALLOWED = (
    "birch plywood", "poplar ply", "Cast Acrylic", "extruded acrylic", "PMMA", "MDF", "HDF",
    "grey board", "greyboard", "cardboard", "corrugated card", "hardboard", "basswood", "oak",
    "fluorescent acrylic", "walnut veneer", "cork", "wool felt", "paper", "solid wood, cherry",
    "particleboard",
)  # fmt: skip


@pytest.mark.parametrize("name", REFUSED)
def test_what_is_never_cut(name: str) -> None:
    verdict = judge_material(name)
    assert verdict.verdict is Verdict.REFUSED
    assert verdict.reason.endswith(".")


@pytest.mark.parametrize("name", WARNED)
def test_what_must_be_acknowledged(name: str) -> None:
    verdict = judge_material(name)
    assert verdict.verdict is Verdict.WARNED
    assert verdict.reason.endswith(".")


@pytest.mark.parametrize("name", ALLOWED)
def test_what_is_usually_cut(name: str) -> None:
    assert judge_material(name).verdict is Verdict.ALLOWED


@pytest.mark.parametrize("word", ["PVC", "vinyl", "PTFE", "fibreglass", "carbon fibre"])
@pytest.mark.parametrize("name", ALLOWED)
def test_a_known_name_does_not_hide_what_must_not_be_cut(word: str, name: str) -> None:
    for text in (f"{name} with {word}", f"{word} on {name}", f"{name}\n{word.upper()}"):
        assert judge_material(text).verdict is Verdict.REFUSED


def test_vapour_of_acrylic() -> None:
    # H2: OSHA 29 CFR 1910.1000 Z-1 prints 410 mg/m3 for 100 ppm; 409.49 by molar mass
    assert ACRYLIC_VAPOUR.mg_per_m3(100.0) == pytest.approx(409.49, abs=5e-3)
    assert round(ACRYLIC_VAPOUR.mg_per_m3(ACRYLIC_VAPOUR.osha_pel_ppm), -1) == 410
    # H3: ACGIH 50 and 100 ppm, OSHA 100, IDLH 1000
    limits = (ACRYLIC_VAPOUR.acgih_twa_ppm, ACRYLIC_VAPOUR.acgih_short_ppm)
    assert (*limits, ACRYLIC_VAPOUR.osha_pel_ppm, ACRYLIC_VAPOUR.idlh_ppm) == (50, 100, 100, 1000)
    assert any("50 to 100 ppm" in text for text in cautions_for("cast acrylic"))


def test_annealing() -> None:
    # H4: one hour for each mm, two at least; above 8 mm cooling takes a quarter of that
    assert [annealing_hours(t) for t in (1, 3, 6, 10)] == [2, 3, 6, 10]
    assert [cooling_hours(t) for t in (3, 8, 10)] == [None, None, 2.5]


def test_every_material_in_stock_has_its_cautions() -> None:
    for material in ("birch plywood", "MDF", "cast acrylic", "grey board"):
        assert cautions_for(material)
    assert cautions_for("wool felt") == ()
    assert all(text.endswith(".") for text in (*CAUTIONS, *cautions_for("acrylic")))
