"""Moving panels by hand: distances by closed forms, and nesting's exact check."""

from __future__ import annotations

import math

import pytest

from lasernest.domain.contours import Contour, Pose
from lasernest.domain.panels import Panel
from lasernest.domain.plan import (
    NestRequest,
    PanelOrder,
    Placement,
    Plan,
    Sheet,
    SheetPlan,
    Turns,
)
from lasernest.nesting import plan_problems
from lasernest.services.handling import Hand, free_place, turned

TILE = Panel.of("tile", Contour.rectangle(0, 0, 100, 60))
DISC = Panel.of("disc", Contour.circle(0, 0, 30))
RING = Panel.of("ring", Contour.circle(0, 0, 80), (Contour.circle(0, 0, 60),))
PANELS = {"tile": TILE, "disc": DISC, "ring": RING}
SHEET = Sheet(600, 400, 5)
GAP_MM = 2.0


def hand(*placements: Placement, sheet: Sheet = SHEET, gap_mm: float = GAP_MM) -> Hand:
    """The first placement held, the others lying."""
    first = placements[0]
    keys = frozenset({(first.panel_name, first.copy)})
    return Hand(SheetPlan(sheet, placements), PANELS, keys, gap_mm)


def test_a_neighbour_and_the_edge_are_named() -> None:
    held = hand(Placement("tile", 1, Pose(5, 5)), Placement("tile", 2, Pose(200, 5)))
    assert held.touch(0, 0).free
    assert held.touch(93, 0).free  # 5 + 100 + 93 = 198: two from 200
    assert held.touch(94, 0).others == {("tile", 2)}
    assert held.touch(-0.1, 0).edge
    assert held.touch(490, 330).free  # up to 595 and 395
    assert held.touch(490.1, 330).edge
    assert held.verdict(94, 0) == "tile 1 would lie 1.00 mm from tile 2; the gap is 2 mm."
    assert held.verdict(120, 0) == "tile 1 would overlap tile 2."
    assert held.verdict(-2, 0) == "tile 1 comes 2.00 mm too near to the edge of the sheet."
    assert held.verdict(93, 0) == ""


def test_boxes_snap_to_the_gap_the_margin_and_each_other() -> None:
    held = hand(Placement("tile", 1, Pose(5, 5)), Placement("tile", 2, Pose(200, 100)))
    assert held.snapped(92.2, 92.0, 3.0) == pytest.approx((93.0, 95.0))  # beside, and in line
    assert held.snapped(488.4, 0.4, 3.0) == pytest.approx((490.0, 0.0))
    assert held.snapped(92.2, 92.0, 0.5) == pytest.approx((92.2, 92.0))


def test_discs_are_pushed_to_the_gap_exactly() -> None:
    held = hand(Placement("disc", 1, Pose(100, 100)), Placement("disc", 2, Pose(200, 100)))
    angle = math.radians(33.0)
    near = 2 * 30.0 + 1.2  # 1.2 mm apart, the gap is 2
    wanted = (100 - near * math.cos(angle), -near * math.sin(angle))
    dx, dy = held.snapped(*wanted, 1.5)
    apart_mm = math.dist((100 + dx, 100 + dy), (200, 100)) - 60.0
    assert apart_mm == pytest.approx(GAP_MM, abs=1e-3)
    assert apart_mm >= GAP_MM
    assert held.verdict(dx, dy) == ""


def test_a_panel_may_lie_in_the_hole_of_another() -> None:
    held = hand(Placement("disc", 1, Pose(35, 35)), Placement("ring", 1, Pose(300, 200)))
    inside = (300 - 35.0, 200 - 35.0)
    assert held.touch(*inside).free
    assert held.verdict(*inside) == ""
    # From ring to disc 60 - 30 = 30 mm all round: 28.5 to the side leaves 1.5.
    aside = (inside[0] + 28.5, inside[1])
    assert held.touch(*aside).others == {("ring", 1)}
    assert "1.50 mm from ring 1" in held.verdict(*aside)


