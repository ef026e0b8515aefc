"""Finding the panel that another one was: as the slow way finds it, pair by pair."""

from __future__ import annotations

import math
import random

import numpy as np

from lasernest.domain.contours import Contour, Pose
from lasernest.domain.panels import Panel
from lasernest.geometry.like_panels import LikePanels
from lasernest.geometry.likeness import is_same, overlap_share


def _star(rng: random.Random, corners: int = 24) -> Panel:
    """All stars have the same box, so that only their corners tell them apart."""
    far = [20.0 if i % 6 == 0 else rng.uniform(12.0, 18.0) for i in range(corners)]
    turn = 2.0 * math.pi / corners
    points = [(r * math.cos(i * turn), r * math.sin(i * turn)) for i, r in enumerate(far)]
    return Panel("star", Contour.polygon(points))


def test_found_as_pair_by_pair() -> None:
    rng = random.Random(5)
    stars = [_star(rng).posed(Pose(45.0 * i, 0.0)) for i in range(12)]
    disc = Panel("disc", Contour.circle(30.0, 60.0, 20.0))
    holed = Panel("holed", disc.outer, (Contour.circle(30.0, 60.0, 3.0).reversed(),))
    old = [*stars, stars[3].posed(Pose(0.0, 200.0)), disc, holed]
    turned_disc = Panel("disc", Contour.circle(0.0, 0.0, 20.0).posed(Pose(30.0, 60.0, 40.0)))
    new = [
        *(star.posed(Pose(0.3, 0.0)) for star in stars[::-1]),
        *(star.posed(Pose(0.004, 0.0)) for star in stars[:4]),
        _star(rng),
        turned_disc,
        holed.posed(Pose(7.0, 90.0)),
    ]
    like = LikePanels(old)
    free = np.ones(len(old), dtype=bool)
    free[[2, 7]] = False
    found = 0
    for panel in new:
        usable = [k for k in range(len(old)) if free[k]]
        for moved in (False, True):
            slowly = next((k for k in usable if is_same(old[k], panel, moved=moved)), None)
            assert like.same(panel, free, moved=moved) == slowly
            found += slowly is not None
        slowly = next((k for k in usable if overlap_share(old[k], panel) > 0.5), None)
        assert like.overlapping(panel, free, share=0.5) == slowly
    assert found >= 17
    assert LikePanels([]).same(new[0], np.ones(0, dtype=bool)) is None
