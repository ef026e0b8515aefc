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


def cusped(split_mm: float) -> Contour:
    """A plate of 40 x 30 whose upper edge dips into a cusp between two quarter arcs of 8 mm.

    The left arc has a corner more where it has come `split_mm` away from the tip.
    """
    angle = math.acos(1.0 - split_mm**2 / (2.0 * 64.0))
    x, y = 20 - 8 + 8 * math.cos(angle), 20 + 8 * math.sin(angle)
    first, rest = math.tan(angle / 4), math.tan((math.pi / 2 - angle) / 4)
    return Contour(
        (
            *(Vertex(*at) for at in ((0, 0), (40, 0), (40, 28))),
            Vertex(28, 28, math.tan(math.pi / 8)),
            Vertex(20, 20, first),
            Vertex(x, y, rest),
            *(Vertex(*at) for at in ((12, 28), (0, 28))),
        )
    )


@pytest.mark.parametrize("kerf_mm", [0.05, 0.2, 0.37])
@pytest.mark.parametrize("split_mm", [0.03, 0.3, 0.6])
def test_a_corner_deep_in_a_cusp_is_no_gap_of_its_own(split_mm: float, kerf_mm: float) -> None:
    """The beam stops where the sides are a kerf apart, however the sides are drawn."""
    (path,) = cut_paths(Panel.of("heart", cusped(split_mm)), Kerf.same(kerf_mm))
    lowest = min(v.y_mm for v in path.path.vertices if 15 < v.x_mm < 25 and v.y_mm > 5)
    # Closed form: circles of 8 and half a kerf about (12, 20) and (28, 20) meet at x = 20.
    assert lowest == pytest.approx(20 + math.sqrt((8 + kerf_mm / 2) ** 2 - 64), abs=1e-6)


def test_a_narrow_gap_that_ends_in_a_cusp_is_still_refused() -> None:
    gap = Contour(
        (
            *(Vertex(*at) for at in ((0, 0), (40, 0), (40, 30), (20.05, 30), (20.05, 20.6))),
            Vertex(20.05, 20.6, 0.02),
            Vertex(20, 20, 0.02),
            *(Vertex(*at) for at in ((19.95, 20.6), (19.95, 30), (0, 30))),
        )
    )
    with pytest.raises(VanishedContourError, match="a gap in the outline"):
        cut_paths(Panel.of("side", gap), KERF)


def test_gap_that_closes_off_a_pocket() -> None:
    c_shape = Contour.polygon(
        [(0, 0), (10, 0), (10, 4.9), (7, 4.9), (7, 3), (3, 3), (3, 7), (7, 7), (7, 5.05),
         (10, 5.05), (10, 10), (0, 10)]
    )  # fmt: skip
    with pytest.raises(VanishedContourError, match="a gap in the outline"):
        cut_paths(Panel.of("hook", c_shape), KERF)


def hollow_behind_lips(mouth_mm: float, half_angle_deg: float) -> Contour:
    """A plate of 40 x 30 and more with a hollow; its mouth lies between two pointed lips."""
    slope = math.tan(math.radians(half_angle_deg))
    left, right = 20 - mouth_mm / 2, 20 + mouth_mm / 2
    return Contour.polygon(
        [(0, 0), (40, 0), (40, 25 + left * slope), (right, 25), (right + 5, 25 - 5 * slope),
         (30, 10), (10, 10), (left - 5, 25 - 5 * slope), (left, 25), (0, 25 + left * slope)]
    )  # fmt: skip


