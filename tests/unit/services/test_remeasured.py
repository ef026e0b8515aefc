"""A stock measured anew: the plan stays with its pins where it still holds, else it says why."""

from __future__ import annotations

from dataclasses import replace

from lasernest.domain.contours import Contour, Pose
from lasernest.domain.control import QuietControl
from lasernest.domain.joints import EdgeMeaning, JointRules
from lasernest.domain.panels import Panel
from lasernest.domain.plan import Placement, Plan, SheetPlan, Turns
from lasernest.domain.stock import Kerf, SheetSize, Stock
from lasernest.job import Job, JobPanel, Setup
from lasernest.services.joining import join_job, parse_joint
from lasernest.services.planning import request_of
from lasernest.services.remeasured import Remeasured, TakeMeasured, plan_with
from lasernest.services.stock_exchange import CutPanelsFrom

SIZES = (SheetSize(400, 300), SheetSize(300, 200))
BIRCH = Stock("birch", "birch plywood", 3.0, SIZES, Kerf.same(0.18))
CAST = Stock("cast", "cast acrylic", 3.0, SIZES, Kerf.same(0.2))


def planned(joints: str = "", **more: object) -> Job:
    """Two plates 2 mm apart as they will be cut, the first one pinned."""
    drawn = [Panel.of(n, Contour.rectangle(0, 0, 100, 60)) for n in ("left", "right")]
    job = Job(
        "case",
        tuple(JobPanel(p, turns=Turns.NONE) for p in drawn),
        joints=(parse_joint(joints, drawn),) if joints else (),
        joint_rules=JointRules(EdgeMeaning.INSIDE),
        setup=replace(Setup(BIRCH, SIZES[0], keep_grain=True), **more),  # type: ignore[arg-type]
    )
    left, right = (p.bounds_mm() for p in join_job(job).panels)
    sheet = request_of(job).sheets[0]
    places = (
        Placement("left", 1, Pose(10 - left[0], 10 - left[1]), pinned=True),
        Placement("right", 1, Pose(12 + left[2] - left[0] - right[0], 10 - right[1])),
    )
    return job.changed(plan=Plan((SheetPlan(sheet, places),)))


def measured(kerf_mm: float, thickness_mm: float | None = None) -> Stock:
    kerf = Kerf.same(kerf_mm, u_mm=0.002, basis="comb")
    return replace(BIRCH, kerf=kerf, measured_thickness_mm=thickness_mm)


def test_three_micrometres_keep_the_plan_and_its_pins() -> None:
    job = planned()
    found = plan_with(job, measured(0.183), control=QuietControl())
    assert found.why_not == ""
    assert found.plan == job.plan
    assert found.plan is not job.plan  # a file written before was for the other kerf
    taken = TakeMeasured(measured(0.183), found.plan).apply(job)
    assert taken.plan == job.plan
    assert taken.setup.used_kerf == measured(0.183).kerf
    assert (taken.setup.chosen_size, taken.setup.keep_grain) == (SIZES[0], True)


def test_a_kerf_wider_than_the_gap_says_so() -> None:
    job = planned(gap_mm=0.5)
    found = plan_with(job, measured(0.6), control=QuietControl())
    assert found.plan is None
    assert found.why_not.startswith("the gap of 0.5 mm is narrower than the kerf of birch, 0.6 mm")
    assert TakeMeasured(measured(0.6), found.plan).apply(job).plan is None


def test_panels_that_grow_with_the_thickness_are_checked_as_they_will_be_cut() -> None:
    """Drawn edges are inner ones, so fingers reach out by the thickness: 0.4 mm more of it."""
    job = planned("left@100,30=right@50,0")
    assert plan_with(job, measured(0.183), control=QuietControl()).plan == job.plan
    found = plan_with(job, measured(0.183, 3.4), control=QuietControl())
    assert found.plan is None
    assert found.why_not == (
        "left (copy 1) on sheet 1 and right (copy 1) on sheet 1 are 1.6 mm apart, the gap is 2 mm."
    )


def test_another_stock_of_the_job_is_measured() -> None:
    job = CutPanelsFrom(("right",), CAST).apply(planned())
    wide = replace(CAST, kerf=Kerf.same(0.21, u_mm=0.002, basis="comb"))
    taken = TakeMeasured(wide).apply(job)
    assert taken.setup.for_stock("cast").used_kerf == wide.kerf
    assert taken.setup.used_kerf == BIRCH.kerf


def test_a_sheet_that_is_no_longer_held_says_so() -> None:
    other = replace(measured(0.183), sizes=(SheetSize(350, 250),))
    found = plan_with(planned(), other, control=QuietControl())
    assert found.plan is None
    assert found.why_not == "a sheet of 400 x 300 mm was not offered."


def test_without_a_plan_there_is_nothing_to_keep() -> None:
    bare = replace(planned(), plan=None)
    assert plan_with(bare, measured(0.3), control=QuietControl()) == Remeasured(None)
