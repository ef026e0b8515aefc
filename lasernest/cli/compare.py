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
    say_what_matters,
    size_mm,
    watched,
)
from lasernest.errors import UsageError
from lasernest.units import format_time

if TYPE_CHECKING:
    from lasernest.domain.stock import SheetSize, Stock
    from lasernest.services.comparing import StockColumn


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
        float | None, typer.Option(help="Cost of an hour of the machine; tells cost per unit.")
    ] = None,
    wage: Annotated[
        float | None, typer.Option(help="Cost of an hour of work; tells cost per unit.")
    ] = None,
    seconds: Annotated[float, typer.Option(help="Search for each stock.", min=0)] = 5.0,
    workers: Annotated[int, typer.Option(help="Threads to search with.", min=1)] = 1,
    seed: Annotated[int, typer.Option(help="Start of the search.")] = 1,
    unit: Unit = None,
    use: Uses = None,
    answer: AnswersGiven = None,
    as_json: AsJson = False,
) -> None:
    """Plan a job on several stocks and show yield, sheets, time and cost side by side."""
    from dataclasses import replace

    from lasernest.domain.rates import Rates
    from lasernest.services.comparing import compare_stocks
    from lasernest.services.main_job import read_inputs
    from lasernest.shop.book import ShopBook

    if (machine_rate is None) != (wage is None):
        raise UsageError("cost needs both rates", todo="Give --machine-rate and --wage.")
    book = ShopBook.open()
    named = [_named(text, book.stock(text.rpartition("@")[0] or text)) for text in stock]
    with watched() as control:
        job = read_inputs(inputs, control=control, choices=import_choices(unit, use, answer))
        if copies is not None:
            job = job.changed(setup=replace(job.setup, units=copies))
        columns = compare_stocks(
            job,
            [entry for entry, _ in named],
            control=control,
            seconds=seconds,
            sizes={entry.name: size for entry, size in named if size is not None},
            rates=(
                Rates(machine_rate, wage) if machine_rate is not None and wage is not None else None
            ),
            machine=book.machine(),
            records={entry.name: book.records(entry.name) for entry, _ in named},
            workers=workers,
            seed=seed,
        )
    if as_json:
        emit_json({"units": columns[0].units, "stocks": [_column_json(c) for c in columns]})
    else:
        _say_table(columns)


def _named(text: str, stock: Stock) -> tuple[Stock, SheetSize | None]:
    _, at, size_text = text.rpartition("@")
    if not at:
        return stock, None
    wanted = size_mm("--stock", size_text)
    for size in stock.sizes:
        if (size.width_mm, size.height_mm) == wanted:
            return stock, size
    raise UsageError(
        f"{stock.name} does not come in {size_text}",
        todo="Its sizes: " + ", ".join(f"{s.width_mm:g}x{s.height_mm:g}" for s in stock.sizes),
    )


def _column_json(column: StockColumn) -> dict[str, Any]:
    return {
        "stock": column.stock.name,
        "sheet_mm": [column.size.width_mm, column.size.height_mm],
        "sheets": len(column.plan.sheets),
        "last_used_share": column.last_used_share,
        "yield_share": column.yield_share,
        "kept_offcut_mm2": column.kept_offcut_mm2,
        "cut_length_mm": column.cut_length_mm,
        "pierces": column.pierces,
        "cut_time_s": column.cut_time_s,
        "hands_s": column.hands_s,
        "weight_per_unit_g": column.weight_per_unit_g,
        "share_in_fit": column.share_in_fit,
        "sheets_for": {str(n): sheets for n, sheets in sorted(column.sheets_for.items())},
        "cost_per_unit": {
            str(n): {
                "total": cost.per_unit,
                "material": cost.material / n,
                "machine": cost.machine / n,
                "hands": cost.hands / n,
                "setup": cost.setup / n,
                "price_missing": bool(cost.unpriced),
                "price_invented": column.size.price_invented,
            }
            for n, cost in sorted(column.costs.items())
        },
        "unplaced": [
            {"name": u.panel_name, "count": u.count, "reason": u.reason} for u in column.unplaced
        ],
        "findings": [finding_json(finding) for finding in column.findings],
    }


def _say_table(columns: tuple[StockColumn, ...]) -> None:
    width = max(20, *(len(column.stock.name) + 2 for column in columns))

    def row(label: str, values: list[str]) -> None:
        say(f"{label:<26}" + "".join(f"{value:>{width}}" for value in values))

    row(f"{columns[0].units} units", [column.stock.name for column in columns])
    row("sheet", [f"{c.size.width_mm:g} x {c.size.height_mm:g}" for c in columns])
    row("sheets", [f"{len(c.plan.sheets) - 1} + {c.last_used_share:.0%}" for c in columns])
    row("yield", [f"{c.yield_share:.1%}" for c in columns])
    row("kept offcut", [f"{c.kept_offcut_mm2 / 1e6:.2f} m2" for c in columns])
    row("cut time", [format_time(c.cut_time_s) for c in columns])
    row("work by hand", [format_time(c.hands_s) for c in columns])
    row(
        "weight per unit",
        ["-" if c.weight_per_unit_g is None else f"{c.weight_per_unit_g:.0f} g" for c in columns],
    )
    if any(column.share_in_fit is not None for column in columns):
        row(
            "joints in the wanted fit",
            ["-" if c.share_in_fit is None else f"{c.share_in_fit:.0%}" for c in columns],
        )
    for count in columns[0].costs:
        row(f"cost per unit, {count} made", [f"{c.costs[count].per_unit:.2f}" for c in columns])
    if any(column.size.price_invented for column in columns) and columns[0].costs:
        say("Sheet prices are invented until you set your own: lasernest stock edit --price.")
    for column in columns:
        for unplaced in column.unplaced:
            say(
                f"{column.stock.name}: {unplaced.count} x {unplaced.panel_name} not placed: "
                f"{unplaced.reason}"
            )
        if column.findings:
            say(f"{column.stock.name}:")
            say_what_matters(column.findings)
