"""`lasernest kerf`: kerf with its uncertainty from readings of a test piece."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from lasernest.cli.output import (
    AsJson,
    emit_json,
    finding_json,
    length_mm,
    say,
    say_finding,
)
from lasernest.domain.findings import Severity
from lasernest.errors import BadValueError, UsageError

if TYPE_CHECKING:
    from lasernest.domain.findings import Finding
    from lasernest.domain.readings import Reading
    from lasernest.domain.records import CutSettings
    from lasernest.domain.stock import Stock
    from lasernest.kerf.estimate import KerfEstimate


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("kerf")(kerf)


def kerf(
    readings: Annotated[
        list[str] | None,
        typer.Argument(
            help="METHOD=NUMBERS, numbers parted by ':', x: or y: before the method for one "
            "axis: frame=STRIPS:GAP, block=BEFORE:AFTER:PIECES, pair=PLUG:HOLE[:NOMINAL], "
            "part=DRAWN:MEASURED, comb=TONGUE:LAST_ENTERING:FIRST_REFUSING."
        ),
    ] = None,
    table: Annotated[
        Path | None, typer.Option(help="A CSV file with a column 'reading', read as well.")
    ] = None,
    save: Annotated[
        str | None, typer.Option(help="Stock of the shop book to remember them for.")
    ] = None,
    thickness: Annotated[
        list[str] | None, typer.Option(help="Thickness measured at one place; may be repeated.")
    ] = None,
    machine: Annotated[str, typer.Option(help="Machine it was cut on.")] = "",
    lens: Annotated[str, typer.Option(help="Lens or nozzle it was cut with.")] = "",
    speed: Annotated[float | None, typer.Option(help="Speed it was cut at, in mm/s.")] = None,
    power: Annotated[float | None, typer.Option(help="Power it was cut with, in percent.")] = None,
    passes: Annotated[int, typer.Option(help="Passes it was cut in.", min=1)] = 1,
    note: Annotated[str, typer.Option(help="A note of your own.")] = "",
    as_json: AsJson = False,
) -> None:
    """Work out the kerf, and how far it can be trusted, from readings."""
    from lasernest.domain.records import CutSettings
    from lasernest.kerf.estimate import estimate_kerf
    from lasernest.kerf.slips import findings_of
    from lasernest.services.tuning import typical_of
    from lasernest.shop.book import ShopBook

    parsed = _parsed(readings or [], table)
    thickness_mm = tuple(length_mm("--thickness", text) for text in thickness or [])
    stock = ShopBook.open().stock(save) if save is not None else None
    estimate = estimate_kerf(parsed)
    findings = findings_of(estimate, typical=typical_of(stock) if stock is not None else None)
    if stock is not None:
        _refuse_slips(findings)
        settings = CutSettings(machine, lens, speed, power and power / 100.0, passes)
        stock = _remember(stock, parsed, thickness_mm, settings, note)
    if as_json:
        emit_json(estimate_json(estimate, findings))
        return
    low_mm, high_mm = estimate.kerf.interval_95
    say(
        f"kerf {estimate.kerf.value:.3f} ± {estimate.kerf.half_width_95:.3f} mm "
        f"(95 %: {low_mm:.3f} to {high_mm:.3f})"
    )
    if estimate.has_x and estimate.has_y:
        say(f"along x {estimate.x.value:.3f}, along y {estimate.y.value:.3f} mm")
    if estimate.scale is not None:
        say(f"scale of the machine {estimate.scale.value:.5f}")
    for result in estimate.readings:
        aside = ", stands apart from the others" if result.outlier else ""
        say(
            f"  {result.single.reading.text()}: {result.single.kerf_mm:.4f} "
            f"± {2 * result.single.u_mm:.4f} mm{aside}"
        )
    for finding in findings:
        say_finding(finding, indent="")
    if stock is not None:
        say(f"Remembered for {stock.name}: kerf {stock.kerf.mean_mm:.3f} mm.")


def _parsed(texts: list[str], table: Path | None) -> list[Reading]:
    from lasernest.domain.readings import parse_reading
    from lasernest.shop.record_table import readings_in

    try:
        parsed = [parse_reading(text) for text in texts]
    except BadValueError as error:
        raise UsageError(error.what, todo=error.todo) from error
    if table is not None:
        parsed += readings_in(table)
    if not parsed:
        raise UsageError("there is no reading", todo="Give one like frame=10:2.09, or --table.")
    return parsed


def _refuse_slips(findings: tuple[Finding, ...]) -> None:
    """What cannot be right is not remembered."""
    for finding in findings:
        if finding.severity is Severity.ERROR:
            raise BadValueError(f"{finding.message}; nothing was remembered", todo=finding.todo)


def _remember(
    stock: Stock,
    readings: list[Reading],
    thickness_mm: tuple[float, ...],
    settings: CutSettings,
    note: str,
) -> Stock:
    """Keep the readings as a record of today and let the stock use what its records tell."""
    from datetime import date

    from lasernest.domain.records import KerfRecord
    from lasernest.services.tuning import tune, use_for_stock
    from lasernest.shop.book import ShopBook

    book = ShopBook.open()
    today = date.today()
    book.add_record(
        KerfRecord(
            stock.name,
            today,
            tuple(readings),
            settings=settings,
            thickness_mm=thickness_mm,
            note=note,
        )
    )
    tuning = tune(stock, book.records(stock.name), on=today, machine=settings.machine)
    return use_for_stock(book, tuning)


def estimate_json(estimate: KerfEstimate, findings: tuple[Finding, ...]) -> dict[str, Any]:
    """The form of `kerf --json`."""
    scale = estimate.scale
    return {
        "kerf_mm": estimate.kerf.value,
        "u_mm": estimate.kerf.u,
        "interval95_mm": list(estimate.kerf.interval_95),
        "kerf_x_mm": estimate.x.value,
        "kerf_y_mm": estimate.y.value,
        "scale": scale.value if scale is not None else None,
        "readings": [
            {
                "text": result.single.reading.text(),
                "kerf_mm": result.single.kerf_mm,
                "u_mm": result.single.u_mm,
                "outlier": result.outlier,
            }
            for result in estimate.readings
        ],
        "findings": [finding_json(finding) for finding in findings],
    }
