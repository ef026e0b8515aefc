from __future__ import annotations

import pytest
import shapely

from lasernest.domain.cutting import PathKind
from lasernest.domain.readings import Rung
from lasernest.domain.stock import Kerf
from lasernest.errors import BadValueError
from lasernest.geometry.flatten import line_string, polygon, ring_points
from lasernest.kerf.comb import Comb, CombSpec, draw_comb, even_rungs, finer_rungs

SPECS = [
    CombSpec(
        t,
        kerf,
        even_rungs(-0.15, 0.25),
        compensated,
        ("birch plywood 3 mm", "2026-11-25", "comb 12"),
    )
    for t in (1.0, 1.5, 3.05, 5.9, 6.1, 9.0, 12.0)
    for kerf in (Kerf.same(0.18), Kerf(0.30, 0.16))
    for compensated in (False, True)
]


@pytest.fixture(params=SPECS, ids=lambda s: f"{s.thickness_mm}-{s.kerf.x_mm}-{s.compensated}")
def comb(request: pytest.FixtureRequest) -> Comb:
    return draw_comb(request.param)


def swept_apart(comb: Comb) -> list[shapely.Polygon]:
    """What a beam as wide as the kerf leaves of a sheet: by shapely's buffers alone."""
    kerf = comb.spec.kerf
    assert kerf.x_mm == kerf.y_mm
    cuts = shapely.union_all([line_string(c.path, chord_error_mm=1e-3) for c in comb.cuts])
    swept = cuts.buffer(0.5 * kerf.x_mm, quad_segs=64)
    left = shapely.box(-5, -5, 153, 103).difference(swept)
    return sorted(left.geoms, key=lambda piece: -piece.area)


def test_the_beam_leaves_the_panels_that_are_promised() -> None:
    comb = draw_comb(CombSpec(3.0, Kerf.same(0.2), even_rungs(-0.1, 0.2)))
    _, *pieces = sorted(swept_apart(comb), key=lambda p: -shapely.box(*p.bounds).area)
    promised = [polygon(panel, chord_error_mm=1e-3) for panel, _ in comb.panels]
    assert len(pieces) == len(promised) == 1 + 10 + 10 + 1
    for want in promised:
        piece = max(pieces, key=lambda p, want=want: p.intersection(want).area)
        # only inner corners, at most 4 per notch or window, keep a radius of half the kerf
        corners = (len(want.exterior.coords) + 4 * 3) * 0.1**2
        assert piece.symmetric_difference(want).area < corners
        assert piece.bounds == pytest.approx(want.bounds, abs=1e-9)


def test_it_fits_a_small_offcut(comb: Comb) -> None:
    x0, y0, x1, y1 = comb.body.bounds_mm()
    kerf = comb.spec.kerf
    assert x1 - x0 + 2 * kerf.x_mm <= 150
    assert y1 - y0 + 2 * kerf.y_mm <= 100


def test_labels_lie_on_the_body_clear_of_every_cut(comb: Comb) -> None:
    body = polygon(comb.body, chord_error_mm=0.01)
    cuts = shapely.union_all([line_string(c.path, chord_error_mm=0.01) for c in comb.cuts])
    for mark in comb.body.marks:
        run = line_string(mark.path, chord_error_mm=0.01)
        assert body.contains(run)
        assert run.distance(cuts) > 0.75
    assert len(comb.body.marks) > 100


def test_webs_are_no_thinner_than_the_sheet(comb: Comb) -> None:
    t = comb.spec.thickness_mm
    outside = shapely.LinearRing(ring_points(comb.body.outer, chord_error_mm=0.01))
    windows = [shapely.Polygon(ring_points(w, chord_error_mm=0.01)) for w in comb.body.inner]
    for window in windows:
        assert window.exterior.distance(outside) >= t - 0.35
        for other in windows:
            if other is not window:
                assert window.distance(other) >= t - 0.35
    for rungs in (comb.slots, comb.gaps):
        pitch = 148.0 / len(rungs)
        assert pitch - max(r.drawn_mm for r in rungs) >= max(t, 5.0) - 0.35


def test_rungs_are_what_they_say(comb: Comb) -> None:
    spec, kerf_mm = comb.spec, comb.spec.kerf.x_mm
    assert 5 <= len(comb.slots) <= 11
    assert 5 <= len(comb.gaps) <= 11
    for rung in (*comb.slots, *comb.gaps):
        finger = spec.thickness_mm if rung.rung is Rung.SLOT else comb.pitch_mm - kerf_mm
        left = finger - (rung.drawn_mm + kerf_mm)  # finger minus gap, as the beam leaves them
        assert rung.expected_mm == pytest.approx(left, abs=1e-9)
        if spec.compensated:
            assert rung.label == f"{100 * left:+.0f}"
            assert 100 * left == pytest.approx(round(100 * left, 1), abs=1e-6)
        else:
            assert rung.label == f"{rung.drawn_mm:.2f}"
            assert rung.drawn_mm == round(rung.drawn_mm, 2)
    for rungs in (comb.slots, comb.gaps):
        found = [r.expected_mm for r in rungs]
        assert found == sorted(found)
        assert found[0] == pytest.approx(-0.15, abs=0.006)
        assert found[-1] == pytest.approx(0.25, abs=0.006)


