"""Bringing a drawing in: read the file, then make panels of its lines.

What lines are for may have been told before, for a drawing with the same
layers: the shop book remembers it, and a finding says that it was used.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from lasernest.domain.answers import Answers
from lasernest.domain.colour_words import colour_word
from lasernest.domain.control import Control
from lasernest.domain.drawing import Drawing, Outlines
from lasernest.domain.findings import Finding, Severity
from lasernest.domain.import_choices import ImportChoices
from lasernest.domain.line_uses import LineUses, RememberedUses
from lasernest.exchange.registry import read_drawing
from lasernest.files import digest_of
from lasernest.folders import data_folder
from lasernest.geometry.chaining import JOINING_GAP_MM
from lasernest.geometry.curves import CHORD_ERROR_MM
from lasernest.geometry.outlines import outlines_of
from lasernest.shop.book import FILE_NAME, ShopBook
from lasernest.units import LengthUnit

USUAL_KERF_MM = 0.2
"""Taken while nobody knows what the drawing will be cut from.

Source: common practice, no source.
"""


@dataclass(frozen=True, slots=True)
class Imported:
    """A drawing brought in, and how."""

    outlines: Outlines
    digest: str
    """SHA-256 of the file as it was read."""
    choices: ImportChoices
    """What was decided, remembered uses of lines included."""


def bring_in(
    path: Path,
    choices: ImportChoices | None = None,
    *,
    control: Control,
    shop: ShopBook | None = None,
    with_strokes: bool = True,
    kerf_mm: float = USUAL_KERF_MM,
) -> Imported:
    """Read a drawing for a job; uses of lines that the shop book remembers are taken.

    Args:
        path: a DXF or SVG file.
        choices: what the maker decided; remembered uses count only where these have none.
        control: who watches.
        shop: the shop book; None remembers nothing.
        with_strokes: keep the strokes that panels were made of, which are as large
            again and needed only by `remember_uses`.
        kerf_mm: webs and double lines thinner than this are told.

    Raises:
        UnreadableFileError: no such file, no drawing, or a damaged one.
    """
    chosen = choices if choices is not None else ImportChoices()
    # Before the reading: a change meanwhile is noticed later rather than missed.
    digest = digest_of(path)
    drawing = read_drawing(
        path, control=control, unit=chosen.length_unit, chord_error_mm=CHORD_ERROR_MM
    )
    known = _remembered(drawing, shop) if chosen.uses.is_silent else None
    if known is not None:
        chosen = replace(chosen, uses=known.uses)
    outlines = outlines_of(
        drawing, uses=chosen.uses, answers=chosen.answers, kerf_mm=kerf_mm, control=control
    )
    if not with_strokes:
        outlines = replace(outlines, drawing=replace(drawing, strokes=()))
    said = list(_unused_findings(drawing, chosen.uses))
    if known is not None:
        said.append(_remembered_finding(known))
    if said:
        outlines = replace(outlines, findings=(*outlines.findings, *said))
    return Imported(outlines, digest, chosen)


def remember_uses(imported: Imported, shop: ShopBook, *, on: date | None = None) -> None:
    """Keep what the lines of a drawing are for, for the next one with the same layers."""
    drawing = imported.outlines.drawing
    layers = RememberedUses.layers_of(_layers(drawing))
    uses = imported.choices.uses.only_for(layers, _colours(drawing))
    today = on if on is not None else date.today()
    shop.remember_uses(RememberedUses(layers, uses, drawing.path.name, today))


def shop_book_if_any() -> ShopBook | None:
    """The maker's shop book if there is one already; reading a drawing makes none."""
    return ShopBook.open() if (data_folder() / FILE_NAME).exists() else None


def _remembered(drawing: Drawing, shop: ShopBook | None) -> RememberedUses | None:
    if shop is None:
        return None
    found = shop.remembered_uses(_layers(drawing), _colours(drawing))
    return None if found is None or found.uses.is_silent else found


def _layers(drawing: Drawing) -> set[str]:
    return {stroke.layer for stroke in drawing.strokes}


def _colours(drawing: Drawing) -> set[str | None]:
    return {stroke.colour for stroke in drawing.strokes}


def _unused_findings(drawing: Drawing, uses: LineUses) -> Iterator[Finding]:
    """Say which rows of the table speak of nothing in the drawing: mostly slips of typing."""
    layers = _layers(drawing)
    spoken = uses.only_for(layers, _colours(drawing))
    rows = [*uses.layers, *uses.colours]
    heard = {*spoken.layers, *spoken.colours}
    idle = [row[0] for row in rows if row not in heard]
    if idle:
        known = ", ".join(sorted(name or "(none)" for name in layers))
        yield Finding(
            Severity.NOTE,
            "use-without-lines",
            f"No line of the drawing is on {', '.join(idle)}, so what was told of it was not used.",
            count=len(idle),
            todo=f"The drawing's layers are {known}." if known else "",
        )


def _remembered_finding(known: RememberedUses) -> Finding:
    rows = [*known.uses.layers, *known.uses.colours]
    listed = ", ".join(f"{colour_word(name)} = {use.words}" for name, use in rows)
    return Finding(
        Severity.NOTE,
        "uses-remembered",
        f"What lines are for was taken from {known.drawing} of {known.on.isoformat()}, which has "
        f"the same layers: {listed}.",
        count=len(rows),
    )


def import_drawing(
    path: Path,
    *,
    control: Control,
    unit: LengthUnit | None = None,
    uses: LineUses | None = None,
    answers: Answers | None = None,
    joining_gap_mm: float = JOINING_GAP_MM,
    kerf_mm: float = USUAL_KERF_MM,
    chord_error_mm: float = CHORD_ERROR_MM,
) -> Outlines:
    """Read a drawing and make panels of it, every tolerance told; nothing is remembered.

    Args:
        path: a DXF or SVG file.
        control: who watches.
        unit: the unit to take, whatever the file says.
        uses: what lines are for; the preset by layer names where it is silent.
        answers: the maker's answers to the questions that an import asks.
        joining_gap_mm: widest gap between loose ends that is closed.
        kerf_mm: rings thinner than this are asked about.
        chord_error_mm: largest distance between drawn curves and the arcs for them.

    Raises:
        UnreadableFileError: no such file, no drawing, or a damaged one.
    """
    drawing = read_drawing(path, control=control, unit=unit, chord_error_mm=chord_error_mm)
    return outlines_of(
        drawing,
        uses=uses,
        answers=answers,
        joining_gap_mm=joining_gap_mm,
        kerf_mm=kerf_mm,
        chord_error_mm=chord_error_mm,
        control=control,
    )
