"""`lasernest stock`: the sheets that the shop holds."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from lasernest.cli.output import AsJson, emit_json, length_mm, say, size_mm
from lasernest.errors import UsageError

if TYPE_CHECKING:
    from lasernest.domain.stock import SheetSize, Stock
    from lasernest.shop.book import ShopBook

app = typer.Typer(
    help="List and edit the stock in the shop book.", no_args_is_help=False, rich_markup_mode=None
)


@app.callback(invoke_without_command=True)
def stock(context: typer.Context, as_json: AsJson = False) -> None:
    """List the stock; with a command, edit it."""
    if context.invoked_subcommand is None:
        list_stock(as_json=as_json)


@app.command("list")
def list_stock(as_json: AsJson = False) -> None:
    """List every stock with its sizes, thickness and kerf."""
    stocks = _book().stocks()
    if as_json:
        emit_json({"stocks": [stock_json(stock) for stock in stocks]})
        return
    for entry in stocks:
        _say_stock(entry)


@app.command("show")
def show(
    name: Annotated[str, typer.Argument(help="Name of the stock.")], as_json: AsJson = False
) -> None:
    """Show one stock."""
    entry = _book().stock(name)
    if as_json:
        emit_json({"stock": stock_json(entry)})
    else:
        _say_stock(entry)


@app.command("add")
def add(
    name: Annotated[str, typer.Argument(help="What the shop calls it.")],
    material: Annotated[str, typer.Option(help="Such as 'birch plywood' or 'cast acrylic'.")],
    thickness: Annotated[str, typer.Option(help="What it is sold as, such as 3 or 1/8in.")],
    sheet: Annotated[list[str], typer.Option(help="Size of a sheet, 600x400; may be repeated.")],
    kerf: Annotated[
        str | None, typer.Option(help="Full kerf; counts as unmeasured until a comb is read.")
    ] = None,
    price: Annotated[float | None, typer.Option(help="Price of a sheet.")] = None,
    grain: Annotated[bool, typer.Option(help="Panels keep the grain along x.")] = False,
    as_json: AsJson = False,
) -> None:
    """Add a stock."""
    from lasernest.domain.safety import Verdict, judge_material
    from lasernest.domain.stock import Kerf, SheetSize, Stock

    sizes = tuple(SheetSize(*size_mm("--sheet", text), price=price) for text in sheet)
    entry = Stock(
        name,
        material,
        length_mm("--thickness", thickness),
        sizes,
        Kerf.same(length_mm("--kerf", kerf) if kerf else 0.2, basis="unmeasured"),
        grain=grain,
    )
    _book().save_stock(entry)
    _tell(entry, as_json)
    verdict = judge_material(f"{material} {name}")
    if verdict.verdict is not Verdict.ALLOWED and not as_json:
        say(f"Caution: {verdict.reason}")


@app.command("edit")
def edit(
    name: Annotated[str, typer.Argument(help="Name of the stock.")],
    measured: Annotated[str | None, typer.Option(help="Measured thickness.")] = None,
    price: Annotated[float | None, typer.Option(help="Price of a sheet.")] = None,
    count: Annotated[int | None, typer.Option(help="Sheets on hand.")] = None,
    sheet: Annotated[
        str | None, typer.Option(help="The size that price and count are for; else all sizes.")
    ] = None,
    speed: Annotated[float | None, typer.Option(help="Cut speed in mm/s.")] = None,
    note: Annotated[str | None, typer.Option(help="A note of your own.")] = None,
    as_json: AsJson = False,
) -> None:
    """Change a stock; what is not named stays."""
    book = _book()
    old = book.stock(name)
    new = old
    if measured is not None:
        new = replace(new, measured_thickness_mm=length_mm("--measured", measured))
    if speed is not None:
        new = replace(new, cut_speed_mm_per_s=speed)
    if note is not None:
        new = replace(new, note=note)
    if price is not None or count is not None:
        new = replace(new, sizes=_changed_sizes(new, sheet, price, count))
    if new == old and new.note == old.note:
        raise UsageError("nothing to change was named", todo="See lasernest stock edit --help.")
    book.save_stock(new, instead_of=old)
    _tell(new, as_json)


@app.command("thickness")
def thickness(
    name: Annotated[str, typer.Argument(help="Name of the stock.")],
    readings: Annotated[
        list[str], typer.Argument(help="Readings, best at eight places: corners and mid-sides.")
    ],
    as_json: AsJson = False,
) -> None:
    """Tell the measured thickness of a stock; its spread goes into joints and fits."""
    from lasernest.cli.output import finding_json, say_finding
    from lasernest.services.tuning import thickness_for_stock

    book = _book()
    old = book.stock(name)
    values_mm = [length_mm("READING", text) for text in readings]
    new, told, findings = thickness_for_stock(old, values_mm)
    book.save_stock(new, instead_of=old)
    if as_json:
        emit_json(
            {
                "stock": stock_json(new),
                "mean_mm": told.mean_mm,
                "spread_mm": told.spread_mm,
                "u_mm": told.u_mm,
                "findings": [finding_json(finding) for finding in findings],
            }
        )
        return
    say(
        f"{new.name}: {told.mean_mm:.3f} mm, mean of {told.count}, "
        f"from {told.low_mm:.2f} to {told.high_mm:.2f}"
    )
    for finding in findings:
        say_finding(finding)


@app.command("export")
def export_table(
    kind: Annotated[str, typer.Argument(help="stock, offcut, machine or record.")],
    out: Annotated[Path, typer.Option(help="The CSV file to write.")],
    as_json: AsJson = False,
) -> None:
    """Write a table of the shop book as CSV."""
    from lasernest.files import write_atomically
    from lasernest.shop.values import MACHINE, OFFCUT, RECORD, STOCK

    kinds = (STOCK, OFFCUT, MACHINE, RECORD)
    if kind not in kinds:
        raise UsageError(f"there is no table of {kind}", todo=f"Use one of {', '.join(kinds)}.")
    content = _book().table(kind)
    write_atomically(out, content)
    rows = max(0, content.count(b"\n") - 1)
    if as_json:
        emit_json({"file": str(out), "rows": rows})
    else:
        say(f"{rows} {'row' if rows == 1 else 'rows'} written to {out}")


@app.command("import")
def import_table(
    table: Annotated[Path, typer.Argument(help="A CSV file as export writes it.")],
    as_json: AsJson = False,
) -> None:
    """Take a CSV table into the shop book; what it does not name stays."""
    taken = _book().take_in(table)
    if as_json:
        emit_json(
            {
                "kind": taken.kind,
                "added": taken.added,
                "changed": taken.changed,
                "same": taken.same,
                "change": taken.change_number,
            }
        )
        return
    say(
        f"{taken.kind}: {taken.added} added, {taken.changed} changed, {taken.same} were there. "
        f"Take it back with: lasernest stock undo {taken.change_number}"
    )


@app.command("remove")
def remove(
    name: Annotated[str, typer.Argument(help="Name of the stock.")], as_json: AsJson = False
) -> None:
    """Take a stock out of the list; its history stays."""
    number = _book().remove_stock(name)
    if as_json:
        emit_json({"removed": name, "change": number})
    else:
        say(f"Removed {name}. Take it back with: lasernest stock undo {number}")


@app.command("undo")
def undo(
    number: Annotated[int, typer.Argument(help="Number of the change, see 'stock changes'.")],
    as_json: AsJson = False,
) -> None:
    """Take back a change of the shop book."""
    change = _book().undo(number)
    if as_json:
        emit_json({"undone": number, "change": change})
    else:
        say(f"Change {number} is taken back.")


@app.command("changes")
def changes(as_json: AsJson = False) -> None:
    """List the latest changes of the shop book, newest first."""
    found = _book().changes()
    if as_json:
        emit_json(
            {"changes": [{"number": c.number, "at": str(c.at), "label": c.label} for c in found]}
        )
        return
    for change in found:
        say(f"{change.number:5}  {change.at}  {change.label}")


def stock_json(stock: Stock) -> dict[str, Any]:
    """A stock in the form that commands print."""
    return {
        "name": stock.name,
        "material": stock.material,
        "thickness_mm": stock.thickness_mm,
        "measured_thickness_mm": stock.measured_thickness_mm,
        "grain": stock.grain,
        "kerf_mm": stock.kerf.mean_mm,
        "kerf_x_mm": stock.kerf.x_mm,
        "kerf_y_mm": stock.kerf.y_mm,
        "kerf_measured": stock.kerf.measured,
        "kerf_basis": stock.kerf.basis,
        "interference_mm": stock.interference_mm,
        "cut_speed_mm_per_s": stock.cut_speed_mm_per_s,
        "sizes": [
            {
                "width_mm": size.width_mm,
                "height_mm": size.height_mm,
                "price": size.price,
                "price_invented": size.price_invented,
                "count": size.count,
            }
            for size in stock.sizes
        ],
        "note": stock.note,
    }


def _say_stock(stock: Stock) -> None:
    kerf = f"kerf {stock.kerf.mean_mm:.3f} mm"
    if stock.kerf.u_mm is not None:
        kerf += f" ± {2 * stock.kerf.u_mm:.3f} ({stock.kerf.basis})"
    else:
        kerf += " (unmeasured)"
    measured = (
        f", measured {stock.measured_thickness_mm:.2f}" if stock.measured_thickness_mm else ""
    )
    grain = ", grain along x" if stock.grain else ""
    say(f"{stock.name}: {stock.material}, {stock.thickness_mm:g} mm{measured}, {kerf}{grain}")
    say("    sheets: " + "; ".join(map(_size_text, stock.sizes)))


def _size_text(size: SheetSize) -> str:
    text = f"{size.width_mm:g} x {size.height_mm:g}"
    if size.price is not None:
        text += f" at {size.price:.2f}" + (" (invented)" if size.price_invented else "")
    if size.count is not None:
        text += f", {size.count} on hand"
    return text


def _changed_sizes(
    stock: Stock, sheet: str | None, price: float | None, count: int | None
) -> tuple[SheetSize, ...]:
    wanted = size_mm("--sheet", sheet) if sheet else None
    if wanted and all((s.width_mm, s.height_mm) != wanted for s in stock.sizes):
        raise UsageError(
            f"{stock.name} does not come in {sheet}",
            todo="Its sizes: " + ", ".join(f"{s.width_mm:g}x{s.height_mm:g}" for s in stock.sizes),
        )
    return tuple(
        replace(
            size,
            price=size.price if price is None else price,
            price_invented=size.price_invented if price is None else False,
            count=size.count if count is None else count,
        )
        if wanted is None or (size.width_mm, size.height_mm) == wanted
        else size
        for size in stock.sizes
    )


def _tell(stock: Stock, as_json: bool) -> None:
    if as_json:
        emit_json({"stock": stock_json(stock)})
    else:
        _say_stock(stock)


def _book() -> ShopBook:
    from lasernest.shop.book import ShopBook

    return ShopBook.open()
