"""`lasernest sheet`: the main job, from drawings or a job to proved cut files."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from lasernest.cli.cut_options import (
    KerfAlong,
    KerfWidth,
    LeadIn,
    MachineName,
    Marks,
    Names,
    Order,
    Origin,
    Tabs,
    TabsBelow,
    TabsCount,
    chosen_machine,
    cut_choices,
    kerf_of,
)
from lasernest.cli.drawing_options import AnswersGiven, Remember, Unit, Uses, import_choices
from lasernest.cli.output import (
    AsJson,
    emit_json,
    finding_json,
    length_mm,
    say,
    say_error,
    say_what_matters,
    size_mm,
    watched,
)
from lasernest.cli.wishes import (
    Along,
    Count,
    Mirror,
    PanelStock,
    Priority,
    Together,
    TurnsGiven,
    with_counts,
    with_panel_stocks,
    with_wishes,
)
from lasernest.domain.findings import counted
from lasernest.errors import UsageError
from lasernest.units import format_time

if TYPE_CHECKING:
    from lasernest.domain.control import QuietControl
    from lasernest.domain.cutting import Proof
    from lasernest.domain.records import KerfRecord
    from lasernest.domain.stock import Kerf, SheetSize, Stock
    from lasernest.job import Job
    from lasernest.services.main_job import MainJobResult, SheetResult


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("sheet")(sheet)


def sheet(
    inputs: Annotated[list[Path], typer.Argument(help="Drawings (DXF, SVG) or one job.")],
    out: Annotated[Path, typer.Option(help="The cut file to write, such as CUT.dxf.")],
    sheet_size: Annotated[
        str | None, typer.Option("--sheet", help="Sheet size, such as 600x400.")
    ] = None,
    stock: Annotated[str | None, typer.Option(help="Name of a stock in the shop book.")] = None,
    kerf: KerfWidth = None,
    kerf_xy: KerfAlong = None,
    margin: Annotated[str | None, typer.Option(help="Free border of the sheet; 5.")] = None,
    gap: Annotated[str | None, typer.Option(help="Least distance between panels; 2.")] = None,
    copies: Annotated[int, typer.Option(help="Units to make.", min=1)] = 1,
    count: Count = None,
    grain: Annotated[
        bool | None, typer.Option(help="Turn panels by 180 degrees only; as the stock says.")
    ] = None,
    turns: TurnsGiven = None,
    mirror: Mirror = False,
    panel_stock: PanelStock = None,
    priority: Priority = None,
    together: Together = False,
    along: Along = None,
    seconds: Annotated[float, typer.Option(help="Time to search for a better plan.", min=0)] = 5.0,
    work: Annotated[
        int | None, typer.Option(help="Search this much, repeatably, whatever the clock says.")
    ] = None,
    seed: Annotated[int, typer.Option(help="Start of the search.")] = 1,
    workers: Annotated[int, typer.Option(help="Threads to search with.", min=1)] = 1,
    unit: Unit = None,
    use: Uses = None,
    answer: AnswersGiven = None,
    remember: Remember = False,
    changed_since: Annotated[
        Path | None,
        typer.Option(help="An older drawing or job: cut only panels that changed or are new."),
    ] = None,
    reread: Annotated[
        bool, typer.Option(help="Read the job's drawings again that changed on disk.")
    ] = False,
    machine: MachineName = None,
    origin: Origin = None,
    marks: Marks = None,
    order: Order = None,
    lead_in: LeadIn = None,
    tabs: Tabs = None,
    tabs_below: TabsBelow = None,
    tabs_count: TabsCount = None,
    names: Names = None,
    dxf_version: Annotated[
        str, typer.Option(help="R12 for old controllers, R2000, R2004 ... R2018.")
    ] = "R2000",
    accept_material: Annotated[
        bool, typer.Option(help="I have read why this material is risky and go on.")
    ] = False,
    despite_errors: Annotated[
        bool, typer.Option(help="Cut what can be cut although a drawing has errors.")
    ] = False,
    save: Annotated[
        Path | None, typer.Option(help="Keep the job with its plan, for lasernest report.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Offset, arrange and write panels as cut files, and prove the files."""
    from lasernest.job import save_job
    from lasernest.nesting import Budget
    from lasernest.services.commands import AcknowledgeMaterial
    from lasernest.services.main_job import read_inputs, run_main_job

    given_kerf = kerf_of(kerf, kerf_xy)
    with watched() as control:
        job = read_inputs(
            inputs,
            control=control,
            choices=import_choices(unit, use, answer),
            remember=remember,
        )
        job = _up_to_date(job, changed_since, reread=reread, control=control)
        job = _with_options(
            job,
            stock=_stock(job, stock, sheet_size),
            size=size_mm("--sheet", sheet_size) if sheet_size else None,
            kerf=given_kerf,
            margin=margin,
            gap=gap,
            grain=grain,
            copies=copies,
            counts=count or [],
        )
        job = with_panel_stocks(job, panel_stock or [])
        if accept_material:
            for one in job.setup.stocks:
                job = AcknowledgeMaterial(one.material).apply(job)
        job = with_wishes(
            job,
            priorities=priority or [],
            turns=turns,
            mirror=mirror,
            together=together,
            along=along,
        )
        cutting = cut_choices(
            job.cutting,
            order=order,
            lead_in=lead_in,
            tabs=tabs,
            tabs_below=tabs_below,
            tabs_count=tabs_count,
            names=names,
        )
        result = run_main_job(
            job.changed(cutting=cutting),
            out,
            control=control,
            budget=Budget(None if work is not None else seconds, work),
            seed=seed,
            workers=workers,
            machine=chosen_machine(machine or job.setup.machine_name, origin, marks),
            dxf_version=dxf_version,
            despite_errors=despite_errors,
            records=_records(job.setup.stocks),
        )
        if save is not None:
            save_job(result.job, save)
    if as_json:
        emit_json(result_json(result))
    else:
        say_result(result)
    if not result.passed:
        raise typer.Exit(1)


