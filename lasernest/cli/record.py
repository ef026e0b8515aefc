"""`lasernest record`: the test cuts that the shop book keeps."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any

import typer

from lasernest.cli.output import AsJson, emit_json, say, say_finding

if TYPE_CHECKING:
    from lasernest.domain.records import KerfRecord

app = typer.Typer(
    help="List the kerf records of the shop book.", no_args_is_help=False, rich_markup_mode=None
)


@app.callback(invoke_without_command=True)
def record(context: typer.Context, as_json: AsJson = False) -> None:
    """List the records; with a command, look closer or edit."""
    if context.invoked_subcommand is None:
        list_records(as_json=as_json)


@app.command("list")
def list_records(
    stock: Annotated[str | None, typer.Option(help="Only of this stock.")] = None,
    as_json: AsJson = False,
) -> None:
    """List records with the kerf each one tells."""
    from lasernest.shop.book import ShopBook

    records = ShopBook.open().records(stock)
    if as_json:
        emit_json({"records": [record_json(entry) for entry in records]})
        return
    if not records:
        say("No record yet: cut a comb, then enter its readings with lasernest kerf --save.")
    for entry in records:
        form = record_json(entry)
        told = "" if form["kerf_mm"] is None else f", kerf {form['kerf_mm']:.3f} mm"
        say(f"{entry.number}: {entry.stock_name}, {entry.on}{told}")


@app.command("show")
def show(
    stock: Annotated[str, typer.Argument(help="Name of the stock.")], as_json: AsJson = False
) -> None:
    """Show what the records of a stock tell together, today."""
    from datetime import date

    from lasernest.cli.output import finding_json
    from lasernest.services.tuning import fit_targets, tune
    from lasernest.shop.book import ShopBook

    book = ShopBook.open()
    entry = book.stock(stock)
    tuning = tune(entry, book.records(entry.name), on=date.today())
    targets = fit_targets(tuning)
    if as_json:
        emit_json(
            {
                "stock": entry.name,
                "kerf_mm": tuning.kerf.mean_mm,
                "u_mm": tuning.kerf.u_mm,
                "basis": tuning.kerf.basis,
                "slip_mm": targets.slip_mm,
                "push_mm": targets.push_mm,
                "press_mm": targets.press_mm,
                "fit_u_mm": targets.u_mm,
                "findings": [finding_json(finding) for finding in tuning.findings],
            }
        )
        return
    u_mm = tuning.kerf.u_mm
    band = "" if u_mm is None else f" ± {2 * u_mm:.3f}"
    say(f"{entry.name}: kerf {tuning.kerf.mean_mm:.3f}{band} mm ({tuning.kerf.basis})")
    say(
        f"  interference for a slip fit {targets.slip_mm:+.3f}, push {targets.push_mm:+.3f}, "
        f"press {targets.press_mm:+.3f} mm"
    )
    for finding in tuning.findings:
        say_finding(finding)


@app.command("feel")
def feel(
    stock: Annotated[str, typer.Argument(help="Name of the stock.")],
    interference: Annotated[str, typer.Argument(help="What the joint was asked for, like 0.08.")],
    felt: Annotated[
        str,
        typer.Argument(help="How it went: falls through, slides, push, press, mallet or no."),
    ],
    machine: Annotated[str, typer.Option(help="Machine it was cut on.")] = "",
    note: Annotated[str, typer.Option(help="Which job and joint.")] = "",
    as_json: AsJson = False,
) -> None:
    """Tell how a joint felt, so that the stock's fits learn from it."""
    from datetime import date

    from lasernest.cli.output import length_mm
    from lasernest.domain.readings import Feel
    from lasernest.domain.records import CutSettings
    from lasernest.errors import UsageError
    from lasernest.services.tuning import report_feel, tune, use_for_stock
    from lasernest.shop.book import ShopBook

    words = {word.value: word for word in Feel}
    if felt not in words:
        raise UsageError(f"'{felt}' is no feel", todo=f"Say one of: {', '.join(words)}.")
    book = ShopBook.open()
    entry = book.stock(stock)
    today = date.today()
    kept = book.add_record(
        report_feel(
            entry,
            length_mm("INTERFERENCE", interference),
            words[felt],
            on=today,
            settings=CutSettings(machine),
            note=note,
        )
    )
    entry = use_for_stock(book, tune(entry, book.records(entry.name), on=today, machine=machine))
    fits = entry.fits
    if as_json:
        emit_json({"record": record_json(kept), "press_mm": fits.press_mm if fits else None})
    elif fits is not None:
        say(
            f"{entry.name}: slip at {fits.slip_mm:+.3f}, push at {fits.push_mm:+.3f}, "
            f"press at {fits.press_mm:+.3f} mm of interference"
        )


@app.command("remove")
def remove(
    number: Annotated[int, typer.Argument(help="Number of the record.")], as_json: AsJson = False
) -> None:
    """Take a record out of the list; its history stays."""
    from lasernest.shop.book import ShopBook

    change = ShopBook.open().remove_record(number)
    if as_json:
        emit_json({"removed": number, "change": change})
    else:
        say(f"Removed record {number}. Take it back with: lasernest stock undo {change}")


def record_json(record: KerfRecord) -> dict[str, Any]:
    """A record in the form that commands print."""
    from lasernest.services.tuning import estimate_record

    used = any(reading.used for reading in record.readings)
    kerf = estimate_record(record).kerf if used else None
    return {
        "number": record.number,
        "stock": record.stock_name,
        "on": record.on.isoformat(),
        "machine": record.settings.machine,
        "speed_mm_per_s": record.settings.speed_mm_per_s,
        "thickness_mm": record.mean_thickness_mm,
        "kerf_mm": kerf.value if kerf else None,
        "u_mm": kerf.u if kerf else None,
        "readings": [reading.text() for reading in record.readings],
        "felt": len(record.felt),
        "note": record.note,
    }
