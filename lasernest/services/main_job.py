"""The main job as one call: inputs, joints, sheet plans, cut files, proof, figures.

The command line uses it whole; the window uses the same parts one by one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from lasernest.domain.control import Control
from lasernest.domain.cutting import Proof
from lasernest.domain.findings import Finding, Severity
from lasernest.domain.import_choices import ImportChoices
from lasernest.domain.plan import Plan, SheetPlan
from lasernest.domain.records import KerfRecord
from lasernest.domain.stock import NOT_STATED, Kerf, Machine, SheetSize, Stock
from lasernest.errors import BadDrawingError, BadValueError, UsageError, Where
from lasernest.files import refuse_folder
from lasernest.job import SUFFIX, Job, load_job, working_parts
from lasernest.joints.joined import Joined
from lasernest.nesting import Budget
from lasernest.services.commands import AddDrawing
from lasernest.services.cutting import WrittenSheet, refuse_form, refuse_material, write_cut_files
from lasernest.services.importing import bring_in, remember_uses, shop_book_if_any
from lasernest.services.joining import finished_panels, join_job, prove_job_joints, refuse_errors
from lasernest.services.narrow import panels_and_kerfs, refuse_narrow
from lasernest.services.planning import (
    SheetFigures,
    arrange_job,
    plan_yield_share,
    sheet_figures,
)
from lasernest.services.proving import combined_proof
from lasernest.services.tuning import tune
from lasernest.shop.book import ShopBook

GIVEN = "given"
USUAL_KERF_MM = 0.2
"""Taken, and said, when nobody tells the kerf (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class SheetResult:
    """One written sheet with its figures."""

    written: WrittenSheet
    plan: SheetPlan
    figures: SheetFigures
    stock: Stock
    kerf: Kerf


@dataclass(frozen=True, slots=True)
class MainJobResult:
    """What the main job made."""

    job: Job
    plan: Plan
    sheets: tuple[SheetResult, ...]
    yield_share: float
    proof: Proof
    """Of all sheets together."""
    findings: tuple[Finding, ...]

    @property
    def passed(self) -> bool:
        """True when every panel was placed and every cut file passed its proof."""
        return self.proof.passed and not self.plan.unplaced


def read_inputs(
    paths: Sequence[Path],
    *,
    control: Control,
    choices: ImportChoices | None = None,
    remember: bool = False,
) -> Job:
    """A job from drawings, or the one job file among the paths.

    Args:
        paths: drawings, or one job.
        control: who watches.
        choices: how to read the drawings; what the shop book remembers counts where they
            say nothing of lines.
        remember: keep what lines are for in the shop book.

    Raises:
        UsageError: a job file together with other inputs, or with uses and answers.
        LasernestError: a file cannot be read.
    """
    jobs = [path for path in paths if path.suffix.lower() == SUFFIX]
    if jobs and len(paths) > 1:
        raise UsageError("a job file comes alone", todo="Give drawings, or one job, not both.")
    if jobs:
        if choices is not None and replace(choices, unit=None) != ImportChoices():
            raise UsageError(
                "the drawings of a job are read already",
                todo="Uses and answers belong to drawings: bring those in anew.",
                on_command_line="--use and --answer together with drawings",
            )
        return load_job(jobs[0])
    job = Job()
    shop = shop_book_if_any()
    for path in paths:
        control.check()
        imported = bring_in(path, choices, control=control, shop=shop)
        if remember:
            remember_uses(imported, shop if shop is not None else ShopBook.open())
        job = AddDrawing(imported.outlines, imported.digest, imported.choices).apply(job)
    return job


def bare_stock(size: SheetSize, kerf: Kerf) -> Stock:
    """A stock for a sheet of which only size and kerf are told."""
    return Stock("sheet as given", NOT_STATED, 3.0, (size,), kerf)


def run_main_job(
    job: Job,
    out: Path,
    *,
    control: Control,
    budget: Budget,
    seed: int = 1,
    workers: int = 1,
    machine: Machine | None = None,
    dxf_version: str = "R2000",
    despite_errors: bool = False,
    records: Sequence[KerfRecord] = (),
    on: date | None = None,
) -> MainJobResult:
    """Join, arrange, write and prove a job.

    Args:
        job: with stock and panels.
        out: the cut file; `-1`, `-2` are put before its ending for more sheets.
        control: progress, Stop, Cancel.
        budget: how long to search for a better plan.
        seed: same seed and same work budget, same files.
        workers: threads to search with.
        machine: for bed, times and layers; a plain one when not given.
        dxf_version: `R2000` or `R12`.
        despite_errors: cut what can be cut although a drawing has errors.
        records: test cuts of its stocks, to warn when a kerf may not hold any more.
        on: today, for their age.

    Raises:
        LasernestError: the job cannot be done; nothing was written.
    """
    refuse_materials(job)
    if not despite_errors:
        refuse_drawing_errors(job)
    refuse_form(out, dxf_version)
    refuse_folder(out)
    joined = join_job(job)
    refuse_errors(joined)
    panels = {panel.name: panel for panel in joined.panels}
    plan = job.plan
    if plan is None:
        refuse_narrow(panels_and_kerfs(job, panels), control=control)
        plan = arrange_job(
            job, control=control, budget=budget, seed=seed, workers=workers, panels=panels
        )
    if plan.unplaced and not plan.sheets:
        left = plan.unplaced[0]
        raise BadDrawingError(
            left.reason.rstrip("."),
            where=Where(panel=left.panel_name),
            todo="Choose a larger sheet, or a smaller margin.",
        )
    written = cut_plan(
        job, plan, joined, out, control=control, machine=machine, version=dxf_version
    )
    results = tuple(
        SheetResult(
            entry,
            sheet,
            sheet_figures(sheet, panels),
            *job.setup.for_stock(sheet.sheet.stock_name).cut_from(),
        )
        for sheet, entry in zip(plan.sheets, written, strict=True)
    )
    return MainJobResult(
        job.changed(plan=plan),
        plan,
        results,
        plan_yield_share(plan, panels),
        proof_of_all(job, joined, plan, written),
        (*job.findings, *joined.findings, *findings_of_stocks(job, records, on=on)),
    )


def refuse_drawing_errors(job: Job) -> None:
    """Raise the first error that a reader found and could not mend.

    Raises:
        BadDrawingError: what is wrong, in which file and where.
    """
    for source in job.sources:
        for finding in source.findings:
            if finding.severity is Severity.ERROR and not finding.mended:
                raise BadDrawingError(
                    finding.message,
                    where=Where(
                        file=Path(source.path), layer=finding.layer, at_mm=finding.where_mm
                    ),
                    todo=finding.todo,
                    on_command_line=finding.on_command_line,
                )


def refuse_materials(job: Job) -> None:
    """Let only jobs pass all of whose materials may be cut.

    Raises:
        UsageError: no stock is chosen.
        RefusedMaterialError: see `refuse_material`; of several stocks it is told
            which, and which panels are cut from it.
    """
    parts = working_parts(job)
    for part in parts:
        stock, _ = part.setup.cut_from()
        whose = [panel.name for panel in part.panels] if len(parts) > 1 else []
        refuse_material(stock, acknowledged=part.setup.material_accepted, whose=whose)


def cut_plan(
    job: Job,
    plan: Plan,
    joined: Joined,
    out: Path,
    *,
    control: Control,
    machine: Machine | None = None,
    version: str = "R2000",
) -> tuple[WrittenSheet, ...]:
    """Write and prove the cut files of a plan; see `write_cut_files`.

    Raises:
        BadValueError: a panel lies on a sheet of another stock than its own.
    """
    refuse_materials(job)
    of_panel = {panel.name: panel.stock_name for panel in job.panels}
    for number, sheet in enumerate(plan.sheets, start=1):
        stock, _ = job.setup.for_stock(sheet.sheet.stock_name).cut_from()
        for placed in sheet.placements:
            own, _ = job.setup.for_stock(of_panel.get(placed.panel_name, "")).cut_from()
            if own != stock:
                raise BadValueError(
                    f"{placed.panel_name} is to be cut from {own.name} and lies on sheet {number} "
                    f"of {stock.name}",
                    todo="Arrange the panels again.",
                )
    return write_cut_files(
        plan,
        {panel.name: panel for panel in joined.panels},
        out,
        setup=job.setup,
        machine=machine or Machine(),
        choices=job.cutting,
        version=version,
        control=control,
    )


def write_and_prove(
    job: Job, plan: Plan, out: Path, *, machine: Machine, control: Control
) -> tuple[tuple[WrittenSheet, ...], Proof]:
    """Write and prove the cut files of a plan, joints and all.

    Returns:
        The files, without the shapes that the beam leaves, and their proof as one.

    Raises:
        LasernestError: as `write_cut_files`.
    """
    refuse_folder(out)
    joined = join_job(job)
    written = cut_plan(job, plan, joined, out, control=control, machine=machine)
    proof = proof_of_all(job, joined, plan, written)
    return tuple(replace(entry, finished=()) for entry in written), proof


def proof_of_all(job: Job, joined: Joined, plan: Plan, written: Sequence[WrittenSheet]) -> Proof:
    """The proofs of all sheets as one, with what the beam leaves of the joints."""
    finished = finished_panels(plan.sheets, [entry.finished for entry in written])
    joints, problems = prove_job_joints(job, joined, finished)
    return combined_proof([e.proof for e in written], joints=joints, problems=problems)


def findings_of_stocks(
    job: Job, records: Sequence[KerfRecord] = (), *, on: date | None = None
) -> tuple[Finding, ...]:
    """What the maker should know of every stock of a job; see `stock_findings`."""
    parts = working_parts(job)
    found: list[Finding] = []
    for part in parts:
        stock, kerf = part.setup.cut_from()
        own = [record for record in records if record.stock_name == stock.name]
        told = stock_findings(stock, kerf, own, on=on)
        if len(parts) > 1:
            told = tuple(replace(f, message=f"{stock.name}: {f.message}") for f in told)
        found += told
    return tuple(found)


def stock_findings(
    stock: Stock, kerf: Kerf, records: Sequence[KerfRecord] = (), *, on: date | None = None
) -> tuple[Finding, ...]:
    """What the maker should know of the numbers the job rests on.

    Args:
        stock: that is cut.
        kerf: that is allowed for.
        records: test cuts of the stock.
        on: today, for their age.
    """
    findings: list[Finding] = []
    if kerf.basis == GIVEN:
        pass
    elif records:
        findings += tune(stock, records, on=on or date.today()).findings
    elif not kerf.measured:
        findings.append(
            Finding(
                Severity.WARNING,
                "kerf-unmeasured",
                f"The kerf of {kerf.mean_mm:.2f} mm is a starting value that nobody measured.",
                todo="Cut a test comb in this sheet and enter its readings.",
            )
        )
    if stock.material == NOT_STATED:
        findings.append(
            Finding(
                Severity.WARNING,
                "material-not-stated",
                "The material is not stated, so it was not checked that it may be laser cut.",
                todo="Never cut PVC, vinyl or a sheet nobody knows; choose a stock that is known.",
                on_command_line="--stock NAME",
            )
        )
    return tuple(findings)
