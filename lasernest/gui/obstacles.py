"""What stands against cutting the plan of a job: its material, its proof, the beam's width."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from lasernest.domain.safety import MaterialVerdict, Verdict, judge_material
from lasernest.domain.stock import Stock
from lasernest.gui.words import tr
from lasernest.job import Job, working_parts

if TYPE_CHECKING:
    from lasernest.gui.desk import Desk


Judged = tuple[str, MaterialVerdict]
"""A material and what is thought of it."""


def judged(stocks: Iterable[Stock | None]) -> tuple[Judged, ...]:
    """The materials of these stocks, each once."""
    found = [(s.material, judge_material(f"{s.material} {s.name}")) for s in stocks if s]
    return tuple(dict.fromkeys(found))


def judged_materials(job: Job) -> tuple[Judged, ...]:
    """All materials that the job is cut from."""
    return judged(part.setup.stock for part in working_parts(job))


def refuses(materials: Iterable[Judged]) -> bool:
    """Whether no cut file is ever written for one of them."""
    return any(verdict.verdict is Verdict.REFUSED for _, verdict in materials)


def is_forbidden(job: Job) -> bool:
    """Whether something that the job is cut from must not be cut with a laser."""
    return refuses(judged_materials(job))


def must_not(material: str) -> str:
    """That a material is not cut, as a sentence."""
    return tr("{material} must not be cut with a laser.", material=begun(material))


def begun(name: str) -> str:
    """A name as a sentence begins with it."""
    return name[:1].upper() + name[1:]


def why_not_cut(desk: Desk) -> str:
    """Why the job's plan was not cut and cannot be, as far as is known; empty where it can be.

    A plan that was not written yet can be cut as long as nothing speaks against it: it may
    have been written before the job was opened again.
    """
    job, plan = desk.job, desk.job.plan
    if plan is None or not plan.sheets:
        return tr("no panel lies on a sheet.")
    if is_forbidden(job):
        return tr("this material must not be cut.")
    for material, verdict in judged_materials(job):
        asks = verdict.verdict is Verdict.WARNED
        if asks and material not in job.setup.materials_accepted:
            return tr("{material} must be decided on first, below.", material=material)
    written = desk.written_of(plan)
    if written is not None:
        return "" if written.proof.passed else tr("the proof failed, so it is not to be cut.")
    if desk.cut_refused:
        return tr("no cut file can be made of this plan.")
    laid = {placed.panel_name for sheet in plan.sheets for placed in sheet.placements}
    narrow = next((f.panel for f in desk.beam.follow(job) if f.panel in laid), None)
    if narrow is not None:
        return tr("the beam does not fit into {panel}; see Outlines.", panel=narrow)
    return ""
