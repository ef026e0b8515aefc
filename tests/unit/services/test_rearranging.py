"""Arranging again around pinned panels and locked sheets."""

from __future__ import annotations

from dataclasses import replace

import pytest

from lasernest.domain.contours import Contour, Pose
from lasernest.domain.control import QuietControl
from lasernest.domain.panels import Panel
from lasernest.domain.plan import Axis, Plan, Turns
from lasernest.domain.stock import Kerf, SheetSize, Stock
from lasernest.errors import BadValueError
from lasernest.job import Job, JobPanel, Setup
from lasernest.nesting import Budget, plan_problems
from lasernest.services.plan_commands import LockSheet, MoveToSheet, PinPanels, PlacePanels, key_of
from lasernest.services.planning import arrange_job, request_of
from lasernest.services.rearranging import arrange_around

STOCK = Stock("birch", "birch plywood", 3.0, (SheetSize(400, 300),), Kerf.same(0.18))
JOB = Job(
    "case",
    (
        JobPanel(Panel.of("tile", Contour.rectangle(0, 0, 100, 60)), 12, Turns.NONE),
        JobPanel(Panel.of("disc", Contour.circle(0, 0, 35)), 5),
    ),
    setup=Setup(STOCK, units=2),
)
PANELS = {p.name: p.panel for p in JOB.panels}


def arranged(job: Job, *, around: bool = True, seconds: float = 0.0) -> Plan:
    how = arrange_around if around else arrange_job
    plan = how(job, control=QuietControl(), budget=Budget(seconds=seconds), panels=PANELS)
    assert plan_problems(request_of(job, PANELS), plan) == ()
    return plan


@pytest.fixture
def planned() -> Job:
    return JOB.changed(plan=arranged(JOB, around=False))


def test_without_pins_it_is_a_plain_arrangement(planned: Job) -> None:
    assert arranged(planned).sheets == planned.plan.sheets  # type: ignore[union-attr]


def test_a_pinned_panel_stays_and_the_rest_keeps_the_gap(planned: Job) -> None:
    assert planned.plan is not None
    first = planned.plan.sheets[0].placements[0]
    moved = replace(first, pose=Pose(150.0, 120.0, first.pose.turn_deg))
    job = PlacePanels(0, (moved,)).apply(planned)
    job = PinPanels(0, (key_of(first),), pinned=True).apply(job)
    plan = arranged(job, seconds=0.3)
    assert replace(moved, pinned=True) in plan.sheets[0].placements
    assert plan.placed_count == JOB.panel_count
    # The sheet's own margin still holds on the started sheet: checked with the whole request.
    assert plan.sheets[0].sheet == planned.plan.sheets[0].sheet


def test_a_locked_sheet_stays_as_it_is(planned: Job) -> None:
    assert planned.plan is not None
    assert len(planned.plan.sheets) > 1
    job = LockSheet(1, locked=True).apply(planned)
    plan = arranged(job)
    assert replace(planned.plan.sheets[1], locked=True) in plan.sheets
    assert plan.placed_count == JOB.panel_count
    names = [key_of(p) for s in plan.sheets for p in s.placements]
    assert len(set(names)) == len(names)


def test_everything_pinned_leaves_nothing_to_do(planned: Job) -> None:
    assert planned.plan is not None
    job = planned
    for index in range(len(planned.plan.sheets)):
        job = LockSheet(index, locked=True).apply(job)
    with pytest.raises(BadValueError, match="every panel is pinned or on a locked sheet"):
        arranged(job)


def test_a_sheet_left_empty_goes(planned: Job) -> None:
    assert planned.plan is not None
    alone = planned.plan.sheets[-1].placements[0]
    sheets = (*planned.plan.sheets[:-1], replace(planned.plan.sheets[-1], placements=(alone,)))
    job = planned.changed(plan=replace(planned.plan, sheets=sheets))
    move = MoveToSheet(len(sheets) - 1, 0, (alone,))
    moved = move.apply(job)
    assert moved.plan is not None
    assert len(moved.plan.sheets) == len(sheets) - 1
    assert alone in moved.plan.sheets[0].placements
    assert move.label == f"Move {alone.panel_name} to sheet 1"


def test_wishes_hold_around_what_is_pinned() -> None:
    tile, disc = JOB.panels
    wished = JOB.changed(
        panels=(replace(tile, quantity=2, turns=Turns.QUARTER, as_many_as_fit=True), disc),
        setup=replace(JOB.setup, units=1, long_sides_along=Axis.Y),
    )
    job = wished.changed(plan=arranged(wished, around=False))
    assert job.plan is not None
    more = job.plan.placed_count - wished.panel_count
    assert more > 0
    first = job.plan.sheets[0].placements[0]
    plan = arranged(PinPanels(0, (key_of(first),), pinned=True).apply(job))
    # the check in `arranged` knows of long sides; tiles still fill what the sheet has room for
    assert plan.placed_count > wished.panel_count
    assert replace(first, pinned=True) in plan.sheets[0].placements
