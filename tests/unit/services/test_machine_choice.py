"""The machine of a job: a command, and what another machine changes."""

from __future__ import annotations

from dataclasses import replace

import pytest

from lasernest.domain.contours import Contour
from lasernest.domain.cutting import Corner, CutPath, MarkUse, PathKind, SheetCut
from lasernest.domain.plan import Plan
from lasernest.domain.stock import Machine
from lasernest.job import Job
from lasernest.services.machine_choice import SetMachine, times_alike, times_on, writes_alike
from lasernest.services.workbench import Workbench

ONE = Machine()


def test_it_is_set_and_undone() -> None:
    bench = Workbench()
    before = bench.job
    bench.do(SetMachine("bench laser"))
    bench.do(SetMachine("other"))
    assert bench.job.setup.machine_name == "other"
    assert bench.undo_label == "Cut on other"
    bench.undo()  # nothing was merged
    assert bench.job.setup.machine_name == "bench laser"
    bench.undo()
    assert bench.job is before
    assert SetMachine(None).apply(Job()) == Job()


def test_the_plan_stays() -> None:
    plan = Plan(())
    assert SetMachine("other").apply(Job(plan=plan)).plan is plan


@pytest.mark.parametrize(
    "other",
    [
        replace(ONE, bed_width_mm=600.0),
        replace(ONE, bed_height_mm=600.0),
        replace(ONE, profile=replace(ONE.profile, origin=Corner.UPPER_LEFT)),
        replace(ONE, profile=replace(ONE.profile, marks=MarkUse.LEFT_OUT)),
        replace(ONE, profile=replace(ONE.profile, outer=replace(ONE.profile.outer, layer="X"))),
    ],
)
def test_bed_zero_marks_and_layers_make_another_file(other: Machine) -> None:
    assert not writes_alike(ONE, other)
    assert times_alike(ONE, other)


@pytest.mark.parametrize(
    "other",
    [
        replace(ONE, travel_mm_per_s=50.0),
        replace(ONE, acceleration_mm_per_s2=50.0),
        replace(ONE, pierce_s=2.0),
        replace(ONE, mark_speed_mm_per_s=5.0),
    ],
)
def test_speeds_make_other_times_of_the_same_file(other: Machine) -> None:
    assert writes_alike(ONE, other)
    assert not times_alike(ONE, other)
    mark = Contour.rectangle(200, 20, 30, 30)
    cut = SheetCut(
        400,
        300,
        (
            CutPath(PathKind.SCORE, mark),
            CutPath(PathKind.CUT_OUTER, Contour.rectangle(10, 10, 50, 50)),
        ),
    )
    (before,) = times_on(ONE, [cut], [10.0])
    (after,) = times_on(other, [cut], [10.0])
    assert after > before


def test_time_by_hand() -> None:
    """200 mm at 10 mm/s, one pierce of 0.4 s; travel from 0, 0 to 30, 40 is 50 mm."""
    cut = SheetCut(400, 300, (CutPath(PathKind.CUT_OUTER, Contour.rectangle(30, 40, 50, 50)),))
    slow = replace(ONE, travel_mm_per_s=10.0, acceleration_mm_per_s2=100.0)
    (time_s,) = times_on(slow, [cut], [10.0])
    # s = 50 mm with v = 10 mm/s, a = 100 mm/s²: s / v + v / a (trapezoid).
    assert time_s == pytest.approx(20.0 + 0.4 + 5.0 + 0.1)
