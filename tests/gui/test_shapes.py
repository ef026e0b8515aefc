"""Painter paths and places for names."""

from __future__ import annotations

import math
import random
from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtCore import QPointF, QRect, QRectF
from PySide6.QtGui import QImage, QPainter, QTransform
from pytestqt.qtbot import QtBot

from lasernest.domain.contours import Contour, Pose, Vertex
from lasernest.domain.panels import Mark, MarkKind, Panel
from lasernest.domain.plan import Plan
from lasernest.geometry.label_spots import label_spot
from lasernest.gui.board import shapes
from lasernest.gui.board.inks import Ink, stroke_outline, thin_pen
from lasernest.gui.board.shapes import (
    BUNDLE,
    COARSE_PX,
    PanelPicture,
    Pictures,
    bundles,
    contours_path,
    pictures,
    transform_of,
)
from lasernest.gui.look.theme import theme
from lasernest.gui.window import Window
from lasernest.services.commands import KeepPlan
from tests.gui.helpers import arrange, read

HALF_MOON = Contour((Vertex(0, 0, 1.0), Vertex(20, 0, 0.0)))


@pytest.mark.parametrize("radius_mm", [0.5, 30.0, 2000.0])
def test_a_drawn_circle_stays_within_a_millionth_of_its_radius(radius_mm: float) -> None:
    path = contours_path([Contour.circle(3.0, -2.0, radius_mm)])
    for i in range(400):
        p = path.pointAtPercent(i / 400)
        assert math.hypot(p.x() - 3.0, p.y() + 2.0) == pytest.approx(radius_mm, rel=1e-6)


def test_arcs_bulge_to_the_right_side() -> None:
    # Bulge 1 from (0, 0) to (20, 0) is the lower half circle, walked anticlockwise.
    box = contours_path([HALF_MOON]).boundingRect()
    assert (box.top(), box.bottom()) == pytest.approx((-10.0, 0.0), abs=1e-3)


def test_holes_are_not_face() -> None:
    panel = Panel.of("lid", Contour.rectangle(0, 0, 40, 30), [Contour.circle(20, 15, 5)])
    picture = PanelPicture(panel)
    assert picture.face.contains(QPointF(2, 2))
    assert not picture.face.contains(QPointF(20, 15))


@pytest.mark.parametrize("pose", [Pose(5, 6, 90), Pose(-3, 2, 33.0, True), Pose(0, 0, 180, True)])
def test_painter_transform_is_the_pose(pose: Pose) -> None:
    for place in ((0.0, 0.0), (7.0, -2.5)):
        drawn = transform_of(pose).map(QPointF(*place))
        assert (drawn.x(), drawn.y()) == pytest.approx(pose.apply(*place))


def test_pictures_are_made_once_per_panel() -> None:
    panel = Panel.of("lid", Contour.rectangle(0, 0, 40, 30))
    assert pictures.of(panel) is pictures.of(panel)


def _free_around(panel: Panel, aspect: float) -> None:
    spot = label_spot(panel, aspect=aspect)
    assert spot is not None
    half_w, half_h = spot.half_height_mm * aspect * 0.99, spot.half_height_mm * 0.99
    picture = PanelPicture(panel)
    for i in range(-10, 11):
        for j in range(-10, 11):
            at = QPointF(spot.x_mm + half_w * i / 10, spot.y_mm + half_h * j / 10)
            assert picture.face.contains(at), (panel.name, at)


@pytest.mark.parametrize("aspect", [1.0, 3.0, 6.0])
def test_a_name_stands_over_no_hole_and_no_edge(aspect: float) -> None:
    holes = [Contour.circle(x, 30, 12) for x in (30, 60, 90)]
    _free_around(Panel.of("holes", Contour.rectangle(0, 0, 120, 60), holes), aspect)
    _free_around(Panel.of("ring", Contour.circle(0, 0, 50), [Contour.circle(0, 0, 20)]), aspect)
    corner = Contour.polygon([(0, 0), (100, 0), (100, 15), (15, 15), (15, 80), (0, 80)])
    _free_around(Panel.of("corner", corner), aspect)


def test_a_name_keeps_off_marks() -> None:
    marks = [Mark(Contour.polyline([(0, 20), (100, 20)]), MarkKind.SCORE)]
    spot = label_spot(Panel.of("m", Contour.rectangle(0, 0, 100, 40), (), marks), aspect=4.0)
    assert spot is not None
    assert abs(spot.y_mm - 20.0) >= spot.half_height_mm


def test_an_empty_middle_takes_the_name() -> None:
    plate = Panel.of("plate", Contour.rectangle(10, 20, 100, 60))
    spot = label_spot(plate, aspect=3.0)
    assert spot is not None
    assert (spot.x_mm, spot.y_mm) == pytest.approx((60, 50))


