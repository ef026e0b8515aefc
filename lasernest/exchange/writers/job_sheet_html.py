"""The job sheet as one HTML file without links: for a screen, a telephone, any printer.

Plans are drawn in SVG, kinds of lines told apart by colour and dashes both,
so that they print in black and white. What makers wrote is escaped.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import jinja2
from markupsafe import Markup

from lasernest.domain.contours import Contour
from lasernest.domain.cutting import PathKind
from lasernest.domain.job_sheet import JobSheet, SheetPicture
from lasernest.exchange.writers.pdf.typeface import Typeface
from lasernest.exchange.writers.plan_labels import place_labels
from lasernest.exchange.writers.square_code import QUIET_CELLS, code_rows, runs
from lasernest.exchange.writers.svg import path_data
from lasernest.files import write_atomically
from lasernest.resources import resource

TEMPLATE = "papers/job_sheet.html"
PLAN_WIDTH_PX = 720.0
NAME_SIZES_PX = (15.0, 12.0, 9.0)
_CLASSES = {
    PathKind.CUT_OUTER: "outer",
    PathKind.CUT_INNER: "inner",
    PathKind.SCORE: "score",
    PathKind.ENGRAVE: "engrave",
}


def write_job_sheet_html(sheet: JobSheet, path: Path) -> None:
    """Write a job sheet.

    Raises:
        UnwritableFileError: the file cannot be written there.
    """
    write_atomically(path, job_sheet_html(sheet).encode())


def job_sheet_html(sheet: JobSheet) -> str:
    """The text of the file; see `write_job_sheet_html`."""
    template = resource(TEMPLATE).read_text("utf-8")
    environment = jinja2.Environment(
        autoescape=True, undefined=jinja2.StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    face = Typeface.strong()
    return environment.from_string(template).render(
        sheet=sheet,
        code=_code_svg(sheet.code_words),
        plans=[_plan(one.picture, face) for one in sheet.sheets],
    )


def _plan(sheet: SheetPicture, face: Typeface) -> dict[str, Any]:
    """A plan as SVG in millimetres, and the key of panels too small for their name."""
    width, height = sheet.cut.width_mm, sheet.cut.height_mm
    scale = PLAN_WIDTH_PX / width
    labels = place_labels(
        sheet.panels,
        scale=scale,
        width_of=face.width,
        cap_share=face.cap_height,
        sizes=NAME_SIZES_PX,
    )
    outline = sheet.cut.outline or Contour.rectangle(0.0, 0.0, width, height)
    pieces = [
        f'<svg viewBox="-1 {-height - 1:.6g} {width + 2:.6g} {height + 2:.6g}" '
        'role="img" aria-label="sheet plan">',
        '<defs><pattern id="kept" width="7" height="7" patternUnits="userSpaceOnUse" '
        'patternTransform="rotate(45)"><path d="M0 0V7" class="hatch"/></pattern></defs>',
        f'<path class="sheet" d="{path_data(outline)}"/>',
        *(f'<path class="sheet" d="{path_data(hole)}"/>' for hole in sheet.holes),
        *(f'<path class="kept" d="{path_data(kept)}"/>' for kept in sheet.kept),
    ]
    for kind, name in _CLASSES.items():
        steps = " ".join(path_data(p.path) for p in sheet.cut.paths if p.kind is kind)
        if steps:
            pieces.append(f'<path class="{name}" d="{steps}"/>')
    for label in labels.placed:
        size = label.size / scale
        pieces.append(
            str(
                Markup('<text x="{x}" y="{y}" font-size="{size}">{text}</text>').format(
                    x=f"{label.x_mm:.2f}",
                    y=f"{-label.y_mm + 0.36 * size:.2f}",
                    size=f"{size:.2f}",
                    text=label.text,
                )
            )
        )
    pieces.append("</svg>")
    kinds = [
        name for kind, name in _CLASSES.items() if any(p.kind is kind for p in sheet.cut.paths)
    ]
    # Everything in it is ours but the names, which are escaped above.
    return {"svg": Markup("\n".join(pieces)), "key": labels.key, "kinds": kinds}


def _code_svg(words: str) -> Markup:
    rows = code_rows(words)
    side = len(rows) + 2 * QUIET_CELLS
    cells = "".join(
        f"M{first + QUIET_CELLS} {i + QUIET_CELLS}h{count}v1h-{count}z"
        for i, row in enumerate(rows)
        for first, count in runs(row)
    )
    return Markup('<svg viewBox="0 0 {0} {0}" class="code"><path d="{1}"/></svg>').format(
        side, cells
    )
