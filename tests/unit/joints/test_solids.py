"""Faces of the standing case, checked by the divergence theorem: they enclose its volume."""

import numpy as np
import pytest
import shapely

from lasernest.joints.assembly import assemble
from lasernest.joints.solids import Section, size_of, stand_up, view_axes
from tests.joint_kit import box_joints, box_panels, join
from tests.unit.joints.test_assembly import SOLIDS

T = 3.0
SIZE = (120.0, 80.0, 50.0)


@pytest.fixture(scope="module")
def case():
    panels = box_panels(*SIZE)
    joined = join(panels.values(), box_joints(panels), thickness=T)
    return joined, assemble(list(panels.values()), joined)


def volume(faces):
    """One third of the sum of area times distance, over outward faces."""
    total = 0.0
    for face in faces:
        for k, ring in enumerate(face.rings):
            fan = np.cross(ring[1:-1] - ring[0], ring[2:] - ring[0]).sum(axis=0) / 2
            # Holes run the other way round, so their signed area takes away.
            area = abs(fan @ face.outward) * (1 if k == 0 else -1)
            total += area * (ring[0] @ face.outward)
    return total / 3


SHELL = 120 * 80 * 50 - 114 * 74 * 44


def test_faces_enclose_the_volume_of_the_panels(case):
    assert volume(stand_up(*case, explode_mm=1e-9).faces()) == pytest.approx(SHELL, rel=1e-9)


def test_exploding_moves_panels_apart_and_keeps_them_whole(case):
    faces = stand_up(*case, explode_mm=20.0).faces()
    assert volume(faces) == pytest.approx(SHELL, rel=1e-9)
    points = np.vstack([ring for f in faces for ring in f.rings])
    assert sorted(np.ptp(points, axis=0)) == pytest.approx([90, 120, 160])


def test_a_section_takes_away_what_lies_beyond(case):
    half = stand_up(*case, section=Section(0, 0.5)).faces()
    points = np.vstack([ring for f in half for ring in f.rings])
    whole = np.vstack([ring for f in stand_up(*case).faces() for ring in f.rings])
    middle = 0.5 * (whole[:, 0].min() + whole[:, 0].max())
    assert points[:, 0].max() == pytest.approx(middle, abs=1e-9)
    # The case is symmetric, and so are its fingers.
    assert volume(half) == pytest.approx(SHELL / 2, rel=1e-9)


def test_hidden_panels_are_left_out(case):
    names = {f.panel for f in stand_up(*case, hidden={"lid", "front"}).faces()}
    assert names == {"floor", "back", "left", "right"}


def test_a_view_shows_faces_towards_the_viewer(case):
    standing = stand_up(*case)
    seen = standing.seen_from(turn_deg=30.0, tilt_deg=25.0)
    assert 0 < len(seen) < len(standing.faces())
    assert all(0.0 < f.light <= 1.0 + 1e-9 for f in seen)
    axes = np.array(view_axes(30.0, 25.0))
    assert axes @ axes.T == pytest.approx(np.eye(3), abs=1e-12)


def test_walls_inside_a_joint_are_seen_only_when_it_is_taken_apart(case):
    closed, apart = stand_up(*case).faces(), stand_up(*case, explode_mm=10.0).faces()
    assert sum(f.is_edge for f in closed) < sum(f.is_edge for f in apart)
    assert size_of(closed) == pytest.approx(np.linalg.norm(SIZE), rel=1e-9)


def painted_on_top(seen, point):
    """The panel whose face is painted last over a point of the view."""
    top = None
    for face in seen:
        shape = shapely.Polygon(face.rings[0], face.rings[1:])
        if shapely.is_valid(shape) and shape.contains(shapely.Point(point)):
            top = face.panel
    return top


@pytest.mark.parametrize("turn", [30.0, 140.0, 285.0])
@pytest.mark.parametrize("name", ["drawer", "prism", "slanted"])
def test_what_is_painted_last_is_what_a_ray_meets_first(name, turn):
    """Slow twin: rays towards the case, met with every face in space."""
    panels, joints = SOLIDS[name]()
    joined = join(list(panels), joints, thickness=3.05)
    standing = stand_up(joined, assemble(list(panels), joined))
    right, up, towards = view_axes(turn, 35.0)
    seen = standing.seen_from(turn_deg=turn, tilt_deg=35.0)
    faces = standing.faces()
    points = np.vstack([ring for f in faces for ring in f.rings])
    x, y = points @ right, points @ up
    rng = np.random.default_rng(5)
    agreed = met = 0
    for _ in range(60):
        spot = (rng.uniform(x.min(), x.max()), rng.uniform(y.min(), y.max()))
        hits = []
        for face in faces:
            facing = face.outward @ towards
            if facing <= 1e-9:
                continue
            shape = shapely.Polygon(
                np.column_stack([face.rings[0] @ right, face.rings[0] @ up]),
                [np.column_stack([r @ right, r @ up]) for r in face.rings[1:]],
            )
            if shapely.is_valid(shape) and shape.contains(shapely.Point(spot)):
                base = spot[0] * right + spot[1] * up
                depth = ((face.rings[0][0] - base) @ face.outward) / facing
                hits.append((depth, face.panel))
        if hits:
            met += 1
            agreed += painted_on_top(seen, spot) == max(hits)[1]
    assert met > 20
    # Within a finger of a joint the coarse order may be wrong.
    assert agreed >= 0.9 * met
