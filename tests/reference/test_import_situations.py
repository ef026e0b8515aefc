"""The ten import situations of `tests/situations/README.md`, each read from a file on disk.

Areas are computed here from the sizes that `tests/situations/draw.py` draws.
"""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from lasernest.domain.answers import Answers
from lasernest.domain.control import QuietControl
from lasernest.domain.drawing import Outlines
from lasernest.domain.findings import Severity
from lasernest.domain.line_uses import LineUses
from lasernest.errors import UnreadableFileError
from lasernest.services.importing import import_drawing
from lasernest.units import LengthUnit

FILES = Path(__file__).resolve().parents[1] / "situations"


def bring_in(
    name: str, *answers: str, unit: LengthUnit | None = None, uses: LineUses | None = None
) -> Outlines:
    return import_drawing(
        FILES / name, control=QuietControl(), unit=unit, uses=uses, answers=Answers.of(answers)
    )


def found(outlines: Outlines) -> dict[str, tuple[str, int]]:
    return {f.code: (f.severity.value, f.count) for f in outlines.findings}


def areas(outlines: Outlines) -> list[float]:
    return sorted(round(p.net_area_mm2, 3) for p in outlines.panels)


def preset(outlines: Outlines, code: str) -> list[str]:
    (finding,) = [f for f in outlines.findings if f.code == code]
    assert finding.is_question
    return [c.value for c in finding.choices if c.preset]


FRAME = 630 * 410 - 550 * 330


@pytest.mark.parametrize(
    ("name", "stated"),
    [
        ("01-inch-header-over-millimetres.dxf", LengthUnit.INCH),
        ("01-metre-header-of-a-library.dxf", LengthUnit.METRE),
    ],
)
def test_1_an_implausible_unit_is_asked_about(name: str, stated: LengthUnit) -> None:
    outlines = bring_in(name)
    assert areas(outlines) == [FRAME]
    assert preset(outlines, "unit-implausible") == ["mm"]
    (finding,) = outlines.findings
    sizes = {c.value: c.size_mm for c in finding.choices}
    assert sizes[stated.symbol] == pytest.approx((630 * stated.mm, 410 * stated.mm))
    answered = bring_in(name, unit=stated)
    assert answered.findings == ()
    assert areas(answered) == [pytest.approx(FRAME * stated.mm**2)]


def test_1_no_unit_is_millimetres_and_said() -> None:
    outlines = bring_in("01-no-unit.dxf")
    assert areas(outlines) == [FRAME]
    assert found(outlines) == {"unit-assumed": ("note", 1)}
    assert not outlines.drawing.unit_stated


@pytest.mark.parametrize(
    ("name", "taken", "per_inch"),
    [("02-only-a-viewbox.svg", "px", 96), ("02-pixels-of-an-old-editor.svg", "px90", 90)],
)
def test_2_pixels_are_asked_about(name: str, taken: str, per_inch: int) -> None:
    outlines = bring_in(name)
    assert preset(outlines, "unit-unknown") == [taken]
    net = (288 * 192 - math.pi * 24**2) * (25.4 / per_inch) ** 2
    assert areas(outlines) == [pytest.approx(net, abs=1e-3)]
    (finding,) = outlines.findings
    assert [c.value for c in finding.choices] == ["px", "px90", "pt", "mm", "in"]


def test_3_outlines_that_run_on_or_double_back_close() -> None:
    outlines = bring_in("03-past-the-start-and-back.dxf")
    assert areas(outlines) == [4000.0, 4000.0, 4000.0]
    assert outlines.open_chains == 0
    assert all(f.mended for f in outlines.findings)
    assert set(found(outlines)) == {"doubled-back", "overlap-removed"}


