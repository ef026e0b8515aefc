"""The job sheet: everything the bench needs to know of a job, gathered as plain values.

The writers only lay it out. Every figure says what it rests on: measured, as
the shop book has it, or a starting value.
"""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path

from lasernest import __version__
from lasernest.domain.control import Control
from lasernest.domain.cutting import JointProof, Proof
from lasernest.domain.findings import Finding, Severity
from lasernest.domain.fits import family_of
from lasernest.domain.job_sheet import (
    BenchSheet,
    Fact,
    FactGroup,
    JobSheet,
    JointLine,
)
from lasernest.domain.panels import Panel
from lasernest.domain.records import KerfRecord
from lasernest.domain.safety import CAUTIONS, cautions_for
from lasernest.domain.stock import Kerf, Machine, Stock
from lasernest.errors import UsageError
from lasernest.exchange.writers.job_sheet_html import write_job_sheet_html
from lasernest.exchange.writers.job_sheet_pdf import write_job_sheet_pdf
from lasernest.exchange.writers.pdf.file import Paper
from lasernest.job import SUFFIX, Job, parts_of
from lasernest.job.file import encode_job
from lasernest.joints.joined import Joined
from lasernest.nesting import Budget
from lasernest.services.bench_sheets import (
    SheetAtHand,
    picture_of,
    planned_sheets,
    sheet_areas,
    sheet_time,
    sheets_on_disk,
)
from lasernest.services.job_sheet_facts import (
    Bench,
    age_text,
    area_facts,
    beam_facts,
    job_figures,
    sheet_facts,
    time_facts,
    way_facts,
)
from lasernest.services.joining import finished_panels, join_job, prove_job_joints
from lasernest.services.main_job import findings_of_stocks
from lasernest.services.planning import arrange_job, sheet_figures
from lasernest.services.proving import needs_of
from lasernest.services.tuning import OLD_DAYS
from lasernest.shop.book import ShopBook
from lasernest.units import format_mm


def code_of(job_file: bytes) -> str:
    """A short code that finds a job again: the first eight digits of its file's SHA-256.

    Another state of the job has another code; `sha256sum` tells the same digits.
    """
    digits = hashlib.sha256(job_file).hexdigest()[:8].upper()
    return f"{digits[:4]}-{digits[4:]}"


def jobs_with_code(code: str, places: Sequence[Path]) -> tuple[Path, ...]:
    """The job files of a code, looked for in files and folders with all that is in them."""
    wanted = code.replace("-", "").replace(" ", "").upper()
    files: list[Path] = []
    for place in places:
        files += sorted(place.rglob(f"*{SUFFIX}")) if place.is_dir() else [place]
    found = []
    for file in files:
        try:
            content = file.read_bytes()
        except OSError:
            continue
        if code_of(content).replace("-", "") == wanted:
            found.append(file)
    return tuple(found)


def record_behind(kerf: Kerf, records: Sequence[KerfRecord]) -> KerfRecord | None:
    """The record that a kerf says it rests on, the newest of that name."""
    named = [record for record in records if record.name == kerf.basis]
    return max(named, key=lambda record: record.number, default=None)


def bench_of(job: Job, book: ShopBook) -> Bench:
    """What the shop book knows of the job's machine and of the kerfs it is cut with."""
    behind: dict[str, KerfRecord] = {}
    for stock, kerf in (part.setup.cut_from() for part in parts_of(job)):
        record = record_behind(kerf, book.records(stock.name))
        if record is not None:
            behind[stock.name] = record
    return Bench(book.machine(job.setup.machine_name), behind, date.today())


