"""`lasernest template`: panels at full size on paper, to be laid on a bench or a sheet."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from lasernest.cli.drawing_options import AnswersGiven, Unit, Uses, import_choices
from lasernest.cli.output import AsJson, emit_json, say, watched
from lasernest.errors import UsageError


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("template")(template)


def template(
    inputs: Annotated[list[Path], typer.Argument(help="Drawings (DXF, SVG) or one job.")],
    out: Annotated[Path, typer.Option(help="The PDF to write, such as LID.pdf.")],
    paper: Annotated[str, typer.Option(help="A4, A3 or letter.")] = "A4",
    panel: Annotated[
        list[str] | None,
        typer.Option(help="Only this panel; all of them when not given. May be repeated."),
    ] = None,
    sheet: Annotated[
        int | None,
        typer.Option(help="The panels as the job's plan puts them on this sheet.", min=1),
    ] = None,
    unit: Unit = None,
    use: Uses = None,
    answer: AnswersGiven = None,
    as_json: AsJson = False,
) -> None:
    """Write panels at full size as PDF, tiled over the paper, with a 100 mm check line."""
    from lasernest.services.main_job import read_inputs
    from lasernest.services.paper_template import PAPERS, write_template

    size = PAPERS.get(paper.strip().lower())
    if size is None:
        raise UsageError(
            f"--paper: '{paper}' is not known", todo=f"Use {', '.join(sorted(PAPERS))}."
        )
    with watched() as control:
        job = read_inputs(inputs, control=control, choices=import_choices(unit, use, answer))
        made = write_template(job, out, paper=size, panel_names=panel or (), sheet_number=sheet)
    if as_json:
        emit_json(
            {
                "file": str(out),
                "pages": made.pages,
                "paper": size.name,
                "panels": list(made.panel_names),
            }
        )
    else:
        pages = "1 page" if made.pages == 1 else f"{made.pages} pages"
        say(f"{out}: {len(made.panel_names)} panels at full size on {pages} of {size.name}")
        say("Print without scaling, then measure the check line: 100 mm on every page.")
