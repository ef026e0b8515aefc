"""Sketches: what a reader has drawn before its curves are fitted and it becomes strokes."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from lasernest.domain.contours import Point
from lasernest.domain.control import Control
from lasernest.domain.drawing import Stroke
from lasernest.geometry.affine import Affine
from lasernest.geometry.curves import Draft, settled, start_of
from lasernest.geometry.mapping import contour_of, map_drafts


class Sketch(NamedTuple):
    """A stroke on its way: its draft, whether it is closed, and the rest of a `Stroke`."""

    draft: Draft
    closed: bool
    layer: str
    colour: str | None
    block: str | None
    kind: str
    placing: Affine | None = None
    """A similarity that the draft, shared with other sketches, is still to be taken through."""


def strokes_of(
    sketches: Sequence[Sketch], *, chord_error_mm: float, control: Control
) -> tuple[list[Stroke], list[tuple[str, Point]]]:
    """Fit the curves of all sketches at once.

    Returns:
        The strokes in order; kind and place of each sketch that is no more than a point.
    """
    drafts = _placed(sketches)
    paths = settled(drafts, chord_error_mm=chord_error_mm, control=control)
    strokes: list[Stroke] = []
    points: list[tuple[str, Point]] = []
    for i, (path, sketch) in enumerate(zip(paths, sketches, strict=True)):
        _, closed, layer, colour, block, kind, _ = sketch
        contour = contour_of(path, closed)
        if contour is None:
            points.append((kind, start_of(drafts[i])))
        else:
            strokes.append(Stroke(contour, layer, colour, block, kind))
    return strokes, points


def _placed(sketches: Sequence[Sketch]) -> list[Draft]:
    """The drafts where they belong."""
    drafts = [sketch.draft for sketch in sketches]
    shared = [i for i, sketch in enumerate(sketches) if sketch.placing is not None]
    if shared:
        affines = [a for a in (sketch.placing for sketch in sketches) if a is not None]
        for i, draft in zip(shared, map_drafts([drafts[i] for i in shared], affines), strict=True):
            drafts[i] = draft
    return drafts
