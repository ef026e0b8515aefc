"""`lasernest proof`: the simulated cut of a file from disk."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from lasernest.cli.cut_options import (
    KerfAlong,
    KerfWidth,
    MachineName,
    Marks,
    Names,
    Origin,
    Tabs,
    TabsBelow,
    TabsCount,
    chosen_machine,
    cut_choices,
    kerf_of,
)
from lasernest.cli.output import AsJson, emit_json, say, watched
from lasernest.errors import UsageError


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("proof")(proof)


def proof(
    cut_files: Annotated[list[Path], typer.Argument(help="All cut files of a job.")],
    kerf: KerfWidth = None,
    kerf_xy: KerfAlong = None,
    against: Annotated[
        Path | None, typer.Option(help="The job or drawing whose panels the files should leave.")
    ] = None,
    machine: MachineName = None,
    origin: Origin = None,
    marks: Marks = None,
    tabs: Tabs = None,
    tabs_below: TabsBelow = None,
    tabs_count: TabsCount = None,
    names: Names = None,
    as_json: AsJson = False,
) -> None:
    """Sweep the beam along cut files and look at what is left.

    Without --kerf the kerf of the job of --against is taken; of a job with several stocks
    each file is proved for the one whose panels it holds. Give the machine, marks, tabs and
    names that the files were written with; those that the job of --against keeps need not be
    given again. Lead-ins are seen as they are.
    """
    from lasernest.cli.sheet import proof_json, proof_sentence
    from lasernest.domain.cutting import CutChoices
    from lasernest.services.main_job import read_inputs
    from lasernest.services.proving import prove_files

    beam = kerf_of(kerf, kerf_xy)
    with watched() as control:
        job = read_inputs([against], control=control) if against else None
        if beam is None and (job is None or not job.setup.stocks):
            raise UsageError(
                "a proof needs the kerf", todo="Give --kerf 0.18, as the file was cut for."
            )
        choices = cut_choices(
            job.cutting if job is not None else CutChoices(),
            order=None,
            lead_in=None,
            tabs=tabs,
            tabs_below=tabs_below,
            tabs_count=tabs_count,
            names=names,
        )
        kept = job.setup.machine_name if job is not None else None
        cut_on = chosen_machine(machine or kept, origin, marks)
        result = prove_files(
            cut_files,
            beam,
            against=job,
            control=control,
            profile=None if cut_on is None else cut_on.profile,
            choices=choices,
        )
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
