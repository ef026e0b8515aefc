"""The SVG reader: what a browser would draw of the geometry, in millimetres, y up.

It owns the walk through the tree: viewports, transforms, styles, references,
layers, and what is said of everything left out. Numbers and path data are read
in `svg_lengths`, `svg_paths` and `svg_shapes`, styles in `svg_style`, the size of a
pixel is decided in `svg_scale`.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from lasernest.domain.contours import Point
from lasernest.domain.control import Control
from lasernest.domain.drawing import Drawing, LayerInfo, Stroke
from lasernest.domain.findings import Finding, Severity, counted
from lasernest.errors import UnreadableFileError, Where
from lasernest.exchange.readers.left_out import filling_findings
from lasernest.exchange.readers.sketches import Sketch, strokes_of
from lasernest.exchange.readers.svg_geometry import root_with_size, with_geometry
from lasernest.exchange.readers.svg_lengths import (
    LengthError,
    parse_length,
    parse_view_box,
    transform_of,
    view_map,
)
from lasernest.exchange.readers.svg_paths import PathDataError, traced
from lasernest.exchange.readers.svg_scale import RootView, root_view, svg_questions, turned_view
from lasernest.exchange.readers.svg_shapes import SHAPES, length_px, runs_of_shape
from lasernest.exchange.readers.svg_style import (
    Rule,
    colour_of,
    inherited,
    is_clear,
    is_painted,
    is_stroked,
    rules_of,
    style_of,
)
from lasernest.exchange.readers.svg_xml import Node, nodes_of, parse_svg
from lasernest.geometry.affine import Affine
from lasernest.geometry.curves import CHORD_ERROR_MM, start_of
from lasernest.geometry.extents import extent_mm
from lasernest.units import LengthUnit

_NEVER_DRAWN = frozenset(
    (
        *("defs", "symbol", "clipPath", "mask", "marker", "pattern", "linearGradient"),
        *("radialGradient", "filter", "style", "script", "title", "desc", "metadata", "font"),
        *("glyph", "missing-glyph", "view", "cursor", "color-profile", "animate", "set"),
        *("animateTransform", "animateMotion", "animateColor", "solidColor", "hatch"),
    )
)
_COUNTED = frozenset(("text", "image", "foreignObject", "flowRoot", "video", "iframe", "canvas"))
_UNNAMED = re.compile(r"(svg|g|group|layer|path|use|surface|svgviewport)?[-_ ]?\d*", re.IGNORECASE)
_DEEPEST_USE = 24
_CORNERS = ((0.0, 0.0), (1.0, 1.0))
_PAGE_WITHIN = 1e-3
"""Of its size, a white rectangle may be smaller than the page: programs round."""
_MOST_STROKES = 500_000
_BIGGEST = 1e15
"""Larger numbers in a transform, with those of shapes, are beyond all arithmetic."""


@dataclass(frozen=True, slots=True)
class _Context:
    """What an element takes over from its surroundings."""

    affine: Affine
    width: float
    height: float
    """The viewport's size in user units, for percentages."""
    style: dict[str, str]
    ancestors: tuple[Node, ...] = ()
    layer: str = ""
    block: str | None = None
    layer_hidden: bool = False
    uses: tuple[str, ...] = ()


def read(
    path: Path,
    data: bytes,
    *,
    control: Control,
    unit: LengthUnit | None = None,
    chord_error_mm: float = CHORD_ERROR_MM,
) -> Drawing:
    """Read an SVG drawing.

    Args:
        path: where the file lies, for messages.
        data: its bytes.
        control: who watches.
        unit: the unit to take, whatever the file says: px, px90 or pt for the
            pixels of the page, another for the drawing's own units.
        chord_error_mm: for Bézier curves and ellipses.

    Raises:
        UnreadableFileError: no SVG drawing, or a damaged one.
    """
    root = parse_svg(path, data)
    rules = rules_of(root)
    style = style_of(root, (), rules)
    try:
        view = root_view(root_with_size(root, style), unit)
        view = turned_view(view, style)
    except LengthError as error:
        raise UnreadableFileError(
            str(error),
            where=Where(file=path, line=root.line),
            todo="Correct the width, height or viewBox of the drawing.",
        ) from error
    reading = _Reading(path, root, view, rules, control, chord_error_mm)
    reading.run()
    findings = (*svg_questions(view, reading.shown_bounds()), *reading.findings())
    version = root.get("version")
    return Drawing(
        path=path,
        format=f"SVG {version}".strip(),
        unit=view.unit,
        mm_per_unit=view.mm_per_user_unit,
        strokes=tuple(reading.strokes),
        layers=tuple(LayerInfo(n, visible) for n, visible in reading.layers.items()),
        findings=findings,
        unit_stated=view.stated,
    )


