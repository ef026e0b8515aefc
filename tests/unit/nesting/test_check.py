"""The exact check: distances by closed form, and every kind of fault found."""

from __future__ import annotations

import math

import pytest

from lasernest.domain.contours import Contour, Pose, Segment
from lasernest.domain.panels import Panel
from lasernest.domain.plan import (
    NestRequest,
    PanelOrder,
    Placement,
    Plan,
    Sheet,
    SheetPlan,
    Turns,
    Unplaced,
)
from lasernest.nesting.check import distance_mm, plan_problems

SQUARE = Panel.of("square", Contour.rectangle(0, 0, 10, 10))
DISC = Panel.of("disc", Contour.circle(0, 0, 5))
FRAME = Panel.of("frame", Contour.rectangle(-20, -20, 40, 40), [Contour.circle(0, 0, 15)])
RING = Panel.of("ring", Contour.circle(0, 0, 20), [Contour.circle(0, 0, 15)])


def problems(
    *placements: tuple[Panel, float, float, float],
    sheet: Sheet | None = None,
    gap_mm: float = 2.0,
    turns: Turns = Turns.QUARTER,
) -> tuple[str, ...]:
    names = [p[0].name for p in placements]
    orders = tuple(
        PanelOrder(panel, names.count(panel.name), turns)
        for panel in (SQUARE, DISC, RING, FRAME)
        if panel.name in names
    )
    sheet = sheet or Sheet(100, 100, 5)
    laid = tuple(
        Placement(panel.name, names[:i].count(panel.name) + 1, Pose(x, y, turn))
        for i, (panel, x, y, turn) in enumerate(placements)
    )
    request = NestRequest(orders, (sheet,), gap_mm)
    return plan_problems(request, Plan((SheetPlan(sheet, laid),)))


@pytest.mark.parametrize(
    ("a", "b", "expected_mm"),
    [
        (Segment(0, 0, 10, 0, 0), Segment(3, 4, 8, 4, 0), 4.0),
        (Segment(0, 0, 10, 0, 0), Segment(5, -1, 5, 1, 0), 0.0),
        (Segment(0, 0, 10, 0, 0), Segment(13, 4, 20, 9, 0), 5.0),
        # half circle of radius 5 over (5, 0), bulging down, against a line 7 below
        (Segment(0, 0, 10, 0, 1.0), Segment(-20, -7, 20, -7, 0), 2.0),
        (Segment(0, 0, 10, 0, -1.0), Segment(-20, -7, 20, -7, 0), 7.0),
        # facing half circles, centres 14 apart, radii 5 and 5
        (Segment(0, 0, 10, 0, -1.0), Segment(0, 14, 10, 14, 1.0), 4.0),
        # arc inside an arc: radii 10 and 3 about one side
        (Segment(-10, 0, 10, 0, 1.0), Segment(-3, -2, 3, -2, 1.0), 5.0),
        (Segment(0, 0, 10, 0, 1.0), Segment(5, -20, 5, 0, 0), 0.0),
        (Segment(0, 0, 10, 0, 1.0), Segment(0, -8, 10, -8, -1.0), 0.0),
    ],
)
def test_distances_of_lines_and_arcs(a: Segment, b: Segment, expected_mm: float) -> None:
    # closed forms of plane geometry
    assert distance_mm(a, b) == pytest.approx(expected_mm, abs=1e-12)
    assert distance_mm(b, a) == pytest.approx(expected_mm, abs=1e-12)
    assert distance_mm(a.reversed(), b) == pytest.approx(expected_mm, abs=1e-12)


def test_a_good_plan_has_no_problems() -> None:
    assert problems((SQUARE, 5, 5, 0), (SQUARE, 27, 5, 90), (DISC, 34, 10, 0)) == ()


def test_gap_short_by_a_hair_is_found_on_arcs() -> None:
    apart = 12.0 / math.sqrt(2.0)
    good = ((DISC, 20, 20, 0), (DISC, 20 + apart, 20 + apart, 0))
    assert problems(*good) == ()
    (found,) = problems((DISC, 20, 20, 0), (DISC, 20 + apart, 20 + apart - 1e-4, 0))
    assert "the gap is 2 mm" in found
    assert found.startswith("disc (copy 1) on sheet 1 and disc (copy 2) on sheet 1 are 1.9999")


def test_overlap_and_containment_are_found() -> None:
    assert "overlap" in problems((SQUARE, 20, 20, 0), (SQUARE, 25, 22, 0))[0]
    assert "overlap" in problems((SQUARE, 20, 20, 0), (SQUARE, 20, 20, 0))[0]
    assert "overlap" in problems((SQUARE, 20, 20, 0), (DISC, 25, 25, 0))[0]
    assert "overlap" in problems((SQUARE, 20, 20, 0), (SQUARE, 29.999, 20, 0), gap_mm=0.0)[0]
    assert problems((SQUARE, 20, 20, 0), (SQUARE, 30, 20, 0), gap_mm=0.0) == ()


