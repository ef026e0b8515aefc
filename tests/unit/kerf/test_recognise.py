"""A piece is known again by its shape, however it lies and whichever feature tells it."""

from __future__ import annotations

import math

import pytest
import shapely
from shapely import affinity

from lasernest.domain.contours import Contour, Pose
from lasernest.domain.panels import Panel
from lasernest.geometry.flatten import polygon
from lasernest.kerf.recognise import Recogniser

DISC = Panel.of("disc", Contour.circle(30, 30, 30), [Contour.circle(45, 30, 4)])
DIAL = Panel.of(
    "dial",
    Contour.circle(0, 0, 40),
    [
        Contour.circle(0, 0, 3),
        *(Contour.circle(30 * math.cos(a), 30 * math.sin(a), 2) for a in (0.0, 0.5, 1.7, 2.0, 4.4)),
    ],
)
WASHER = Panel.of("washer", Contour.circle(0, 0, 30), [Contour.circle(0, 0, 4)])


def placed_by(known: Recogniser, piece: shapely.Polygon) -> Panel | None:
    found = known.place_of(piece)
    return None if found is None else found[0].posed(found[1])


@pytest.mark.parametrize("turn_deg", [0.0, 17.3, 300.01])
@pytest.mark.parametrize("mirrored", [False, True])
@pytest.mark.parametrize("too_wide_mm", [0.0, 0.03])
@pytest.mark.parametrize("panel", [DISC, DIAL], ids=lambda p: p.name)
def test_a_disc_is_known_by_its_holes_at_any_turn(
    panel: Panel, turn_deg: float, mirrored: bool, too_wide_mm: float
) -> None:
    pose = Pose(212.5, 71.25, turn_deg, mirrored)
    lying = polygon(panel.posed(pose), chord_error_mm=0.005)
    piece = lying.buffer(-too_wide_mm, join_style="mitre") if too_wide_mm else lying
    found = placed_by(Recogniser([WASHER, DISC, DIAL]), piece)
    assert found is not None
    assert found.name == panel.name
    for ours, theirs in zip(found.inner, panel.posed(pose).inner, strict=True):
        # A mirrored disc with one hole lies as the plain one does, turned.
        a, b = ours.as_circle(), theirs.as_circle()
        assert a is not None
        assert b is not None
        assert math.dist(a[:2], b[:2]) < 1e-3


def test_a_disc_with_a_hole_in_its_middle_is_known_and_a_stranger_is_not() -> None:
    known = Recogniser([Panel.of("smaller", Contour.circle(0, 0, 28)), WASHER])
    piece = affinity.rotate(polygon(WASHER, chord_error_mm=0.005), 33.0)
    found = placed_by(known, piece)
    assert found is not None
    assert found.name == "washer"
    assert placed_by(known, polygon(DIAL, chord_error_mm=0.005)) is None
