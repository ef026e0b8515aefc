"""`lasernest demo`: a sample job end to end."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from lasernest.cli.output import AsJson, emit_json, say, watched


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("demo")(demo)


def demo(
    out: Annotated[
        Path, typer.Option(help="Folder for the files; made when it is not there.")
    ] = Path("lasernest-demo"),
    seconds: Annotated[float, typer.Option(help="Time to search for a better plan.", min=0)] = 3.0,
    order: Annotated[
        bool, typer.Option("--order", help="Then compare an order of 24 in plywood and acrylic.")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Run the main job on the sample panels and print figures and file names."""
    from lasernest.cli.compare import comparison_json, say_comparison
    from lasernest.cli.sheet import result_json, say_result
    from lasernest.services.demo import run_demo, run_demo_order, run_two_stocks

    comparison, files = None, tuple[Path, ...]()
    with watched() as control:
        result = run_demo(out, control=control, seconds=seconds)
        # A handful of panels: a longer search would find nothing better.
        mixed = run_two_stocks(out, control=control, seconds=min(seconds, 1.0))
        if order:
            comparison, files = run_demo_order(out, result.job, control=control, seconds=seconds)
    if as_json:
        form = result_json(result) | {"job": str(out / "demo.lasernest")}
        form["two_stocks"] = result_json(mixed) | {"job": str(out / "moth-case.lasernest")}
        if comparison is not None:
            form["order"] = comparison_json(comparison) | {"files": [str(path) for path in files]}
        emit_json(form)
        return
    say("Prices, stock and products of the demo are invented.")
    say_result(result)
    say("")
    say("A case of two stocks, walls of plywood and a front of acrylic:")
    say_result(mixed)
    if comparison is not None:
        say("")
        say("An order of 24, at invented prices and rates:")
        say_comparison(comparison)
        for path in files:
            say(f"written: {path}")
    if not (result.passed and mixed.passed):
        raise typer.Exit(1)