def test_a_name_keeps_clear_of_what_is_drawn_over_the_panel() -> None:
    plate = Panel.of("plate", Contour.rectangle(10, 20, 100, 60))
    left, low, right, high = taken = (50.0, 40.0, 70.0, 60.0)
    spot = label_spot(plate, aspect=2.0, taken_mm=[taken])
    assert spot is not None
    assert (
        max(
            left - (spot.x_mm + 2.0 * spot.half_height_mm),
            spot.x_mm - 2.0 * spot.half_height_mm - right,
            low - (spot.y_mm + spot.half_height_mm),
            spot.y_mm - spot.half_height_mm - high,
        )
        >= -1e-9
    )
    assert label_spot(plate, aspect=2.0, taken_mm=[(0.0, 0.0, 200.0, 200.0)]) is None


def test_a_full_store_keeps_the_pictures_that_were_made_last() -> None:
    panels = [Panel.of(f"tile-{k}", Contour.rectangle(0, 0, 5, 5)) for k in range(9)]
    store = Pictures(most=8)
    made = [store.of(panel) for panel in panels]
    assert all(store.of(p) is one for p, one in zip(panels[2:], made[2:], strict=True))
    # Room for two was made by letting the two oldest go, which are made anew when asked for.
    again = store.of(panels[0])
    assert again is not made[0]
    assert again.panel is panels[0]


def _engraved(runs: int) -> Panel:
    """A plate with an engraving of short runs of eleven corners, all over it."""
    rng = random.Random(3)
    marks = []
    for _ in range(runs):
        x, y = rng.uniform(10, 190), rng.uniform(10, 110)
        run = [(x + rng.uniform(-2, 2), y + rng.uniform(-2, 2)) for _ in range(11)]
        marks.append(Mark(Contour.polyline(run), MarkKind.ENGRAVE))
    return Panel.of("plate", Contour.rectangle(0, 0, 200, 120), (), marks)


def test_bundles_hold_every_line_once() -> None:
    turns = [(40 + i % 2, i * math.tau / 5000) for i in range(5000)]
    rough = Contour.polygon([(r * math.cos(angle), r * math.sin(angle)) for r, angle in turns])
    lines = [rough, *(mark.path for mark in _engraved(300).marks), Contour.circle(0, 0, 30)]
    made = bundles(lines)
    assert len(made) > 5
    assert all(bundle.path.elementCount() <= 3 * BUNDLE for bundle in made)
    whole = math.fsum(contour.length_mm for contour in lines)
    drawn = math.fsum(bundle.path.length() for bundle in made)
    assert drawn == pytest.approx(whole, rel=5e-5)  # arcs are curves
    assert bundles(lines[1:3])[0].path == contours_path(lines[1:3])
    assert bundles([]) == ()
    # A rack of half circles: arcs weigh more than lines.
    rack = Contour(tuple(Vertex(2.0 * i, 300.0, 1.0) for i in range(900)), closed=False)
    assert max(bundle.path.elementCount() for bundle in bundles([rack])) <= 6 * BUNDLE


def _drawn(panel: Panel, scale: float, visible: QRectF | None = None) -> QImage:
    image = QImage(420, 260, QImage.Format.Format_RGB32)
    image.fill(0xFFFFFF)
    painter = QPainter(image)
    painter.setTransform(QTransform(scale, 0, 0, -scale, 5, 250))
    for _ in Ink().panel_in_steps(painter, PanelPicture(panel), scale=scale, visible=visible):
        pass
    painter.end()
    return image


def test_a_large_panel_is_drawn_in_steps_and_only_where_it_is_seen() -> None:
    panel = _engraved(900)
    picture = PanelPicture(panel)
    assert picture.is_large
    image = QImage(10, 10, QImage.Format.Format_RGB32)
    painter = QPainter(image)
    steps = list(Ink().panel_in_steps(painter, picture, scale=2.0))
    near = list(Ink().panel_in_steps(painter, picture, scale=2.0, visible=QRectF(0, 0, 30, 30)))
    painter.end()
    assert len(steps) > 10
    assert 0 < len(near) < len(steps) / 2
    # What is seen is the same: the marks of a small panel drawn in one go.
    assert _drawn(panel, 2.0) == _drawn(panel, 2.0, QRectF(-10, -10, 300, 300))


def test_small_on_the_screen_an_engraving_is_drawn_coarse() -> None:
    picture = PanelPicture(_engraved(900))
    corners = sum(len(mark.path.vertices) for mark in picture.panel.marks)
    assert 0 < picture.coarse_marks.elementCount() < 0.75 * corners
    wide = picture.coarse_marks.boundingRect()
    full = contours_path(mark.path for mark in picture.panel.marks).boundingRect()
    step_mm = 200.0 / COARSE_PX
    for side in ("left", "right", "top", "bottom"):
        assert getattr(wide, side)() == pytest.approx(getattr(full, side)(), abs=2 * step_mm)


