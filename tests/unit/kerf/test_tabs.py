"""Holding tabs: where they are put, how wide they are, and what the proof makes of them."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
import shapely

from lasernest.domain.contours import Contour, Pose, Vertex
from lasernest.domain.cutting import CutPath, HoldingTabs, PathKind, Proof, SheetCut
from lasernest.domain.panels import Panel
from lasernest.domain.stock import Kerf
from lasernest.errors import BadValueError
from lasernest.geometry.flatten import line_string
from lasernest.kerf.proof import prove
from lasernest.kerf.tabs import with_tabs
from tests.cut_kit import QUARTER, lines_of, plate, posed_sheet

KERF = Kerf.same(0.2)
TABS = HoldingTabs(width_mm=0.4, below_mm=12.0, count=2)
FOOT = Panel.of("foot", Contour.rectangle(0, 0, 30, 10))
DISC = Panel.of("disc", Contour.circle(0, 0, 5), [Contour.circle(0, 0, 2)])
PILL = Panel.of("pill", Contour((Vertex(0, 0), Vertex(20, 0, 1), Vertex(20, 8), Vertex(0, 8, 1))))
SOFT = Panel.of(
    "soft",
    Contour(
        (Vertex(2, 0), Vertex(8, 0, QUARTER), Vertex(10, 2), Vertex(10, 8, QUARTER), Vertex(8, 10),
         Vertex(2, 10, QUARTER), Vertex(0, 8), Vertex(0, 2, QUARTER))
    ),
)  # fmt: skip
SMALL = [
    (FOOT, Pose(10, 10)),
    (DISC, Pose(80, 20)),
    (PILL, Pose(120, 20, 30)),
    (SOFT, Pose(20, 60)),
    (plate(), Pose(200, 20)),
]


def held(tabs: HoldingTabs = TABS, kerf: Kerf = KERF) -> tuple[SheetCut, list[tuple[Panel, int]]]:
    cut, expected = posed_sheet(SMALL, kerf)
    return SheetCut(600, 400, with_tabs(cut.paths, tabs, kerf)), expected


def proved(
    cut: SheetCut,
    expected: list[tuple[Panel, int]],
    tabs: HoldingTabs | None = TABS,
    kerf: Kerf = KERF,
) -> Proof:
    return prove(
        lines_of(cut), width_mm=600, height_mm=400, expected=expected, kerf=kerf, tabs=tabs
    )


@pytest.mark.parametrize("count", [1, 2, 3, 4])
@pytest.mark.parametrize("kerf", [KERF, Kerf.same(0.37), Kerf(0.3, 0.15)])
def test_small_panels_are_held_and_proved(count: int, kerf: Kerf) -> None:
    tabs = replace(TABS, count=count)
    cut, expected = held(tabs, kerf)
    proof = proved(cut, expected, tabs, kerf)
    assert proof.problems == ()
    assert proof.passed
    assert proof.max_deviation_mm <= 0.003
    notes = {panel.panel_name: panel.note for panel in proof.panels}
    word = f"held by {count} tab{'s' if count > 1 else ''} of 0.40 mm"
    assert notes == {"foot": word, "disc": word, "pill": word, "soft": word, "plate": ""}


def test_what_stays_uncut_is_as_wide_as_asked() -> None:
    cut, _ = held()
    swept = shapely.union_all(
        [
            line_string(p.path, chord_error_mm=1e-4).buffer(0.1, quad_segs=64)
            for p in cut.paths
            if p.panel_name == "foot"
        ]
    )
    edge = shapely.LinearRing([(9.9, 9.9), (40.1, 9.9), (40.1, 20.1), (9.9, 20.1)])
    left = shapely.line_merge(edge.difference(swept))
    assert sorted(part.length for part in left.geoms) == pytest.approx([0.4, 0.4], abs=1e-4)
    # on opposite long sides, in the middle
    middles = sorted((part.centroid.y, part.centroid.x) for part in left.geoms)
    assert middles == [pytest.approx((9.9, 25)), pytest.approx((20.1, 25))]


def test_on_an_arc_the_gap_is_measured_straight_across() -> None:
    """The beam's ends are discs, so that what they leave between them is a chord."""
    tabs = HoldingTabs(width_mm=1.0, below_mm=12.0, count=2)
    disc = CutPath(PathKind.CUT_OUTER, Contour.circle(0, 0, 5), "disc", 1)
    first, second = with_tabs([disc], tabs, KERF)
    gaps = [
        math.dist(first.path.end, second.path.start), math.dist(second.path.end, first.path.start)
    ]  # fmt: skip
    assert gaps == pytest.approx([1.2, 1.2], abs=1e-6)


def test_large_panels_are_cut_out() -> None:
    cut, _ = held()
    (outline,) = [p for p in cut.paths if p.panel_name == "plate"]
    assert outline.path.closed
    assert sum(not p.path.closed for p in cut.paths) == 4 * 2
    assert sum(p.kind is PathKind.CUT_INNER for p in cut.paths) == 1  # holes are not held


def test_runs_keep_their_arcs() -> None:
    cut, _ = held()
    radii = [
        s.radius_mm
        for p in cut.paths
        if p.panel_name == "pill"
        for s in p.path.segments()
        if s.is_arc
    ]
    assert radii == pytest.approx([4.1] * len(radii), abs=1e-9)
    assert len(radii) == 2
    whole = sum(
        p.path.length_mm
        for p in cut.paths
        if p.panel_name == "disc" and p.kind is PathKind.CUT_OUTER
    )
    # less than the circle by two arcs whose chords are 0.6
    arc = 2 * 5.1 * math.asin(0.5 * 0.6 / 5.1)
    assert whole == pytest.approx(2 * math.pi * 5.1 - 2 * arc, abs=1e-8)


def test_without_being_told_of_tabs_the_proof_fails() -> None:
    cut, expected = held()
    proof = proved(cut, expected, None)
    assert not proof.passed
    assert any("A cut line is open" in p for p in proof.problems)
    assert any("foot is lost: it is not cut out of the sheet" in p for p in proof.problems)


def test_a_tab_of_the_wrong_width() -> None:
    cut, expected = held(replace(TABS, width_mm=0.45))
    proof = proved(cut, expected)
    assert not proof.passed
    assert "is 0.45 mm wide where 0.40 mm is wanted." in proof.problems[0]


def test_a_small_panel_without_tabs() -> None:
    cut, expected = posed_sheet(SMALL, KERF)
    proof = proved(cut, expected)
    assert not proof.passed
    assert "foot is small and no tab holds it." in proof.problems


def test_a_gap_too_wide_for_a_tab_is_an_open_line() -> None:
    cut, expected = held(replace(TABS, width_mm=1.5))
    proof = proved(cut, expected)
    assert any("A cut line is open" in p for p in proof.problems)


def test_too_small_for_any_tab() -> None:
    speck = CutPath(PathKind.CUT_OUTER, Contour.rectangle(10, 10, 1.0, 1.0), "speck", 1)
    assert with_tabs([speck], TABS, KERF) == (speck,)


@pytest.mark.parametrize(
    "options", [{"width_mm": 0.0}, {"width_mm": 9.0}, {"count": 0}, {"below_mm": -1.0}]
)
def test_tabs_that_cannot_be(options: dict[str, float]) -> None:
    with pytest.raises(BadValueError):
        HoldingTabs(**options)  # type: ignore[arg-type]
