"""Faces of the standing case, checked by the divergence theorem: they enclose its volume."""

import numpy as np
import pytest

from lasernest.joints.assembly import assemble
from lasernest.joints.solids import Section, faces_of_case, seen_from, view_axes
from tests.joint_kit import box_joints, box_panels, join

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
        for ring in face.rings:
            fan = np.cross(ring[1:-1] - ring[0], ring[2:] - ring[0]).sum(axis=0) / 2
            # Holes run the other way round, so their signed area takes away.
            area = abs(fan @ face.outward) * (1 if ring is face.rings[0] else -1)
            total += area * (ring[0] @ face.outward)
    return total / 3


SHELL = 120 * 80 * 50 - 114 * 74 * 44


def test_faces_enclose_the_volume_of_the_panels(case):
    assert volume(faces_of_case(*case)) == pytest.approx(SHELL, rel=1e-9)


def test_exploding_moves_panels_apart_and_keeps_them_whole(case):
    faces = faces_of_case(*case, explode_mm=20.0)
    assert volume(faces) == pytest.approx(SHELL, rel=1e-9)
    points = np.vstack([ring for f in faces for ring in f.rings])
    assert sorted(np.ptp(points, axis=0)) == pytest.approx([90, 120, 160])


def test_a_section_takes_away_what_lies_beyond(case):
    half = faces_of_case(*case, section=Section(0, 0.5))
    points = np.vstack([ring for f in half for ring in f.rings])
    whole = np.vstack([ring for f in faces_of_case(*case) for ring in f.rings])
    middle = 0.5 * (whole[:, 0].min() + whole[:, 0].max())
    assert points[:, 0].max() == pytest.approx(middle, abs=1e-9)
    # The case is symmetric, and so are its fingers.
    assert volume(half) == pytest.approx(SHELL / 2, rel=1e-9)


def test_hidden_panels_are_left_out(case):
    names = {f.panel for f in faces_of_case(*case, hidden={"lid", "front"})}
    assert names == {"floor", "back", "left", "right"}


def test_a_view_shows_faces_towards_the_viewer_back_to_front(case):
    faces = faces_of_case(*case)
    seen = seen_from(faces, turn_deg=30.0, tilt_deg=25.0)
    assert 0 < len(seen) < len(faces)
    assert all(0.0 < f.light <= 1.0 + 1e-9 for f in seen)
    right, up, towards = view_axes(30.0, 25.0)
    assert np.array([right, up, towards]) @ np.array([right, up, towards]).T == pytest.approx(
        np.eye(3), abs=1e-12
    )
    # From outside, the last of the large faces drawn are outer ones.
    large = [f for f in seen if not f.is_edge]
    outlines = [f.panel for f in large[-3:]]
    assert len(set(outlines)) == 3