def job_sheet_of(
    job: Job,
    bench: Bench,
    *,
    control: Control,
    cut_files: Sequence[Path] = (),
    budget: Budget,
    job_file: Path | None = None,
    code: str | None = None,
) -> JobSheet:
    """The job sheet of a job on disk.

    With cut files it shows what they hold, read back and proved; else the job's
    own plan, or one made for it, and says that nothing is proved.

    Args:
        job: with a stock.
        bench: machine, record and day.
        control: progress and Cancel.
        cut_files: all of the job's.
        budget: for a plan where there is neither plan nor cut file.
        job_file: where the job lies.
        code: of its file, where that may be in an older format than today's.

    Raises:
        LasernestError: a file cannot be read, or the job cannot be planned.
    """
    for part in parts_of(job):
        part.setup.cut_from()
    code = code or code_of(encode_job(job))
    joined = join_job(job)
    panels = {panel.name: panel for panel in joined.panels}
    short: list[Finding] = []
    if cut_files:
        sheets = sheets_on_disk(
            cut_files,
            joined.panels,
            job,
            control=control,
            profile=bench.machine.profile,
        )
        short = _short(job, sheets)
    else:
        plan = job.plan or arrange_job(job, control=control, budget=budget, panels=panels)
        job = job.changed(plan=plan)
        sheets = planned_sheets(plan, panels, job.setup)
    return gather_job_sheet(
        job, joined, sheets, bench, job_file=job_file, code=code, findings=short
    )


def _short(job: Job, sheets: Sequence[SheetAtHand]) -> list[Finding]:
    """Panels of which the cut files hold fewer copies than the job asks for."""
    there = Counter(p.panel_name for sheet in sheets for p in sheet.plan.placements)
    return [
        Finding(
            Severity.WARNING,
            "copies-lacking",
            f"{name}: {there[name]} of {wanted} copies are in the cut files.",
            todo="Give all cut files of the job, or cut what is lacking.",
        )
        for name, wanted in needs_of(job).items()
        if there[name] < wanted
    ]


def write_job_sheet(sheet: JobSheet, path: Path, *, paper: str = "A4") -> int:
    """Write a job sheet as the file's ending says: `.pdf`, else HTML.

    Returns:
        The number of pages; 1 for HTML.

    Raises:
        UsageError: no such paper.
        UnwritableFileError: the file cannot be written there.
    """
    if path.suffix.lower() != ".pdf":
        write_job_sheet_html(sheet, path)
        return 1
    try:
        size = Paper[paper.upper()]
    except KeyError:
        known = ", ".join(p.name for p in Paper)
        raise UsageError(f"'{paper}' is no paper known here", todo=f"Use {known}.") from None
    return write_job_sheet_pdf(sheet, path, paper=size)


def write_sheet_of_job(
    job: Job,
    bench: Bench,
    path: Path,
    *,
    control: Control,
    paper: str = "A4",
    cut_files: Sequence[Path] = (),
    job_file: Path | None = None,
) -> int:
    """Gather and write the job sheet of a job that has a plan; see `job_sheet_of`.

    Returns:
        The number of pages; 1 for HTML.
    """
    sheet = job_sheet_of(
        job,
        bench,
        control=control,
        cut_files=cut_files,
        budget=Budget(seconds=0.0),
        job_file=job_file,
    )
    return write_job_sheet(sheet, path, paper=paper)


