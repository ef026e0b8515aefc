"""Outlines: the strokes of a drawing become panels with holes and marks.

Lines that cut are chained into rings; rings are nested by how many others
hold them: even depth is a panel's outer contour, odd depth a hole in it, so
that a part drawn inside a hole is a panel of its own. Lines that score or
engrave, and open lines, become marks of the panel they lie on.

Limits: rings must not cross each other to be nested; rings that do are said.
Cost: n log n in the rings, from a spatial tree.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from lasernest.domain.contours import Contour
from lasernest.domain.control import Control
from lasernest.domain.drawing import Drawing, LineUse, Outlines, Stroke
from lasernest.domain.findings import Finding, Severity
from lasernest.domain.line_uses import LineUses
from lasernest.domain.panels import Mark, MarkKind, Panel
from lasernest.geometry.chaining import JOINING_GAP_MM, Chain, chain
from lasernest.geometry.flatten import ring_polygon
from lasernest.geometry.naming import panel_names

_NESTING_CHORD_MM = 0.02
SMALLEST_RING_MM2 = 1e-4
"""Rings with less area than a dot of the beam are left out, and said."""

_MARK_KINDS = {LineUse.SCORE: MarkKind.SCORE, LineUse.ENGRAVE: MarkKind.ENGRAVE}


def outlines_of(
    drawing: Drawing,
    *,
    uses: LineUses | None = None,
    joining_gap_mm: float = JOINING_GAP_MM,
    kerf_mm: float = 0.2,
    control: Control,
) -> Outlines:
    """Turn a drawing's strokes into panels.

    Args:
        drawing: as read.
        uses: what lines are for, by layer and colour; the preset where silent.
        joining_gap_mm: widest gap between loose ends that is closed.
        kerf_mm: rings thinner than this are asked about.
        control: who watches.
    """
    uses = uses if uses is not None else LineUses()
    findings: list[Finding] = []
    hidden = {layer.name for layer in drawing.layers if not layer.visible}
    sorted_out: dict[LineUse, list[Stroke]] = {use: [] for use in LineUse}
    unseen = 0
    for stroke in drawing.strokes:
        stated = uses.stated_for(stroke.layer, stroke.colour)
        if stroke.layer in hidden and stated is None:
            unseen += 1
            continue
        sorted_out[stated or uses.use_of(stroke.layer, stroke.colour)].append(stroke)
    if unseen:
        findings.append(_hidden_finding(unseen, len(hidden)))
    findings += _use_findings(sorted_out)
    cut = sorted_out[LineUse.CUT]
    control.report(0, 3, "chaining lines")
    control.check()
    chained = chain([s.path for s in cut], joining_gap_mm=joining_gap_mm)
    if chained.joined:
        findings.append(
            Finding(
                Severity.NOTE,
                "gap-joined",
                f"{len(chained.joined)} gaps of up to {chained.widest_gap_mm:.3g} mm between "
                "line ends were closed.",
                where_mm=chained.joined[0],
                mended=True,
                count=len(chained.joined),
            )
        )
    control.report(1, 3, "nesting contours")
    control.check()
    rings = [c for c in chained.rings if c.path.area_mm2 > SMALLEST_RING_MM2]
    if len(rings) < len(chained.rings):
        small = [c for c in chained.rings if c.path.area_mm2 <= SMALLEST_RING_MM2]
        findings.append(
            Finding(
                Severity.WARNING,
                "ring-too-small",
                f"{len(small)} closed contours without any area to speak of were left out.",
                where_mm=small[0].path.start,
                count=len(small),
            )
        )
    marks = [Mark(c.path) for c in chained.runs]
    for use, kind in _MARK_KINDS.items():
        parts = chain([s.path for s in sorted_out[use]], joining_gap_mm=joining_gap_mm)
        marks += [Mark(c.path, kind) for c in (*parts.rings, *parts.runs)]
    panels, strays = _panels(drawing, rings, cut, marks)
    findings += _run_findings(chained.runs, strays)
    if not panels:
        findings.append(
            Finding(
                Severity.ERROR,
                "no-panels",
                "There is no closed contour to cut in the drawing.",
                todo="Check which layers cut, and close the outlines in the drawing.",
            )
        )
    return Outlines(drawing, panels, len(chained.runs), (*drawing.findings, *findings))


def nesting_parents(rings: Sequence[Contour]) -> list[int | None]:
    """For each ring, the smallest other ring that holds it, or None.

    Rings must not cross. A ring holds another when it is larger and a point
    of the other lies inside it.
    """
    polygons = np.array([ring_polygon(r, chord_error_mm=_NESTING_CHORD_MM) for r in rings])
    areas = np.array([r.area_mm2 for r in rings])
    inner_points = shapely.point_on_surface(shapely.buffer(polygons, 0.0))
    tree = shapely.STRtree(inner_points)
    parents: list[int | None] = [None] * len(rings)
    best = np.full(len(rings), np.inf)
    holders, held = tree.query(polygons, predicate="contains")
    for holder, ring in zip(holders.tolist(), held.tolist(), strict=True):
        closer = areas[ring] < areas[holder] < best[ring]
        if holder != ring and closer and _holds(polygons[holder], polygons[ring]):
            best[ring] = areas[holder]
            parents[ring] = holder
    return parents


def _holds(holder: shapely.Polygon, ring: shapely.Polygon) -> bool:
    x0, y0, x1, y1 = holder.bounds
    a0, b0, a1, b1 = ring.bounds
    slack = _NESTING_CHORD_MM
    return bool(a0 >= x0 - slack and b0 >= y0 - slack and a1 <= x1 + slack and b1 <= y1 + slack)


def _panels(
    drawing: Drawing, rings: list[Chain], strokes: list[Stroke], marks: list[Mark]
) -> tuple[tuple[Panel, ...], list[Mark]]:
    """Panels with their holes and marks, in reading order; and the marks of none."""
    if not rings:
        return (), marks
    paths = [c.path for c in rings]
    parents = nesting_parents(paths)
    depths = [_depth(parents, i) for i in range(len(rings))]
    outers = [i for i, depth in enumerate(depths) if depth % 2 == 0]
    holes: dict[int, list[int]] = {i: [] for i in outers}
    for i, depth in enumerate(depths):
        parent = parents[i]
        if depth % 2 == 1 and parent is not None:
            holes[parent].append(i)
    given, strays = _marks_of(paths, outers, depths, marks)
    names = panel_names(
        drawing.path.stem,
        [paths[i] for i in outers],
        [_shared([strokes[m].block for m in rings[i].members]) for i in outers],
        [_shared([strokes[m].layer for m in rings[i].members]) for i in outers],
    )
    made = [
        (
            names.order[k],
            Panel.of(
                names.names[k],
                paths[i],
                [paths[h] for h in holes[i]],
                given.get(i, []),
                source=drawing.path.name,
            ),
        )
        for k, i in enumerate(outers)
    ]
    return tuple(panel for _, panel in sorted(made, key=lambda m: m[0])), strays


def _shared(values: list[str | None]) -> str | None:
    """The value all of them have, or None."""
    return values[0] if len(set(values)) == 1 else None


def _depth(parents: list[int | None], i: int) -> int:
    depth = 0
    parent = parents[i]
    while parent is not None:
        depth += 1
        parent = parents[parent]
    return depth


def _marks_of(
    paths: list[Contour], outers: list[int], depths: list[int], marks: list[Mark]
) -> tuple[dict[int, list[Mark]], list[Mark]]:
    """Give each mark to the panel whose face it lies on: the deepest outer contour around it."""
    given: dict[int, list[Mark]] = {}
    strays: list[Mark] = []
    if not marks:
        return given, strays
    polygons = [ring_polygon(paths[i], chord_error_mm=_NESTING_CHORD_MM) for i in outers]
    middles = [_middle(mark.path) for mark in marks]
    tree = shapely.STRtree(shapely.points(middles))
    owner: dict[int, int] = {}
    holders, held = tree.query(polygons, predicate="intersects")
    for holder, mark in zip(holders.tolist(), held.tolist(), strict=True):
        i = outers[holder]
        if mark not in owner or depths[i] > depths[owner[mark]]:
            owner[mark] = i
    for k, mark in enumerate(marks):
        if k in owner:
            given.setdefault(owner[k], []).append(mark)
        else:
            strays.append(mark)
    return given, strays


def _middle(path: Contour) -> tuple[float, float]:
    """A point on the path half way along."""
    half = 0.5 * path.length_mm
    for segment in path.segments():
        if segment.length_mm >= half and segment.length_mm > 0.0:
            return segment.point_at(half / segment.length_mm)
        half -= segment.length_mm
    return path.end


def _run_findings(runs: Sequence[Chain], strays: list[Mark]) -> list[Finding]:
    found = []
    if runs:
        found.append(
            Finding(
                Severity.WARNING,
                "open-outline",
                f"{len(runs)} open lines do not close to a contour; they were kept as score "
                "lines and are not cut.",
                where_mm=runs[0].path.start,
                count=len(runs),
                todo="Close them in the drawing, or raise the joining gap, if they should cut.",
            )
        )
    if strays:
        found.append(
            Finding(
                Severity.WARNING,
                "mark-outside",
                f"{len(strays)} open lines or marks lie on no panel and were left out.",
                where_mm=strays[0].path.start,
                count=len(strays),
            )
        )
    return found


def _hidden_finding(count: int, layers: int) -> Finding:
    return Finding(
        Severity.WARNING,
        "hidden-layers",
        f"{count} lines on {layers} hidden layers were left out.",
        count=count,
        todo="Show the layers in the drawing, or give them a use, to import them.",
    )


def _use_findings(sorted_out: dict[LineUse, list[Stroke]]) -> list[Finding]:
    found = []
    for use in (LineUse.SCORE, LineUse.ENGRAVE, LineUse.IGNORE):
        strokes = sorted_out[use]
        for layer in dict.fromkeys(s.layer for s in strokes):
            count = sum(1 for s in strokes if s.layer == layer)
            said = "left out" if use is LineUse.IGNORE else f"taken to {use.value}"
            found.append(
                Finding(
                    Severity.NOTE,
                    "layer-use",
                    f"{count} lines of layer {layer} were {said}.",
                    layer=layer,
                    count=count,
                )
            )
    return found
