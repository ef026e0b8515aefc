"""`lasernest inspect`: what a drawing holds, before anything is cut."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from lasernest.cli.cut_options import kerf_of
from lasernest.cli.drawing_options import AnswersGiven, Remember, Unit, Uses, import_choices
from lasernest.cli.output import (
    AsJson,
    emit_json,
    finding_json,
    say,
    say_error,
    say_finding,
    watched,
)
from lasernest.errors import LasernestError

if TYPE_CHECKING:
    from lasernest.domain.contours import Contour
    from lasernest.domain.control import Control
    from lasernest.domain.drawing import Outlines
    from lasernest.domain.import_choices import ImportChoices
    from lasernest.domain.panel_changes import PanelChange
    from lasernest.domain.panels import Panel
    from lasernest.domain.stock import Kerf


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("inspect")(inspect)


def inspect(
    drawings: Annotated[list[Path], typer.Argument(help="DXF or SVG files.")],
    unit: Unit = None,
    use: Uses = None,
    answer: AnswersGiven = None,
    remember: Remember = False,
    against: Annotated[
        Path | None,
        typer.Option(help="An older drawing, or a job: tell what changed since, panel by panel."),
    ] = None,
    kerf: Annotated[
        str | None,
        typer.Option(help="Tell what is narrower than this beam, such as 0.18."),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Show panels, contours, marks and findings of drawings.

    A file that cannot be read is told on stderr, and among the files of --json
    when others could be read.
    """
    from lasernest.services.importing import (
        USUAL_KERF_MM,
        bring_in,
        remember_uses,
        shop_book_if_any,
    )
    from lasernest.shop.book import ShopBook

    choices = import_choices(unit, use, answer)
    beam = kerf_of(kerf, None)
    shop = shop_book_if_any()
    found: list[Outlines] = []
    refused: list[tuple[Path, LasernestError]] = []
    with watched() as control:
        for path in drawings:
            try:
                imported = bring_in(
                    path,
                    choices,
                    control=control,
                    shop=shop,
                    kerf_mm=beam.mean_mm if beam is not None else USUAL_KERF_MM,
                )
                if remember:
                    remember_uses(imported, shop if shop is not None else ShopBook.open())
                found.append(_narrow_told(imported.outlines, beam, control))
            except LasernestError as error:
                refused.append((path, error))
    changes = _changes(found, against, choices) if against is not None else ()
    if as_json and found:
        form = {"files": [*map(outlines_json, found), *_refused_json(refused)]}
        emit_json(form if against is None else form | {"changes": _changes_json(changes)})
    elif not as_json:
        for outlines in found:
            _say_outlines(outlines)
        _say_changes(changes)
    for _path, refusal in refused:
        say_error(refusal)
    if refused:
        raise typer.Exit(1)


def _narrow_told(outlines: Outlines, beam: Kerf | None, control: Control) -> Outlines:
    """The outlines with findings on what the beam does not fit into, where it is known."""
    from lasernest.services.narrow import narrow_findings_each

    if beam is None:
        return outlines
    found = narrow_findings_each([(panel, beam) for panel in outlines.panels], control=control)
    told = (finding for findings in found for finding in findings)
    return replace(outlines, findings=(*outlines.findings, *told))


def _changes(
    found: list[Outlines], against: Path, choices: ImportChoices
) -> tuple[PanelChange, ...]:
    from lasernest.domain.import_choices import ImportChoices
    from lasernest.job import SUFFIX, Job
    from lasernest.services.commands import AddDrawing
    from lasernest.services.main_job import read_inputs
    from lasernest.services.redrawing import changes_since

    as_read = choices if against.suffix.lower() != SUFFIX else ImportChoices()
    with watched() as control:
        old = read_inputs([against], control=control, choices=as_read)
    new = Job()
    for outlines in found:
        new = AddDrawing(outlines).apply(new)
    return changes_since(old, new)


def _changes_json(changes: tuple[PanelChange, ...]) -> list[dict[str, Any]]:
    return [
        {
            "panel": change.name,
            "change": change.change.value,
            "off_mm": change.off_mm if math.isfinite(change.off_mm) else None,
        }
        for change in changes
    ]


def _say_changes(changes: tuple[PanelChange, ...]) -> None:
    from lasernest.domain.panel_changes import said_of

    for change in changes:
        say(f"  {change.name}: {said_of(change)}")


def outlines_json(outlines: Outlines) -> dict[str, Any]:
    """One file in the form of `inspect --json`."""
    drawing = outlines.drawing
    return {
        "path": str(drawing.path),
        "format": drawing.format,
        "unit": drawing.unit,
        "mm_per_unit": drawing.mm_per_unit,
        "panels": [_panel_json(panel) for panel in outlines.panels],
        "open_chains": outlines.open_chains,
        "lines": [
            {"layer": k.layer, "colour": k.colour, "count": k.count, "use": k.use.value}
            for k in outlines.lines
        ],
        "findings": [finding_json(finding) for finding in outlines.findings],
    }


def _refused_json(refused: list[tuple[Path, LasernestError]]) -> list[dict[str, Any]]:
    return [
        {
            "path": str(path),
            "format": None,
            "unit": None,
            "mm_per_unit": None,
            "panels": [],
            "open_chains": 0,
            "findings": [
                {
                    "severity": "error",
                    "code": "refused",
                    "message": error.sentence(on_command_line=True),
                    "where_mm": list(error.where.at_mm) if error.where.at_mm else None,
                    "layer": error.where.layer,
                    "mended": False,
                }
            ],
        }
        for path, error in refused
    ]


def _panel_json(panel: Panel) -> dict[str, Any]:
    return {
        "name": panel.name,
        "outer": _contour_json(panel.outer),
        "inner": [_contour_json(ring) for ring in panel.inner],
        "net_area_mm2": panel.net_area_mm2,
        "bbox_mm": list(panel.bounds_mm()),
        "marks": len(panel.marks),
    }


def _contour_json(contour: Contour) -> dict[str, float]:
    return {"length_mm": contour.length_mm, "area_mm2": contour.area_mm2}


def _say_outlines(outlines: Outlines) -> None:
    drawing = outlines.drawing
    stated = "" if drawing.unit_stated else ", assumed"
    say(f"{drawing.path.name}: {drawing.format}, unit {drawing.unit}{stated}")
    for panel in outlines.panels:
        width_mm, height_mm = panel.size_mm
        say(
            f"  {panel.name}: {width_mm:.2f} x {height_mm:.2f} mm, "
            f"{len(panel.inner)} inner {'contour' if len(panel.inner) == 1 else 'contours'}, "
            f"{len(panel.marks)} {'mark' if len(panel.marks) == 1 else 'marks'}, "
            f"{panel.net_area_mm2 / 100:.2f} cm2"
        )
    if not outlines.panels:
        say("  no panels")
    for finding in outlines.findings:
        say_finding(finding)
