"""Compensated paths against closed forms, and the errors of beams that do not fit."""

from __future__ import annotations

import math

import pytest
import shapely

from lasernest.domain.contours import Contour, Pose, Vertex
from lasernest.domain.cutting import PathKind
from lasernest.domain.panels import Mark, MarkKind, Panel
from lasernest.domain.stock import Kerf
from lasernest.errors import VanishedContourError
from lasernest.geometry.flatten import ring_polygon
from lasernest.kerf.compensate import cut_paths, posed_paths
from tests.cut_kit import finger_panel, front, plate

KERF = Kerf.same(0.2)


def test_plate() -> None:
    (outer,) = cut_paths(plate(), KERF)
    assert outer.kind is PathKind.CUT_OUTER
    assert outer.path.area_mm2 == pytest.approx(6032.04, abs=1e-9)  # G1, mitred


def test_finger_panel() -> None:
    # V5: path 5913.24, 332.8 long, gaps drawn 19.8 wide from 20.1 to 39.9
    (outer,) = cut_paths(finger_panel(), KERF)
    assert outer.path.area_mm2 == pytest.approx(5913.24, abs=1e-9)
    assert outer.path.length_mm == pytest.approx(332.8, abs=1e-9)
    assert outer.path.bounds_mm() == pytest.approx((-0.1, -0.1, 100.1, 60.1), abs=1e-9)
    xs = sorted(v.x_mm for v in outer.path.vertices if v.y_mm < 58 and v.y_mm > 1)
    assert xs == pytest.approx([20.1, 39.9, 60.1, 79.9], abs=1e-9)
    assert len(outer.path.vertices) == 12


def test_holes_shrink_and_stay_circles() -> None:
    inner = [p for p in cut_paths(front(), KERF) if p.kind is PathKind.CUT_INNER]
    circles = [p.path.as_circle() for p in inner[:10]]
    assert [c.radius_mm for c in circles if c] == pytest.approx([1.5] * 10, abs=1e-12)
    assert inner[-1].path.bounds_mm() == pytest.approx((70.1, 10.1, 79.9, 12.9), abs=1e-9)
    assert not any(p.path.is_anticlockwise for p in inner)


def test_plate_with_four_holes_has_the_published_cut_length() -> None:
    # 100 x 60 with 4 holes of 3.4, k 0.2: 320.8 + 4 pi 3.2 = 361.012386
    holes = [Contour.circle(x, y, 1.7) for x in (10, 90) for y in (10, 50)]
    panel = Panel.of("plate", Contour.rectangle(0, 0, 100, 60), holes)
    total = sum(path.path.length_mm for path in cut_paths(panel, KERF))
    assert total == pytest.approx(361.012386, abs=1e-6)


def test_marks_stay_and_come_first() -> None:
    score = Mark(Contour.polyline([(5, 5), (50, 5)]))
    engrave = Mark(Contour.circle(50, 30, 4), MarkKind.ENGRAVE)
    panel = Panel.of("lid", Contour.rectangle(0, 0, 100, 60), marks=[score, engrave])
    paths = cut_paths(panel, KERF, copy=3)
    assert [p.kind for p in paths] == [PathKind.ENGRAVE, PathKind.SCORE, PathKind.CUT_OUTER]
    assert paths[0].path == engrave.path
    assert paths[1].path == score.path
    assert {(p.panel_name, p.copy) for p in paths} == {("lid", 3)}


def test_slot_narrower_than_the_kerf() -> None:
    # G17
    panel = Panel.of("side", Contour.rectangle(0, 0, 50, 50), [Contour.rectangle(20, 10, 0.15, 30)])
    with pytest.raises(VanishedContourError) as error:
        cut_paths(panel, KERF)
    assert str(error.value) == (
        "panel side, at 20.07, 25.00 mm: a hole or slot is narrower than the kerf of 0.20 mm, so "
        "the beam does not fit in. Make it wider than 0.20 mm, or draw it as a score line."
    )


