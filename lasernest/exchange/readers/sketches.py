"""Sketches: what a reader has drawn before its curves are fitted and it becomes strokes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import islice
from typing import NamedTuple, cast

from lasernest.domain.contours import Contour, Point, Vertex
from lasernest.domain.control import Control
from lasernest.domain.drawing import Stroke
from lasernest.geometry.affine import Affine
from lasernest.geometry.copies import Shape, copies_of, drawn_contour, made_of
from lasernest.geometry.curves import Curve, Draft, settled, start_of
from lasernest.geometry.mapping import map_draft

_AS_DRAWN = Affine()


class Sketch(NamedTuple):
    """A stroke on its way: its draft, whether it is closed, and the rest of a `Stroke`."""

    draft: Draft
    closed: bool
    layer: str
    colour: str | None
    block: str | None
    kind: str


class Copied(NamedTuple):
    """Sketches that many places share, and the similarity that takes them to one."""

    sketches: tuple[Sketch, ...]
    placing: Affine


def strokes_of(
    sketches: Sequence[Sketch | Copied], *, chord_error_mm: float, control: Control
) -> tuple[list[Stroke], list[tuple[str, Point]]]:
    """Fit the curves of all sketches at once, and make the copies of those that are shared.

    Returns:
        The strokes in order; of each sketch that is no more than a point, or lies beyond all
        numbers, its kind with what is wrong, and its place.
    """
    flat, placings = _unfolded(sketches)
    contours = _contours_of(sketches, chord_error_mm, control)
    points = [
        _not_drawn(sketch, placing)
        for sketch, placing, contour in zip(flat, placings, contours, strict=True)
        if contour is None
    ]
    if points:
        flat = [s for s, contour in zip(flat, contours, strict=True) if contour is not None]
        contours = [contour for contour in contours if contour is not None]
    _, _, layers, colours, blocks, kinds = zip(*flat, strict=True) if flat else ((),) * 6
    strokes = made_of(Stroke, path=contours, layer=layers, colour=colours, block=blocks, kind=kinds)
    return strokes, points


def _not_drawn(sketch: Sketch, placing: Affine) -> tuple[str, Point]:
    draft = map_draft(sketch.draft, placing)
    parts = [[part] if isinstance(part, Vertex) else part.control for part in draft]
    numbers = [p for part in parts for v in part for p in _numbers_of(v)]
    if not all(map(math.isfinite, numbers)):
        return f"{sketch.kind} too far away", (0.0, 0.0)
    return f"{sketch.kind} without length", start_of(draft)


def _numbers_of(point: Vertex | complex) -> tuple[float, ...]:
    return tuple(point) if isinstance(point, Vertex) else (point.real, point.imag)


def _unfolded(sketches: Sequence[Sketch | Copied]) -> tuple[list[Sketch], list[Affine]]:
    """One sketch for each stroke to be, and what it is taken through."""
    flat: list[Sketch] = []
    placings: list[Affine] = []
    for sketch in sketches:
        if isinstance(sketch, Copied):
            flat += sketch.sketches
            placings += [sketch.placing] * len(sketch.sketches)
        else:
            flat.append(sketch)
            placings.append(_AS_DRAWN)
    return flat, placings


def _contours_of(
    sketches: Sequence[Sketch | Copied], chord_error_mm: float, control: Control
) -> list[Contour | None]:
    """The contour of each stroke to be; None of what is no more than a point."""
    groups: dict[int, int] = {}
    curved: list[tuple[Sketch, ...]] = []
    shapes: list[list[Shape]] = []
    drafts: list[Draft] = []
    copies: list[tuple[int, Affine]] = []
    for sketch in sketches:
        if isinstance(sketch, Sketch):
            drafts.append(sketch.draft)
            continue
        shared, placing = sketch
        group = groups.setdefault(id(shared), len(shapes))
        if group == len(shapes):
            curved.append(tuple(s for s in shared if _has_curves(s)))
            shapes.append([_shape(s) for s in shared if not _has_curves(s)])
        copies.append((group, placing))
        drafts += [map_draft(s.draft, placing) for s in curved[group]]
    copied = iter(copies_of(shapes, copies, control=control))
    paths = iter(settled(drafts, chord_error_mm=chord_error_mm, control=control))
    contours: list[Contour | None] = []
    for sketch in sketches:
        if isinstance(sketch, Sketch):
            contours.append(drawn_contour(next(paths), sketch.closed))
        elif not curved[groups[id(sketch.sketches)]]:
            contours += islice(copied, len(sketch.sketches))
        else:
            contours += [
                drawn_contour(next(paths), s.closed) if _has_curves(s) else next(copied)
                for s in sketch.sketches
            ]
    return contours


def _has_curves(sketch: Sketch) -> bool:
    return Curve in set(map(type, sketch.draft))


def _shape(sketch: Sketch) -> Shape:
    return Shape(cast("list[Vertex]", sketch.draft), sketch.closed)
