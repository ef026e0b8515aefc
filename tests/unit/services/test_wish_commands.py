"""What is wished of a plan: said in commands, heard by nesting."""

from __future__ import annotations

from dataclasses import replace

import pytest

from lasernest.domain.contours import Contour
from lasernest.domain.control import QuietControl
from lasernest.domain.panels import Panel
from lasernest.domain.plan import Axis, Turns
from lasernest.domain.stock import Kerf, SheetSize, Stock
from lasernest.errors import NotFoundError
from lasernest.job import Job, JobPanel, Setup
from lasernest.nesting import Budget, plan_problems
from lasernest.services.commands import Command, SetQuantity, SetTurns, Together
from lasernest.services.planning import arrange_job, plan_rank, request_of
from lasernest.services.wish_commands import FillUp, KeepTogether, LayLongSides, SetPriority

# One sheet of 220 x 120 without margin and gap holds exactly two tiles of 100 x 100.
STOCK = Stock("card", "card", 1.0, (SheetSize(220, 120, count=1),), Kerf.same(0.0))
JOB = Job(
    "pair",
    (
        JobPanel(Panel.of("first", Contour.rectangle(0, 0, 100, 100)), 2, Turns.NONE),
        JobPanel(Panel.of("second", Contour.rectangle(0, 0, 100, 100)), 1, Turns.NONE),
    ),
    setup=Setup(STOCK, gap_mm=2.0, margin_mm=5.0),
)
PANELS = {p.name: p.panel for p in JOB.panels}


def placed(job: Job) -> list[str]:
    plan = arrange_job(job, control=QuietControl(), budget=Budget(seconds=0.0), panels=PANELS)
    assert plan_problems(request_of(job, PANELS), plan) == ()
    return sorted(p.panel_name for s in plan.sheets for p in s.placements)


@pytest.mark.parametrize(
    ("command", "label"),
    [
        (SetPriority("first", 1), "Set priority of first"),
        (FillUp("first", True), "Extra copies of first"),
        (FillUp("first", False), "No extra copies of first"),
        (KeepTogether(True), "Keep units on one sheet"),
        (KeepTogether(False), "Let units lie apart"),
        (LayLongSides(Axis.X), "Lay long sides along x"),
        (LayLongSides(None), "Let long sides lie either way"),
    ],
)
def test_labels(command: Command, label: str) -> None:
    assert command.label == label


def test_what_comes_first_gets_the_place() -> None:
    assert placed(SetPriority("second", 1).apply(JOB)) == ["first", "second"]
    assert placed(SetPriority("second", -1).apply(JOB)) == ["first", "first"]


def test_many_panels_are_changed_as_one_after_the_other() -> None:
    commands = (
        SetQuantity("second", 4),
        SetTurns("first", Turns.HALF, True),
        KeepTogether(True),
        SetPriority("second", 1),
        SetQuantity("second", 5),
    )
    one_by_one = JOB
    for command in commands:
        one_by_one = command.apply(one_by_one)
    assert Together("all of that", commands).apply(JOB) == one_by_one
    assert one_by_one.panel("second").quantity == 5
    with pytest.raises(NotFoundError, match="there is no panel lid"):
        Together("", (SetQuantity("first", 1), SetQuantity("lid", 1))).apply(JOB)


def test_a_sheet_is_filled_up_even_without_a_number() -> None:
    nothing = JOB.changed(panels=tuple(replace(p, quantity=0) for p in JOB.panels))
    assert not nothing.has_work
    job = FillUp("second", True).apply(nothing)
    assert job.has_work
    assert placed(job) == ["second", "second"]


def test_wishes_of_the_plan_reach_the_request() -> None:
    job = LayLongSides(Axis.Y).apply(KeepTogether(True).apply(JOB))
    request = request_of(job, PANELS)
    assert (request.together, request.long_sides_along) == (True, Axis.Y)
    assert KeepTogether(False).apply(LayLongSides(None).apply(job)).setup == JOB.setup


def test_a_plan_that_fills_up_more_is_the_better_one() -> None:
    job = FillUp("first", True).apply(
        JOB.changed(panels=(replace(JOB.panels[0], quantity=1), replace(JOB.panels[1], quantity=0)))
    )
    request = request_of(job, PANELS)
    full = arrange_job(job, control=QuietControl(), budget=Budget(seconds=0.0), panels=PANELS)
    (sheet,) = full.sheets
    assert len(sheet.placements) == 2
    bare = replace(full, sheets=(replace(sheet, placements=sheet.placements[:1]),))
    assert plan_problems(request, bare) == ()
    assert plan_rank(full, [request]) < plan_rank(bare, [request])
