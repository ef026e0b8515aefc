"""`lasernest join`: joints on mating edges of drawn panels, kept in a job."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Annotated

import typer

from lasernest.cli.drawing_options import AnswersGiven, Unit, Uses, import_choices
from lasernest.cli.output import (
    AsJson,
    emit_json,
    finding_json,
    length_mm,
    say,
    say_finding,
    watched,
)
from lasernest.errors import UsageError


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("join")(join)


def join(
    inputs: Annotated[list[Path], typer.Argument(help="Drawings (DXF, SVG) or one job.")],
    out: Annotated[Path, typer.Option(help="The job to write, such as case.lasernest.")],
    joint: Annotated[
        list[str],
        typer.Option(
            help="PANEL@X,Y=PANEL@X,Y[:KIND]: the edges nearest to these points of the drawings; "
            "KIND is finger, slot, nut or lap. May be repeated."
        ),
    ],
    thickness: Annotated[
        str | None, typer.Option(help="Measured thickness of the panels, such as 3.05.")
    ] = None,
    interference: Annotated[
        str | None, typer.Option(help="Finger minus gap after cutting; positive is tight.")
    ] = None,
    edges: Annotated[
        str | None, typer.Option(help="What drawn edges are: outside, inside or centre.")
    ] = None,
    stock: Annotated[
        str | None, typer.Option(help="Stock of the shop book the panels are cut from.")
    ] = None,
    unit: Unit = None,
    use: Uses = None,
    answer: AnswersGiven = None,
    as_json: AsJson = False,
) -> None:
    """Join panels and keep them as a job for `sheet`."""
    from lasernest.domain.joints import EdgeMeaning
    from lasernest.job import SUFFIX, save_job
    from lasernest.services.commands import AddJoint, ChooseStock, SetJointRules
    from lasernest.services.joining import join_job, joint_row, parse_joint, refuse_errors
    from lasernest.services.main_job import read_inputs

    meanings = {meaning.value: meaning for meaning in EdgeMeaning}
    if edges is not None and edges not in meanings:
        raise UsageError(f"--edges: '{edges}' is not known", todo=f"Use {', '.join(meanings)}.")
    with watched() as control:
        job = read_inputs(inputs, control=control, choices=import_choices(unit, use, answer))
    if stock is not None:
        from lasernest.shop.book import ShopBook

        job = ChooseStock(ShopBook.open().stock(stock)).apply(job)
    old = job.joint_rules
    rules = replace(
        old,
        meaning=meanings[edges] if edges else old.meaning,
        meaning_told=old.meaning_told or bool(edges),
        thickness_mm=length_mm("--thickness", thickness) if thickness else old.thickness_mm,
        interference_mm=(
            length_mm("--interference", interference) if interference else old.interference_mm
        ),
    )
    job = SetJointRules(rules).apply(job)
    panels = [entry.panel for entry in job.panels]
    for text in joint:
        job = AddJoint(parse_joint(text, panels)).apply(job)
    joined = join_job(job)
    refuse_errors(joined)
    target = out if out.suffix == SUFFIX else out.with_name(out.name + SUFFIX)
    save_job(job, target)
    rows = [joint_row(laid) for laid in joined.joints]
    findings = (*job.findings, *joined.findings)
    if as_json:
        emit_json(
            {
                "job": str(target),
                "joints": rows,
                "findings": [finding_json(finding) for finding in findings],
            }
        )
        return
    for finding in findings:
        say_finding(finding, indent="")
    for row in rows:
        say(
            f"{row['a']} with {row['b']}: {row['kind']}, {row['fingers']} of "
            f"{row['width_mm']:.2f} mm, {row['depth_mm']:.2f} mm deep, "
            f"interference {row['interference_mm']:+.3f} mm"
        )
    say(f"{len(rows)} {'joint' if len(rows) == 1 else 'joints'} kept in {target}")
