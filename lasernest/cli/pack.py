"""`lasernest pack`: a nesting benchmark from an instance file to a layout file."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from lasernest.cli.output import AsJson, emit_json, say, watched


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("pack")(pack_instance)


def pack_instance(
    instance: Annotated[Path, typer.Argument(help="Instance in JSON: items of a strip or sheets.")],
    out: Annotated[Path, typer.Option(help="The layout to write.")],
    seconds: Annotated[float, typer.Option(help="Time to search.", min=0)] = 10.0,
    work: Annotated[
        int | None, typer.Option(help="Search this much, whatever the clock says.")
    ] = None,
    workers: Annotated[int, typer.Option(help="Threads to search with.", min=1)] = 1,
    seed: Annotated[int, typer.Option(help="Start of the search.")] = 1,
    as_json: AsJson = False,
) -> None:
    """Pack the items of a benchmark and say how densely."""
    import json

    from lasernest.files import refuse_folder, write_atomically
    from lasernest.nesting.instances import pack, read_instance
    from lasernest.nesting.warming import warm_up

    refuse_folder(out)
    given = read_instance(instance)
    warm_up()  # a first compile takes its time from nobody's search
    with watched() as control:
        layout, summary = pack(
            given,
            seconds=None if work is not None else seconds,
            work=work,
            workers=workers,
            seed=seed,
            control=control,
        )
    write_atomically(out, json.dumps(layout).encode())
    if as_json:
        emit_json(summary)
        return
    say(f"density {summary['density']:.4%}, written to {out}")
    if summary.get("strip_length") is not None:
        say(f"strip length {summary['strip_length']:.6g}")
    say(
        f"{summary['evaluations']} positions weighed in {summary['seconds']:.1f} s, "
        f"{'valid' if summary['valid'] else 'NOT VALID'}"
    )
