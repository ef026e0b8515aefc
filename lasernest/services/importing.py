"""Bringing a drawing in: read the file, then make panels of its lines."""

from __future__ import annotations

from pathlib import Path

from lasernest.domain.answers import Answers
from lasernest.domain.control import Control
from lasernest.domain.drawing import Outlines
from lasernest.domain.line_uses import LineUses
from lasernest.exchange.registry import read_drawing
from lasernest.geometry.chaining import JOINING_GAP_MM
from lasernest.geometry.curves import CHORD_ERROR_MM
from lasernest.geometry.outlines import outlines_of
from lasernest.units import LengthUnit


def import_drawing(
    path: Path,
    *,
    control: Control,
    unit: LengthUnit | None = None,
    uses: LineUses | None = None,
    answers: Answers | None = None,
    joining_gap_mm: float = JOINING_GAP_MM,
    kerf_mm: float = 0.2,
    chord_error_mm: float = CHORD_ERROR_MM,
) -> Outlines:
    """Read a drawing and make panels of it.

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
