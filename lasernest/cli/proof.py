"""`lasernest proof`: the simulated cut of a file from disk."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from lasernest.cli.output import AsJson, emit_json, length_mm, say, watched


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("proof")(proof)


def proof(
    cut_files: Annotated[list[Path], typer.Argument(help="All cut files of a job.")],
    kerf: Annotated[str, typer.Option(help="Full kerf, such as 0.18.")],
    against: Annotated[
        Path | None, typer.Option(help="The job or drawing whose panels the files should leave.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Sweep the beam along cut files and look at what is left."""
    from lasernest.cli.sheet import proof_json, proof_sentence
    from lasernest.domain.stock import Kerf
    from lasernest.services.main_job import read_inputs
    from lasernest.services.proving import prove_files

    width = Kerf.same(length_mm("--kerf", kerf))
    with watched() as control:
        job = read_inputs([against], control=control) if against else None
        result = prove_files(cut_files, width, against=job, control=control)
    if as_json:
        emit_json(proof_json(result))
    else:
        say(proof_sentence(result))
        for problem in result.problems:
            say(f"  {problem}")
        if against is None:
            say("Proved against its own lines: sizes need --against JOB.")
    if not result.passed:
        raise typer.Exit(1)