def test_a_part_in_a_hole_is_good_while_the_gap_is_kept() -> None:
    assert problems((RING, 50, 50, 0), (DISC, 57.9, 50, 0)) == ()
    assert "the gap is 2 mm" in problems((RING, 50, 50, 0), (DISC, 58.1, 50, 0))[0]


def test_margin_of_arcs_is_exact() -> None:
    assert problems((DISC, 10, 10, 0)) == ()
    (found,) = problems((DISC, 9.999, 10, 0))
    assert found == "disc (copy 1) on sheet 1 comes 0.001 mm too near to the edge of the sheet."


def test_a_straight_part_in_a_round_hole_or_beside_it() -> None:
    # The corner of the square at 12.2, 5 lies sqrt(12.2^2 + 5^2) = 13.18 from the middle.
    (said,) = problems((FRAME, 50, 50, 0), (SQUARE, 52.2, 45, 0))
    assert "are 1.81516" in said
    assert problems((FRAME, 50, 50, 0), (SQUARE, 51.9, 45, 0)) == ()
    assert problems((FRAME, 28, 28, 0), (FRAME, 70.1, 28, 0)) == ()
    (said,) = problems((FRAME, 28, 28, 0), (FRAME, 69.9, 28, 90))
    assert "are 1.9 mm apart" in said


def test_margin_to_shaped_sheets_and_holes() -> None:
    slanted = Sheet(100, 100, 5, outline=Contour.polygon([(0, 0), (100, 0), (0, 100)]), holes=())
    inside = 50.0 - 10.0 / math.sqrt(2.0)
    assert problems((DISC, inside, inside, 0), sheet=slanted) == ()
    assert problems((DISC, inside + 1e-3, inside, 0), sheet=slanted)
    clamped = Sheet(100, 100, 5, holes=(Contour.circle(50, 50, 10),))
    assert problems((DISC, 70, 50, 0), sheet=clamped) == ()
    assert problems((DISC, 69.999, 50, 0), sheet=clamped)
    assert problems((DISC, 50, 50, 0), sheet=clamped)


def test_turns_mirrors_and_counts() -> None:
    assert "turned by 45" in problems((SQUARE, 30, 30, 45))[0]
    assert problems((SQUARE, 30, 30, 90), turns=Turns.HALF)
    assert problems((SQUARE, 30, 30, 33), turns=Turns.FREE) == ()
    sheet = Sheet(100, 100, 5, available=1)
    request = NestRequest((PanelOrder(SQUARE, 2),), (sheet,))
    mirrored = Placement("square", 1, Pose(40, 40, 0, True))
    found = plan_problems(request, Plan((SheetPlan(sheet, (mirrored,)),)))
    assert any("2 ordered, 1 placed, 0 left over" in p for p in found)
    assert any("mirrored" in p for p in found)
    left = (Unplaced("square", 1, "no more sheets"),)
    one = SheetPlan(sheet, (Placement("square", 1, Pose(40, 40)),))
    assert plan_problems(request, Plan((one,), left)) == ()
    two = SheetPlan(sheet, (Placement("square", 2, Pose(40, 40)),))
    assert any("2 sheets" in p for p in plan_problems(request, Plan((one, two))))
    again = Plan((SheetPlan(sheet, (*one.placements, Placement("square", 1, Pose(70, 70)))),))
    assert any("copy 1 is placed 2 times" in p for p in plan_problems(request, again))


def test_the_same_layout_again_is_good_again_and_a_bad_one_is_told_for_each_sheet() -> None:
    sheet = Sheet(100, 100, 5)

    def laid(copy: int, x_mm: float) -> SheetPlan:
        return SheetPlan(
            sheet,
            (
                Placement("square", copy, Pose(10, 10)),
                Placement("square", copy + 1, Pose(x_mm, 10)),
            ),
        )

    request = NestRequest((PanelOrder(SQUARE, 8, Turns.QUARTER),), (sheet,), 2.0)
    polled: list[int] = []
    plan = Plan((laid(1, 22), laid(3, 22), laid(5, 22), laid(7, 22)))
    assert plan_problems(request, plan, poll=lambda: polled.append(1)) == ()
    once: list[int] = []
    alone = NestRequest((PanelOrder(SQUARE, 2, Turns.QUARTER),), (sheet,), 2.0)
    assert plan_problems(alone, Plan((laid(1, 22),)), poll=lambda: once.append(1)) == ()
    assert len(polled) == len(once)  # what is equal is measured once

    plan = Plan((laid(1, 22), laid(3, 21.5), laid(5, 22), laid(7, 21.5)))
    said = [f"copy {n}) on sheet {sheet_number} and" for n, sheet_number in ((3, 2), (7, 4))]
    found = plan_problems(request, plan)
    assert len(found) == 2
    assert all(
        s in problem and "1.5 mm apart" in problem for s, problem in zip(said, found, strict=True)
    )