def test_4_hidden_layers_are_listed_and_stacked_ones_read_each_by_itself() -> None:
    name = "04-one-part-per-layer.dxf"
    front, back, shelf = 9600 - math.pi * 100, 9600 - math.pi * (625 + 9), 7800 - 30
    outlines = bring_in(name)
    assert areas(outlines) == [round(front, 3)]
    assert preset(outlines, "hidden-layers") == ["layers="]
    (hidden,) = [f for f in outlines.findings if f.code == "hidden-layers"]
    assert "BACK (3 lines, 1 part), SHELF (2 lines, 1 part)" in hidden.message
    everything = bring_in(name, "layers=FRONT,BACK,SHELF")
    assert areas(everything) == sorted(round(a, 3) for a in (front, back, shelf))
    assert sorted(p.name for p in everything.panels) == ["BACK", "FRONT", "SHELF"]
    assert "layers-stacked" in found(everything)


def test_4_nothing_is_imported_only_with_a_word() -> None:
    outlines = bring_in("04-everything-hidden.dxf")
    assert outlines.panels == ()
    assert found(outlines)["no-panels"][0] == "error"
    assert found(outlines)["hidden-layers"][0] == "warning"
    assert areas(bring_in("04-everything-hidden.dxf", "layers=*")) == [9600.0]


def test_5_a_rectangle_around_everything_is_left_out() -> None:
    name = "05-rectangle-around-everything.dxf"
    outlines = bring_in(name)
    with_hole = round(170 * 160 - math.pi * 40**2, 3)
    assert areas(outlines) == [with_hole] * 3 + [170 * 150.0] * 3
    assert preset(outlines, "sheet-border") == ["border=drop"]
    kept = bring_in(name, "border=keep")
    assert max(p.outer.area_mm2 for p in kept.panels) == 240000.0
    assert "sheet-border" not in found(kept)


def test_6_neighbours_and_tabs_share_their_edges() -> None:
    outlines = bring_in("06-neighbours-share-edges.dxf")
    assert areas(outlines) == [240.0, 1125.0, 1200.0, 1350.0, 1500.0, 2400.0]
    assert {"edge-shared", "tee-joined", "tab-closed"} <= set(found(outlines))
    assert all(f.where_mm is not None for f in outlines.findings)


def test_7_doubles_go_and_pen_widths_are_asked_about() -> None:
    twice = bring_in("07-drawn-twice.dxf")
    assert areas(twice) == [round(6000 - 2 * math.pi * 16, 3)]
    assert found(twice) == {"double-removed": ("note", 6)}
    name = "07-outlines-as-pen-width.svg"
    pen = bring_in(name)
    assert areas(pen) == [round(4000 - math.pi * 8.15**2, 3)]
    assert preset(pen, "double-line") == ["double-lines=outer"]
    inner = bring_in(name, "double-lines=inner")
    assert areas(inner) == [round(79.7 * 49.7 - math.pi * 64, 3)]
    assert len(bring_in(name, "double-lines=both").panels) == 2


def test_8_open_lines_are_marks_and_the_rest_is_counted() -> None:
    outlines = bring_in("08-lines-that-are-no-contours.dxf")
    (panel,) = outlines.panels
    assert len(panel.inner) == 1
    assert len(panel.marks) == 3
    left_out = next(f for f in outlines.findings if f.code == "left-out")
    assert left_out.message == (
        "Left out: 1 DIMENSION, 1 HATCH, 1 IMAGE, 1 POINT, 1 SOLID, 2 TEXT."
    )
    assert found(outlines)["open-lines"] == ("note", 3)
    assert found(outlines)["mark-outside"] == ("warning", 1)


def test_8_colours_are_asked_about_and_can_be_given_a_use() -> None:
    name = "08-colours-as-operations.svg"
    outlines = bring_in(name)
    assert {"colours-differ", "text-left-out", "hidden-left-out"} <= set(found(outlines))
    uses = LineUses().with_row("#0000ff=engrave").with_row("#00ff00=score")
    (panel,) = bring_in(name, uses=uses).panels
    assert panel.inner == ()
    assert sorted(m.kind.value for m in panel.marks) == ["engrave", "score"]
    assert "colours-differ" not in found(bring_in(name, "colours=cut"))


