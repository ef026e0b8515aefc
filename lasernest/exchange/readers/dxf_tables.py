"""Layers and blocks of a DXF file: what the file shows, and where block references stand.

Source: the published DXF reference, "LAYER", "BLOCK" and "INSERT".
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field

from ezdxf.colors import aci2rgb
from ezdxf.math import OCS, Matrix44, Vec3

from lasernest.exchange.readers import dxf_entities as entities
from lasernest.exchange.readers.dxf_tags import Groups, Structure, groups_of

_LAYER_GROUPS = frozenset((2, 62, 70, 420))
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
    ocs = OCS(entities.extrusion_of(groups))
    sx, sy, sz = (entities.real(groups, code, 1.0) for code in (41, 42, 43))
    if sx == 0.0 or sy == 0.0:
        raise entities.CurveError("its scale is zero")
    turn = math.radians(entities.real(groups, 50, 0.0))
    own = Matrix44.translate(-base[0], -base[1], -base[2])
    own *= Matrix44.scale(sx, sy, sz or 1.0)
    own *= Matrix44.z_rotate(turn)
    to_world = Matrix44.ucs(Vec3(ocs.ux), Vec3(ocs.uy), Vec3(ocs.uz))
    foot = Vec3(*(entities.real(groups, code, 0.0) for code in (10, 20, 30)))
    columns, rows = max(1, entities.whole(groups, 70, 1)), max(1, entities.whole(groups, 71, 1))
    step_x, step_y = entities.real(groups, 44, 0.0), entities.real(groups, 45, 0.0)
    columns = columns if step_x else 1
    rows = rows if step_y else 1
    if rows * columns > _MOST_PLACES:
        raise entities.CurveError(f"its array has {rows} x {columns} places")
    cos, sin = math.cos(turn), math.sin(turn)
    for row in range(rows):
        for column in range(columns):
            dx, dy = column * step_x, row * step_y
            place = foot + Vec3(cos * dx - sin * dy, sin * dx + cos * dy, 0.0)
            yield own * Matrix44.translate(place.x, place.y, place.z) * to_world


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
        layers.setdefault(name.lower(), Layer(name, colour, index < 0, frozen))
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
