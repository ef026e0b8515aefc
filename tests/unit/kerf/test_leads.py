"""Lead-ins lie in the waste, keep clear of other cuts, and pass the proof."""

from __future__ import annotations

import math

import pytest
import shapely

from lasernest.domain.contours import Contour, Pose
from lasernest.domain.cutting import CutPath, PathKind, SheetCut
from lasernest.domain.panels import Panel
from lasernest.domain.stock import Kerf
from lasernest.geometry.flatten import line_string, polygon
from lasernest.kerf.compensate import cut_paths
from lasernest.kerf.leads import with_leads
from lasernest.kerf.order import order_paths
from lasernest.kerf.proof import prove
from tests.cut_kit import finger_panel, front, lines_of, plate, posed_sheet

KERF = Kerf.same(0.2)
SHEET = shapely.box(0, 0, 600, 400)


def led(
    panels: list[tuple[Panel, Pose]], lead_mm: float = 1.5
) -> tuple[SheetCut, list[tuple[Panel, int]]]:
    cut, expected = posed_sheet(panels, KERF)
    ordered = order_paths(cut.paths, split_all=True)
    paths = with_leads(ordered, lead_mm=lead_mm, kerf=KERF, sheet=SHEET)
    return SheetCut(600, 400, paths), expected


def lead_of(path: CutPath) -> shapely.LineString:
    assert not path.path.closed
    return shapely.LineString([path.path.vertices[0][:2], path.path.vertices[1][:2]])


def test_leads_lie_in_the_waste_and_the_proof_passes() -> None:
    cut, expected = led(
        [
            (front(), Pose(10, 10)),
            (finger_panel(), Pose(250, 10, 90)),
            (front(), Pose(300, 200, 33)),
        ]
    )
    assert all(not path.path.closed for path in cut.paths)
    material = [polygon(panel, chord_error_mm=0.001) for panel, _ in expected]
    for path in cut.paths:
        lead = lead_of(path)
        own = material[path.copy - 1]
        assert not lead.buffer(0.099).intersects(own)
        # it ends on the path where the ring begins, and the ring closes there
        assert path.path.vertices[1][:2] == path.path.vertices[-1][:2]
    proof = prove(lines_of(cut), width_mm=600, height_mm=400, expected=expected, kerf=KERF)
    assert proof.problems == ()
    assert proof.passed
    assert proof.max_deviation_mm <= 0.002


def test_length_and_slant() -> None:
    cut, _ = led([(plate(), Pose(100, 100))], lead_mm=2.0)
    (path,) = cut.paths
    lead = lead_of(path)
    assert lead.length == pytest.approx(2.0)
    first = list(path.path.segments())[1]
    tx, ty = first.tangent_at(0)
    (x0, y0), (x1, y1) = lead.coords
    along = ((x1 - x0) * tx + (y1 - y0) * ty) / 2.0
    assert along == pytest.approx(math.sqrt(0.5))  # it runs into the path at 45 degrees
    assert len(path.path.vertices) == 4 + 3  # pierce, start on a run, and the ring's end


def test_small_holes_are_pierced_in_the_middle() -> None:
    panel = Panel.of("p", Contour.rectangle(0, 0, 40, 40), [Contour.circle(20, 20, 1.5)])
    cut, expected = led([(panel, Pose(50, 50))])
    hole = cut.paths[0]
    assert hole.kind is PathKind.CUT_INNER
    assert hole.path.start == pytest.approx((70, 70))
    assert hole.path.length_mm == pytest.approx(1.4 + 2 * math.pi * 1.4)
    assert prove(lines_of(cut), width_mm=600, height_mm=400, expected=expected, kerf=KERF).passed


def test_leads_keep_clear_of_neighbours() -> None:
    # plates 2 mm apart all round: a lead of 1.5 slants 1.06 into the gap of 1.8 between paths
    grid = [(plate(), Pose(20 + 102 * i, 20 + 62 * j)) for i in range(4) for j in range(4)]
    cut, expected = led(grid)
    lines = [line_string(path.path, chord_error_mm=0.01) for path in cut.paths]
    for i, path in enumerate(cut.paths):
        lead = lead_of(path)
        assert all(lead.distance(other) >= 0.5 for j, other in enumerate(lines) if j != i)
    assert prove(lines_of(cut), width_mm=600, height_mm=400, expected=expected, kerf=KERF).passed


def test_without_room_the_beam_pierces_on_the_path() -> None:
    grid = [(plate(), Pose(20 + 100.5 * i, 20 + 60.5 * j)) for i in range(3) for j in range(3)]
    cut, expected = led(grid)
    assert sum(path.path.closed for path in cut.paths) >= 1
    proof = prove(lines_of(cut), width_mm=600, height_mm=400, expected=expected, kerf=KERF)
    assert proof.problems == ()


def test_marks_stay_as_they_are() -> None:
    mark = CutPath(PathKind.SCORE, Contour.circle(50, 50, 5))
    assert with_leads([mark], lead_mm=1, kerf=KERF, sheet=SHEET) == (mark,)


def test_rings_walked_the_wrong_way_are_turned() -> None:
    (outer,) = cut_paths(plate().posed(Pose(50, 50)), KERF)
    backwards = CutPath(outer.kind, outer.path.reversed(), "plate", 1)
    (path,) = with_leads([backwards], lead_mm=1.5, kerf=KERF, sheet=SHEET)
    assert not shapely.box(50, 50, 150, 110).intersects(shapely.Point(path.path.start))


@pytest.mark.parametrize("turn", range(0, 360, 45))
@pytest.mark.parametrize("begun", range(6))
def test_a_lead_in_a_narrow_tip_does_not_run_into_the_panel(begun: int, turn: int) -> None:
    wedge = [(0, 0), (5, -0.4), (20, -1.6), (24, 0), (20, 1.6), (5, 0.4)]
    ring = Contour.polygon(wedge[begun:] + wedge[:begun])
    hole = ring.posed(Pose(100, 100, turn)).oriented(anticlockwise=False)
    path = CutPath(PathKind.CUT_INNER, hole, "plate", 1)
    (led_in,) = with_leads([path], lead_mm=1.5, kerf=KERF, sheet=SHEET)
    inside = shapely.Polygon([v[:2] for v in hole.vertices]).buffer(1e-6)
    assert inside.contains(shapely.LineString([v[:2] for v in led_in.path.vertices]))
