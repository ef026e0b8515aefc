"""`lasernest kerf`: kerf with its uncertainty from readings of a test piece."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any

import typer

from lasernest.cli.output import AsJson, emit_json, finding_json, say, say_finding
from lasernest.errors import BadValueError, UsageError

if TYPE_CHECKING:
    from lasernest.domain.findings import Finding
    from lasernest.domain.readings import Reading
    from lasernest.domain.stock import Stock
    from lasernest.kerf.estimate import KerfEstimate


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("kerf")(kerf)


def kerf(
    readings: Annotated[
        list[str],
        typer.Argument(
            help="METHOD=NUMBERS, numbers parted by ':', x: or y: before the method for one "
            "axis: frame=STRIPS:GAP, block=BEFORE:AFTER:PIECES, pair=PLUG:HOLE[:NOMINAL], "
            "part=DRAWN:MEASURED, comb=TONGUE:LAST_ENTERING:FIRST_REFUSING."
        ),
    ],
    save: Annotated[
        str | None, typer.Option(help="Stock of the shop book to remember them for.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Work out the kerf, and how far it can be trusted, from readings."""
    from lasernest.domain.readings import parse_reading
    from lasernest.kerf.estimate import estimate_kerf
    from lasernest.kerf.slips import findings_of

    try:
        parsed = [parse_reading(text) for text in readings]
    except BadValueError as error:
        raise UsageError(error.what, todo=error.todo) from error
    estimate = estimate_kerf(parsed)
    findings = findings_of(estimate)
    saved = _remember(save, parsed) if save is not None else None
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
    if saved is not None:
        say(f"Remembered for {saved.name}: kerf {saved.kerf.mean_mm:.3f} mm.")


def _remember(name: str, readings: list[Reading]) -> Stock:
    """Keep the readings as a record of today and let the stock use what they tell."""
    from datetime import date

    from lasernest.domain.records import KerfRecord
    from lasernest.services.tuning import tune, use_for_stock
    from lasernest.shop.book import ShopBook

    book = ShopBook.open()
    stock = book.stock(name)
    today = date.today()
    record = book.add_record(KerfRecord(stock.name, today, tuple(readings)))
    tuning = tune(stock, (record,), on=today)
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
