"""`lasernest compare`: a job on several stocks, side by side."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from lasernest.cli.drawing_options import AnswersGiven, Unit, Uses, import_choices
from lasernest.cli.output import (
    AsJson,
    emit_json,
    finding_json,
    say,
    stock_and_size,
    watched,
)
from lasernest.errors import UsageError

if TYPE_CHECKING:
    from lasernest.domain.comparison import ComparedStock, Comparison, UnitsMade
    from lasernest.services.comparing import Candidate
    from lasernest.shop.book import ShopBook

SUFFIXES = (".csv", ".pdf")


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("compare")(compare)


def compare(
    inputs: Annotated[list[Path], typer.Argument(help="A job, or drawings.")],
    stock: Annotated[
        list[str],
        typer.Option(help="NAME of a stock, or NAME@600x400 for one of its sizes; twice or more."),
    ],
    copies: Annotated[
        int | None, typer.Option(help="Units to make; the job's own when not given.", min=1)
    ] = None,
    machine_rate: Annotated[
        float | None, typer.Option(help="Cost of an hour of the machine; else the shop's.")
    ] = None,
    wage: Annotated[
        float | None, typer.Option(help="Cost of an hour of work; else the shop's.")
    ] = None,
    overhead: Annotated[
        str | None, typer.Option(help="Laid on top, such as 15%; else the shop's.")
    ] = None,
    seconds: Annotated[float, typer.Option(help="Search for each stock.", min=0)] = 5.0,
    workers: Annotated[int, typer.Option(help="Threads to search with.", min=1)] = 1,
    seed: Annotated[int, typer.Option(help="Start of the search.")] = 1,
    unit: Unit = None,
    use: Uses = None,
    answer: AnswersGiven = None,
    out: Annotated[
        list[Path] | None, typer.Option(help="Write it too: TABLE.csv or PAPER.pdf, or both.")
    ] = None,
    keep: Annotated[
        bool, typer.Option("--keep", help="Keep the comparison in the job file.")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Plan a job on several stocks and show yield, sheets, time and cost side by side."""
    from dataclasses import replace

    from lasernest.cli.rates import used_rates
    from lasernest.files import refuse_folder
    from lasernest.job import SUFFIX, save_job
    from lasernest.services.comparing import KeepComparison, compare_stocks
    from lasernest.services.comparison_table import write_comparison
    from lasernest.services.main_job import read_inputs
    from lasernest.shop.book import ShopBook

    wrong = [path for path in out or [] if path.suffix.lower() not in SUFFIXES]
    if wrong:
        raise UsageError(f"{wrong[0]} is neither a table nor a paper", todo="Name a .csv or .pdf.")
    for path in out or []:
        refuse_folder(path)
    if keep and (len(inputs) != 1 or inputs[0].suffix.lower() != SUFFIX):
        raise UsageError("only a job can keep a comparison", todo="Give one job file.")
    shop = ShopBook.open()
    rates = used_rates(shop, machine_rate, wage, overhead)
    candidates = [_candidate(text, shop) for text in stock]
    with watched() as control:
        job = read_inputs(inputs, control=control, choices=import_choices(unit, use, answer))
        asked = job
        if copies is not None:
            job = job.changed(setup=replace(job.setup, units=copies))
        stocks = (*job.setup.stocks, *(candidate.stock for candidate in candidates))
        comparison = compare_stocks(
            job,
            candidates,
            control=control,
            seconds=seconds,
            rates=rates,
            machine=shop.machine(job.setup.machine_name),
            records={one.name: shop.records(one.name) for one in stocks},
            workers=workers,
            seed=seed,
        )
    write_comparison(job, comparison, out or [], title=job.name or inputs[0].stem)
    if keep:
        save_job(KeepComparison(comparison).apply(asked), inputs[0])
    if as_json:
        emit_json(comparison_json(comparison) | {"files": [str(path) for path in out or []]})
        return
    say_comparison(comparison)
    for path in out or []:
        say(f"written: {path}")


def _candidate(text: str, shop: ShopBook) -> Candidate:
    from lasernest.services.comparing import Candidate

    return Candidate(*stock_and_size("--stock", text, shop))


def comparison_json(comparison: Comparison) -> dict[str, Any]:
    """A comparison for programs."""
    from lasernest.cli.rates import rates_json

    return {
        "units": comparison.units,
        "rates": rates_json(comparison.rates),
        "stocks": [_column_json(column) for column in comparison.columns],
    }


def _column_json(column: ComparedStock) -> dict[str, Any]:
    whole = len(column.plan.sheets)
    return {
        "stock": column.stock.name,
        "sheet_mm": [column.size.width_mm, column.size.height_mm],
        "panels": column.panels,
        "sheets": whole,
        "last_used_share": column.sheets - max(0, whole - 1),
        "yield_share": column.yield_share,
        "used_yield_share": column.used_yield_share,
        "kept_offcut_mm2": column.kept_offcut_mm2,
        "kerf_mm2": column.kerf_mm2,
        "cut_length_mm": column.cut_length_mm,
        "pierces": column.pierces,
        "travel_mm": column.travel_mm,
        "cut_time_s": column.machine_s,
        "loading_s": column.loading_s,
        "hands_s": column.hands_s,
        "weight_per_unit_g": column.weight_per_unit_g,
        "share_in_fit": column.share_in_fit,
        "sheets_for": {str(made.units): made.sheets for made in column.made},
        "planned_units_for": {str(m.units): m.planned_units or m.units for m in column.made},
        "cost_per_unit": {str(made.units): _cost_json(made, column) for made in column.made},
        "unplaced": [
            {"name": u.panel_name, "count": u.count, "reason": u.reason} for u in column.unplaced
        ],
        "findings": [finding_json(finding) for finding in column.findings],
    }


def _cost_json(made: UnitsMade, column: ComparedStock) -> dict[str, Any]:
    cost, n = made.cost, made.units
    return {
        "total": cost.per_unit,
        "with_overhead": cost.per_unit_with_overhead,
        "material": cost.material / n,
        "machine": cost.machine / n,
        "hands": cost.hands / n,
        "setup": cost.setup / n,
        "price_missing": bool(cost.unpriced),
        "price_invented": any(size.price_invented for size in column.sizes),
    }


def say_comparison(comparison: Comparison) -> None:
    """A comparison as a table on the screen."""
    from lasernest.services.comparison_table import comparison_notes, comparison_rows

    rows = comparison_rows(comparison)
    width = max(20, *(len(name) + 2 for name in comparison.names))
    first = max(len(row.name) for row in rows) + 2

    def line(label: str, values: list[str]) -> None:
        say(f"{label:<{first}}" + "".join(f"{value:>{width}}" for value in values))

    columns = comparison.columns
    units = f"{comparison.units} unit{'' if comparison.units == 1 else 's'}"
    line(f"{units}, {max(c.panels for c in columns)} panels", list(comparison.names))
    line("Sheet", [f"{c.size.width_mm:g} x {c.size.height_mm:g}" for c in columns])
    for row in rows:
        line(row.name, list(row.texts))
    for note in comparison_notes(comparison):
        say(f"- {note}")
