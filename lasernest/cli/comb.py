"""`lasernest comb`: the cut file of a test comb."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from lasernest.cli.output import AsJson, emit_json, length_mm, say, say_finding, size_mm, watched
from lasernest.errors import UsageError

if TYPE_CHECKING:
    from lasernest.domain.plan import Sheet
    from lasernest.domain.stock import Stock
    from lasernest.kerf.comb import Comb, CombRung


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("comb")(comb)


def comb(
    out: Annotated[Path, typer.Option(help="The cut file to write, such as COMB.dxf.")],
    thickness: Annotated[
        str | None, typer.Option(help="Measured thickness of the sheet, such as 3.05.")
    ] = None,
    kerf_guess: Annotated[
        str | None, typer.Option(help="Full kerf to draw it for; the stock's when not given.")
    ] = None,
    interference: Annotated[
        str | None, typer.Option(help="Range to try, loosest to tightest: LO:HI, like -0.1:0.2.")
    ] = None,
    stock: Annotated[
        str | None, typer.Option(help="Stock of the shop book; its records choose the range.")
    ] = None,
    offcut: Annotated[str | None, typer.Option(help="Label of the offcut to cut it from.")] = None,
    sheet: Annotated[
        str | None, typer.Option(help="Size of the piece to cut it from; 150x100.")
    ] = None,
    compensated: Annotated[
        bool | None, typer.Option(help="Allow for the kerf; a first comb is drawn without.")
    ] = None,
    accept_material: Annotated[
        bool, typer.Option(help="I have read why this material is risky and go on.")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Write a small test piece that tells kerf and fit, and prove its file."""
    from datetime import date

    from lasernest.cli.sheet import proof_json, proof_sentence
    from lasernest.domain.safety import Verdict, judge_material
    from lasernest.kerf.comb import draw_comb
    from lasernest.services.comb_cutting import SMALLEST_SHEET, write_comb
    from lasernest.services.tuning import next_comb, tune
    from lasernest.shop.book import ShopBook

    book = ShopBook.open()
    entry = _stock(stock, thickness, kerf_guess)
    span = _span(interference) if interference else None
    tuning = tune(entry, book.records(entry.name), on=date.today())
    spec = next_comb(entry, tuning, span_mm=span, compensated=compensated)
    if kerf_guess is not None:
        spec = replace(spec, kerf=entry.kerf)
    piece = _piece(offcut, sheet) or SMALLEST_SHEET
    stated = stock is not None
    with watched() as control:
        written = write_comb(
            spec,
            out,
            stock=entry,
            machine=book.machine(),
            control=control,
            sheet=piece,
            material_acknowledged=accept_material or not stated,
        )
    drawn = draw_comb(spec)
    if as_json:
        emit_json(_comb_json(drawn, written.file, piece) | {"proof": proof_json(written.proof)})
    else:
        for finding in tuning.findings if stated else ():
            say_finding(finding, indent="")
        if judge_material(entry.material).verdict is not Verdict.ALLOWED:
            say("The material was not checked: never cut PVC, vinyl or a sheet nobody knows.")
        _say_comb(drawn, written.file)
        say(proof_sentence(written.proof))
        for problem in written.proof.problems:
            say(f"  {problem}")
    if not written.proof.passed:
        raise typer.Exit(1)


def _stock(name: str | None, thickness: str | None, kerf_guess: str | None) -> Stock:
    """The stock to draw for: from the shop book, or just a thickness and a kerf."""
    from lasernest.domain.stock import Kerf, SheetSize
    from lasernest.services.main_job import USUAL_KERF_MM, bare_stock
    from lasernest.shop.book import ShopBook

    kerf = (
        Kerf.same(length_mm("--kerf-guess", kerf_guess), basis="guess")
        if kerf_guess is not None
        else None
    )
    thickness_mm = length_mm("--thickness", thickness) if thickness is not None else None
    if name is not None:
        entry = ShopBook.open().stock(name)
        return replace(
            entry,
            kerf=kerf or entry.kerf,
            measured_thickness_mm=thickness_mm or entry.measured_thickness_mm,
        )
    if thickness_mm is None:
        raise UsageError(
            "the thickness of the sheet is not known",
            todo="Give --thickness T as measured, or --stock NAME.",
        )
    unmeasured = Kerf.same(USUAL_KERF_MM, basis="unmeasured")
    bare = bare_stock(SheetSize(150, 100), kerf or unmeasured)
    return replace(bare, name="comb", thickness_mm=thickness_mm)


def _span(text: str) -> tuple[float, float]:
    parts = text.split(":")
    if len(parts) != 2:
        raise UsageError(f"--interference: '{text}' is not a range", todo="Write it like -0.1:0.2.")
    low_mm, high_mm = (length_mm("--interference", part) for part in parts)
    return low_mm, high_mm


def _piece(offcut: str | None, sheet: str | None) -> Sheet | None:
    from lasernest.domain.plan import Sheet
    from lasernest.shop.book import ShopBook

    if offcut is not None:
        return ShopBook.open().offcut(offcut).sheet(margin_mm=1.0)
    if sheet is not None:
        return Sheet(*size_mm("--sheet", sheet), margin_mm=1.0)
    return None


def _comb_json(comb: Comb, file: Path, piece: Sheet) -> dict[str, Any]:
    return {
        "file": str(file),
        "width_mm": piece.width_mm,
        "height_mm": piece.height_mm,
        "thickness_mm": comb.spec.thickness_mm,
        "kerf_mm": comb.spec.kerf.mean_mm,
        "compensated": comb.spec.compensated,
        "strips": comb.strips,
        "slots": [_rung_json(rung) for rung in comb.slots],
        "gaps": [_rung_json(rung) for rung in comb.gaps],
    }


def _rung_json(rung: CombRung) -> dict[str, Any]:
    return {
        "label": rung.label,
        "drawn_mm": rung.drawn_mm,
        "finger_mm": rung.finger_mm,
        "expected_interference_mm": rung.expected_mm,
    }


def _say_comb(comb: Comb, file: Path) -> None:
    how = "with the kerf allowed for" if comb.spec.compensated else "without allowing for the kerf"
    say(f"comb written to {file}, drawn {how}, kerf taken as {comb.spec.kerf.mean_mm:.3f} mm")
    say("  slots for the sheet's edge: " + ", ".join(rung.label for rung in comb.slots))
    say("  gaps for the strips:        " + ", ".join(rung.label for rung in comb.gaps))
    say(
        f"  frames of {comb.strips} strips: slide the strips to one side and measure the gap g, "
        f"then enter x:frame={comb.strips}:g and y:frame={comb.strips}:g"
    )
