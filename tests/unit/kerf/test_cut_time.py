"""Times against worked figures (T1 to T5, T7)."""

from __future__ import annotations

import pytest

from lasernest.domain.contours import Contour
from lasernest.domain.cutting import CutPath, PathKind, SheetCut
from lasernest.domain.stock import Machine
from lasernest.errors import BadValueError
from lasernest.kerf.cut_time import cut_time, move_time_s, travel_moves_mm
from lasernest.units import MM_PER_INCH


@pytest.mark.parametrize(
    ("length", "speed", "acceleration", "seconds"),
    [(100, 200, 1000, 0.7), (40, 200, 1000, 0.4), (30, 200, 1000, 0.346410), (10, 20, 500, 0.54),
     (500, 300, 2000, 1.81667), (0, 200, 1000, 0.0)],
)  # fmt: skip
def test_moves(length: float, speed: float, acceleration: float, seconds: float) -> None:
    # T3 and the time model's checks
    assert move_time_s(length, speed, acceleration) == pytest.approx(seconds, abs=5e-6)


def test_published_cutting_speeds() -> None:
    # T1, T2: McMillin and Harry 1971, 99.1 and 14.6 in/min through 0.25 and 1 in of pine
    thin, thick = (MM_PER_INCH * speed / 60 for speed in (99.1, 14.6))
    cut = SheetCut(300, 300, (CutPath(PathKind.CUT_OUTER, Contour.polyline([(0, 0), (100, 0)])),))
    plain = Machine(pierce_s=0.0)
    seconds = [cut_time(cut, plain, cut_speed_mm_per_s=v).cutting_s for v in (thin, thick)]
    assert [100 / s for s in seconds] == pytest.approx([41.9523, 6.1807], abs=5e-5)
    assert seconds[1] / seconds[0] == pytest.approx(6.7877, abs=5e-5)


def holes(count: int, length_mm: float) -> tuple[CutPath, ...]:
    side = length_mm / count / 4
    return tuple(
        CutPath(PathKind.CUT_INNER, Contour.rectangle(0, 0, side, side), "a", i)
        for i in range(count)
    )


def test_worked_sheet() -> None:
    # T4: 2400 mm at 12, 8 pierces of 0.4, travel 1500 at 200 without acceleration: 210.7 s
    square = 2400 / 8 / 4
    paths = tuple(
        CutPath(PathKind.CUT_INNER, Contour.rectangle(187.5 * (i + 1), 0, square, square), "a", i)
        for i in range(8)
    )
    machine = Machine(travel_mm_per_s=200, acceleration_mm_per_s2=1e12, pierce_s=0.4)
    time = cut_time(SheetCut(2000, 300, paths), machine, cut_speed_mm_per_s=12)
    assert sum(travel_moves_mm(paths)) == pytest.approx(1500)
    assert time.total_s == pytest.approx(210.7, abs=1e-6)


def test_twice_the_speed_halves_the_cutting_and_nothing_else() -> None:
    # T5
    cut = SheetCut(500, 500, holes(5, 1000))
    slow = cut_time(cut, Machine(), cut_speed_mm_per_s=8)
    fast = cut_time(cut, Machine(), cut_speed_mm_per_s=16)
    assert fast.cutting_s == pytest.approx(slow.cutting_s / 2)
    assert (fast.piercing_s, fast.travel_s) == (slow.piercing_s, slow.travel_s)


def test_grid_of_plates_cut_apart() -> None:
    # T7: twelve plates of 100 x 60 each cut on its own: 3840 mm
    paths = tuple(
        CutPath(
            PathKind.CUT_OUTER, Contour.rectangle(100 * (i % 4), 60 * (i // 4), 100, 60), "a", i
        )
        for i in range(12)
    )
    cut = SheetCut(600, 400, paths)
    assert cut.cut_length_mm == pytest.approx(3840)
    assert cut_time(cut, Machine(), cut_speed_mm_per_s=10).cutting_s == pytest.approx(384)


def test_marks_take_their_own_speed_and_no_pierce() -> None:
    mark = CutPath(PathKind.SCORE, Contour.polyline([(0, 0), (50, 0)]))
    time = cut_time(SheetCut(100, 100, (mark,)), Machine(), cut_speed_mm_per_s=10)
    assert time.marking_s == pytest.approx(0.5)
    assert (time.cutting_s, time.piercing_s, time.travel_s) == (0, 0, 0)


def test_speeds_that_cannot_be() -> None:
    with pytest.raises(BadValueError, match="a move of 10 mm at 0 mm/s"):
        move_time_s(10, 0, 1000)
    with pytest.raises(BadValueError, match="a speed of zero cannot cut"):
        cut_time(SheetCut(1, 1, ()), Machine(), cut_speed_mm_per_s=0)