def _up_to_date(
    job: Job, changed_since: Path | None, *, reread: bool, control: QuietControl
) -> Job:
    """The job with drawings read again, and with only what changed, as far as it was asked."""
    from lasernest.services.main_job import read_inputs
    from lasernest.services.redrawing import (
        OnlyChanged,
        changed_on_disk,
        changes_since,
        read_source,
    )

    for source in changed_on_disk(job):
        if reread:
            job = read_source(source, job, control=control).apply(job)
        else:
            say_error(
                f"{Path(source.path).name} changed on disk since the job was made; it is cut as "
                "it was. --reread takes the change in."
            )
    if changed_since is not None:
        old = read_inputs([changed_since], control=control)
        job = OnlyChanged(changes_since(old, job)).apply(job)
        if not job.panel_count:
            raise UsageError(
                f"no panel changed since {changed_since.name}", todo="There is nothing to cut."
            )
    return job


def _stock(job: Job, name: str | None, sheet_size: str | None) -> Stock | None:
    """The stock named, or the job's own, or None for a bare sheet size."""
    if name is not None:
        from lasernest.shop.book import ShopBook

        return ShopBook.open().stock(name)
    if job.setup.stock is None and sheet_size is None:
        raise UsageError(
            "there is no sheet to cut from", todo="Give --sheet 600x400 or --stock NAME."
        )
    return job.setup.stock


def _with_options(
    job: Job,
    *,
    stock: Stock | None,
    size: tuple[float, float] | None,
    kerf: Kerf | None,
    margin: str | None,
    gap: str | None,
    grain: bool | None,
    copies: int,
    counts: list[str],
) -> Job:
    from lasernest.domain.stock import Kerf
    from lasernest.services.commands import ChooseStock
    from lasernest.services.main_job import USUAL_KERF_MM, bare_stock

    sheet_size = _sheet_size(stock, size) if size else None
    if stock is None:
        if sheet_size is None:
            raise UsageError("the sheet has no size", todo="Give --sheet 600x400.")
        stock = bare_stock(sheet_size, kerf or Kerf.same(USUAL_KERF_MM, basis="unmeasured"))
    if stock != job.setup.stock:
        job = ChooseStock(stock).apply(job)
    setup = job.setup
    setup = replace(
        setup,
        sheet_size=sheet_size or setup.sheet_size,
        kerf=kerf or setup.kerf,
        margin_mm=length_mm("--margin", margin) if margin else setup.margin_mm,
        gap_mm=length_mm("--gap", gap) if gap else setup.gap_mm,
        keep_grain=setup.keep_grain if grain is None else grain,
        units=copies if copies != 1 else setup.units,
    )
    return with_counts(job.changed(setup=setup), counts)


def _records(stocks: Sequence[Stock]) -> Sequence[KerfRecord]:
    """The test cuts of some stocks; none for a bare sheet, which is in no book."""
    from lasernest.domain.stock import NOT_STATED
    from lasernest.shop.book import ShopBook

    known = [stock for stock in stocks if stock.material != NOT_STATED]
    book = ShopBook.open() if known else None
    return [record for stock in known if book for record in book.records(stock.name)]


