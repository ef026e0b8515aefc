"""Random cases: all joints mate, panels fill the shell of the solid, nothing overlaps."""

import math
import random

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from lasernest.domain.contours import Contour
from lasernest.domain.joints import EdgeMeaning, Joint, JointRules, PanelSheet
from lasernest.domain.panels import Panel
from lasernest.joints.assembly import assemble
from lasernest.joints.edges import line_of, straight_edges
from lasernest.joints.joined import apply_joints
from tests.joint_kit import (
    BOTTOM,
    CUBE,
    LEFT,
    RIGHT,
    TOP,
    box_joints,
    box_panels,
    edge,
    mate,
    plate,
)

THICKNESSES = (2.7, 3.0, 3.05, 4.1, 6.1)
INTERFERENCES = (-0.05, 0.0, 0.05, 0.08, 0.15)


def check_box(rng: random.Random) -> None:
    """Volumes of panels against the closed form of a hollow box."""
    size = [rng.uniform(45, 320) for _ in range(3)]
    panels = box_panels(*size)
    one_stock = rng.random() < 0.5
    usual = rng.choice(THICKNESSES)
    sheets = {n: PanelSheet(usual if one_stock else rng.choice(THICKNESSES)) for n in panels}
    meaning = rng.choice(list(EdgeMeaning))
    interference = rng.choice(INTERFERENCES)
    mates = [m if rng.random() < 0.5 else (*m[2:], *m[:2]) for m in CUBE]
    rng.shuffle(mates)
    target = rng.choice([None, None, rng.uniform(5, 30)])
    joined = apply_joints(
        list(panels.values()),
        box_joints(panels, mates, target_width_mm=target),
        rules=JointRules(meaning=meaning, interference_mm=interference),
        sheets=sheets,
    )
    assert joined.findings == ()
    assert len(joined.joints) == 12
    assembly = assemble(list(panels.values()), joined)
    assert assembly.findings == ()
    share = {EdgeMeaning.OUTSIDE: 0.0, EdgeMeaning.CENTRE: 0.5, EdgeMeaning.INSIDE: 1.0}[meaning]
    walls = (("left", "right"), ("front", "back"), ("floor", "lid"))
    both = [sum(sheets[n].thickness_mm for n in pair) for pair in walls]
    outer = [s + share * t for s, t in zip(size, both, strict=True)]
    inner = [o - t for o, t in zip(outer, both, strict=True)]
    volume = sum(p.net_area_mm2 * sheets[p.name].thickness_mm for p in joined.panels)
    # Wall by wall the two panels of a joint share half the interference.
    common = sum(
        (j.fingers - 1) * 0.5 * interference * j.a.thickness_mm * j.b.thickness_mm
        for j in joined.joints
    )
    assert volume == pytest.approx(math.prod(outer) - math.prod(inner) + common, abs=1e-5)
    points = np.array(
        [
            assembly.stances[p.name].point((v.x_mm, v.y_mm), d)
            for p in joined.panels
            for v in p.outer.vertices
            for d in (0.0, sheets[p.name].thickness_mm)
        ]
    )
    spread = sorted(np.ptp(points, axis=0))
    assert spread == pytest.approx(sorted(outer), abs=1e-6)


def check_prism(rng: random.Random) -> None:
    """A prism over a convex polygon with corners of 60 to 140 degrees goes together."""
    while True:
        n = rng.choice((3, 4, 5, 6))
        turns = [rng.uniform(40, 120) for _ in range(n)]
        turns = [t * 360 / sum(turns) for t in turns]
        if all(42 <= t <= 118 for t in turns):
            break
    corners = _polygon(rng, turns)
    if corners is None:
        return
    height, thickness = rng.uniform(40, 120), rng.choice((2.7, 3.05))
    floor, lid = (Panel.of(name, Contour.polygon(corners)) for name in ("floor", "lid"))
    edges = straight_edges(floor)
    walls = [plate(f"wall-{k}", e.length_mm, height) for k, e in enumerate(edges)]
    joints = [
        Joint(line_of(straight_edges(panel)[k], panel), edge(walls[k], where))
        for panel, where in ((floor, BOTTOM), (lid, TOP))
        for k in range(n)
    ]
    joints += [mate(walls[k], RIGHT, walls[(k + 1) % n], LEFT) for k in range(n)]
    panels = [floor, lid, *walls]
    joined = apply_joints(
        panels,
        joints,
        rules=JointRules(
            meaning=rng.choice(list(EdgeMeaning)), interference_mm=rng.choice(INTERFERENCES)
        ),
        sheets={p.name: PanelSheet(thickness) for p in panels},
    )
    assert joined.findings == ()
    assert assemble(panels, joined).findings == ()
    inside = [180 - t for t in turns]
    found = [j.angle_deg for j in joined.joints[2 * n :]]
    assert sorted(found) == pytest.approx(sorted(inside), abs=1e-6)


def _polygon(rng: random.Random, turns: list[float]) -> list[tuple[float, float]] | None:
    """A closed convex polygon with these outer angles, its sides 45 mm or longer."""
    headings = np.radians(np.cumsum([0.0, *turns[:-1]]))
    ways = np.column_stack([np.cos(headings), np.sin(headings)])
    lengths = np.array([rng.uniform(60, 140) for _ in turns])
    # Nearest lengths that close the ring.
    lengths = lengths - np.linalg.pinv(ways.T) @ (ways.T @ lengths)
    if lengths.min() < 45:
        return None
    corners = np.cumsum(np.vstack([[0.0, 0.0], lengths[:, None] * ways]), axis=0)[:-1]
    return [(float(x), float(y)) for x, y in corners]


@settings(max_examples=20, deadline=None)
@given(st.integers(0, 10**9))
@example(141952)  # the floor's end finger is narrower than the wall beside it is thick
def test_random_boxes_fill_their_shell_and_go_together(seed):
    check_box(random.Random(seed))


@settings(max_examples=10, deadline=None)
@given(st.integers(0, 10**9))
def test_random_prisms_go_together(seed):
    check_prism(random.Random(seed))


@pytest.mark.slow
def test_two_hundred_random_cases():
    for seed in range(140):
        check_box(random.Random(seed))
    for seed in range(100):
        check_prism(random.Random(seed))
