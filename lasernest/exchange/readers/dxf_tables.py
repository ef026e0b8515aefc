"""Layers and blocks of a DXF file: what the file shows, and where block references stand.

Source: the published DXF reference, "LAYER", "BLOCK" and "INSERT".
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import chain

from ezdxf.colors import aci2rgb
from ezdxf.math import OCS, Matrix44, Vec3

from lasernest.domain.contours import Point
from lasernest.exchange.readers import dxf_entities as entities
from lasernest.exchange.readers.dxf_tags import Groups, Structure, groups_of

_LAYER_GROUPS = frozenset((2, 62, 70, 290, 420))
_BLOCK_GROUPS = frozenset((1, 2, 8, 10, 20, 30, 70))
_XREF = 4 | 8
_MOST_PLACES = 100_000


@dataclass(frozen=True, slots=True)
class Layer:
    """A layer as the file has it."""

    name: str
    colour: str
    off: bool
    frozen: bool
    plotted: bool


@dataclass(slots=True)
class Block:
    """A block: its records, drawn about its base point."""

    name: str
    base: tuple[float, float, float]
    xref: bool
    records: list[int] = field(default_factory=list)


def insert_matrices(groups: Groups, base: tuple[float, float, float]) -> Iterator[Matrix44]:
    """From block to drawing, once per place of the array.

    The block is scaled about its base point, turned about the extrusion, then
    moved; rows and columns are turned but not scaled.
    """
    sx, sy, sz = (entities.real(groups, code, 1.0) for code in (41, 42, 43))
    if sx == 0.0 or sy == 0.0:
        raise entities.CurveError("its scale is zero")
    sz = sz or 1.0
    turn = math.radians(entities.real(groups, 50, 0.0))
    cos, sin = math.cos(turn), math.sin(turn)
    x, y, z = (entities.real(groups, code, 0.0) for code in (10, 20, 30))
    # Where the base point would come to lie, taken off.
    x -= base[0] * sx * cos - base[1] * sy * sin
    y -= base[0] * sx * sin + base[1] * sy * cos
    z -= base[2] * sz
    to_world = None
    if 210 in groups or 230 in groups:
        ocs = OCS(entities.extrusion_of(groups))
        to_world = Matrix44.ucs(Vec3(ocs.ux), Vec3(ocs.uy), Vec3(ocs.uz))
    for dx, dy in _places(groups):
        px, py = x + cos * dx - sin * dy, y + sin * dx + cos * dy
        rows = ((sx * cos, sx * sin, 0, 0), (-sy * sin, sy * cos, 0, 0), (0, 0, sz, 0))
        own = Matrix44((*chain.from_iterable(rows), px, py, z, 1))
        yield own if to_world is None else own * to_world


def _places(groups: Groups) -> Iterator[Point]:
    """How far each place of an array lies from its first, before it is turned."""
    step_x, step_y = entities.real(groups, 44, 0.0), entities.real(groups, 45, 0.0)
    columns = max(1, entities.whole(groups, 70, 1)) if step_x else 1
    rows = max(1, entities.whole(groups, 71, 1)) if step_y else 1
    if rows * columns > _MOST_PLACES:
        raise entities.CurveError(f"its array has {rows} x {columns} places")
    for row in range(rows):
        for column in range(columns):
            yield column * step_x, row * step_y


def layers_of(structure: Structure) -> dict[str, Layer]:
    """The layers by their name in lower case."""
    layers: dict[str, Layer] = {}
    for position in structure.tables:
        if structure.kind(position) != "LAYER":
            continue
        groups = groups_of(structure, position, _LAYER_GROUPS)
        name = entities.text(groups, 2)
        index = entities.whole(groups, 62, 7)
        if 420 in groups:
            colour = f"#{entities.whole(groups, 420) & 0xFFFFFF:06x}"
        else:
            colour = colour_of_index(abs(index))
        frozen = bool(entities.whole(groups, 70) & 1)
        plotted = entities.whole(groups, 290, 1) != 0
        layers.setdefault(name.lower(), Layer(name, colour, index < 0, frozen, plotted))
    return layers


def blocks_of(structure: Structure) -> dict[str, Block]:
    """The blocks by their name in lower case."""
    blocks: dict[str, Block] = {}
    current: Block | None = None
    for position in structure.blocks:
        kind = structure.kind(position)
        if kind == "BLOCK":
            groups = groups_of(structure, position, _BLOCK_GROUPS)
            x, y, z = (entities.real(groups, code, 0.0) for code in (10, 20, 30))
            xref = bool(entities.whole(groups, 70) & _XREF and entities.text(groups, 1))
            current = Block(entities.text(groups, 2), (x, y, z), xref)
            blocks.setdefault(current.name.lower(), current)
        elif kind == "ENDBLK":
            current = None
        elif current is not None:
            current.records.append(position)
    return blocks


def colour_of_index(index: int) -> str:
    """The published colour of an index; 7, white on black and black on white, is black here."""
    if index == 7 or not 1 <= index <= 255:
        return "#000000"
    r, g, b = aci2rgb(index)
    return f"#{r:02x}{g:02x}{b:02x}"