def test_figures_of_large_panels_are_worked_out_in_the_background(
    qtbot: QtBot, window: Window, sample_panels: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(shapes, "BUNDLE", 2)
    read(qtbot, window, sample_panels / "clock-feet.svg")
    arrange(qtbot, window)
    known = window.desk.figures
    assert known is not None
    plan = window.desk.job.plan
    assert plan is not None
    (sheet,) = plan.sheets
    moved = [replace(p, pose=replace(p.pose, x_mm=p.pose.x_mm + 1)) for p in sheet.placements]
    window.desk.do(KeepPlan(Plan((replace(sheet, placements=tuple(moved)),))))
    assert window.desk.figures is None
    qtbot.waitUntil(lambda: window.desk.figures is not None)
    assert window.desk.figures.sheets[0].net_area_mm2 == known.sheets[0].net_area_mm2


def test_a_perforated_plate_is_filled_in_no_time_and_looks_the_same() -> None:
    holes = [Contour.circle(5 + i % 40 * 4.8, 5 + i // 40 * 4.4, 1.6) for i in range(1000)]
    many = Panel.of("grille", Contour.rectangle(0, 0, 200, 120), holes)
    picture = PanelPicture(many)
    assert picture.is_large
    assert max(b.path.elementCount() for b in picture.inner) < 6 * BUNDLE
    plain, smooth = _drawn(many, 2.0), QImage(420, 260, QImage.Format.Format_RGB32)
    smooth.fill(0xFFFFFF)
    painter = QPainter(smooth)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setTransform(QTransform(2.0, 0, 0, -2.0, 5, 250))
    Ink().panel(painter, picture, scale=2.0)
    # The hint is as it was, and in the middle of holes the ground shows.
    assert painter.testRenderHint(QPainter.RenderHint.Antialiasing)
    painter.end()
    for image in (plain, smooth):
        for x_mm, y_mm in ((5.0, 5.0), (5.0 + 4.8 * 20, 5.0 + 4.4 * 10)):
            at = QPointF(5 + 2.0 * x_mm, 250 - 2.0 * y_mm).toPoint()
            assert image.pixelColor(at).name() == "#ffffff"
        assert image.pixelColor(5 + 4, 250 - 230).name() == theme.palette.panel


def test_a_smooth_engraved_curve_beside_many_holes_is_dotted_still() -> None:
    holes = [Contour.circle(8 + i % 30 * 6, 8 + i // 30 * 6, 2) for i in range(300)]
    wave = Contour.polyline([(10 + 0.6 * i, 100 + 5 * math.sin(i / 9)) for i in range(280)])
    rim = Contour.rectangle(0, 0, 200, 120)
    panel = Panel.of("grille", rim, holes, [Mark(wave, MarkKind.ENGRAVE)])
    assert PanelPicture(panel).is_large
    alone = Panel.of("plate", rim, (), [Mark(wave, MarkKind.ENGRAVE)])
    above = QRect(0, 0, 420, 75)  # the wave, and no hole
    assert _drawn(panel, 2.0).copy(above) == _drawn(alone, 2.0).copy(above)


def test_an_outline_of_many_corners_is_marked_with_few_and_looks_the_same() -> None:
    corners = []
    for i in range(20_000):
        angle = 2.0 * math.pi * i / 20_000
        far = 90.0 + 6.0 * math.sin(40.0 * angle)
        corners.append((far * math.cos(angle), far * math.sin(angle)))
    picture = PanelPicture(Panel.of("cloud", Contour.polygon(corners)))
    pen = thin_pen(theme.colour("accent"), 2.2)

    def drawn(scale: float, *, few: bool) -> QImage:
        image = QImage(400, 400, QImage.Format.Format_Grayscale8)
        image.fill(255)
        painter = QPainter(image)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setTransform(QTransform(scale, 0, 0, scale, 380 - 90 * scale, 200))
        if few:
            stroke_outline(painter, picture, pen)
        else:
            painter.strokePath(picture.outer, pen)
        painter.end()
        return image

    for scale in (2.0, 11.0):
        few, all_of_them = drawn(scale, few=True), drawn(scale, few=False)
        pixels = [
            (few.pixelColor(x, y).lightness(), all_of_them.pixelColor(x, y).lightness())
            for x in range(0, 400, 2)
            for y in range(0, 400, 2)
        ]
        assert min(there for _, there in pixels) < 150  # there is a line
        # A corner that is a fifth of a pixel off changes a pixel by as much, and hardly more.
        assert max(abs(a - b) for a, b in pixels) < 80
        assert sum(abs(a - b) for a, b in pixels) / len(pixels) < 0.5
        weight = sum(path.elementCount() for path, _ in picture.rim_at(scale))
        assert weight < 4000
    # Seen from near, nearly each corner is there.
    assert sum(path.elementCount() for path, _ in picture.rim_at(1e4)) >= 19_000
