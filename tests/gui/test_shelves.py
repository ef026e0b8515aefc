"""Drawings side by side: names stand below them and never on another drawing or name."""

from __future__ import annotations

import random
from itertools import combinations

import pytest
from PySide6.QtCore import QRectF
from PySide6.QtGui import QImage, QPainter

from lasernest.domain.contours import Contour
from lasernest.domain.panels import Panel
from lasernest.gui.board.begun_picture import MARGIN_PX
from lasernest.gui.board.outlines_scene import OutlinesScene
from lasernest.gui.board.shelves import DrawnFile, on_shelves
from lasernest.gui.board.view import View, fitted
from lasernest.gui.look.theme import theme


def _drawings(count: int, seed: int) -> list[DrawnFile]:
    rng = random.Random(seed)
    made = []
    for i in range(count):
        wide, high = rng.uniform(10, 400), rng.uniform(10, 300)
        corners = [(0.0, 0.0), (wide, 0.0), (wide, high), (0.0, high)]
        made.append(DrawnFile(f"drawing {i}.dxf", (Panel(f"p{i}", Contour.polygon(corners)),)))
    return made


@pytest.mark.parametrize("text_scale", [1.0, 2.0])
@pytest.mark.parametrize(("count", "seed"), [(1, 1), (2, 2), (9, 3), (23, 4)])
def test_names_meet_no_drawing_and_no_other_name(count: int, seed: int, text_scale: float) -> None:
    theme.choose(text_scale=text_scale)
    laid = on_shelves(_drawings(count, seed))
    for scale in (0.05, 0.2, 0.5, 1.0, 4.0):
        view = View(scale, 30.0, 700.0)
        areas = [view.rect_to_screen(one.area) for one in laid]
        names = [OutlinesScene.name_px(one, view) for one in laid]
        for i, name in enumerate(names):
            if name is not None:
                assert not any(name.intersects(a) for k, a in enumerate(areas) if k != i)
                assert name.top() > areas[i].bottom()
        shown = [name for name in names if name is not None]
        assert not any(a.intersects(b) for a, b in combinations(shown, 2))
        if scale == 4.0:
            assert len(shown) == count


def test_drawings_do_not_overlap_and_begin_at_nought() -> None:
    laid = on_shelves(_drawings(30, 5))
    assert not any(a.area.intersects(b.area) for a, b in combinations(laid, 2))
    assert min(one.area.left() for one in laid) == pytest.approx(0.0)
    assert min(one.area.top() for one in laid) == pytest.approx(0.0)


def test_names_of_drawings_end_before_the_board_and_say_nothing_twice(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    plate = Contour.rectangle(0, 0, 40, 60)
    scene = OutlinesScene()
    scene.show_files(
        [
            DrawnFile("lid", (Panel("lid", plate),)),
            DrawnFile("a drawing with a very long name.dxf", (Panel("plate", plate),)),
        ],
        left="",
        right="",
    )
    said: list[tuple[QRectF, str]] = []
    monkeypatch.setattr(
        "lasernest.gui.board.outlines_scene.caption",
        lambda _painter, rect, text: said.append((QRectF(rect), text)),
    )
    canvas = QRectF(0, 0, 200, 200)
    view = fitted(scene.bounds_mm(), canvas.adjusted(24, 32, -24, -44))
    picture = QImage(200, 200, QImage.Format.Format_RGB32)
    painter = QPainter(picture)
    beyond = canvas.adjusted(-MARGIN_PX, -MARGIN_PX, MARGIN_PX, MARGIN_PX)
    for _ in scene.draw(painter, view, view.rect_to_mm(beyond)):
        pass
    painter.end()
    ((rect, text),) = said
    assert text.endswith(".dxf")
    assert rect.right() == pytest.approx(canvas.right() - 4)