def gather_job_sheet(
    job: Job,
    joined: Joined,
    sheets: Sequence[SheetAtHand],
    bench: Bench,
    *,
    job_file: Path | None = None,
    code: str | None = None,
    findings: Sequence[Finding] = (),
) -> JobSheet:
    """Gather the job sheet.

    Args:
        job: with a stock.
        joined: its panels with joints, as they are cut.
        sheets: to cut, with proofs where there are cut files.
        bench: machine, record and day.
        job_file: where the job lies, to be named.
        code: of the job's file; worked out from the job when not given.
        findings: what else to know before cutting.

    Raises:
        UsageError: no stock is chosen.
    """
    parts = parts_of(job)
    stocks = [part.setup.cut_from()[0] for part in parts]
    panels = {panel.name: panel for panel in joined.panels}
    code = code or code_of(encode_job(job))
    proofs, problems = _joint_proofs(job, joined, sheets)
    doubts = [*findings, *job.findings, *joined.findings, *findings_of_stocks(job)]
    for stock in stocks:
        record = bench.records.get(stock.name)
        if record is None or (bench.on - record.on).days <= OLD_DAYS:
            continue
        head = f"{stock.name}: the" if len(stocks) > 1 else "The"
        doubts.append(
            Finding(
                Severity.WARNING,
                "record-old",
                f"{head} {record.name} is {age_text(record, bench.on)}.",
                todo="Cut a new comb.",
            )
        )
    if any(sheet.proof is None for sheet in sheets):
        doubts.append(
            Finding(
                Severity.WARNING,
                "not-proved",
                "No cut file was looked at for this paper, so nothing on it is proved.",
                todo="Write the cut file and print the job sheet again.",
            )
        )
    unplaced = job.plan.unplaced if job.plan is not None else ()
    name = job.name or (job_file.stem if job_file else "job")
    return JobSheet(
        title=name,
        code=code,
        code_words=f"lasernest {code} {job_file.name if job_file else name}",
        made_on=bench.on,
        program=f"lasernest {__version__}",
        groups=(
            *_stock_groups(job, parts, sheets, bench),
            FactGroup("Figures", tuple(job_figures(panels, sheets, bench))),
        ),
        doubts=(*_sentences(doubts), *problems),
        steps=tuple(_steps(job, stocks, sheets, bench.machine)),
        sheets=tuple(
            _bench_sheet(number, sheet, len(sheets), panels, bench.machine)
            for number, sheet in enumerate(sheets, start=1)
        ),
        joints=tuple(_joint_lines(joined, proofs)),
        left_out=tuple(f"{u.count} × {u.panel_name}: {u.reason}" for u in unplaced),
        cautions=tuple(
            dict.fromkeys(
                (
                    *CAUTIONS,
                    *(c for one in stocks for c in cautions_for(f"{one.material} {one.name}")),
                )
            )
        ),
    )


def _stock_groups(
    job: Job, parts: Sequence[Job], sheets: Sequence[SheetAtHand], bench: Bench
) -> list[FactGroup]:
    """What is cut from and how, for each stock."""
    groups = []
    for part in parts:
        stock, _ = part.setup.cut_from()
        own = [sheet for sheet in sheets if sheet.stock == stock]
        of = f" of {stock.name}" if len(parts) > 1 else ""
        rules_mm = job.joint_rules.thickness_mm
        joints_mm = rules_mm if job.joints and job.setup.is_own(stock.name) else None
        groups.append(FactGroup(f"Sheet{of}", tuple(sheet_facts(part, own, joints_mm))))
        beam = beam_facts(part, bench, joined=bool(job.joints))
        groups.append(FactGroup(f"Beam{of}", tuple(beam)))
    return groups


def _sentences(findings: Sequence[Finding]) -> list[str]:
    """What asks for attention, each once."""
    said = [
        f"{finding.message.rstrip('.')}. {finding.todo}".strip()
        for finding in findings
        if finding.severity is not Severity.NOTE and not finding.mended
    ]
    return list(dict.fromkeys(said))


def _joint_proofs(
    job: Job, joined: Joined, sheets: Sequence[SheetAtHand]
) -> tuple[tuple[JointProof, ...], tuple[str, ...]]:
    if not joined.joints or not any(sheet.proof for sheet in sheets):
        return (), ()
    finished = finished_panels([s.plan for s in sheets], [s.finished for s in sheets])
    return prove_job_joints(job, joined, finished)


def _check_sheet(stock: Stock, joints_mm: float | None = None) -> list[str]:
    thickness = format_mm(joints_mm or stock.working_thickness_mm)
    return [
        f"Make sure that the sheet is {stock.name} and nothing else.",
        f"Measure its thickness at several places: it should be {thickness}. "
        "Measured today: ______ mm",
    ]