class _Reading:
    """One walk through the tree."""

    def __init__(
        self,
        path: Path,
        root: Node,
        view: RootView,
        rules: Sequence[Rule],
        control: Control,
        chord_error_mm: float,
    ) -> None:
        self.strokes: list[Stroke] = []
        self._sketches: list[Sketch] = []
        self.layers: dict[str, bool] = {}
        self._path = path
        self._root = root
        self._view = view
        self._control = control
        self._chord_error_mm = chord_error_mm
        self._by_id: dict[str, Node] = {}
        for node in nodes_of(root):
            if "id" in node.attributes:
                self._by_id.setdefault(node.attributes["id"], node)
        self._rules = rules
        self._left_out: dict[str, list[Point]] = {}
        self._troubles: dict[tuple[str, str], list[Point]] = {}
        self._hidden = 0
        self._clipped: list[Point] = []
        self._closed: list[Point] = []
        self._has_backdrop = False
        self._backdrop_at: Point | None = None

    def run(self) -> None:
        view = self._view
        context = _Context(view.affine, view.width, view.height, {})
        own = style_of(self._root, (), self._rules)
        context = replace(context, style=inherited(own, {}))
        if own.get("display") == "none":
            self._hidden += 1
            return
        self._children(self._root, replace(context, ancestors=(self._root,)))
        self._settle()

    def shown_bounds(self) -> tuple[float, float, float, float] | None:
        """Box around what the file shows, in mm."""
        return extent_mm([s.path for s in self.strokes if self.layers.get(s.layer, True)])

    def _children(self, node: Node, context: _Context) -> None:
        for child in node.children:
            self._visit(child, context)
            if node.tag == "switch" and not _is_conditional(child):
                return

    def _visit(self, node: Node, context: _Context) -> None:
        if node.tag in _NEVER_DRAWN or ":" in node.tag or _is_conditional(node):
            return
        self._control.check()
        own = style_of(node, context.ancestors, self._rules)
        is_layer = node.tag == "g" and node.get("editor:groupmode") == "layer"
        hidden_layer = context.layer_hidden
        if own.get("display") == "none" or is_clear(own, "opacity"):
            if not is_layer:
                self._hidden += 1
                return
            hidden_layer = True
        try:
            affine = context.affine.after(transform_of(own, context.width, context.height))
            if not all(-_BIGGEST < number < _BIGGEST for number in affine):
                self._left_out.setdefault(f"{node.tag} too far away", []).append((0.0, 0.0))
                return
            inner = replace(
                context,
                affine=affine,
                style=inherited(own, context.style),
                layer_hidden=hidden_layer,
            )
            inner = self._named(node, inner, is_layer)
            self._enter(node, own, inner)
        except (LengthError, PathDataError) as error:
            label = f" '{node.get('id')}'" if node.get("id") else ""
            raise UnreadableFileError(
                f"the {node.tag}{label} cannot be drawn: {error}",
                where=Where(file=self._path, line=node.line),
                todo="Correct it, or export the drawing again.",
            ) from error

    def _named(self, node: Node, context: _Context, is_layer: bool) -> _Context:
        """Layer and block that a group stands for."""
        if node.tag not in ("g", "a", "svg"):
            return context
        name = node.get("editor:label") or node.get("id")
        if is_layer:
            return replace(context, layer=name or context.layer)
        if not name or _UNNAMED.fullmatch(name):
            return context
        if not context.layer and len(context.ancestors) == 1 and not context.uses:
            return replace(context, layer=name)
        return context if context.block else replace(context, block=name)

    def _enter(self, node: Node, own: dict[str, str], context: _Context) -> None:
        at = context.affine.apply(0.0, 0.0)
        for name in ("clip-path", "mask"):
            if own.get(name, "none") != "none":
                self._clipped.append(at)
        inside = replace(context, ancestors=(*context.ancestors, node))
        node = with_geometry(node, own)
        if node.tag in SHAPES:
            self._shape(node, context)
        elif node.tag in ("g", "a", "switch"):
            self._children(node, inside)
        elif node.tag == "svg":
            self._nested(node, inside, None)
        elif node.tag == "use":
            self._use(node, inside)
        elif node.tag in _COUNTED:
            self._left_out.setdefault(node.tag, []).append(at)
        else:
            self._left_out.setdefault(f"{node.tag} (unknown)", []).append(at)

    def _nested(self, node: Node, context: _Context, use: Node | None) -> None:
        """An inner viewport: a nested svg, or a symbol at its use."""
        x = y = 0.0
        if node.tag == "svg":
            x, y = length_px(node, "x", context.width), length_px(node, "y", context.height)
        sized = use if use is not None else node
        fallback = node if node.tag == "svg" else None
        width = self._viewport_side(sized, fallback, "width", context.width)
        height = self._viewport_side(sized, fallback, "height", context.height)
        affine = context.affine.after(Affine.moving(x, y))
        box = parse_view_box(node.get("viewBox"))
        if width <= 0.0 or height <= 0.0:
            return
        if box is not None:
            affine = affine.after(view_map(box, width, height, node.get("preserveAspectRatio")))
            width, height = box[2], box[3]
        self._children(node, replace(context, affine=affine, width=width, height=height))

    def _viewport_side(self, node: Node, fallback: Node | None, name: str, whole: float) -> float:
        text = node.get(name) or (fallback.get(name) if fallback is not None else "")
        return whole if text in ("", "auto") else parse_length(text).px(whole)

    def _use(self, node: Node, context: _Context) -> None:
        href = node.get("href").strip()
        at = context.affine.apply(0.0, 0.0)
        target = self._by_id.get(href[1:]) if href.startswith("#") else None
        if target is None:
            self._trouble("use-missing", f"A use of '{href[:60]}' points to nothing here", at)
            return
        loops = href in context.uses or any(target is a for a in context.ancestors)
        if loops or len(context.uses) >= _DEEPEST_USE:
            self._trouble("use-of-itself", f"A use of '{href[:60]}' that holds itself", at)
            return
        x = length_px(node, "x", context.width)
        y = length_px(node, "y", context.height)
        moved = replace(
            context,
            affine=context.affine.after(Affine.moving(x, y)),
            uses=(*context.uses, href),
        )
        if target.tag in ("symbol", "svg"):
            own = style_of(target, context.ancestors, self._rules)
            if own.get("display") == "none":
                self._hidden += 1
                return
            named = target.get("id")
            inner = replace(
                moved,
                style=inherited(own, moved.style),
                ancestors=(*moved.ancestors, target),
                block=moved.block or (None if _UNNAMED.fullmatch(named) else named),
            )
            self._nested(with_geometry(target, own), inner, node)
        else:
            self._visit(target, moved)

    def _shape(self, node: Node, context: _Context) -> None:
        runs = runs_of_shape(node, context.width, context.height)
        if not runs:
            return
        style = context.style
        if style.get("visibility", "visible") != "visible" or not is_painted(style):
            self._hidden += 1
            return
        name = context.layer
        self.layers[name] = self.layers.get(name, False) or not context.layer_hidden
        colour = colour_of(style)
        # A filling closes its outline, whether the file does or not.
        filled = not is_stroked(style)
        backdrop = filled and node.tag == "rect" and colour == "#ffffff"
        self._has_backdrop = self._has_backdrop or (backdrop and not self._sketches)
        for run in runs:
            if len(self._sketches) >= _MOST_STROKES:
                raise LengthError(f"the uses unfold to more than {_MOST_STROKES} lines")
            draft = traced(run, context.affine)
            closed = run.closed or filled
            if closed and not run.ends_at_start:
                self._closed.append(start_of(draft))
            self._sketches.append(Sketch(draft, closed, name, colour, context.block, node.tag))

    def _settle(self) -> None:
        """Fit all curves, now that all are known, and make strokes of what was drawn."""
        self.strokes, points = strokes_of(
            self._sketches, chord_error_mm=self._chord_error_mm, control=self._control
        )
        for kind, at in points:
            self._left_out.setdefault(kind, []).append(at)
        self._sketches.clear()
        if self._has_backdrop and len(self.strokes) > 1:
            self._drop_backdrop()

    def _drop_backdrop(self) -> None:
        """Leave out a white rectangle that covers the page; a smaller one is a white part."""
        view = self._view
        box = parse_view_box(self._root.get("viewBox")) or (0.0, 0.0, view.width, view.height)
        page = [view.affine.apply(box[0] + x * box[2], box[1] + y * box[3]) for x, y in _CORNERS]
        x0, y0, x1, y1 = self.strokes[0].path.bounds_mm()
        slack = _PAGE_WITHIN * (x1 - x0 + y1 - y0)
        if all(x0 - slack <= x <= x1 + slack and y0 - slack <= y <= y1 + slack for x, y in page):
            del self.strokes[0]
            self._backdrop_at = (x0, y0)

    def _trouble(self, code: str, message: str, at: Point) -> None:
        self._troubles.setdefault((code, message), []).append(at)

    def findings(self) -> tuple[Finding, ...]:
        """What was left out, and why."""
        found = [
            Finding(
                Severity.NOTE if code == "use-of-itself" else Severity.WARNING,
                code,
                f"{message} was left out.",
                where_mm=places[0],
                count=len(places),
            )
            for (code, message), places in self._troubles.items()
        ]
        texts = self._left_out.get("text", []) + self._left_out.get("flowRoot", [])
        if texts:
            found.append(
                Finding(
                    Severity.WARNING,
                    "text-left-out",
                    counted(len(texts), "text was left out.", "texts were left out."),
                    where_mm=texts[0],
                    count=len(texts),
                    todo="Convert them to paths in the drawing program if they are to be cut.",
                )
            )
        others = {k: v for k, v in self._left_out.items() if k not in ("text", "flowRoot")}
        if others:
            listed = ", ".join(f"{len(v)} {k}" for k, v in sorted(others.items()))
            found.append(
                Finding(
                    Severity.NOTE,
                    "left-out",
                    f"Left out: {listed}.",
                    where_mm=next(iter(others.values()))[0],
                    count=sum(map(len, others.values())),
                )
            )
        if self._clipped:
            found.append(
                Finding(
                    Severity.WARNING,
                    "clip-ignored",
                    counted(
                        len(self._clipped),
                        "clip path or mask was ignored: lines that it hides are there.",
                        "clip paths or masks were ignored: lines that they hide are there.",
                    ),
                    where_mm=self._clipped[0],
                    count=len(self._clipped),
                    todo="Release the clips in the drawing program.",
                )
            )
        found += filling_findings(self._closed, self._backdrop_at)
        if self._hidden:
            found.append(
                Finding(
                    Severity.WARNING,
                    "hidden-left-out",
                    counted(
                        self._hidden,
                        "element that is not shown was left out.",
                        "elements that are not shown were left out.",
                    ),
                    count=self._hidden,
                )
            )
        return tuple(found)


def _is_conditional(node: Node) -> bool:
    """True for elements that are only for viewers with an extension or another language."""
    if node.get("requiredExtensions").strip():
        return True
    language = node.get("systemLanguage").strip().lower()
    return bool(language) and not any(part.strip().startswith("en") for part in language.split(","))
