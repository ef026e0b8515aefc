"""The proof must know a good sheet from a spoilt one, and say what is wrong."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import pytest

from lasernest.domain.contours import Contour, Pose, Vertex
from lasernest.domain.cutting import CutPath, PathKind, Proof
from lasernest.domain.panels import Mark, MarkKind, Panel
from lasernest.domain.stock import Kerf
from lasernest.kerf.compensate import cut_paths
from lasernest.kerf.proof import prove, prove_sheet
from tests.cut_kit import finger_panel, front, lines_of, plate, posed_sheet

KERF = Kerf.same(0.2)
LID = Panel.of(
    "lid",
    Contour.rectangle(0, 0, 80, 40),
    [Contour.circle(20, 20, 5)],
    [
        Mark(Contour.polyline([(40, 5), (40, 35)])),
        Mark(Contour.circle(60, 20, 6), MarkKind.ENGRAVE),
    ],
)
PANELS = [
    (finger_panel(), Pose(10, 10)),
    (front(), Pose(200, 10, 90)),
    (LID, Pose(250, 200, 30)),
    (LID, Pose(500, 150, 0, mirrored=True)),
]


def proved(
    change: Callable[[list[CutPath]], list[CutPath]] | None = None,
    *,
    cut_with: Kerf = KERF,
    panels: list[tuple[Panel, Pose]] = PANELS,
) -> Proof:
    cut, expected = posed_sheet(panels, cut_with)
    paths = list(cut.paths)
    if change is not None:
        paths = change(paths)
    lines = [(path.kind, path.path) for path in paths]
    return prove(lines, width_mm=600, height_mm=400, expected=expected, kerf=KERF)


def test_a_good_sheet_passes() -> None:
    proof = proved()
    assert proof.problems == ()
    assert proof.passed
    assert (proof.panels_expected, proof.panels_found) == (4, 4)
    assert proof.max_deviation_mm <= 0.002
    assert [p.panel_name for p in proof.panels] == ["fingers", "front", "lid", "lid"]
    # inner corners keep half the kerf as their radius; the lid has none
    assert [p.corner_radius_mm for p in proof.panels] == pytest.approx([0.1, 0.1, 0, 0])


@pytest.mark.parametrize("kerf_mm", [0.0, 0.05, 0.1, 0.2, 0.37, 0.9])
def test_every_kerf_passes_with_its_own_compensation(kerf_mm: float) -> None:
    kerf = Kerf.same(kerf_mm)
    cut, expected = posed_sheet(PANELS, kerf)
    proof = prove(lines_of(cut), width_mm=600, height_mm=400, expected=expected, kerf=kerf)
    assert proof.problems == ()
    assert proof.max_deviation_mm <= 0.002


@pytest.mark.parametrize(("wrong_mm", "deviation_mm"), [(0.1, 0.05), (0.0, 0.1), (0.4, 0.1)])
def test_wrong_compensation_fails(wrong_mm: float, deviation_mm: float) -> None:
    # V8: half a kerf, none at all, twice the kerf
    proof = proved(cut_with=Kerf.same(wrong_mm))
    # straight edges are off by half the difference, corners by up to that times sqrt(2)
    assert deviation_mm - 1e-3 <= proof.max_deviation_mm <= deviation_mm * math.sqrt(2) + 1e-3
    assert not proof.passed
    assert "off its drawing" in proof.problems[0]


def test_the_tolerance_of_5_um_is_meant() -> None:
    near, off = proved(cut_with=Kerf.same(0.194)), proved(cut_with=Kerf.same(0.186))
    assert near.passed
    assert 0.003 - 5e-4 <= near.max_deviation_mm <= 0.003 * math.sqrt(2) + 5e-4
    assert not off.passed


def test_swapped_sides_fail() -> None:
    # outer contours moved in, inner ones out: as a kerf of -0.2
    def swap(paths: list[CutPath]) -> list[CutPath]:
        from lasernest.geometry.offsets import offset_contour

        by = {PathKind.CUT_OUTER: -0.2, PathKind.CUT_INNER: 0.2}
        return [
            replace(p, path=offset_contour(p.path, by[p.kind])[0]) if p.kind.is_cut else p
            for p in paths
        ]

    proof = proved(swap)
    assert not proof.passed
    assert proof.max_deviation_mm == pytest.approx(0.2, abs=0.09)
    assert "smaller than drawn" in " ".join(proof.problems)


def test_one_outline_with_half_the_compensation_is_named() -> None:
    def shrink(paths: list[CutPath]) -> list[CutPath]:
        from lasernest.geometry.offsets import offset_contour

        return [
            replace(p, path=offset_contour(p.path, -0.05)[0])
            if p.panel_name == "front" and p.kind is PathKind.CUT_OUTER
            else p
            for p in paths
        ]

    proof = proved(shrink)
    assert not proof.passed
    (problem,) = proof.problems
    assert problem.startswith("front, copy 2 is 0.0")
    assert "smaller than drawn" in problem


def test_missing_outline() -> None:
    proof = proved(
        lambda paths: [
            p for p in paths if not (p.panel_name == "front" and p.kind is PathKind.CUT_OUTER)
        ]
    )
    assert not proof.passed
    assert proof.panels_found == 3
    assert any(
        p.startswith("front, copy 2 is lost: it is not cut out of the sheet")
        for p in proof.problems
    )


def test_missing_hole() -> None:
    proof = proved(lambda paths: [p for p in paths if p.kind is not PathKind.CUT_INNER])
    assert not proof.passed
    assert any("16 holes too few" in p for p in proof.problems)


def test_missing_panel_altogether() -> None:
    proof = proved(lambda paths: [p for p in paths if p.panel_name != "fingers"])
    assert not proof.passed
    assert proof.panels_found == 3


def test_two_panels_that_touch() -> None:
    # drawn edge to edge, each cut eats 0.2 of the neighbour
    proof = proved(panels=[(plate("a"), Pose(10, 10)), (plate("b"), Pose(110, 10))])
    assert not proof.passed
    assert proof.max_deviation_mm == pytest.approx(0.2, abs=2e-3)


@pytest.mark.parametrize(
    ("gap_mm", "passes"), [(0.19, False), (0.21, True), (0.3, True), (2.0, True)]
)
def test_gap_down_to_the_kerf(gap_mm: float, passes: bool) -> None:
    # C7: nearer than a kerf the beam of one panel cuts into the other
    proof = proved(panels=[(plate("a"), Pose(10, 10)), (plate("b"), Pose(110 + gap_mm, 10))])
    assert proof.passed == passes
    if gap_mm == 0.19:
        assert proof.max_deviation_mm == pytest.approx(0.01, abs=1e-3)


def test_panels_not_parted() -> None:
    # one outline round both
    def join(paths: list[CutPath]) -> list[CutPath]:
        return [replace(paths[0], path=Contour.rectangle(9.9, 9.9, 202.2, 60.2))]

    proof = proved(join, panels=[(plate("a"), Pose(10, 10)), (plate("b"), Pose(112, 10))])
    assert not proof.passed
    assert proof.panels_found == 0
    assert proof.problems[0].startswith("a is lost: it is not parted from b at")


def test_a_doubled_cut() -> None:
    proof = proved(lambda paths: [*paths, paths[-1]])
    assert not proof.passed
    assert any("of line is cut twice" in p for p in proof.problems)


def test_a_stretch_cut_twice() -> None:
    def add(paths: list[CutPath]) -> list[CutPath]:
        ring = Contour.rectangle(109.9, 9.9, 40.2, 30.2)
        return [paths[0], CutPath(PathKind.CUT_OUTER, ring)]

    proof = proved(add, panels=[(plate("a"), Pose(10, 10)), (plate("b"), Pose(112, 100))])
    assert not proof.passed


def test_one_panel_shifted() -> None:
    def shift(paths: list[CutPath]) -> list[CutPath]:
        return [
            replace(p, path=p.path.posed(Pose(0.02, 0))) if p.panel_name == "fingers" else p
            for p in paths
        ]

    proof = proved(shift)
    assert not proof.passed
    assert proof.max_deviation_mm == pytest.approx(0.02, abs=2e-3)
    assert proof.panels[0].deviation_mm == proof.max_deviation_mm
    assert all(p.deviation_mm < 0.002 for p in proof.panels[1:])


def test_an_open_cut() -> None:
    def cut_open(paths: list[CutPath]) -> list[CutPath]:
        last = paths[-1].path
        return [*paths[:-1], replace(paths[-1], path=Contour(last.vertices, closed=False))]

    proof = proved(cut_open)
    assert not proof.passed
    assert any(p.startswith("A cut line is open at") for p in proof.problems)


def test_an_extra_piece() -> None:
    extra = CutPath(PathKind.CUT_INNER, Contour.rectangle(20, 300, 5, 2))
    proof = proved(lambda paths: [*paths, extra])
    assert proof.problems == (
        "An unexpected piece of 4.80 x 1.80 mm comes loose at 22.50, 301.00 mm.",
    )


@pytest.mark.parametrize("step_mm", [0.01, 0.04, 0.0781, 0.15, 0.3])
@pytest.mark.parametrize("kerf_mm", [0.1, 0.15, 0.4])
def test_steps_lower_than_the_beam(step_mm: float, kerf_mm: float) -> None:
    # as traced drawings have them where a round end meets a bar: the beam rolls about the corner
    bar = [Vertex(0, 0), Vertex(20, 0), Vertex(20, step_mm, math.tan(math.pi / 8))]
    bar += [Vertex(30, 10 + step_mm), Vertex(30, 40), Vertex(0, 40)]
    notch = Contour.polygon(
        [(0, 0), (9, 0), (9, step_mm), (9.12, step_mm), (9.12, 0), (20, 0), (20, 9), (0, 9)]
    )
    kerf = Kerf.same(kerf_mm)
    panels = [(Panel.of("bar", Contour(tuple(bar))), Pose(100, 100))]
    panels += [(Panel.of("notch", notch), Pose(200, 100, 30))] if step_mm < kerf_mm else []
    cut, expected = posed_sheet(panels, kerf)
    proof = prove(lines_of(cut), width_mm=600, height_mm=400, expected=expected, kerf=kerf)
    assert proof.problems == ()
    assert proof.max_deviation_mm <= 0.002


@pytest.mark.parametrize("mouth_mm", [0.25, 0.35, 0.45])
def test_the_core_of_a_slit_with_a_round_end_is_waste(mouth_mm: float) -> None:
    # a slit against splitting, its end drilled round: below two kerfs the round core falls out
    half, radius = 0.5 * mouth_mm, 1.5
    up = 10 + math.sqrt(radius**2 - half**2)
    angle = 2 * math.pi - 2 * math.asin(half / radius)
    slit = [Vertex(0, 0), Vertex(40, 0), Vertex(40, 20), Vertex(20 + half, 20)]
    slit += [Vertex(20 + half, up, -math.tan(0.25 * angle)), Vertex(20 - half, up)]
    slit += [Vertex(20 - half, 20), Vertex(0, 20)]
    panel = Panel.of("slit", Contour(tuple(slit)))
    assert panel.net_area_mm2 == pytest.approx(800 - math.pi * radius**2 - mouth_mm * 8.5, abs=0.1)
    assert proved(panels=[(panel, Pose(100, 100))]).problems == ()
    extra = proved(
        lambda paths: [*paths, CutPath(PathKind.CUT_INNER, Contour.circle(120, 60, 2), "slit", 1)],
        panels=[(panel, Pose(100, 100))],
    )
    assert "An unexpected piece of" in " ".join(extra.problems)


def test_a_cut_through_a_panel() -> None:
    slit = CutPath(PathKind.CUT_INNER, Contour.rectangle(30, 30, 20, 0.1))
    proof = proved(lambda paths: [*paths, slit])
    assert not proof.passed
    assert any("fingers is" in p and "one hole too many" in p for p in proof.problems)


def test_marks_that_are_missing_or_cut_through() -> None:
    missing = proved(lambda paths: [p for p in paths if p.kind is not PathKind.SCORE])
    assert len(missing.problems) == 2
    assert missing.problems[0].startswith("lid: the score line at ")
    assert missing.problems[0].endswith("is missing.")

    cut = proved(
        lambda paths: [
            replace(p, kind=PathKind.CUT_INNER) if p.kind is PathKind.ENGRAVE else p for p in paths
        ]
    )
    assert not cut.passed
    assert any("the engraved line at" in p and "is cut through." in p for p in cut.problems)

    swapped = proved(
        lambda paths: [
            replace(p, kind=PathKind.SCORE) if p.kind is PathKind.ENGRAVE else p for p in paths
        ]
    )
    assert any("became a score line" in p for p in swapped.problems)

    strange = CutPath(PathKind.SCORE, Contour.polyline([(1, 390), (9, 390)]))
    added = proved(lambda paths: [*paths, strange])
    assert added.problems == ("A score line that no panel has lies at 1.00, 390.00 mm.",)


def test_lines_off_the_sheet() -> None:
    proof = proved(panels=[(plate("a"), Pose(500.05, 10))])
    assert not proof.passed
    assert proof.problems[0].startswith("A cut line runs off the sheet at 600.15")


def test_an_offcut_has_its_own_edge() -> None:
    cut, expected = posed_sheet([(plate("a"), Pose(10, 10))], KERF)
    small = Contour.polygon([(0, 0), (200, 0), (80, 90), (0, 90)])
    fits = Contour.polygon([(0, 0), (200, 0), (150, 90), (0, 90)])
    options = {"width_mm": 200, "height_mm": 90, "expected": expected, "kerf": KERF}
    assert prove(lines_of(cut), outline=fits, **options).passed
    assert not prove(lines_of(cut), outline=small, **options).passed


def test_a_crossing_cut() -> None:
    bow = CutPath(PathKind.CUT_INNER, Contour.polygon([(20, 300), (40, 320), (40, 300), (20, 320)]))
    proof = proved(lambda paths: [*paths, bow])
    assert any("crosses or doubles itself" in p for p in proof.problems)


def test_panels_in_holes_of_panels() -> None:
    ring = Panel.of("ring", Contour.rectangle(0, 0, 100, 100), [Contour.circle(50, 50, 40)])
    disc = Panel.of("disc", Contour.circle(0, 0, 30), [Contour.circle(0, 0, 10)])
    proof = proved(panels=[(ring, Pose(20, 20)), (disc, Pose(70, 70))])
    assert proof.problems == ()
    assert proof.passed


def test_nothing_to_prove_is_not_a_pass() -> None:
    proof = prove([], width_mm=100, height_mm=100, expected=[], kerf=KERF)
    assert not proof.passed
    assert proof.problems == ("There is no panel to be proved.",)


def test_no_lines_at_all() -> None:
    _, expected = posed_sheet([(plate(), Pose(10, 10))], KERF)
    proof = prove([], width_mm=600, height_mm=400, expected=expected, kerf=KERF)
    assert (proof.passed, proof.panels_found) == (False, 0)


def test_a_gap_the_beam_cannot_enter_is_no_known_corner() -> None:
    notched = Panel.of(
        "comb",
        Contour.polygon([(0, 0), (9, 0), (9, 4), (9.15, 4), (9.15, 0), (20, 0), (20, 10), (0, 10)]),
    )
    lines = [(PathKind.CUT_OUTER, Contour.rectangle(9.9, 9.9, 20.2, 10.2))]
    proof = prove(
        lines, width_mm=60, height_mm=40, expected=[(notched.posed(Pose(10, 10)), 1)], kerf=KERF
    )
    assert not proof.passed
    assert "comb has a gap that the beam cannot enter at" in " ".join(proof.problems)


def test_finished_shapes_come_with_the_proof() -> None:
    # V5 and the closed form for corners: 5880 + 4 (1 - pi/4) 0.01
    cut, expected = posed_sheet([(finger_panel(), Pose(10, 10))], KERF)
    sheet = prove_sheet(lines_of(cut), width_mm=600, height_mm=400, expected=expected, kerf=KERF)
    ((name, copy, shape),) = sheet.finished
    assert (name, copy) == ("fingers", 1)
    assert shape.area == pytest.approx(5880 + 4 * (1 - math.pi / 4) * 0.01, abs=1e-3)


def test_elliptic_beam() -> None:
    # trade figure: kx 0.22, ky 0.16: a rectangle of 60 x 40 is drawn 60.22 x 40.16
    kerf = Kerf(0.22, 0.16)
    panel = Panel.of("p", Contour.rectangle(10, 10, 60, 40))
    good = [(PathKind.CUT_OUTER, Contour.rectangle(9.89, 9.92, 60.22, 40.16))]
    options = {"width_mm": 100, "height_mm": 100, "expected": [(panel, 1)], "kerf": kerf}
    assert prove(good, **options).max_deviation_mm <= 0.001
    assert prove(good, **options).passed
    turned = [(PathKind.CUT_OUTER, Contour.rectangle(9.92, 9.89, 60.16, 40.22))]
    assert prove(turned, **options).max_deviation_mm == pytest.approx(0.03, abs=0.013)


@pytest.mark.parametrize("kerf", [Kerf(0.22, 0.16), Kerf(0.1, 0.4), Kerf(0.3, 0.2)])
def test_elliptic_beams_pass_with_their_own_compensation(kerf: Kerf) -> None:
    cut, expected = posed_sheet(PANELS, kerf)
    proof = prove(lines_of(cut), width_mm=600, height_mm=400, expected=expected, kerf=kerf)
    assert proof.problems == ()
    assert proof.max_deviation_mm <= 0.003
    swapped = Kerf(kerf.y_mm, kerf.x_mm)
    assert not prove(
        lines_of(cut), width_mm=600, height_mm=400, expected=expected, kerf=swapped
    ).passed


def test_sharp_points_survive_the_bevel() -> None:
    star = Contour(
        tuple(
            Vertex(r * math.cos(a), r * math.sin(a))
            for r, a in [(40 if i % 2 else 6, math.pi * i / 9) for i in range(18)]
        )
    )
    proof = proved(panels=[(Panel.of("star", star), Pose(100, 100))])
    assert proof.problems == ()
    assert proof.max_deviation_mm <= 0.002


def test_cusps_are_as_deep_as_the_beam_goes() -> None:
    # two lobes that touch: the gap between them narrows to nothing
    heart = Contour(
        (Vertex(0, 0), Vertex(20, 20, 1.0), Vertex(0, 20, 1.0), Vertex(-20, 20)),
    )
    proof = proved(panels=[(Panel.of("heart", heart), Pose(100, 100))])
    assert proof.problems == ()
    assert proof.panels[0].corner_radius_mm == pytest.approx(0.1)


@pytest.fixture
def wedge() -> Panel:
    """A plate whose hole runs out between two curved walls at 3.5 degrees."""
    hole = [(3.7350691838844963, 9.895, 0.05), (4.644512154706778, 7.291, 0.05)]
    hole += [(2.8072071149189792, 9.984793103448276), (3.141053268765133, 10.240358090185676)]
    return Panel.of(
        "wedge", Contour.rectangle(0, 0, 20, 20), [Contour(tuple(Vertex(*v) for v in hole))]
    )


@pytest.mark.parametrize("turn", [0.0, 12.3, 90.0, 211.0])
@pytest.mark.parametrize("kerf_mm", [0.08, 0.1, 0.15])
def test_how_far_a_beam_gets_into_a_wedge_is_not_known_to_the_micron(
    wedge: Panel, kerf_mm: float, turn: float
) -> None:
    # found by a property test: a chord's half micron on the walls is five microns along the wedge
    kerf = Kerf.same(kerf_mm)
    cut, expected = posed_sheet([(wedge, Pose(100, 100, turn))], kerf)
    proof = prove(lines_of(cut), width_mm=600, height_mm=400, expected=expected, kerf=kerf)
    assert proof.problems == ()


@pytest.mark.parametrize(("short_mm", "passes"), [(0.0, True), (0.05, False), (0.5, False)])
def test_a_beam_that_turns_back_in_a_wedge_is_seen(
    wedge: Panel, short_mm: float, passes: bool
) -> None:
    kerf = Kerf.same(0.1)
    cut, expected = posed_sheet([(wedge, Pose(100, 100))], kerf)
    paths = []
    for kind, line in lines_of(cut):
        path = line
        if kind is PathKind.CUT_INNER:
            tip = min(range(len(path.vertices)), key=lambda i: path.vertices[i].y_mm)
            vertices = list(path.vertices)
            x, y, bulge = vertices[tip]
            back = (-0.27 * short_mm, 0.96 * short_mm)
            vertices[tip] = Vertex(x + back[0], y + back[1], bulge)
            path = Contour(tuple(vertices))
        paths.append((kind, path))
    proof = prove(paths, width_mm=600, height_mm=400, expected=expected, kerf=kerf)
    assert proof.passed is passes


def test_sixty_panels_with_one_bad_copy() -> None:
    # copies are measured once per kind; a bad one is another kind
    poses = [(front(), Pose(5 + 105 * (i % 10), 5 + 65 * (i // 10))) for i in range(60)]
    cut, expected = posed_sheet(poses, KERF, width=1100, height=420)
    lines = lines_of(cut)
    good = prove(lines, width_mm=1100, height_mm=420, expected=expected, kerf=KERF)
    assert good.passed
    i = next(i for i, path in enumerate(cut.paths) if path.copy == 37)
    lines[i] = (lines[i][0], lines[i][1].posed(Pose(0.01, 0)))
    bad = prove(lines, width_mm=1100, height_mm=420, expected=expected, kerf=KERF)
    assert [p.copy for p in bad.panels if p.deviation_mm > 0.005] == [37]
    assert bad.max_deviation_mm == pytest.approx(0.01, abs=1e-3)
    x, y = bad.panels[36].worst_at_mm or (0, 0)
    x0, y0, x1, y1 = expected[36][0].bounds_mm()
    assert x0 < x < x1
    assert y0 < y < y1


def test_the_core_of_a_hollow_with_sharp_lips_is_waste() -> None:
    # A mouth of 0.529 mm is wider than two kerfs, but the ways round its lips meet in it.
    radius, deep = 0.4, 0.3
    half = math.sqrt(radius**2 - deep**2)
    bulge = -math.tan((math.pi - math.acos(deep / radius)) / 2)
    corners = [Vertex(0, 0), Vertex(10, 0), Vertex(10, 10), Vertex(5 + half, 10, bulge)]
    outline = Contour((*corners, Vertex(5 - half, 10), Vertex(0, 10)))
    jar = Panel.of("jar", outline).posed(Pose(5, 5))
    kerf = Kerf.same(0.15)
    paths = [(path.kind, path.path) for path in cut_paths(jar, kerf)]
    proof = prove(paths, width_mm=20, height_mm=20, expected=[(jar, 1)], kerf=kerf)
    assert proof.problems == ()
    assert proof.passed
