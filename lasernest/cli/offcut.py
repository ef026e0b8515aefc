"""`lasernest offcut`: kept remainders in the shop book."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any

import typer

from lasernest.cli.output import AsJson, emit_json, say, size_mm

if TYPE_CHECKING:
    from lasernest.domain.offcuts import Offcut

app = typer.Typer(
    help="List and edit the offcuts in the shop book.",
    no_args_is_help=False,
    rich_markup_mode=None,
)


@app.callback(invoke_without_command=True)
def offcut(context: typer.Context, as_json: AsJson = False) -> None:
    """List the offcuts; with a command, edit them."""
    if context.invoked_subcommand is None:
        list_offcuts(as_json=as_json)


@app.command("list")
def list_offcuts(
    stock: Annotated[str | None, typer.Option(help="Only of this stock.")] = None,
    as_json: AsJson = False,
) -> None:
    """List offcuts with their size."""
    from lasernest.shop.book import ShopBook

    offcuts = ShopBook.open().offcuts(stock)
    if as_json:
        emit_json({"offcuts": [offcut_json(entry) for entry in offcuts]})
        return
    if not offcuts:
        say("No offcut is kept.")
    for entry in offcuts:
        _say(entry)


@app.command("add")
def add(
    stock: Annotated[str, typer.Argument(help="Name of the stock it is of.")],
    size: Annotated[str, typer.Argument(help="Width along the grain x height: 310x180.")],
    label: Annotated[str, typer.Option(help="What stands on the piece; else given.")] = "",
    as_json: AsJson = False,
) -> None:
    """Keep a rectangular offcut."""
    from lasernest.domain.offcuts import Offcut
    from lasernest.shop.book import ShopBook

    book = ShopBook.open()
    width_mm, height_mm = size_mm("SIZE", size)
    name = book.stock(stock).name
    kept = book.add_offcut(Offcut.rectangle(label, name, width_mm, height_mm))
    if as_json:
        emit_json({"offcut": offcut_json(kept)})
    else:
        _say(kept)
        say(f"Write {kept.label} on the piece.")


@app.command("remove")
def remove(
    label: Annotated[str, typer.Argument(help="Label of the offcut.")], as_json: AsJson = False
) -> None:
    """Take an offcut out of the list; its history stays."""
    from lasernest.shop.book import ShopBook

    change = ShopBook.open().remove_offcut(label)
    if as_json:
        emit_json({"removed": label, "change": change})
    else:
        say(f"Removed {label}. Take it back with: lasernest stock undo {change}")


def offcut_json(offcut: Offcut) -> dict[str, Any]:
    """An offcut in the form that commands print."""
    width_mm, height_mm = offcut.size_mm
    return {
        "label": offcut.label,
        "stock": offcut.stock_name,
        "width_mm": width_mm,
        "height_mm": height_mm,
        "area_mm2": offcut.area_mm2,
        "rectangle": offcut.is_rectangle,
        "cut_from": offcut.cut_from,
    }


def _say(offcut: Offcut) -> None:
    width_mm, height_mm = offcut.size_mm
    shape = "" if offcut.is_rectangle else " box, another shape"
    say(f"{offcut.label}: {offcut.stock_name}, {width_mm:g} x {height_mm:g} mm{shape}")
