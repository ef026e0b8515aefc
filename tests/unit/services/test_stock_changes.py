"""A stock that was changed in the shop book, in a job that is arranged on it."""

from __future__ import annotations

from dataclasses import replace

from lasernest.domain.contours import Contour, Pose
from lasernest.domain.control import QuietControl
from lasernest.domain.offcuts import Offcut
from lasernest.domain.panels import Panel
from lasernest.domain.plan import Placement, Plan, SheetPlan, Turns
from lasernest.domain.stock import Kerf, SheetSize, Stock
from lasernest.job import Job, JobPanel, Setup
from lasernest.services.planning import request_of
from lasernest.services.stock_changes import (
    TakeChanged,
    cuts_alike,
    is_cut_from,
    plan_with_changed,
)
from lasernest.services.stock_exchange import CutPanelsFrom

SIZES = (SheetSize(400, 300, 5.0), SheetSize(300, 200, 3.0))
BIRCH = Stock("birch", "birch plywood", 3.0, SIZES, Kerf.same(0.18))
CAST = Stock("cast", "cast acrylic", 3.0, SIZES, Kerf.same(0.2))
PIECE = Offcut.rectangle("A01", "birch", 120, 80)


def planned() -> Job:
    """Two plates on the second size of birch, one of them pinned."""
    drawn = [Panel.of(n, Contour.rectangle(0, 0, 100, 60)) for n in ("left", "right")]
    job = Job(
        "case",
        tuple(JobPanel(p, turns=Turns.NONE) for p in drawn),
        setup=Setup(BIRCH, SIZES[1], kerf=Kerf.same(0.21), keep_grain=True, offcuts=(PIECE,)),
    )
    offcut, sheet = request_of(job).sheets
    return job.changed(
        plan=Plan(
            (
                SheetPlan(offcut, (Placement("left", 1, Pose(10, 10), pinned=True),)),
                SheetPlan(sheet, (Placement("right", 1, Pose(10, 10)),)),
            )
        )
    )


def change(job: Job, stock: Stock, instead_of: str = "birch") -> Job:
    found = plan_with_changed(job, stock, instead_of, control=QuietControl())
    return TakeChanged(stock, instead_of, found if isinstance(found, Plan) else None).apply(job)


def test_another_price_and_count_keep_the_plan_its_pins_and_what_the_job_chose() -> None:
    job = planned()
    dearer = replace(BIRCH, sizes=(SIZES[0], SheetSize(300, 200, 3.6, 9)))
    after = change(job, dearer)
    assert after.plan is not None
    assert job.plan is not None
    assert [one.placements for one in after.plan.sheets] == [
        one.placements for one in job.plan.sheets
    ]
    whole = after.plan.sheets[1].sheet
    assert (whole.price, whole.available) == (3.6, 9)
    assert after.setup == replace(job.setup, stock=dearer, sheet_size=dearer.sizes[1])
    assert request_of(after).sheets == tuple(one.sheet for one in after.plan.sheets)


def test_a_new_name_goes_to_the_plan_and_the_offcuts() -> None:
    after = change(planned(), replace(BIRCH, name="ply"))
    assert after.plan is not None
    assert {one.sheet.stock_name for one in after.plan.sheets} == {"ply"}
    assert [one.sheet.label for one in after.plan.sheets] == ["A01", "ply"]
    assert after.setup.offcuts == (replace(PIECE, stock_name="ply"),)


def test_another_size_drops_the_plan_and_says_why() -> None:
    job = planned()
    larger = replace(BIRCH, sizes=(SIZES[0], SheetSize(310, 200, 3.0)))
    assert plan_with_changed(job, larger, "birch", control=QuietControl()) == (
        "a sheet of 300 x 200 mm was not offered."
    )
    after = change(job, larger)
    assert after.plan is None
    assert after.setup.sheet_size == larger.sizes[1]  # its row was changed


def test_fewer_sheets_on_hand_than_the_plan_takes_say_so() -> None:
    none_left = replace(BIRCH, sizes=(SIZES[0], SheetSize(300, 200, 3.0, 0)))
    found = plan_with_changed(planned(), none_left, "birch", control=QuietControl())
    assert found == "1 sheet of birch used, 0 available."


def test_a_size_that_is_gone_leaves_the_first_one() -> None:
    after = change(planned(), replace(BIRCH, sizes=SIZES[:1]))
    assert (after.setup.sheet_size, after.setup.chosen_size) == (None, SIZES[0])
    assert after.plan is None


def test_grain_that_the_job_leaves_to_the_stock_is_checked() -> None:
    job = planned()
    free = job.changed(
        panels=tuple(replace(p, turns=None) for p in job.panels),
        setup=replace(job.setup, keep_grain=None),
        plan=job.plan,
    )
    assert free.plan is not None
    on_edge = SheetPlan(free.plan.sheets[1].sheet, (Placement("right", 1, Pose(90, 10, 90.0)),))
    turned = replace(free, plan=Plan((free.plan.sheets[0], on_edge)))
    assert change(turned, replace(BIRCH, note="damp")).plan is not None
    assert change(turned, replace(BIRCH, grain=True)).plan is None


def test_panels_of_another_stock_follow_its_name() -> None:
    job = CutPanelsFrom(("right",), CAST).apply(planned())
    after = TakeChanged(replace(CAST, name="glass"), "cast").apply(job)
    assert [p.stock_name for p in after.panels] == ["", "glass"]
    assert [c.stock.name for c in after.setup.other_stocks] == ["glass"]
    assert after.setup.stock == BIRCH


def test_a_job_that_is_not_cut_from_it_stays() -> None:
    job = planned()
    assert not is_cut_from(job, "cast")
    assert TakeChanged(replace(CAST, name="glass"), "cast").apply(job) is job
    assert TakeChanged(CAST, "cast").label == "Change stock cast"


def test_a_price_leaves_the_cut_as_it_is_and_a_kerf_or_a_material_does_not() -> None:
    assert cuts_alike(BIRCH, replace(BIRCH, sizes=SIZES[:1], grain=True, note="damp"))
    assert not cuts_alike(BIRCH, replace(BIRCH, kerf=Kerf.same(0.2)))
    assert not cuts_alike(BIRCH, replace(BIRCH, measured_thickness_mm=3.1))
    assert not cuts_alike(BIRCH, replace(BIRCH, material="PVC"))
    assert not cuts_alike(BIRCH, replace(BIRCH, name="vinyl"))  # names are judged, too
