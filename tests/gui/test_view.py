"""The canvas's millimetres."""

from __future__ import annotations

import math

import pytest
from PySide6.QtCore import QPointF, QRectF

from lasernest.gui.board.rulers import marks_on, ticks_for
from lasernest.gui.board.view import LEAST_SCALE, MOST_SCALE, View, fitted, nice_step
from lasernest.gui.lengths import lengths
from lasernest.gui.look.theme import theme


def test_screen_and_back() -> None:
    view = View(3.0, 40.0, 500.0)
    point = view.to_screen(12.5, -7.25)
    assert (point.x(), point.y()) == (77.5, 521.75)
    assert view.to_mm(point) == pytest.approx((12.5, -7.25))


def test_zoom_keeps_what_lies_under_the_pointer() -> None:
    view = View(2.0, 10.0, 300.0)
    pointer = QPointF(123.0, 77.0)
    before = view.to_mm(pointer)
    for factor in (1.25, 0.3, 80.0):
        assert view.zoomed(factor, pointer).to_mm(pointer) == pytest.approx(before)


def test_zoom_has_ends() -> None:
    middle = QPointF(0, 0)
    assert View().zoomed(1e9, middle).scale == MOST_SCALE
    assert View().zoomed(1e-9, middle).scale == LEAST_SCALE


def test_fit_shows_the_whole_rectangle_in_the_middle() -> None:
    area = QRectF(20, 30, 800, 600)
    view = fitted(QRectF(-100, 50, 400, 100), area)
    assert view.scale == 2.0
    shown = view.rect_to_screen(QRectF(-100, 50, 400, 100))
    assert shown.width() == pytest.approx(800)
    assert (shown.center().x(), shown.center().y()) == pytest.approx((420, 330))


def test_old_picture_stands_in_for_the_new_view() -> None:
    old = View(2.0, 10.0, 20.0)
    new = old.zoomed(1.7, QPointF(50, 60)).panned(11, -3)
    for place in ((0.0, 0.0), (31.0, -8.0)):
        moved = old.onto(new).map(old.to_screen(*place))
        target = new.to_screen(*place)
        assert (moved.x(), moved.y()) == pytest.approx((target.x(), target.y()))


@pytest.mark.parametrize(("least", "step"), [(1, 1), (1.1, 2), (3, 5), (7, 10), (0.03, 0.05)])
def test_nice_steps_are_1_2_5(least: float, step: float) -> None:
    assert nice_step(least) == pytest.approx(step)


@pytest.mark.parametrize("scale", [0.05, 0.7, 1.0, 3.9, 60.0, 1500.0])
def test_ruler_numbers_are_far_enough_apart_and_evenly_parted(scale: float) -> None:
    ticks = ticks_for(scale)
    assert ticks.large * scale >= 75.9
    parts = ticks.large / ticks.small
    assert math.isclose(parts, round(parts), rel_tol=1e-9)
    assert round(ticks.large, ticks.decimals) == pytest.approx(ticks.large)


@pytest.mark.parametrize("text_scale", [1.0, 1.5, 2.0])
@pytest.mark.parametrize("inches", [False, True])
def test_no_ruler_number_is_cut_off_or_meets_the_unit(text_scale: float, inches: bool) -> None:
    theme.choose(text_scale=text_scale)
    lengths.show_inches(inches)
    canvas = QRectF(0, 0, 640, 420)
    shown = 0
    for pushed in range(0, 90, 7):
        marks = marks_on(View(1.3, 60.0 + pushed, 380.0 - pushed), canvas)
        ends = canvas.right(), marks.corner.top() - canvas.top()
        for box, _ in marks.level:
            assert marks.corner.right() <= box.left()
            assert box.right() <= ends[0]
        for box, _ in marks.upright:
            assert -box.right() >= 0.0
            assert -box.left() <= ends[1]
        shown += len(marks.level) + len(marks.upright)
    assert shown > 50