def test_shared_cuts_come_before_the_windows_they_lie_in(comb: Comb) -> None:
    closed = [cut.path.closed for cut in comb.cuts]
    first = closed.index(True)
    assert not any(closed[:first])
    assert all(closed[first:])
    assert len(closed) == 2 * (comb.strips - 1) + 3 + 1
    assert [cut.kind for cut in comb.cuts] == [PathKind.CUT_INNER] * (len(closed) - 1) + [
        PathKind.CUT_OUTER
    ]
    assert comb.strips >= 3  # so that N + 1 >= 4 cuts reach a hundredth (frame method)
    names = {panel.name for panel, _ in comb.loose}
    assert names == {"strip X", "strip Y", "plug"}


def test_unlike_kerfs_move_each_edge_by_its_own() -> None:
    comb = draw_comb(CombSpec(3.0, Kerf(0.3, 0.1), even_rungs(-0.1, 0.2)))
    assert comb.body.bounds_mm() == pytest.approx((0.15, 0.05, 147.85, 97.95))
    strip_x = next(p for p, _ in comb.loose if p.name == "strip X")
    assert strip_x.size_mm[0] == pytest.approx(5.0 - 0.3)
    strip_y = next(p for p, _ in comb.loose if p.name == "strip Y")
    assert strip_y.size_mm[1] == pytest.approx(5.0 - 0.1)
    plug = next(p for p, _ in comb.loose if p.name == "plug")
    assert plug.size_mm == pytest.approx((19.7, 19.9))


def test_on_a_sheet() -> None:
    comb = draw_comb(CombSpec(3.0, Kerf.same(0.2), even_rungs(-0.1, 0.2), lines=("MDF",)))
    cut = comb.sheet_cut(300, 200, at=(7, 9))
    kinds = [path.kind for path in cut.paths]
    assert kinds == sorted(kinds, key=list(PathKind).index)
    assert cut.paths[-1].path.bounds_mm() == (7, 9, 155, 107)
    placed = comb.placed((7, 9))
    assert placed[0][0].bounds_mm() == pytest.approx((7.1, 9.1, 154.9, 106.9))
    with pytest.raises(BadValueError, match="the comb does not lie on a sheet of 150 x 100 mm"):
        comb.sheet_cut(150, 100, at=(7, 9))


@pytest.mark.parametrize("span", [(0.2, 0.1), (float("nan"), 0.1), (-2.0, 0.0)])
def test_what_is_not_a_range(span: tuple[float, float]) -> None:
    with pytest.raises(BadValueError, match="a comb cannot go from"):
        even_rungs(*span)


def test_what_cannot_be_drawn() -> None:
    with pytest.raises(BadValueError, match="there is no comb for a sheet of 15 mm"):
        CombSpec(15.0, Kerf.same(0.2), even_rungs(-0.1, 0.2))
    with pytest.raises(BadValueError, match="a comb needs 5 different interferences"):
        CombSpec(3.0, Kerf.same(0.2), (0.0, 0.1))
    with pytest.raises(BadValueError, match="a comb needs 5 different interferences"):
        CombSpec(3.0, Kerf.same(0.2), (0.0, 0.1, 0.1, 0.2, 0.3))


def test_rungs_over_a_range_are_even() -> None:
    assert even_rungs(-0.1, 0.2) == pytest.approx([-0.1 + 0.03 * j for j in range(11)])
    assert even_rungs(0.0, 0.01) == pytest.approx([-0.05 + 0.01 * j for j in range(11)], abs=0.006)


@pytest.mark.parametrize(
    ("low", "high"), [(0.05, 0.15), (0.05, 0.07), (-0.03, 0.03), (0.0, 0.30), (0.02, 0.021)]
)
def test_a_second_comb_looks_closely_at_both_borders(low: float, high: float) -> None:
    rungs = finer_rungs(low, high)
    assert len(rungs) == 11
    assert list(rungs) == sorted(set(rungs))
    for border in (low, high):
        assert sum(abs(r - border) <= 0.0451 for r in rungs) >= 5


def test_a_slot_narrower_than_the_beam_is_refused() -> None:
    with pytest.raises(BadValueError, match=r"a slot of 0\.\d\d mm is narrower than the kerf"):
        draw_comb(CombSpec(0.5, Kerf.same(0.3), even_rungs(0.0, 0.3)))