@pytest.mark.parametrize("half_angle_deg", [20, 25, 40])
@pytest.mark.parametrize("more_mm", [-1e-2, -1e-4, -1e-5, -5e-6, -1e-6, 0.0, 1e-6, 1e-5])
def test_lips_whose_mitres_just_meet_leave_the_beam_in(
    half_angle_deg: float, more_mm: float
) -> None:
    """Mitres reach half a kerf / sin(half angle) beyond their lips; the mouth is twice that."""
    mouth_mm = 0.2 / math.sin(math.radians(half_angle_deg)) + more_mm
    assert mouth_mm > 0.2
    (outer,) = cut_paths(Panel.of("jaw", hollow_behind_lips(mouth_mm, half_angle_deg)), KERF)
    # The path goes into the hollow: half a kerf above its floor.
    assert any(
        v.y_mm == pytest.approx(10.1, abs=1e-9) and 10 < v.x_mm < 30 for v in outer.path.vertices
    )


def test_lips_nearer_than_the_kerf_keep_the_beam_out() -> None:
    with pytest.raises(VanishedContourError, match="a gap in the outline"):
        cut_paths(Panel.of("jaw", hollow_behind_lips(0.199, 40)), KERF)


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


UNEVEN = Kerf(0.22, 0.16)


def test_uneven_kerf_on_a_rectangle() -> None:
    # trade figure: kx 0.22, ky 0.16: 60 x 40 is drawn 60.22 x 40.16
    (outer,) = cut_paths(Panel.of("p", Contour.rectangle(0, 0, 60, 40)), UNEVEN)
    assert outer.path.bounds_mm() == pytest.approx((-0.11, -0.08, 60.11, 40.08), abs=1e-12)
    assert len(outer.path.vertices) == 4


def test_uneven_kerf_on_a_slope() -> None:
    # trade figure: an edge at 45 degrees moves by 0.09618
    diamond = Contour.polygon([(0, 0), (10, 10), (0, 20), (-10, 10)])
    (outer,) = cut_paths(Panel.of("p", diamond), UNEVEN)
    first = next(outer.path.segments())
    normal = (first.tangent_at(0)[1], -first.tangent_at(0)[0])
    # the drawn edge goes through 0, 0
    moved = first.x0_mm * normal[0] + first.y0_mm * normal[1]
    assert moved == pytest.approx(0.09618, abs=5e-6)


def test_uneven_kerf_on_a_circle_follows_the_spot() -> None:
    panel = Panel.of("p", Contour.circle(5, 7, 20))
    (outer,) = cut_paths(panel, UNEVEN)
    for segment in outer.path.segments():
        for share in (0.0, 0.3, 0.7):
            x, y = segment.point_at(share)
            # nearest point of the sum of a circle and an ellipse, by its normal's angle
            best = min(
                math.hypot(x - 5 - px, y - 7 - py)
                for px, py in (
                    spot(20, math.atan2(y - 7, x - 5) + 1e-4 * i) for i in range(-60, 61)
                )
            )
            assert best < 2e-3


def spot(radius: float, a: float) -> tuple[float, float]:
    """Boundary of circle plus elliptical spot where the normal points at angle a."""
    reach = UNEVEN.half_width_mm(a)
    return (
        radius * math.cos(a) + (UNEVEN.x_mm / 2) ** 2 * math.cos(a) / reach,
        radius * math.sin(a) + (UNEVEN.y_mm / 2) ** 2 * math.sin(a) / reach,
    )


def test_uneven_kerf_names_the_place_in_the_drawing() -> None:
    panel = Panel.of("side", Contour.rectangle(0, 0, 50, 50), [Contour.rectangle(20, 30, 0.2, 10)])
    with pytest.raises(VanishedContourError) as error:
        cut_paths(panel, UNEVEN)
    assert error.value.where.at_mm == pytest.approx((20.1, 35))


def test_uneven_kerf_turns_with_the_sheet_not_the_panel() -> None:
    panel = Panel.of("p", Contour.rectangle(0, 0, 60, 40))
    (outer,) = cut_paths(panel.posed(Pose(100, 100, 90)), UNEVEN)
    x0, y0, x1, y1 = outer.path.bounds_mm()
    assert (x1 - x0, y1 - y0) == pytest.approx((40.22, 60.16), abs=1e-9)
