"""From a drawing of plain outlines to proved cut files whose panels press together."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import ezdxf
import pytest

from lasernest.domain.control import QuietControl
from lasernest.domain.cutting import MachineProfile
from lasernest.domain.joints import JointRules
from lasernest.domain.stock import Kerf, Machine, SheetSize, Stock
from lasernest.job import Job, JobPanel, Setup
from lasernest.nesting import Budget
from lasernest.services.cutting import prove_written, write_cut_files
from lasernest.services.importing import import_drawing
from lasernest.services.joining import (
    assemble_job,
    finished_panels,
    join_job,
    parse_joint,
    prove_job_joints,
)
from lasernest.services.planning import arrange_job

PLY = Stock("ply 3", "birch plywood", 3.0, (SheetSize(600, 400),), Kerf.same(0.2, u_mm=0.004),
            measured_thickness_mm=3.05, thickness_u_mm=0.01)  # fmt: skip
SIZES = {"floor": (140, 90), "front": (140, 50), "back": (140, 50), "left": (90, 50),
         "right": (90, 50)}  # fmt: skip


def draw_tray(file: Path) -> None:
    """A tray as a CAD program would draw them: lines on a layer for each panel."""
    document = ezdxf.new("R2010", units=4)
    space = document.modelspace()
    x = 0.0
    for name, (w, h) in SIZES.items():
        document.layers.add(name)
        corners = [(x, 0), (x + w, 0), (x + w, h), (x, h)]
        for start, end in zip(corners, [*corners[1:], corners[0]], strict=True):
            space.add_line(start, end, dxfattribs={"layer": name})
        if name == "front":
            space.add_circle((x + w / 2, h / 2), 8, dxfattribs={"layer": name})
        x += w + 20
    document.saveas(file)


def tray(tmp_path: Path) -> Job:
    draw_tray(tmp_path / "tray.dxf")
    outlines = import_drawing(tmp_path / "tray.dxf", control=QuietControl())
    assert sorted(p.name for p in outlines.panels) == sorted(SIZES)
    x = {}
    at = 0.0
    for name, (w, _) in SIZES.items():
        x[name] = at
        at += w + 20
    bottom, top, left, right = (  # points on the middles of the edges
        {n: f"{n}@{x[n] + fx * SIZES[n][0]:g},{fy * SIZES[n][1]:g}" for n in SIZES}
        for fx, fy in ((0.5, 0), (0.5, 1), (0, 0.5), (1, 0.5))
    )
    texts = [
        f"{bottom['floor']}={bottom['front']}", f"{right['floor']}={bottom['right']}",
        f"{top['floor']}={bottom['back']}", f"{left['floor']}={bottom['left']}",
        f"{right['front']}={left['right']}", f"{right['right']}={left['back']}",
        f"{right['back']}={left['left']}", f"{right['left']}={left['front']}",
    ]  # fmt: skip
    joints = [parse_joint(text, outlines.panels) for text in texts]
    return Job(
        panels=tuple(JobPanel(p) for p in outlines.panels),
        joints=tuple(joints),
        setup=Setup(stock=PLY),
        joint_rules=JointRules(interference_mm=0.08),
    )


def cut(job: Job, out: Path, *, kerf: Kerf, beam: Kerf):
    joined = join_job(job)
    panels = {p.name: p for p in joined.panels}
    control = QuietControl()
    plan = arrange_job(job, control=control, budget=Budget(seconds=1.0), panels=panels)
    assert not plan.unplaced
    setup = Setup(PLY, kerf=kerf)
    written = write_cut_files(plan, panels, out, setup=setup, machine=Machine(), control=control)
    if beam != kerf:
        proved = [
            prove_written(w.file, s, panels, kerf=beam, profile=MachineProfile(), control=control)
            for w, s in zip(written, plan.sheets, strict=True)
        ]
        finished = [p.finished for p in proved]
    else:
        assert all(w.proof.passed for w in written)
        finished = [w.finished for w in written]
    return prove_job_joints(job, joined, finished_panels(plan.sheets, finished))


def test_a_tray_from_a_drawing_goes_together_and_is_proved(tmp_path: Path) -> None:
    job = tray(tmp_path)
    assert join_job(job).findings == ()
    assert assemble_job(job).goes_together
    proofs, problems = cut(job, tmp_path / "cut.dxf", kerf=PLY.kerf, beam=PLY.kerf)
    assert problems == ()
    assert len(proofs) == 8
    for proof in proofs:
        assert proof.interference_mm == pytest.approx(0.08, abs=0.002)
        assert proof.worst_mm == pytest.approx(0.08, abs=0.005)
        assert proof.u_mm == pytest.approx(0.008)
        assert proof.fit == "press"


def test_a_half_kerf_taken_for_the_kerf_fails_the_joints(tmp_path: Path) -> None:
    job = tray(tmp_path)
    half = Kerf.same(0.1)
    proofs, problems = cut(job, tmp_path / "cut.dxf", kerf=half, beam=PLY.kerf)
    assert len(problems) == len(proofs) == 8
    assert all(p.worst_mm == pytest.approx(0.08 - 0.2, abs=0.005) for p in proofs)
    assert all(p.fit == "slip" for p in proofs)


def test_another_thickness_moves_every_edge(tmp_path: Path) -> None:
    job = tray(tmp_path)
    thick = job.changed(joint_rules=replace(job.joint_rules, thickness_mm=6.1))
    depths = {round(j.depth_mm, 9) for j in join_job(thick).joints}
    assert depths == {6.1}
    assert assemble_job(thick).goes_together
