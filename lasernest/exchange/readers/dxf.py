"""The DXF reader: R10 to 2018, text and binary, into strokes in millimetres.

It owns which records become strokes, how blocks are placed, which layers the
file shows, and what is said of everything left out. Damage is refused with
its line (`dxf_tags`), curves are made in `dxf_entities`.

Limits: solids, regions and meshes are not sliced; they are counted as left out.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

from ezdxf.math import Matrix44

from lasernest.domain.contours import Bounds, Point
from lasernest.domain.control import Control
from lasernest.domain.drawing import Drawing, LayerInfo, Stroke
from lasernest.domain.findings import Finding
from lasernest.exchange.readers import dxf_entities as entities
from lasernest.exchange.readers.dxf_tables import (
    Block,
    blocks_of,
    colour_of_index,
    insert_matrices,
    layers_of,
)
from lasernest.exchange.readers.dxf_tags import (
    Groups,
    Structure,
    groups_of,
    read_tags,
    structure_of,
    vertex_bulges,
)
from lasernest.exchange.readers.left_out import (
    clip_findings,
    flat_findings,
    left_out_findings,
    structure_findings,
    trouble_findings,
    unseen_findings,
)
from lasernest.exchange.readers.scale import dxf_scale, scale_findings
from lasernest.exchange.readers.sketches import Copied, Sketch, strokes_of
from lasernest.geometry.affine import Affine
from lasernest.geometry.curves import CHORD_ERROR_MM, Draft, start_of
from lasernest.geometry.extents import extent_mm
from lasernest.units import LengthUnit

_VERSIONS = {
    "AC1006": "R10",
    "AC1009": "R12",
    "AC1012": "R13",
    "AC1014": "R14",
    "AC1015": "R2000",
    "AC1018": "R2004",
    "AC1021": "R2007",
    "AC1024": "R2010",
    "AC1027": "R2013",
    "AC1032": "R2018",
}
_SILENT = frozenset(("SEQEND", "ATTDEF", "VIEWPORT", "VERTEX", "ENDBLK", "ENDSEC"))
_WITH_PLANE = frozenset(("ARC", "CIRCLE", "ELLIPSE", "LWPOLYLINE"))
_PLACE_GROUPS = frozenset((10, 20, 60, 67))
_LEVEL = frozenset(("LINE", "ARC", "CIRCLE", "ELLIPSE", "LWPOLYLINE", "SPLINE"))
"""Kinds whose whole shape is in their own record."""
_HEIGHTS = (30, 31, 32, 33, 38, 210, 220)
_DEEPEST = 24
_MOST_STROKES = 2_000_000


@dataclass(frozen=True, slots=True)
class _Context:
    """What an entity takes over from the block references it stands in."""

    placing: entities.Placing
    layer: str | None = None
    colour: str | None = None
    block: str | None = None
    stack: tuple[str, ...] = ()


class _Part(NamedTuple):
    """An entity that was drawn: where it stands, its kind, whether it is closed.

    `layer` is None for the layer of the reference it stands in; of the colours, index 0
    is that of the reference, and above 255 that of the layer.
    """

    position: int
    kind: str
    closed: bool
    layer: str | None
    rgb: str | None
    colour_index: int


def read(
    path: Path,
    data: bytes,
    *,
    control: Control,
    unit: LengthUnit | None = None,
    chord_error_mm: float = CHORD_ERROR_MM,
) -> Drawing:
    """Read a DXF drawing.

    Args:
        path: where the file lies, for messages.
        data: its bytes.
        control: who watches.
        unit: the unit to take, whatever the file says.
        chord_error_mm: for splines and ellipses.

    Raises:
        UnreadableFileError: no DXF drawing, or a damaged one.
    """
    structure = structure_of(read_tags(path, data))
    version = structure.header.get("$ACADVER", "")
    scale = dxf_scale(structure.header.get("$INSUNITS"), structure.header.get("$MEASUREMENT"), unit)
    reading = _Reading(structure, scale.mm_per_unit, control, chord_error_mm)
    reading.run()
    scale, questions = scale_findings(scale, reading.shown_bounds())
    if scale.mm_per_unit != reading.mm_per_unit:
        reading = _Reading(structure, scale.mm_per_unit, control, chord_error_mm)
        reading.run()
    name = _VERSIONS.get(version, version or "without a version")
    return Drawing(
        path=path,
        format=f"DXF {name}" + (" binary" if structure.tags.binary else ""),
        unit=scale.symbol,
        mm_per_unit=scale.mm_per_unit,
        strokes=tuple(reading.strokes),
        layers=reading.used_layers(),
        findings=(*questions, *reading.findings()),
        unit_stated=scale.stated,
    )


class _Reading:
    """One pass over the records of a file at a given scale."""

    def __init__(
        self, structure: Structure, mm_per_unit: float, control: Control, chord_error_mm: float
    ) -> None:
        self.structure = structure
        self.mm_per_unit = mm_per_unit
        self.strokes: list[Stroke] = []
        self._sketches: list[Sketch | Copied] = []
        self._count = 0
        self._control = control
        self._chord_error_mm = chord_error_mm
        self._layers = layers_of(structure)
        self._blocks = blocks_of(structure)
        self._of_blocks: dict[int, tuple[str, Groups]] = {}
        self._level: dict[int, tuple[_Part, Draft] | None] = {}
        self._each_time: dict[tuple[str, bool], list[int]] = {}
        self._painted: dict[tuple[str | None, ...], tuple[Sketch, ...]] = {}
        self._left_out: dict[str, list[Point]] = {}
        self._troubles: dict[tuple[str, str], list[int]] = {}
        self._lifted: list[Point] = []
        self._tilted: list[Point] = []
        self._hidden = 0
        self._on_paper = 0
        structure.emptied.clear()

    def run(self) -> None:
        scale = self.mm_per_unit
        top = _Context(entities.Placing(Matrix44.scale(scale, scale, scale)))
        total = len(self.structure.entities)
        for done, position in enumerate(self.structure.entities):
            if done % 2000 == 0:
                self._control.check()
                self._control.report(done, total, "Reading the drawing")
            self._add(position, top)
        self._settle()

    def _settle(self) -> None:
        """Fit the curves of all sketches, now that all are known, and make strokes of them."""
        self.strokes, points = strokes_of(
            self._sketches, chord_error_mm=self._chord_error_mm, control=self._control
        )
        for kind, at in points:
            self._leave_out(kind, at)
        self._sketches.clear()

    def shown_bounds(self) -> Bounds | None:
        """Box around everything on layers that are shown, in mm."""
        hidden = {layer.name for layer in self.used_layers() if not layer.visible}
        return extent_mm([s.path for s in self.strokes if s.layer not in hidden])

    def used_layers(self) -> tuple[LayerInfo, ...]:
        infos = []
        for name in dict.fromkeys(s.layer for s in self.strokes):
            layer = self._layers.get(name.lower())
            shown = layer is None or not (layer.off or layer.frozen)
            infos.append(LayerInfo(name, shown, layer is None or layer.plotted))
        return tuple(infos)

    def _add(self, position: int, context: _Context) -> None:
        kind, groups = self._record(position, in_block=bool(context.stack))
        if kind in _SILENT:
            return
        if entities.whole(groups, 67) == 1:
            self._on_paper += 1
            return
        if entities.whole(groups, 60) == 1:
            self._hidden += 1
            return
        if kind not in entities.WANTED:
            self._leave_out(kind, self._place(groups, context))
            return
        try:
            if kind == "INSERT":
                self._insert(position, groups, context)
                return
            path = self._drawn(kind, position, groups, context.placing)
        except entities.MissingGroupError as error:
            raise self.structure.tags.refuse(
                self.structure.starts[position], f"this {kind} is damaged: {error}"
            ) from error
        except entities.EmptyCurveError:
            self._leave_out(f"{kind} without length", self._place(groups, context))
            return
        except entities.CurveError as error:
            self._trouble("curve-unreadable", f"A {kind} cannot be drawn: {error}", position)
            return
        if path is None:
            self._leave_out(f"{kind} mesh", self._place(groups, context))
            return
        if not path.draft:
            self._leave_out(f"{kind} without length", self._place(groups, context))
            return
        self._note_height(kind, groups, path.draft, context.placing)
        self._sketch(self._part(position, kind, groups, path.closed), path.draft, context)

    def _sketch(self, part: _Part, draft: Draft, context: _Context) -> None:
        """Keep what was drawn, with the layer and colour it has in its surroundings."""
        layer, colour = self._paint_in(part, context)
        self._sketches.append(Sketch(draft, part.closed, layer, colour, context.block, part.kind))
        self._check_count(1, part.position)

    def _paint_in(self, part: _Part, context: _Context) -> tuple[str, str | None]:
        layer = context.layer if part.layer is None else part.layer
        layer = "0" if layer is None else layer
        return layer, part.rgb or self._colour(part.colour_index, layer, context)

    def _check_count(self, more: int, position: int) -> None:
        self._count += more
        if self._count > _MOST_STROKES:
            raise self.structure.tags.refuse(
                self.structure.starts[position],
                f"the blocks unfold to more than {_MOST_STROKES} lines",
                "Explode or purge the blocks in the drawing.",
            )

    def _record(self, position: int, *, in_block: bool) -> tuple[str, Groups]:
        """An entity's kind and values; those of blocks are kept, as blocks come many times."""
        known = self._of_blocks.get(position) if in_block else None
        if known is not None:
            return known
        kind = self.structure.kind(position)
        if kind in _SILENT:
            return kind, {}
        groups = groups_of(self.structure, position, entities.WANTED.get(kind, _PLACE_GROUPS))
        if in_block:
            self._of_blocks[position] = (kind, groups)
        return kind, groups

    def _drawn(
        self, kind: str, position: int, groups: Groups, placing: entities.Placing
    ) -> entities.Path2D | None:
        """The path of an entity; None for a mesh."""
        if kind == "LINE":
            return entities.line(groups, placing)
        if kind == "ARC":
            return entities.arc(groups, placing)
        if kind == "CIRCLE":
            return entities.circle(groups, placing)
        if kind == "LWPOLYLINE":
            bulges = vertex_bulges(self.structure, position)
            return entities.light_polyline(groups, placing, bulges)
        if kind == "SPLINE":
            return entities.spline(groups, placing)
        if kind == "ELLIPSE":
            return entities.ellipse(groups, placing)
        if entities.whole(groups, 70) & (entities.MESH | entities.FACES):
            return None
        corners = []
        for follower in self.structure.followers(position, "VERTEX"):
            corners.append(groups_of(self.structure, follower, entities.WANTED["VERTEX"]))
        heights = [entities.real(corner, 30, 0.0) for corner in corners]
        if any(abs(z) > entities.LEVEL_MM for z in heights) and not entities.real(groups, 30, 0.0):
            at = placing.xy(entities.real(corners[0], 10, 0.0), entities.real(corners[0], 20, 0.0))
            self._lifted.append((at.real, at.imag))
        return entities.heavy_polyline(groups, corners, placing)

    def _insert(self, position: int, groups: Groups, context: _Context) -> None:
        name = entities.text(groups, 2)
        block = self._blocks.get(name.lower())
        if block is None:
            self._trouble("block-missing", f"The block '{name}' is not in the file", position)
            return
        if block.xref:
            self._trouble("block-elsewhere", f"The block '{name}' lies in another file", position)
            return
        if block.name in context.stack or len(context.stack) >= _DEEPEST:
            self._trouble("block-in-itself", f"The block '{name}' holds itself", position)
            return
        layer_name = self._own_layer(groups) or context.layer or "0"
        layer = self._layers.get(layer_name.lower())
        if layer is not None and layer.frozen:
            self._hidden += len(block.records)
            return
        rgb, index = _paint(groups)
        named = None if name.startswith("*") else name
        lifted = False
        for matrix in insert_matrices(groups, block.base):
            inner = _Context(
                placing=entities.Placing(matrix * context.placing.matrix),
                layer=layer_name,
                colour=rgb or self._colour(index, layer_name, context),
                block=context.block or named,
                stack=(*context.stack, block.name),
            )
            self._control.check()
            if not inner.placing.is_measurable:
                raise entities.CurveError("it is too far away or too large")
            if inner.placing.lifts_beyond(context.placing) and not lifted:
                lifted = True
                self._lifted.append(self._place(groups, context))
            similar = inner.placing.similarity()
            for record in self._to_add(block, placed_alike=similar is not None):
                self._add(record, inner)
            if similar is not None:
                self._sketch_level(position, block, inner, similar)

    def _to_add(self, block: Block, *, placed_alike: bool) -> list[int]:
        """The records of a block that must be looked at in every place."""
        key = (block.name, placed_alike)
        if key not in self._each_time:
            self._each_time[key] = [
                record
                for record in block.records
                if self.structure.kind(record) not in _SILENT
                and not (placed_alike and self._drawn_level(record))
            ]
        return self._each_time[key]

    def _sketch_level(self, position: int, block: Block, inner: _Context, placing: Affine) -> None:
        """Keep what a block holds that was drawn once for all its places."""
        key = (block.name, inner.layer, inner.colour, inner.block)
        if key not in self._painted:
            level = filter(None, map(self._drawn_level, block.records))
            self._painted[key] = tuple(
                Sketch(draft, part.closed, *self._paint_in(part, inner), inner.block, part.kind)
                for part, draft in level
            )
        shared = self._painted[key]
        if shared:
            self._sketches.append(Copied(shared, placing))
            self._check_count(len(shared), position)

    def _drawn_level(self, position: int) -> tuple[_Part, Draft] | None:
        """A block's entity as drawn in the block: once for all places where it keeps its shape.

        None for what must be looked at in every place: other blocks, what lies at a
        height, and everything of which there is something to tell.
        """
        if position not in self._level:
            self._level[position] = None
            kind, groups = self._record(position, in_block=True)
            hidden = entities.whole(groups, 67) == 1 or entities.whole(groups, 60) == 1
            raised = any(any(groups.get(code, ())) for code in _HEIGHTS)
            if kind in _LEVEL and not (hidden or raised):
                try:
                    path = self._drawn(kind, position, groups, entities.Placing(Matrix44()))
                except entities.CurveError:
                    path = None
                if path is not None and path.draft:
                    part = self._part(position, kind, groups, path.closed)
                    self._level[position] = (part, path.draft)
        return self._level[position]

    def _part(self, position: int, kind: str, groups: Groups, closed: bool) -> _Part:
        rgb, index = _paint(groups)
        return _Part(position, kind, closed, self._own_layer(groups), rgb, index)

    def _own_layer(self, groups: Groups) -> str | None:
        """The layer an entity is on; None for layer 0, in a block that of its reference."""
        name = entities.text(groups, 8, "0") or "0"
        known = self._layers.get(name.lower())
        if name == "0":
            return None
        return name if known is None else known.name

    def _colour(self, index: int, layer: str, context: _Context) -> str | None:
        """The colour behind an index: of the reference, of its own, or of the layer."""
        if index == 0:
            return context.colour
        if 1 <= index <= 255:
            return colour_of_index(index)
        known = self._layers.get(layer.lower())
        return None if known is None else known.colour

    def _note_height(
        self, kind: str, groups: Groups, draft: Draft, placing: entities.Placing
    ) -> None:
        for code in (30, 31, 38):
            if any(z and abs(float(z)) > entities.LEVEL_MM for z in groups.get(code, ())):
                self._lifted.append(start_of(draft))
                break
        if kind in _WITH_PLANE and placing.is_tilted(entities.extrusion_of(groups)):
            self._tilted.append(start_of(draft))

    def _place(self, groups: Groups, context: _Context) -> Point:
        at = context.placing.xy(entities.real(groups, 10, 0.0), entities.real(groups, 20, 0.0))
        return (at.real, at.imag)

    def _leave_out(self, kind: str, at: Point) -> None:
        shown = "".join(c for c in kind[:40] if c.isprintable()) or "without a kind"
        self._left_out.setdefault(shown, []).append(at)

    def _trouble(self, code: str, message: str, position: int) -> None:
        self._troubles.setdefault((code, message), []).append(position)

    def findings(self) -> tuple[Finding, ...]:
        """What was mended, flattened, hidden and left out."""
        tags = self.structure.tags
        found = structure_findings(self.structure)
        found += trouble_findings(
            (code, message, tags.line(self.structure.starts[positions[0]]), len(positions))
            for (code, message), positions in self._troubles.items()
        )
        found += flat_findings(self._lifted, self._tilted)
        found += clip_findings(self.structure.clips)
        found += left_out_findings(self._left_out)
        found += unseen_findings(self._hidden, self._on_paper, alone=not self.strokes)
        return tuple(found)


def _paint(groups: Groups) -> tuple[str | None, int]:
    """The colour an entity states in full, and the index it has."""
    rgb = f"#{entities.whole(groups, 420) & 0xFFFFFF:06x}" if 420 in groups else None
    return rgb, entities.whole(groups, 62, 256)
