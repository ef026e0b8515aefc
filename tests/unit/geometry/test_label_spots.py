"""Room for names: cells never promise more room than there is; many lines cost little."""

from __future__ import annotations

import math
import random
import time

import numpy as np
import pytest

from lasernest.domain.contours import Contour, Pose
from lasernest.domain.panels import Mark, MarkKind, Panel
from lasernest.geometry import label_spots
from lasernest.geometry.label_spots import label_spot


@pytest.mark.parametrize("seed", range(6))
def test_cells_promise_no_more_room_than_the_exact_distance(seed: int) -> None:
    rng = np.random.default_rng(seed)
    starts = rng.uniform(0.0, 100.0, (40, 2))
    edges = np.stack([starts, starts + rng.normal(0.0, (3.0, 30.0)[seed % 2], (40, 2))], axis=1)
    points = rng.uniform(5.0, 95.0, (200, 2))
    corners = edges.reshape(-1, 2)
    points = np.clip(points, corners.min(axis=0), corners.max(axis=0))
    exact, cells = label_spots._room(points, edges), label_spots._room_in_cells(points, edges)
    cell = (corners.max(axis=0) - corners.min(axis=0)).max() / label_spots._CELLS
    assert (cells <= exact + 1e-9).all()
    assert (cells >= exact - 4.0 * cell).all()
    assert cells.max() > 5.0 * cell


@pytest.mark.parametrize("pose", [Pose(), Pose(30, -20, 37.0), Pose(5, 5, 90.0, mirrored=True)])
def test_a_panel_that_lies_turned_is_a_turned_panel(pose: Pose) -> None:
    corner = Contour.polygon([(0, 0), (100, 0), (100, 15), (15, 15), (15, 80), (0, 80)])
    panel = Panel.of("corner", corner, [Contour.circle(7, 60, 4)])
    laid, posed = (
        label_spot(panel, aspect=3.0, pose=pose),
        label_spot(panel.posed(pose), aspect=3.0),
    )
    assert laid is not None
    assert posed is not None
    assert laid == pytest.approx(posed, abs=1e-6)


def test_a_panel_with_a_large_engraving_is_named_in_no_time() -> None:
    """The window waits for it; looking at each line from each point took a second."""
    rng = random.Random(1)
    marks = []
    for _ in range(2000):
        x, y = rng.uniform(20, 180), rng.uniform(20, 60)
        run = [(x + rng.uniform(-2, 2), y + rng.uniform(-2, 2)) for _ in range(11)]
        marks.append(Mark(Contour.polyline(run), MarkKind.ENGRAVE))
    panel = Panel.of("picture", Contour.rectangle(0, 0, 200, 120), (), marks)
    few = Panel.of("picture", panel.outer, (), marks[:30])
    label_spot(few, aspect=4.0)
    started = time.process_time()
    label_spot(few, aspect=4.0)
    exact_s = time.process_time() - started
    started = time.process_time()
    spot = label_spot(panel, aspect=4.0)
    many_s = time.process_time() - started
    assert spot is not None
    assert spot.y_mm - spot.half_height_mm > 62.0 - 1e-9
    assert math.isclose(spot.x_mm, 100.0)
    assert many_s < 20 * exact_s  # 67 times the lines; looked at one by one it was 70 times
