from __future__ import annotations

import math
from itertools import pairwise
from pathlib import Path

import pytest

from lasernest.domain.answers import Answers
from lasernest.domain.contours import Contour, Vertex
from lasernest.domain.control import QuietControl
from lasernest.domain.drawing import Drawing, LayerInfo, LineUse, Outlines, Stroke
from lasernest.domain.findings import Severity
from lasernest.domain.line_uses import LineUses
from lasernest.domain.panels import MarkKind
from lasernest.errors import BadValueError
from lasernest.geometry.naming import panel_names, reading_order
from lasernest.geometry.outlines import outlines_of


def made(*strokes: Stroke, uses: LineUses | None = None, hidden: tuple[str, ...] = ()) -> Outlines:
    layers = tuple(
        LayerInfo(name, name not in hidden) for name in dict.fromkeys(s.layer for s in strokes)
    )
    drawing = Drawing(Path("case.dxf"), "DXF", "mm", 1.0, tuple(strokes), layers)
    return outlines_of(drawing, uses=uses, control=QuietControl())


def rect(x: float, y: float, w: float, h: float, *, layer: str = "0") -> Stroke:
    return Stroke(Contour.rectangle(x, y, w, h), layer)


def circle(x: float, y: float, r: float, layer: str = "0") -> Stroke:
    return Stroke(Contour.circle(x, y, r), layer)


def test_depth_decides_between_holes_and_panels() -> None:
    outlines = made(rect(0, 0, 100, 100), circle(50, 50, 40), circle(50, 50, 30), circle(50, 50, 5))
    areas = [(round(p.outer.area_mm2), len(p.inner)) for p in outlines.panels]
    assert areas == [(10000, 1), (2827, 1)]


def test_tangent_holes_and_neighbours_are_not_nested_wrongly() -> None:
    outlines = made(rect(0, 0, 10, 10), rect(10, 0, 10, 10), rect(2, 0, 3, 3))
    assert sorted(len(p.inner) for p in outlines.panels) == [0, 1]


def test_open_lines_become_marks_of_the_panel_they_lie_on() -> None:
    line = Stroke(Contour.polyline([(10, 10), (40, 10)]))
    far = Stroke(Contour.polyline([(500, 10), (540, 10)]))
    outlines = made(rect(0, 0, 100, 50), rect(200, 0, 10, 10), line, far)
    marks = {p.name: len(p.marks) for p in outlines.panels}
    assert marks == {"case-1": 1, "case-2": 0}
    assert outlines.open_chains == 2
    told = [(f.code, f.count, f.where_mm) for f in outlines.findings]
    assert told == [("open-lines", 1, (10.0, 10.0)), ("mark-outside", 1, (500.0, 10.0))]


BLACK, RED = "#000000", "#ff0000"


@pytest.mark.parametrize(
    "red",
    [
        pytest.param([[(10, 10), (40, 10)]], id="open line within"),
        pytest.param([[(10, 10), (40, 10)], [(40, 10), (40, 30)]], id="two that join"),
        pytest.param([[(500, 10), (540, 10)]], id="beside the panel"),
        pytest.param([[(50, 0), (50, 50)]], id="from edge to edge, asked about apart"),
    ],
)
def test_a_colour_of_open_lines_only_is_not_asked_about(
    red: list[list[tuple[float, float]]],
) -> None:
    outlines = made(
        Stroke(Contour.rectangle(0, 0, 100, 50), "0", BLACK),
        *(Stroke(Contour.polyline(points), "0", RED) for points in red),
    )
    assert len(outlines.panels) == 1
    assert "colours-differ" not in [f.code for f in outlines.findings]


OUTLINE = Contour.rectangle(0, 0, 100, 50)
HALF = Contour.polyline([(0, 0), (100, 0), (100, 50)])
OTHER_HALF = Contour.polyline([(100, 50), (0, 50), (0, 0)])
GAP = Contour.polyline([(90, 90), (10, 90), (10, 60), (90, 60), (90, 87)])
LINE = Contour.polyline([(10, 10), (20, 10)])


@pytest.mark.parametrize(
    ("black", "red"),
    [
        pytest.param(OUTLINE, [Contour.circle(50, 25, 10)], id="hole"),
        pytest.param(HALF, [OTHER_HALF], id="half of the outline"),
        pytest.param(OUTLINE, [GAP], id="an outline that stays open"),
        # The open line is scored whatever is said; it is not among those that cut.
        pytest.param(OUTLINE, [Contour.circle(50, 25, 10), LINE], id="a hole and a line"),
    ],
)
def test_a_colour_that_cuts_is_asked_about(black: Contour, red: list[Contour]) -> None:
    outlines = made(Stroke(black, "0", BLACK), *(Stroke(path, "0", RED) for path in red))
    (asked,) = [f for f in outlines.findings if f.code == "colours-differ"]
    assert "black (1), red (1)" in asked.message


