"""Sketches: what a reader has drawn before its curves are fitted and it becomes strokes."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from lasernest.domain.contours import Point
from lasernest.domain.control import Control
from lasernest.domain.drawing import Stroke
from lasernest.geometry.curves import Draft, settled, start_of
from lasernest.geometry.mapping import contour_of


class Sketch(NamedTuple):
    """A stroke on its way: its draft, whether it is closed, and the rest of a `Stroke`."""

    draft: Draft
    closed: bool
    layer: str
    colour: str | None
    block: str | None
    kind: str


def strokes_of(
    sketches: Sequence[Sketch], *, chord_error_mm: float, control: Control
) -> tuple[list[Stroke], list[tuple[str, Point]]]:
    """Fit the curves of all sketches at once.

    Returns:
        The strokes in order; kind and place of each sketch that is no more than a point.
    """
    paths = settled([s.draft for s in sketches], chord_error_mm=chord_error_mm, control=control)
    strokes: list[Stroke] = []
    points: list[tuple[str, Point]] = []
    for path, (draft, closed, layer, colour, block, kind) in zip(paths, sketches, strict=True):
        contour = contour_of(path, closed)
        if contour is None:
            points.append((kind, start_of(draft)))
        else:
            strokes.append(Stroke(contour, layer, colour, block, kind))
    return strokes, points
