"""`lasernest report`: the job sheet for the bench, as PDF or HTML."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from lasernest.cli.output import AsJson, emit_json, length_mm, say, watched
from lasernest.errors import NotFoundError, UsageError

if TYPE_CHECKING:
    from lasernest.domain.control import Control
    from lasernest.domain.job_sheet import JobSheet
    from lasernest.job import Job

SUFFIXES = (".pdf", ".html", ".htm")


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("report")(report)


def report(
    job: Annotated[Path, typer.Argument(help="The job; with --find, a folder or file to look in.")],
    out: Annotated[Path | None, typer.Option(help="SHEET.pdf or SHEET.html.")] = None,
    cut: Annotated[
        list[Path] | None,
        typer.Option(help="Cut file to read, prove and show; once for each of the job's."),
    ] = None,
    stock: Annotated[str | None, typer.Option(help="Stock, where the job names none.")] = None,
    kerf: Annotated[str | None, typer.Option(help="Full kerf, where it is another.")] = None,
    paper: Annotated[str, typer.Option(help="A4, A3 or letter.")] = "A4",
    seconds: Annotated[
        float, typer.Option(help="Search for a plan, where there is neither plan nor --cut.", min=0)
    ] = 5.0,
    find: Annotated[
        str | None, typer.Option(help="Look for the job whose paper bears this code.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Write the job sheet: plans, kerf and its age, order of work, figures, proof, cautions."""
    if find is not None:
        _find(find, job, as_json=as_json)
        return
    if out is None or out.suffix.lower() not in SUFFIXES:
        raise UsageError("there is no file to write to", todo="Give --out SHEET.pdf or SHEET.html.")
    from lasernest.services.job_sheet import code_of, write_job_sheet

    with watched() as control:
        loaded = _job(job, stock, kerf, control)
        sheet = _gathered(job, loaded, cut or [], seconds, control, code_of(job.read_bytes()))
        pages = write_job_sheet(sheet, out, paper=paper)
    if as_json:
        emit_json(_json(sheet, out, pages))
        return
    say(f"{out}: job sheet of {sheet.title}, code {sheet.code}, {len(sheet.sheets)} sheets")
    for one in sheet.sheets:
        say(f"  {one.title}: {one.verdict}")
    for doubt in sheet.doubts:
        say(f"  {doubt}")


def _find(code: str, place: Path, *, as_json: bool) -> None:
    from lasernest.services.job_sheet import jobs_with_code

    found = jobs_with_code(code, [place])
    if as_json:
        emit_json({"code": code, "jobs": [str(path) for path in found]})
        return
    if not found:
        raise NotFoundError(
            f"no job in {place} has the code {code}",
            todo="It was changed since the paper was printed, or lies elsewhere.",
        )
    for path in found:
        say(str(path))


def _job(path: Path, stock: str | None, kerf: str | None, control: Control) -> Job:
    from lasernest.domain.stock import Kerf
    from lasernest.services.commands import ChooseStock, SetKerf
    from lasernest.services.main_job import read_inputs
    from lasernest.shop.book import ShopBook

    loaded = read_inputs([path], control=control)
    if stock is not None:
        loaded = ChooseStock(ShopBook.open().stock(stock)).apply(loaded)
    if kerf is not None:
        loaded = SetKerf(Kerf.same(length_mm("--kerf", kerf))).apply(loaded)
    if loaded.setup.stock is None:
        raise UsageError(
            "the job names no stock",
            todo="Give --stock NAME, as the kerf and the settings belong to it.",
        )
    return loaded


def _gathered(
    path: Path, job: Job, cut: list[Path], seconds: float, control: Control, code: str
) -> JobSheet:
    from lasernest.nesting import Budget
    from lasernest.services.job_sheet import bench_of, job_sheet_of
    from lasernest.shop.book import ShopBook

    return job_sheet_of(
        job,
        bench_of(job, ShopBook.open()),
        cut_files=cut,
        budget=Budget(seconds=seconds),
        control=control,
        job_file=path,
        code=code,
    )


def _figure_name(group: str, fact: str) -> str:
    """Of a job with several stocks, facts of a stock are told apart by their heading."""
    return f"{fact}, {group}" if " of " in group else fact


def _json(sheet: JobSheet, out: Path, pages: int) -> dict[str, object]:
    return {
        "file": str(out),
        "pages": pages,
        "code": sheet.code,
        "sheets": [
            {
                "title": one.title,
                "file": one.file_name,
                "panels": one.picture.counts,
                "proved": one.proved,
                "figures": {fact.name: fact.value for fact in one.facts},
            }
            for one in sheet.sheets
        ],
        "figures": {
            _figure_name(group.title, fact.name): {"value": fact.value, "rests_on": fact.rests_on}
            for group in sheet.groups
            for fact in group.facts
            if fact.name
        },
        "joints": len(sheet.joints),
        "doubts": list(sheet.doubts),
    }