def _steps(
    job: Job, stocks: Sequence[Stock], sheets: Sequence[SheetAtHand], machine: Machine
) -> list[str]:
    """The order of work."""
    mixed, joints_mm = len(stocks) > 1, job.joint_rules.thickness_mm if job.joints else None
    steps = [] if mixed else _check_sheet(stocks[0], joints_mm)
    if any(p.panel.marks for p in job.panels):
        steps.append("Marks come first, then inner contours, outer contours last.")
    else:
        steps.append("Inner contours come before outer ones.")
    corner = machine.profile.origin.value
    lies: Stock | None = None
    for number, sheet in enumerate(sheets, start=1):
        if mixed and sheet.stock != lies:
            lies = sheet.stock
            steps += _check_sheet(lies)
            steps.append(f"Set the machine up for {lies.name}.")
        file = sheet.file.name if sheet.file is not None else "cut file still to be written"
        piece = f"offcut {sheet.plan.sheet.label}" if sheet.plan.sheet.is_offcut else "sheet"
        steps.append(
            f"Lay in {piece} {number} of {len(sheets)} flat, zero at its {corner} corner, "
            f"focus; cut {file}."
        )
    steps.append("Keep the extraction running and watch the machine; wait before opening the lid.")
    after = ["Take out the panels, count them"]
    if any(stock.masked for stock in stocks):
        after.append("peel both faces")
    if any(family_of(stock.material).is_wooden for stock in stocks):
        after.append("wipe off soot")
    after.append("measure one in ten")
    steps.append(", ".join(after) + ".")
    if job.joints:
        steps.append("Put one joint together before all of them: it should go as this paper says.")
    kept = "Write on kept offcuts what they are, and put them in the shop book."
    return [*steps, kept]


def _bench_sheet(
    number: int,
    sheet: SheetAtHand,
    of: int,
    panels: Mapping[str, Panel],
    machine: Machine,
) -> BenchSheet:
    figures = sheet_figures(sheet.plan, panels)
    areas = sheet_areas(sheet, panels)
    times = sheet_time(sheet, machine)
    whole = sheet.plan.sheet
    size = f"{whole.width_mm:g} × {whole.height_mm:g} mm"
    piece = f"offcut {whole.label}" if whole.is_offcut else sheet.stock.name
    facts = [
        Fact("Panels", str(figures.panels)),
        *area_facts(areas),
        Fact("Used length", format_mm(figures.used_length_mm, 0)),
        *way_facts([sheet]),
        *time_facts([times], machine),
    ]
    proof = sheet.proof
    return BenchSheet(
        f"Sheet {number} of {of} · {piece} · {size}",
        sheet.file.name if sheet.file is not None else "",
        picture_of(sheet, panels),
        tuple(facts),
        verdict_of(proof),
        None if proof is None else proof.passed,
        proof.problems if proof is not None else (),
    )


def verdict_of(proof: Proof | None) -> str:
    """What the proof of a sheet says, in one sentence."""
    if proof is None:
        return "Not proved: there is no cut file yet."
    head = "Proof passed" if proof.passed else "PROOF FAILED: do not cut this file"
    return f"{head}. {proof.found} of {proof.tolerance_mm:g} mm allowed."


def _joint_lines(joined: Joined, proofs: Sequence[JointProof]) -> list[JointLine]:
    left = list(proofs)
    lines = []
    for laid in joined.joints:
        pair = (laid.joint.a.panel, laid.joint.b.panel)
        proof = next((p for p in left if (p.a, p.b) == pair), None)
        if proof is not None:
            left.remove(proof)  # two joints of the same panels each have their own
        size = f"{laid.fingers} × {laid.width_mm:.2f} mm, {laid.depth_mm:.2f} mm deep"
        lines.append(
            JointLine(
                f"{laid.joint.a.panel} – {laid.joint.b.panel}",
                laid.kind.value,
                size,
                laid.interference_mm,
                proof.interference_mm if proof else None,
                proof.worst_mm if proof else None,
                proof.u_mm if proof else None,
                proof.fit if proof else "",
            )
        )
    return lines
