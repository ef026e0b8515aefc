"""Places narrower than the beam; widths are those of the drawing, from closed forms."""

from __future__ import annotations

import math

import pytest

from lasernest.domain.contours import Contour, Vertex
from lasernest.domain.panels import Panel
from lasernest.domain.stock import Kerf
from lasernest.errors import LasernestError, VanishedContourError
from lasernest.kerf.compensate import cut_paths
from lasernest.kerf.narrow import narrow_places

PLATE = Contour.rectangle(0, 0, 50, 50)
WAIST = Contour.polygon(
    [(5, 5), (10, 5), (10, 7), (14, 7), (14, 5), (19, 5), (19, 10), (14, 10), (14, 7.15),
     (10, 7.15), (10, 10), (5, 10)]
)  # fmt: skip
STADIUM = Contour((Vertex(20, 20), Vertex(30, 20, 1.0), Vertex(30, 20.12), Vertex(20, 20.12, 1.0)))


@pytest.mark.parametrize(
    ("hole", "width_mm", "place"),
    [
        (Contour.rectangle(20, 10, 0.15, 30), 0.15, (20.075, 25)),
        (Contour.circle(30, 30, 0.07), 0.14, (30, 30)),
        (STADIUM, 0.12, (25, 20.06)),
        (WAIST, 0.15, (12, 7.075)),
    ],
)
def test_a_hole_narrower_than_the_beam(
    hole: Contour, width_mm: float, place: tuple[float, float]
) -> None:
    panel = Panel.of("side", PLATE, [hole])
    (found,) = narrow_places(panel, Kerf.same(0.2))
    assert found.in_hole
    assert found.width_mm == pytest.approx(width_mm, abs=0.005)
    assert math.dist(found.at_mm, place) < 2.1
    assert narrow_places(panel, Kerf.same(width_mm - 0.01)) == ()


def test_a_gap_narrower_than_the_beam() -> None:
    outline = Contour.polygon(
        [(0, 0), (9, 0), (9, 4), (9.15, 4), (9.15, 0), (20, 0), (20, 10), (0, 10)]
    )
    (found,) = narrow_places(Panel.of("comb", outline), Kerf.same(0.2))
    assert not found.in_hole
    assert found.width_mm == pytest.approx(0.15, abs=0.005)
    assert narrow_places(Panel.of("comb", outline), Kerf.same(0.14)) == ()


def test_every_contour_is_told_with_what_cutting_refuses() -> None:
    holes = [Contour.circle(10 * k, 25, r) for k, r in ((1, 0.05), (2, 2.0), (3, 0.09))]
    panel = Panel.of("side", PLATE, holes)
    assert [p.at_mm for p in narrow_places(panel, Kerf.same(0.2))] == [(10, 25), (30, 25)]
    with pytest.raises(VanishedContourError):
        cut_paths(panel, Kerf.same(0.2))


def test_a_beam_that_is_wider_along_y() -> None:
    lying = Panel.of("side", PLATE, [Contour.rectangle(10, 20, 30, 0.25)])
    assert narrow_places(lying, Kerf(0.2, 0.2)) == ()
    (found,) = narrow_places(lying, Kerf(0.2, 0.3))
    assert found.width_mm == pytest.approx(0.25, abs=0.005)


def test_a_contour_that_crosses_itself_is_no_narrow_place() -> None:
    """Import tells of it; the other contours are looked at all the same."""
    bow = Contour.polygon([(10, 10), (30, 10), (12, 20), (28, 22)])
    panel = Panel.of("side", PLATE, [bow, Contour.circle(40, 40, 0.05)])
    with pytest.raises(LasernestError):
        cut_paths(panel, Kerf.same(0.2))
    assert [p.at_mm for p in narrow_places(panel, Kerf.same(0.2))] == [(40, 40)]