def test_slot_with_a_waist_narrower_than_the_kerf() -> None:
    slot = Contour.polygon(
        [(5, 5), (10, 5), (10, 7), (14, 7), (14, 5), (19, 5), (19, 10), (14, 10), (14, 7.15),
         (10, 7.15), (10, 10), (5, 10)]
    )  # fmt: skip
    with pytest.raises(VanishedContourError, match="a hole or slot is narrower") as error:
        cut_paths(Panel.of("side", Contour.rectangle(0, 0, 50, 50), [slot]), KERF)
    assert error.value.where.at_mm is not None
    x, y = error.value.where.at_mm
    assert 10 <= x <= 14
    assert y == pytest.approx(7.075, abs=0.1)


@pytest.mark.parametrize("mouth_mm", [0.15, 0.199])
def test_gap_in_the_outline_narrower_than_the_kerf(mouth_mm: float) -> None:
    outline = Contour.polygon(
        [(0, 0), (9, 0), (9, 4), (9 + mouth_mm, 4), (9 + mouth_mm, 0), (20, 0), (20, 10), (0, 10)]
    )
    with pytest.raises(VanishedContourError, match="a gap in the outline is narrower") as error:
        cut_paths(Panel.of("comb", outline), KERF)
    assert error.value.where.at_mm == pytest.approx((9 + mouth_mm / 2, 4), abs=0.2)


def test_gap_that_closes_off_a_pocket() -> None:
    c_shape = Contour.polygon(
        [(0, 0), (10, 0), (10, 4.9), (7, 4.9), (7, 3), (3, 3), (3, 7), (7, 7), (7, 5.05),
         (10, 5.05), (10, 10), (0, 10)]
    )  # fmt: skip
    with pytest.raises(VanishedContourError, match="a gap in the outline"):
        cut_paths(Panel.of("hook", c_shape), KERF)


@pytest.mark.parametrize("half_angle_deg", [5, 15, 45])
def test_sharp_notches_are_cut_as_deep_as_the_beam_goes(half_angle_deg: float) -> None:
    w = 10 * math.tan(math.radians(half_angle_deg))
    outline = Contour.polygon(
        [(0, 0), (40, 0), (40, 30), (20 + w, 30), (20, 20), (20 - w, 30), (0, 30)]
    )
    (outer,) = cut_paths(Panel.of("vee", outline), KERF)
    tip = min(v.y_mm for v in outer.path.vertices if 15 < v.x_mm < 25)
    # half a kerf over the sine of the half angle above the drawn tip
    assert tip == pytest.approx(20 + 0.1 / math.sin(math.radians(half_angle_deg)), abs=1e-6)


def test_tiny_fillets_are_no_error() -> None:
    corner = Contour(
        (Vertex(0, 0), Vertex(10, 0), Vertex(10, 5), Vertex(5.05, 5, -math.tan(math.pi / 8)),
         Vertex(5, 5.05), Vertex(5, 10), Vertex(0, 10))
    )  # fmt: skip
    assert len(cut_paths(Panel.of("ell", corner), KERF)) == 1


@pytest.mark.parametrize(
    "pose", [Pose(10, 20, 90), Pose(3, 4, 33.3, mirrored=True), Pose(5, 5, 180)]
)
def test_posing_paths_is_the_same_as_posing_the_panel(pose: Pose) -> None:
    moved = posed_paths(cut_paths(front(), KERF), pose, copy=2)
    afresh = cut_paths(front().posed(pose), KERF, copy=2)
    for a, b in zip(moved, afresh, strict=True):
        assert (a.kind, a.panel_name, a.copy) == (b.kind, b.panel_name, b.copy)
        assert a.path.is_anticlockwise == b.path.is_anticlockwise
        shapes = [ring_polygon(p.path, chord_error_mm=1e-4) for p in (a, b)]
        assert shapely.hausdorff_distance(*shapes) < 2e-4


def test_kerfs_that_differ_by_little_are_averaged() -> None:
    (outer,) = cut_paths(plate(), Kerf(0.21, 0.19))
    assert outer.path.area_mm2 == pytest.approx(6032.04, abs=1e-9)


def test_no_kerf_changes_nothing() -> None:
    assert cut_paths(plate(), Kerf.same(0.0))[0].path == plate().outer