def test_layers_named_for_marking_mark_and_their_rings_do_not_cut() -> None:
    outlines = made(rect(0, 0, 100, 50), circle(50, 25, 10, "ENGRAVE"), circle(20, 25, 5, "SCORE"))
    (panel,) = outlines.panels
    assert panel.inner == ()
    assert sorted(m.kind.value for m in panel.marks) == ["engrave", "score"]
    assert all(m.path.closed for m in panel.marks)


def test_what_is_said_agrees_in_number() -> None:
    holes = [circle(x, 25, 5, "SCORE") for x in (20, 50, 80)]
    for count, said in ((1, "1 line of layer SCORE was"), (3, "3 lines of layer SCORE were")):
        (finding,) = made(rect(0, 0, 100, 50), *holes[:count]).findings
        assert finding.message == f"{said} taken to score."


def test_the_makers_table_overrules_the_preset() -> None:
    strokes = (rect(0, 0, 100, 50), circle(50, 25, 10, "ENGRAVE"), circle(20, 25, 5))
    uses = LineUses().with_layer("engrave", LineUse.CUT).with_layer("0", LineUse.CUT)
    (panel,) = made(*strokes, uses=uses).panels
    assert len(panel.inner) == 2
    ignored = made(*strokes, uses=LineUses().with_layer("ENGRAVE", LineUse.IGNORE))
    assert ignored.panels[0].marks == ()
    assert len(ignored.panels[0].inner) == 1


def test_hidden_layers_are_left_out_unless_they_are_given_a_use() -> None:
    strokes = (rect(0, 0, 100, 50), circle(50, 25, 10, "H"))
    outlines = made(*strokes, hidden=("H",))
    assert outlines.panels[0].inner == ()
    assert [(f.code, f.severity) for f in outlines.findings] == [
        ("hidden-layers", Severity.WARNING)
    ]
    shown = made(*strokes, hidden=("H",), uses=LineUses().with_layer("H", LineUse.CUT))
    assert len(shown.panels[0].inner) == 1


def test_a_mark_goes_to_the_island_it_lies_on() -> None:
    mark = Stroke(Contour.polyline([(45, 50), (55, 50)]), "SCORE")
    outlines = made(rect(0, 0, 100, 100), circle(50, 50, 40), circle(50, 50, 30), mark)
    island = min(outlines.panels, key=lambda p: p.outer.area_mm2)
    assert [m.kind for m in island.marks] == [MarkKind.SCORE]


def test_nothing_closed_is_an_error() -> None:
    outlines = made(Stroke(Contour.polyline([(0, 0), (9, 9)])))
    assert [f.code for f in outlines.findings if f.severity is Severity.ERROR] == ["no-panels"]


@pytest.mark.parametrize(
    ("blocks", "layers", "names"),
    [
        ((None, None), ("A", "B"), ("A", "B")),
        ((None, None), ("0", "0"), ("case-1", "case-2")),
        (("SIDE", "SIDE"), ("0", "0"), ("case-1", "case-2")),
        (("SIDE", "LID"), ("A", "A"), ("SIDE", "LID")),
        (("LID", None), ("0", "lid"), ("LID", "case-1")),
        ((None, None), (None, "Top"), ("case-1", "Top")),
    ],
)
def test_names(
    blocks: tuple[str | None, ...], layers: tuple[str | None, ...], names: tuple[str, ...]
) -> None:
    outers = [Contour.rectangle(0, 0, 5, 5), Contour.rectangle(10, 0, 5, 5)]
    assert panel_names("case", outers, blocks, layers).names == names


def test_a_single_panel_has_the_files_name() -> None:
    names = panel_names("case", [Contour.rectangle(0, 0, 5, 5)], ["B"], ["L"])
    assert names.names == ("case",)


def test_reading_order_is_rows_from_the_top_then_left_to_right() -> None:
    boxes = [(0, 0, 10, 10), (20, 2, 30, 12), (0, 30, 10, 40), (20, 28, 30, 45)]
    assert reading_order(boxes) == [2, 3, 0, 1]


def test_webs_that_the_beam_burns_away_are_told_with_the_thinnest_place() -> None:
    plate = rect(0, 0, 100, 60)
    near = (circle(20, 30, 5), circle(30.1, 30, 5))  # 0.1 mm between them
    touching = circle(70, 55, 5)  # touches the upper edge at 70, 60
    fine = circle(50, 30, 5)
    outlines = made(plate, *near, touching, fine)
    (said,) = [f for f in outlines.findings if f.code == "thin-web"]
    assert said.count == 2
    assert said.where_mm == pytest.approx((70.0, 60.0), abs=0.05)
    assert "0.00 mm" in said.message


