"""What happens to a plan that is being checked when Stop is pressed."""

from __future__ import annotations

import pytest

from lasernest.domain.contours import Contour
from lasernest.domain.control import QuietControl
from lasernest.domain.panels import Panel
from lasernest.domain.plan import NestRequest, PanelOrder, Sheet
from lasernest.nesting import Budget, arrange
from lasernest.nesting.best_plan import BestPlan
from lasernest.nesting.first_plan import FirstPlan
from lasernest.nesting.outlines import Stance
from lasernest.nesting.rows import FilledSheet, Laid

TILE = Panel.of("tile", Contour.rectangle(0, 0, 50, 40))
REQUEST = NestRequest((PanelOrder(TILE, 2),), (Sheet(300, 200, 5),), 2.0)
UPRIGHT = Stance(0.0)


def side_by_side(apart_mm: float) -> list[FilledSheet]:
    laid = [Laid(0, UPRIGHT, 5.0, 5.0), Laid(0, UPRIGHT, 55.0 + apart_mm, 5.0)]
    return [FilledSheet(0, laid, 105.0 + apart_mm)]


@pytest.mark.parametrize(("blink_s", "used_mm"), [(0.0, 125.0), (60.0, 107.0)])
def test_after_stop_a_check_has_a_blink_and_no_longer(
    blink_s: float, used_mm: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("lasernest.nesting.best_plan.BLINK_S", blink_s)
    control = QuietControl()
    plans = BestPlan(REQUEST, FirstPlan(REQUEST, [(UPRIGHT,)]), control, None)
    control.stop()
    plans.take(side_by_side(20.0))  # the first one is needed, however late it is
    plans.take(side_by_side(2.0))
    assert plans.finished(0).log[-1].used_length_mm == used_mm
    assert plans.filled[-1].used_length_mm == used_mm


def test_stop_in_the_middle_of_preparation_keeps_the_first_plan(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    control = QuietControl()

    def stop_then(*_: object, poll: object, **__: object) -> object:
        control.stop()
        poll()  # type: ignore[operator]
        raise AssertionError("preparation went on")

    monkeypatch.setattr("lasernest.nesting.arranging.search_shapes", stop_then)
    plan = arrange(REQUEST, control=control, budget=Budget(seconds=60.0))
    assert plan.placed_count == 2
    assert plan.evaluations == 0