def _sheet_size(stock: Stock | None, size: tuple[float, float]) -> SheetSize:
    from lasernest.domain.stock import SheetSize

    for known in stock.sizes if stock else ():
        if (known.width_mm, known.height_mm) == size:
            return known
    return SheetSize(*size)


def result_json(result: MainJobResult) -> dict[str, Any]:
    """The form of `sheet --json`."""
    return {
        "sheets": [_sheet_json(entry) for entry in result.sheets],
        "unplaced": [
            {"name": u.panel_name, "count": u.count, "reason": u.reason}
            for u in result.plan.unplaced
        ],
        "yield_share": result.yield_share,
        "search": [
            {
                "seconds": round(point.seconds, 3),
                "sheets": point.sheets,
                "used_length_mm": point.used_length_mm,
            }
            for point in result.plan.log
        ],
        "proof": proof_json(result.proof),
        "findings": [finding_json(finding) for finding in result.findings],
    }


def _sheet_json(entry: SheetResult) -> dict[str, Any]:
    return {
        "file": str(entry.written.file),
        "stock": entry.stock.name,
        "width_mm": entry.plan.sheet.width_mm,
        "height_mm": entry.plan.sheet.height_mm,
        "panels": [
            {
                "name": p.panel_name,
                "copy": p.copy,
                "turn_deg": p.pose.turn_deg,
                "mirrored": p.pose.mirrored,
                "x_mm": p.pose.x_mm,
                "y_mm": p.pose.y_mm,
            }
            for p in entry.plan.placements
        ],
        "yield_share": entry.figures.yield_share,
        "used_length_mm": entry.figures.used_length_mm,
        "cut_length_mm": entry.written.cut.cut_length_mm,
        "pierces": entry.written.cut.pierces,
        "time_s": entry.written.time_s,
        "proof": proof_json(entry.written.proof),
    }


def proof_json(proof: Proof) -> dict[str, Any]:
    """A proof in the form that commands print."""
    form: dict[str, Any] = {
        "passed": proof.passed,
        "panels_found": proof.panels_found,
        "panels_expected": proof.panels_expected,
        "max_deviation_mm": proof.max_deviation_mm,
        "problems": list(proof.problems),
    }
    if proof.joints:
        form["joints"] = [
            {
                "a": j.a,
                "b": j.b,
                "interference_mm": j.interference_mm,
                "worst_mm": j.worst_mm,
                "u_mm": j.u_mm,
                "fit": j.fit,
            }
            for j in proof.joints
        ]
    return form


def say_result(result: MainJobResult) -> None:
    """The result as text: one block a sheet, then the whole."""
    mixed = len({entry.stock.name for entry in result.sheets}) > 1
    for number, entry in enumerate(result.sheets, start=1):
        cut = entry.written.cut
        size = f"{entry.plan.sheet.width_mm:g} x {entry.plan.sheet.height_mm:g} mm"
        of = f"{entry.stock.name}, kerf {entry.kerf.mean_mm:.3g} mm, " if mixed else ""
        say(f"sheet {number} of {len(result.sheets)}, {of}{size}: {entry.written.file}")
        say(
            f"  {counted(entry.figures.panels, 'panel', 'panels')}, "
            f"yield {entry.figures.yield_share:.1%}, "
            f"used length {entry.figures.used_length_mm:.1f} mm"
        )
        say(
            f"  cut length {cut.cut_length_mm / 1000:.2f} m, "
            f"{counted(cut.pierces, 'pierce', 'pierces')}, "
            f"about {format_time(entry.written.time_s)}"
        )
        say(f"  {proof_sentence(entry.written.proof)}")
        for problem in entry.written.proof.problems:
            say(f"    {problem}")
    for unplaced in result.plan.unplaced:
        say(f"not placed: {unplaced.count} x {unplaced.panel_name}: {unplaced.reason}")
    say_what_matters(result.findings)
    placed = counted(result.plan.placed_count, "panel", "panels")
    say(f"{placed}, yield of all sheets {result.yield_share:.1%}")
    for joint in result.proof.joints:
        say(
            f"joint {joint.a} with {joint.b}: interference {joint.interference_mm:+.3f} mm "
            f"(worst {joint.worst_mm:+.3f}, ± {2 * joint.u_mm:.3f}), {joint.fit}"
        )


def proof_sentence(proof: Proof) -> str:
    """The verdict of a proof in one line."""
    verdict = "proof passed" if proof.passed else "PROOF FAILED"
    return f"{verdict}: {proof.found}"
