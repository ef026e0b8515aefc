"""Moments of a cut: closed forms of uniformly accelerated motion, and a cut worked by hand."""

from __future__ import annotations

import math

import pytest

from lasernest.domain.contours import Contour, Pose
from lasernest.domain.control import QuietControl
from lasernest.domain.cutting import CutPath, PathKind, SheetCut
from lasernest.domain.panels import Panel
from lasernest.domain.plan import Placement, Sheet, SheetPlan
from lasernest.domain.stock import Kerf, Machine
from lasernest.errors import BadValueError
from lasernest.kerf.cut_time import cut_time
from lasernest.services.cut_timeline import CutTimeline, Doing
from lasernest.services.planned_cut import planned_timeline

# 100 mm/s reached after 0.1 s and 5 mm at 1000 mm/s2.
MACHINE = Machine(
    travel_mm_per_s=100.0, acceleration_mm_per_s2=1000.0, pierce_s=0.5, mark_speed_mm_per_s=50.0
)
SQUARE = CutPath(PathKind.CUT_OUTER, Contour.rectangle(60.0, 0.0, 10.0, 10.0), "lid", 1)
SCORE = CutPath(PathKind.SCORE, Contour.polyline([(0.0, 0.0), (25.0, 0.0)]), "lid", 1)


def _timeline(*paths: CutPath) -> CutTimeline:
    return CutTimeline(SheetCut(100.0, 80.0, paths), MACHINE, cut_speed_mm_per_s=20.0)


def test_a_cut_worked_by_hand() -> None:
    # Score from 0,0: no way to go, 25 mm at 50 mm/s = 0.5 s. Then 35 mm of travel:
    # 35/100 + 100/1000 = 0.45 s; 0.5 s of piercing; 40 mm at 20 mm/s = 2 s.
    timeline = _timeline(SCORE, SQUARE)
    assert timeline.total_s == pytest.approx(0.5 + 0.45 + 0.5 + 2.0)
    start = timeline.moment(0.0)
    assert (start.at, start.doing, start.path) == ((0.0, 0.0), Doing.WORK, 0)
    half = timeline.moment(0.25)
    assert half.at == pytest.approx((12.5, 0.0))
    assert half.share == pytest.approx(0.5)
    # Speeding up: after 0.1 s the head has gone 5 mm; at top speed 10 mm more after 0.1 s.
    assert timeline.moment(0.6).at == pytest.approx((30.0, 0.0))
    assert timeline.moment(0.7).at == pytest.approx((40.0, 0.0))
    # Slowing down: 0.05 s before it stands, 1000 / 2 * 0.05**2 = 1.25 mm are left.
    assert timeline.moment(0.90).at == pytest.approx((58.75, 0.0))
    assert timeline.moment(0.90).doing is Doing.TRAVEL
    assert timeline.moment(1.2).doing is Doing.PIERCE
    assert timeline.moment(1.2).at == (60.0, 0.0)
    # A quarter of the square after half a second of cutting.
    quarter = timeline.moment(0.5 + 0.45 + 0.5 + 0.5)
    assert quarter.at == pytest.approx((70.0, 0.0))
    assert (quarter.doing, quarter.path) == (Doing.WORK, 1)
    end = timeline.moment(99.0)
    assert (end.doing, end.path, end.seconds) == (Doing.DONE, 2, timeline.total_s)
    assert timeline.moment(-1.0) == start


def test_a_short_move_never_reaches_full_speed() -> None:
    # 4 mm at 1000 mm/s2: 2 sqrt(4/1000) s, half of it after half the time.
    dot = CutPath(PathKind.CUT_INNER, Contour.circle(5.0, 0.0, 1.0))
    first = CutPath(PathKind.SCORE, Contour.polyline([(0.0, 0.0), (2.0, 0.0)]))
    timeline = _timeline(first, dot)
    way_s = 2.0 * math.sqrt((dot.path.start[0] - 2.0) / 1000.0)
    middle = timeline.moment(2.0 / 50.0 + 0.5 * way_s)
    assert middle.at[0] == pytest.approx(0.5 * (2.0 + dot.path.start[0]))


def test_the_head_runs_round_an_arc() -> None:
    hole = CutPath(PathKind.CUT_INNER, Contour.circle(0.0, 0.0, 10.0))
    timeline = _timeline(hole)
    begins = timeline.total_s - 2.0 * math.pi * 10.0 / 20.0
    for share in (0.1, 0.37, 0.8):
        moment = timeline.moment(begins + share * math.pi)
        assert math.hypot(*moment.at) == pytest.approx(10.0)
        start = math.atan2(hole.path.start[1], hole.path.start[0])
        turned = (math.atan2(moment.at[1], moment.at[0]) - start) % (2.0 * math.pi)
        assert min(turned, 2.0 * math.pi - turned) == pytest.approx(
            2.0 * math.pi * min(share, 1.0 - share), abs=1e-9
        )


def test_the_last_moment_is_the_estimated_time() -> None:
    # The estimate is worked out apart, from sums of lengths.
    plate = Panel(
        "plate",
        Contour.rectangle(0.0, 0.0, 80.0, 50.0),
        (Contour.circle(20.0, 20.0, 8.0).reversed(), Contour.circle(60.0, 20.0, 8.0).reversed()),
    )
    sheet = SheetPlan(
        Sheet(400.0, 300.0),
        (Placement("plate", 1, Pose(10.0, 10.0)), Placement("plate", 2, Pose(120.0, 10.0))),
    )
    machine = Machine()
    timeline = planned_timeline(
        sheet,
        {"plate": plate},
        kerf=Kerf.same(0.2),
        machine=machine,
        cut_speed_mm_per_s=12.0,
        control=QuietControl(),
    )
    assert len(timeline.paths) == 6
    expected = cut_time(timeline.cut, machine, cut_speed_mm_per_s=12.0).total_s
    assert timeline.total_s == pytest.approx(expected)
    starts = [timeline.start_s(i) for i in range(7)]
    assert starts == sorted(starts)
    assert starts[-1] == timeline.total_s
    for index in range(6):
        assert timeline.moment(starts[index]).path == index
    second = timeline.first_of("plate", 2)
    assert second is not None
    assert timeline.paths[second].copy == 2
    assert timeline.first_of("plate", 3) is None


def test_an_empty_sheet_is_done_at_once() -> None:
    timeline = _timeline()
    assert timeline.total_s == 0.0
    assert timeline.moment(0.0).doing is Doing.DONE


def test_a_speed_of_zero_is_refused() -> None:
    with pytest.raises(BadValueError):
        CutTimeline(SheetCut(10.0, 10.0, ()), MACHINE, cut_speed_mm_per_s=0.0)
