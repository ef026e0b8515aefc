"""Joints from picks, and a plain case as one step of the history."""

from dataclasses import replace

import pytest

from lasernest.domain.joints import EdgeMeaning, JointKind, JointRules
from lasernest.errors import UsageError
from lasernest.job import Job, JobPanel
from lasernest.joints.case import CaseSpec
from lasernest.joints.edges import edge_near
from lasernest.services.commands import AddJoint, Together
from lasernest.services.joining import assemble_job, join_job
from lasernest.services.joint_making import AddCase, add_joints, line_on_edge, sibling_kinds
from tests.joint_kit import BOTTOM, TOP, mate, plate

SPEC = CaseSpec(120.0, 80.0, 50.0, 3.0)


def test_an_edge_is_kept_with_the_box_of_its_panel():
    panel = plate("lid", 100, 40)
    line = line_on_edge(panel, edge_near(panel, (30, 0)), (30, 0), JointKind.FINGER)
    assert (line.start, line.end) == ((0, 0), (100, 0))
    assert line.panel_bounds_mm == (0, 0, 100, 40)
    assert line.at_share == 0.5


def test_a_lap_remembers_where_its_edge_was_picked():
    panel = plate("divider", 100, 40)
    edge = edge_near(panel, (30, 0))
    assert line_on_edge(panel, edge, (30, 0), JointKind.LAP).at_share == pytest.approx(0.3)
    assert line_on_edge(panel, edge, (-4, 0), JointKind.LAP).at_share == 0.0


def test_a_joint_changes_its_kind_only_where_its_lines_allow():
    assert sibling_kinds(JointKind.FINGER) == (JointKind.FINGER, JointKind.LAP)
    assert sibling_kinds(JointKind.NUT) == (JointKind.SLOT, JointKind.NUT)


def test_several_joints_are_one_step():
    a, b, c = plate("a", 90, 40), plate("b", 90, 40), plate("c", 90, 40)
    joints = [mate(a, TOP, b, BOTTOM), mate(b, TOP, c, BOTTOM)]
    assert isinstance(add_joints(joints[:1]), AddJoint)
    command = add_joints(joints)
    assert isinstance(command, Together)
    assert command.label == "Join 2 pairs of edges"
    job = command.apply(Job(panels=tuple(JobPanel(p) for p in (a, b, c))))
    assert job.joints == tuple(joints)


def test_a_case_is_made_in_one_step_and_closes():
    job = AddCase(SPEC).apply(Job())
    assert job.joint_rules.thickness_mm == 3.0
    assert [p.name for p in job.panels] == ["floor", "front", "right", "back", "left", "lid"]
    assert job.name == "case"
    assert job.joint_rules.meaning_told
    assert assemble_job(job).goes_together


def test_an_inner_size_makes_the_drawn_edges_the_inside():
    spec = replace(SPEC, meaning=EdgeMeaning.INSIDE)
    job = AddCase(spec).apply(Job(joint_rules=JointRules(thickness_mm=3.0)))
    assert job.joint_rules.meaning is EdgeMeaning.INSIDE
    x0, _, x1, _ = join_job(job).panel("front").bounds_mm()
    # The outer size is the inner one and two thicknesses.
    assert x1 - x0 == pytest.approx(126.0)


def test_a_second_case_keeps_its_panels_apart_by_name():
    job = AddCase(SPEC).apply(Job(joint_rules=JointRules(thickness_mm=3.0)))
    job = AddCase(SPEC).apply(job)
    assert [p.name for p in job.panels[6:]] == [
        "floor-2", "front-2", "right-2", "back-2", "left-2", "lid-2",
    ]  # fmt: skip
    assert assemble_job(job).groups == (
        ("floor", "front", "right", "back", "left", "lid"),
        ("floor-2", "front-2", "right-2", "back-2", "left-2", "lid-2"),
    )


def test_a_case_of_another_meaning_is_refused_beside_joints():
    job = AddCase(SPEC).apply(Job(joint_rules=JointRules(thickness_mm=3.0)))
    with pytest.raises(UsageError) as refused:
        AddCase(replace(SPEC, meaning=EdgeMeaning.INSIDE)).apply(job)
    assert refused.value.sentence() == (
        "the edges of this job are the outside of the case, those of the new one would be the "
        "inside. Give the outer size, or make the case in a new job."
    )