def test_a_clamp_keeps_its_margin() -> None:
    sheet = Sheet(600, 400, 5, holes=(Contour.rectangle(200, 0, 40, 40),))
    held = hand(Placement("tile", 1, Pose(5, 5)), sheet=sheet)
    assert held.touch(90, 0).free  # 195: five from 200
    assert held.touch(91, 0).edge
    assert held.verdict(91, 0) != ""


def test_the_nearest_free_place_is_free_and_near() -> None:
    held = hand(Placement("tile", 1, Pose(5, 5)), Placement("tile", 2, Pose(200, 5)))
    found = held.nearest_free(110.0, 0.0)
    assert found is not None
    assert held.verdict(*found) == ""
    assert math.dist(found, (110.0, 0.0)) <= 20.0
    assert held.nearest_free(195.0, 0.0, within_mm=20.0) is None


def test_turned_about_the_middle() -> None:
    placement = Placement("tile", 1, Pose(100, 100))
    spun = turned(placement, TILE, 90.0)
    assert TILE.posed(spun.pose).bounds_mm() == pytest.approx((120, 80, 180, 180))
    back = placement
    for _ in range(4):
        back = turned(back, TILE, 90.0)
    assert back == placement


def test_a_visitor_finds_room_on_another_sheet() -> None:
    rows = tuple(
        Placement("tile", 1 + i * 5 + j, Pose(5 + 102 * i, 5 + 62 * j))
        for i in range(5)
        for j in range(6)
        if (i, j) != (2, 3)
    )
    plan = SheetPlan(SHEET, rows)
    found = free_place(plan, PANELS, Placement("tile", 40, Pose(7, 9)), GAP_MM)
    assert found == Placement("tile", 40, Pose(5 + 204.0, 5 + 186.0))
    full = SheetPlan(SHEET, (*rows, found))
    after = free_place(full, PANELS, Placement("tile", 41, Pose(7, 9)), GAP_MM)
    assert after is None or after.pose.x_mm >= 5 + 5 * 102
    request = NestRequest((PanelOrder(TILE, len(full.placements), Turns.NONE),), (SHEET,), GAP_MM)
    numbered = tuple(Placement("tile", n, p.pose) for n, p in enumerate(full.placements, start=1))
    assert plan_problems(request, Plan((SheetPlan(SHEET, numbered),))) == ()


def test_an_empty_sheet_has_nothing_to_take() -> None:
    hand = Hand(SheetPlan(SHEET, ()), PANELS, frozenset(), GAP_MM)
    assert hand.touch(0.0, 0.0).free
    assert hand.moved(1.0, 1.0) == ()


def test_holes_too_small_for_any_panel_are_not_looked_at_and_change_nothing() -> None:
    holes = tuple(Contour.circle(8 + i % 20 * 7.0, 8 + i // 20 * 7.0, 2.5) for i in range(260))
    grille = Panel.of("grille", Contour.rectangle(0, 0, 150, 100), holes)
    panels = {"grille": grille, "ring": RING, "disc": DISC}
    placements = (
        Placement("disc", 1, Pose(90, 90)),
        Placement("grille", 1, Pose(200, 5)),
        Placement("ring", 1, Pose(90, 90)),
    )
    held = Hand(SheetPlan(SHEET, placements), panels, frozenset({("disc", 1)}), GAP_MM)
    assert [len(held._solid_of(name).inner) for name in ("grille", "ring")] == [0, 1]
    request = NestRequest(
        tuple(PanelOrder(panel, 1, Turns.QUARTER) for panel in panels.values()), (SHEET,), GAP_MM
    )
    for dx_mm, dy_mm in ((0.0, 0.0), (180.0, -40.0), (400.0, 200.0), (25.0, 0.0)):
        moved = (*held.moved(dx_mm, dy_mm), *placements[1:])
        exact = plan_problems(request, Plan((SheetPlan(SHEET, moved),)))
        assert bool(held.verdict(dx_mm, dy_mm)) == bool(exact), (dx_mm, dy_mm, exact)
    assert not held.verdict(0.0, 0.0)
    assert held.verdict(180.0, -40.0)
