"""Hooks are drawn together, and nothing that only bends is touched."""

from __future__ import annotations

import math

import pytest

from lasernest.domain.contours import Contour, Vertex
from lasernest.domain.panels import Panel
from lasernest.domain.stock import Kerf
from lasernest.geometry.hooks import LONGEST_MM, with_short_parts, without_hooks
from lasernest.geometry.tracing import trace
from lasernest.kerf.compensate import cut_paths


def plate_with(*between: Vertex) -> Contour:
    """100 x 60, something in the middle of its upper edge."""
    corners = [Vertex(0, 0), Vertex(100, 0), Vertex(100, 60)]
    return Contour((*corners, *between, Vertex(0, 60)))


BACK_AND_ON = plate_with(Vertex(50, 60), Vertex(50.003, 59.999))
# An arc of 151 degrees that turns clockwise, after which the outline crosses it.
CURLED = plate_with(Vertex(50, 60, -0.776), Vertex(49.9925, 60.0025))
LOOPED = plate_with(Vertex(50, 60), Vertex(49.996, 60.006), Vertex(50.004, 60.003))


@pytest.mark.parametrize("ring", [BACK_AND_ON, CURLED, LOOPED])
@pytest.mark.parametrize("start", [0, 3, 4])
def test_a_hook_is_drawn_together_told_and_can_be_cut(ring: Contour, start: int) -> None:
    ring = ring.started_at(start)
    traced = trace([ring], joining_gap_mm=0.01)
    (mended,) = traced.rings
    (mend,) = traced.mends
    assert mend.code == "hook-removed"
    assert mend.places == (pytest.approx((50, 60), abs=0.01),)
    assert 0 < mend.size_mm <= LONGEST_MM
    # It moves no more than the hook is long: a strip of that height over the edge.
    assert mended.path.area_mm2 == pytest.approx(6000, abs=0.5 * 100 * LONGEST_MM)
    assert mended.path.bounds_mm() == pytest.approx((0, 0, 100, 60), abs=LONGEST_MM)
    (path,) = cut_paths(Panel.of("lid", mended.path), Kerf.same(0.2))
    assert path.path.bounds_mm() == pytest.approx((-0.1, -0.1, 100.1, 60.1), abs=LONGEST_MM)


@pytest.mark.parametrize(
    "ring",
    [
        plate_with(),
        # Longer than a hook.
        plate_with(Vertex(50, 60), Vertex(50.05, 59.9)),
        # A step, a chamfer and a fillet of a hundredth.
        plate_with(Vertex(50, 60), Vertex(50, 60.01)),
        Contour.polygon([(0, 0), (99.99, 0), (100, 0.01), (100, 60), (0, 60)]),
        Contour(
            (
                *(Vertex(0, 0), Vertex(99.99, 0, math.tan(math.pi / 8))),
                *(Vertex(100, 0.01), Vertex(100, 60), Vertex(0, 60)),
            )
        ),
        # A circle of two thousand chords, each shorter than a hook.
        Contour.polygon(
            [(math.cos(math.tau * k / 2000), math.sin(math.tau * k / 2000)) for k in range(2000)]
        ),
        Contour.circle(0, 0, 0.005),
    ],
)
def test_what_only_bends_stays(ring: Contour) -> None:
    assert without_hooks(ring) == (ring, [], 0.0)


def test_only_rings_with_something_short_are_looked_at() -> None:
    assert with_short_parts([plate_with(), BACK_AND_ON, Contour.circle(0, 0, 5), CURLED]) == [1, 3]