def test_a_cell_on_the_wall_of_its_frame_is_a_web_of_nothing() -> None:
    corner = Stroke(Contour.polyline([(0, 0), (10, 5), (10, 0), (0, 0)]))
    outlines = made(rect(0, 0, 10, 5), corner)
    assert "thin-web" in [f.code for f in outlines.findings]


def test_webs_as_wide_as_the_beam_are_left_alone() -> None:
    outlines = made(rect(0, 0, 100, 60), circle(20, 30, 5), circle(30.25, 30, 5))
    assert "thin-web" not in [f.code for f in outlines.findings]


def test_contours_that_cross_are_not_told_again_as_webs() -> None:
    outlines = made(rect(0, 0, 100, 60), circle(20, 30, 5), circle(26, 30, 5))
    assert [f.code for f in outlines.findings] == ["contours-cross"]


def test_an_island_near_the_rim_of_its_hole_is_a_panel_of_its_own() -> None:
    outlines = made(rect(0, 0, 100, 60), circle(50, 30, 20), circle(50, 40.9, 9))
    assert "thin-web" not in [f.code for f in outlines.findings]


def test_a_wedge_hatched_with_drawn_lines_is_read() -> None:
    edges = ([(3, 3), (0, 0)], [(0, 3), (3, 0)], [(3, 0), (0, 0)])
    steps = [0.002216 + 0.03175 * k for k in range(48)]
    hatch = ([(d, d), (3 - d, d)] for d in steps)
    outlines = made(*(Stroke(Contour.polyline(line)) for line in (*edges, *hatch)))
    assert sum(p.outer.area_mm2 for p in outlines.panels) == pytest.approx(2.25, abs=0.01)


def test_a_frame_with_both_diagonals_is_four_panels() -> None:
    corners = [(0, 0), (40, 0), (40, 30), (0, 30), (0, 0)]
    sides = [Stroke(Contour.polyline(corners[k : k + 2])) for k in range(4)]
    diagonals = [
        Stroke(Contour.polyline(ends)) for ends in ([(0, 0), (40, 30)], [(40, 0), (0, 30)])
    ]
    outlines = made(*sides, *diagonals)
    assert [round(p.outer.area_mm2, 6) for p in outlines.panels] == [300.0] * 4
    said = {f.code: f for f in outlines.findings}
    assert list(said) == ["crossing-joined", "edge-shared"]
    assert said["crossing-joined"].where_mm == pytest.approx((20.0, 15.0))


def test_arcs_that_cross_within_a_frame_are_cut_where_they_do() -> None:
    corners = [(-30, -20), (30, -20), (30, 20), (-30, 20), (-30, -20)]
    sides = [Stroke(Contour.polyline(corners[k : k + 2])) for k in range(4)]
    arch = Contour((Vertex(-30, -20, -0.5), Vertex(30, -20)), closed=False)  # rises 15 mm
    cup = Contour((Vertex(-30, 20, 0.9), Vertex(30, 20)), closed=False)  # hangs 27 mm
    outlines = made(*sides, Stroke(arch), Stroke(cup))
    assert len(outlines.panels) == 5
    assert sum(p.outer.area_mm2 for p in outlines.panels) == pytest.approx(60.0 * 40.0)
    assert "self-crossing" not in [f.code for f in outlines.findings]


@pytest.mark.parametrize("right", [(40, 0), (40, 10)], ids=["areas cancel out", "lopsided"])
def test_a_single_contour_that_crosses_itself_stays_an_error(right: tuple[float, float]) -> None:
    bow = [(0, 0), (40, 30), right, (0, 30), (0, 0)]
    outlines = made(*(Stroke(Contour.polyline(bow[k : k + 2])) for k in range(4)))
    assert outlines.findings[0].code == "self-crossing"
    assert "ring-too-small" not in [f.code for f in outlines.findings]


def test_a_corner_on_the_middle_of_a_side_parts_the_areas() -> None:
    outside = [(25, -5), (25, 5), (5, 5), (5, -5), (25, -5)]
    wedge = [(25, 5), (5, 0), (25, -5)]  # its tip lies on the left side
    runs = (*pairwise(outside), *pairwise(wedge))
    outlines = made(*(Stroke(Contour.polyline(list(run))) for run in runs))
    assert sorted(p.outer.area_mm2 for p in outlines.panels) == pytest.approx([50.0, 50.0, 100.0])
    assert "self-crossing" not in [f.code for f in outlines.findings]