def test_9_parts_inside_holes_are_panels_and_small_islands_named() -> None:
    outlines = bring_in("09-parts-inside-holes.dxf")
    rings = [math.pi * (60**2 - 45**2), math.pi * (30**2 - 5**2)]
    assert areas(outlines) == [64.0, 64.0, 1700.0, *sorted(round(a, 3) for a in rings)]
    assert found(outlines) == {"small-islands": ("note", 2)}


ACCEPTED = {
    "10-accept-unusual-group-order.dxf": [1000.0],
    "10-accept-carriage-returns.dxf": [1200.0, round(6000 - 100 * math.pi, 3)],
    "10-accept-old-version-tag.dxf": [1200.0, round(6000 - 100 * math.pi, 3)],
    "10-accept-reversed-extrusion.dxf": [round(200 * math.pi, 3)],
    "10-accept-use-of-itself.svg": [1500.0],
}


@pytest.mark.parametrize("name", sorted(ACCEPTED))
def test_10_legal_oddities_are_accepted(name: str) -> None:
    outlines = bring_in(name)
    assert areas(outlines) == ACCEPTED[name]
    assert [f for f in outlines.findings if f.severity is not Severity.NOTE] == []
    assert outlines.open_chains == 0


def test_10_the_frame_of_a_spline_fit_is_not_cut() -> None:
    outlines = bring_in("10-accept-spline-fit-polyline.dxf")
    # A regular polygon of 16 corners on a circle of radius 25 (closed form).
    exact = 8 * 25**2 * math.sin(math.pi / 8)
    assert areas(outlines) == [pytest.approx(exact, rel=1e-6)]


def test_10_a_spline_without_a_header_has_its_area() -> None:
    # A parabola's segment: two thirds of chord times height.
    outlines = bring_in("10-accept-spline-without-header.dxf")
    assert areas(outlines) == [pytest.approx(2 / 3 * 80 * 30, abs=0.01 * 110)]


@pytest.mark.parametrize(
    ("name", "code"),
    [
        ("10-repair-empty-whole-number.dxf", "empty-number"),
        ("10-repair-missing-end-marker.dxf", "end-marker-missing"),
    ],
)
def test_10_small_damage_is_repaired_and_said(name: str, code: str) -> None:
    outlines = bring_in(name)
    assert areas(outlines) == [1200.0, round(6000 - 100 * math.pi, 3)]
    assert [(f.code, f.mended) for f in outlines.findings] == [(code, True)]


REFUSED = {
    "10-refuse-cut-off-midway.dxf": "breaks off inside its ENTITIES section",
    "10-refuse-shifted-groups.dxf": "a group code should stand here",
    "10-refuse-not-a-number.dxf": "not 'nan'",
    "10-refuse-decimal-commas.dxf": "'50,25' has a decimal comma",
    "10-refuse-nul-bytes.dxf": "NUL bytes",
    "10-refuse-cut-off.svg": "cut off or damaged",
    "10-refuse-path-not-a-number.svg": "needs a number where it has 'NaN",
    "10-refuse-web-page.dxf": "this is a web page",
    "10-refuse-picture.svg": "this is a PNG picture",
    "10-refuse-entities.svg": "declares entities",
}
WITHOUT_LINE = ("10-refuse-web-page.dxf", "10-refuse-picture.svg", "10-refuse-entities.svg")


@pytest.mark.parametrize("name", sorted(REFUSED))
def test_10_damage_is_refused_in_one_sentence_with_its_line(name: str) -> None:
    with pytest.raises(UnreadableFileError) as caught:
        bring_in(name)
    sentence = caught.value.sentence()
    assert REFUSED[name] in sentence
    assert sentence.startswith(name)
    assert "\n" not in sentence
    assert caught.value.todo
    assert (caught.value.where.line is not None) == (name not in WITHOUT_LINE)


def test_every_file_of_the_folder_is_tested() -> None:
    text = Path(__file__).read_text(encoding="utf-8")
    files = [p.name for p in FILES.iterdir() if p.suffix in (".dxf", ".svg")]
    assert len(files) > 30
    assert [name for name in files if name not in text] == []