def test_a_gap_is_closed_when_the_maker_says_so() -> None:
    """A 40 x 30 plate with a hole, its last line 0.02 mm short; without it the hole is a panel."""
    ring = Stroke(Contour.polyline([(0, 0), (40, 0), (40, 30), (0, 30), (0, 0.02)]))
    drawing = Drawing(Path("back.dxf"), "DXF", "mm", 1.0, (ring, circle(20, 15, 4)), ())
    left = outlines_of(drawing, control=QuietControl())
    (finding,) = [f for f in left.findings if f.code == "open-outline"]
    assert finding.severity is Severity.ERROR
    assert finding.todo == "Close it in the drawing, or let the program close it."
    assert finding.on_command_line == "--answer gaps=0.021"
    assert left.loose == (ring.path,)
    close = next(choice for choice in finding.choices if not choice.preset)
    answers = Answers().with_answer(close.value)
    closed = outlines_of(drawing, answers=answers, control=QuietControl())
    (panel,) = closed.panels
    assert panel.net_area_mm2 == pytest.approx(40 * 30 - math.pi * 16, abs=0.5 * 40 * 0.02)
    assert [f.code for f in closed.findings] == ["gap-joined"]


def sides(*ends: tuple[float, float]) -> list[Stroke]:
    """Lines from the first point to the second, from the third to the fourth, and so on."""
    return [Stroke(Contour.polyline([a, b])) for a, b in zip(ends[::2], ends[1::2], strict=True)]


def test_an_outline_in_pieces_is_asked_about_and_closed_as_one() -> None:
    """Four sides of 40 x 30, each 0.3 mm short of its corners: 0.42 mm from end to end."""
    drawn = sides(
        (0.3, 0), (39.7, 0), (40, 0.3), (40, 29.7), (39.7, 30), (0.3, 30), (0, 29.7), (0, 0.3)
    )  # fmt: skip
    drawing = Drawing(Path("back.dxf"), "DXF", "mm", 1.0, (*drawn, circle(20, 15, 4)), ())
    left = outlines_of(drawing, control=QuietControl())
    (finding,) = [f for f in left.findings if f.severity is Severity.ERROR]
    assert finding.message == "An outline has 4 gaps of up to 0.424 mm; it is not cut."
    assert len(left.loose) == 4
    answers = Answers().with_answer(finding.choices[1].value)
    (panel,) = outlines_of(drawing, answers=answers, control=QuietControl()).panels
    assert panel.outer.area_mm2 == pytest.approx(1200.0, abs=1e-9)
    assert len(panel.inner) == 1


@pytest.mark.parametrize(
    "lines",
    [
        [(0, 0), (100, 0), (0, 4), (100, 4)],  # two fold lines
        [(0, 0), (100, 0), (0, 0.5), (100, 0.5)],  # a line drawn as two
        [(0, 0), (10, 0), (11, 0), (20, 0)],  # dashes
        [(0, 0), (100, 0), (100.3, 0.3), (100.3, 40), (100, 40.3), (0, 40.3)],  # a side is missing
    ],
)
def test_lines_beside_each_other_are_no_outline(lines: list[tuple[float, float]]) -> None:
    found = made(*sides(*lines)).findings
    assert "open-outline" not in [f.code for f in found]


def test_a_frame_on_a_page_is_the_page_s_border_too() -> None:
    """A4 with a frame 10 mm inside it, and one plate with a hole."""
    page, frame = Contour.rectangle(0, 0, 297, 210), Contour.rectangle(10, 10, 277, 190)
    plate, title = Contour.rectangle(50, 80, 70, 70), Contour.rectangle(190, 12, 90, 30)
    outlines = made(*map(Stroke, (page, frame, plate, title)), circle(85, 115, 10))
    assert [f.code for f in outlines.findings] == ["sheet-border", "sheet-border"]
    assert sorted(p.size_mm for p in outlines.panels) == [(70, 70), (90, 30)]


@pytest.mark.parametrize(("far_mm", "said"), [(5.4e9, []), (1e18, ["line-too-long", "no-panels"])])
def test_what_lies_farther_than_numbers_can_tell_is_left_out(
    far_mm: float, said: list[str]
) -> None:
    """Surveyors' coordinates, 5400 km, are still fine."""
    outlines = made(Stroke(Contour.rectangle(far_mm, 0, 4000, 3000)))
    assert [f.code for f in outlines.findings] == said


@pytest.mark.parametrize("width", ["-1", "11", "wide"])
def test_a_gap_that_is_no_slip_is_not_closed(width: str) -> None:
    with pytest.raises(BadValueError):
        Answers().with_answer(f"gaps={width}")
