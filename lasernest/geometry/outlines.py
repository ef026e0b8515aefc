"""Outlines: the strokes of a drawing become panels with holes and marks.

Lines that cut are traced into rings (`tracing`); rings are nested by how many
others hold them: even depth is a panel's outer contour, odd depth a hole in
it, so that a part drawn inside a hole is a panel of its own. Lines that score
or engrave, and open lines, become marks of the panel they lie on. Layers that
lie on each other with one part each are read each by itself.

What looks odd is never changed without a word: each mend and each question is
a finding; questions are settled by `Answers`, else by their preset.

Limits: rings that cross each other are said and nested as well as can be.
Cost: n log n in the lines, from spatial trees.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from lasernest.domain.answers import EVERY_LAYER, Answers
from lasernest.domain.contours import Contour, Point
from lasernest.domain.control import Control
from lasernest.domain.drawing import Drawing, LineKind, LineUse, Outlines, Stroke
from lasernest.domain.findings import Finding
from lasernest.domain.line_uses import LineUses
from lasernest.domain.panels import Mark, MarkKind, Panel
from lasernest.geometry import flaw_findings as flaws
from lasernest.geometry import outline_findings as say
from lasernest.geometry.chaining import JOINING_GAP_MM, Chain
from lasernest.geometry.curves import CHORD_ERROR_MM
from lasernest.geometry.extents import measured
from lasernest.geometry.flatten import ring_polygons
from lasernest.geometry.marking import dividing_runs, marks_by_panel, middle_of, open_outlines
from lasernest.geometry.naming import panel_names
from lasernest.geometry.nesting_depth import CHORD_MM, Nest, nested
from lasernest.geometry.ring_review import Review, reviewed
from lasernest.geometry.stacked import stacked_layers
from lasernest.geometry.suspects import crossing_rings, loops_mm2, self_crossings
from lasernest.geometry.tracing import Traced, trace, trace_marks
from lasernest.geometry.webs import thin_webs

SMALLEST_RING_MM2 = 1e-3
"""Rings with less area than a dot of the beam are left out, and said."""

_SMALL_ISLAND_MM = 12.0
_LARGEST_MM = 1e6
"""No drawing of panels has a line longer than this."""
_FARTHEST_MM = 1e12
"""Farther from the origin numbers no longer tell points apart that are one."""

_MARK_KINDS = {LineUse.SCORE: MarkKind.SCORE, LineUse.ENGRAVE: MarkKind.ENGRAVE}


@dataclass(frozen=True, slots=True)
class _Settings:
    answers: Answers
    joining_gap_mm: float
    kerf_mm: float
    chord_error_mm: float


def outlines_of(
    drawing: Drawing,
    *,
    uses: LineUses | None = None,
    answers: Answers | None = None,
    joining_gap_mm: float = JOINING_GAP_MM,
    kerf_mm: float = 0.2,
    chord_error_mm: float = CHORD_ERROR_MM,
    control: Control,
) -> Outlines:
    """Turn a drawing's strokes into panels.

    Args:
        drawing: as read.
        uses: what lines are for, by layer and colour; the preset where silent.
        answers: the maker's answers to questions; presets where silent.
        joining_gap_mm: widest gap between loose ends that is closed.
        kerf_mm: outlines drawn as two lines nearer than this are asked about.
        chord_error_mm: rings nearer to a circle than this are made one.
        control: who watches.
    """
    uses = uses if uses is not None else LineUses()
    answers = answers if answers is not None else Answers()
    joining_gap_mm = max(joining_gap_mm, answers.gaps_mm or 0.0)
    settings = _Settings(answers, joining_gap_mm, kerf_mm, chord_error_mm)
    sorted_out, kinds, findings = _sorted_out(drawing, uses, answers)
    cut = sorted_out[LineUse.CUT]
    colours_told = len(findings)
    marks = _stated_marks(sorted_out, joining_gap_mm, findings)
    groups = _layer_groups(cut, settings)
    panels: list[Panel] = []
    open_chains = 0
    strays: list[Mark] = []
    unclosed: list[Contour] = []
    lines: list[Stroke] = []
    counts: dict[str, int] = {}
    for done, strokes in enumerate(groups):
        control.report(done, len(groups), "Joining lines to outlines")
        control.check()
        stem = drawing.path.stem if len(groups) == 1 else strokes[0].layer
        group = _Group(drawing, stem, strokes, settings)
        own = marks if len(groups) == 1 else [m for m in marks if m[0] == strokes[0].layer]
        made, stray, opened = group.panels([mark for _, mark in own])
        panels += made
        strays += stray
        unclosed += group.unclosed
        lines += group.lines
        open_chains += opened
        findings += group.findings
        counts[strokes[0].layer] = len(made)
    findings[colours_told:colours_told] = _colour_findings(cut, lines, uses, answers)
    if len(groups) > 1:
        findings.append(say.stacked_finding(counts))
    if strays:
        findings.append(say.stray_finding([m.path.start for m in strays]))
    if not panels:
        findings.append(flaws.no_panels_finding())
    return Outlines(
        drawing,
        tuple(_unique(panels)),
        open_chains,
        (*drawing.findings, *findings),
        (*(mark.path for mark in strays), *unclosed),
        kinds,
    )


def _sorted_out(
    drawing: Drawing, uses: LineUses, answers: Answers
) -> tuple[dict[LineUse, list[Stroke]], tuple[LineKind, ...], list[Finding]]:
    """Strokes by use; those on layers that are not wanted or not shown are left out."""
    hidden = {layer.name for layer in drawing.layers if not layer.visible}
    wanted = answers.layers
    named = None
    if wanted is not None and EVERY_LAYER not in wanted:
        named = {name.lower() for name in wanted}
    sorted_out: dict[LineUse, list[Stroke]] = {use: [] for use in LineUse}
    unseen: dict[str, list[Contour]] = {}
    huge: list[Point] = []
    known: dict[tuple[str, str | None], tuple[LineUse | None, LineUse]] = {}
    kinds: dict[tuple[str, str | None], tuple[int, LineUse, bool]] = {}
    for stroke in drawing.strokes:
        if _is_huge(stroke.path):
            huge.append(stroke.path.start)
            continue
        key = (stroke.layer, stroke.colour)
        if key not in known:
            known[key] = (uses.stated_for(*key), uses.use_of(*key))
        stated, use = known[key]
        is_hidden = stroke.layer in hidden and wanted is None and stated is None
        is_wanted = named is None or stroke.layer.lower() in named
        if is_hidden or not is_wanted:
            use = LineUse.IGNORE
        elif stated is None and named is not None and use is LineUse.IGNORE:
            # Asked for by name, so it is not to be ignored.
            use = LineUse.CUT
        count = kinds[key][0] if key in kinds else 0
        kinds[key] = (count + 1, use, is_hidden)
        if is_hidden and is_wanted:
            unseen.setdefault(stroke.layer, []).append(stroke.path)
        elif is_wanted:
            sorted_out[use].append(stroke)
    findings = [flaws.huge_finding(huge, _LARGEST_MM)] if huge else []
    if unseen:
        counts = {
            name: (len(paths), len(nested([c.path for c in _rings_of(paths)]).outers))
            for name, paths in unseen.items()
        }
        findings.append(say.hidden_finding(counts))
    listed = tuple(
        LineKind(layer, colour, count, use, hidden)
        for (layer, colour), (count, use, hidden) in kinds.items()
    )
    findings += say.use_findings(sorted_out)
    return sorted_out, listed, findings + _unplotted_findings(drawing, listed, uses)


def _unplotted_findings(
    drawing: Drawing, lines: Sequence[LineKind], uses: LineUses
) -> list[Finding]:
    """Ask about layers that cut but are never printed, where others are."""
    cut = {line.layer for line in lines if line.use is LineUse.CUT}
    never = [layer.name for layer in drawing.layers if layer.name in cut and not layer.plotted]
    if len(never) == len(cut):
        return []
    return [
        say.unplotted_finding(name, sum(line.count for line in lines if line.layer == name))
        for name in never
        if uses.stated_for(name) is None
    ]


def _is_huge(path: Contour) -> bool:
    """True for a path with a line longer, or an arc of a larger radius, than any drawing has,
    and for one too far away."""
    x0, y0, _ = path.vertices[0]
    if abs(x0) > _FARTHEST_MM or abs(y0) > _FARTHEST_MM:
        return True
    bent = False
    for x, y, bulge in path.vertices:
        if abs(x - x0) > _LARGEST_MM or abs(y - y0) > _LARGEST_MM:
            return True
        bent = bent or bulge != 0.0
    return bent and any(s.length_mm > _LARGEST_MM for s in path.segments())


def _rings_of(paths: Sequence[Contour]) -> Sequence[Chain]:
    """Rings of a layer by itself, to count its parts."""
    return trace(paths, joining_gap_mm=JOINING_GAP_MM).rings


def _colour_findings(
    cut: list[Stroke], lines: list[Stroke], uses: LineUses, answers: Answers
) -> list[Finding]:
    """Ask where lines of one layer that cut have several colours.

    Args:
        cut: what was to cut.
        lines: those of them that enclose nothing and are scored: about them nothing is open.
        uses: what was told already.
        answers: what was answered already.
    """
    if answers.colours is not None:
        return []
    scored = {id(stroke) for stroke in lines}
    by_layer: dict[str, dict[str, int]] = {}
    for stroke in cut:
        if id(stroke) in scored:
            continue
        if stroke.colour is not None and uses.stated_for(stroke.layer, stroke.colour) is None:
            counts = by_layer.setdefault(stroke.layer, {})
            counts[stroke.colour] = counts.get(stroke.colour, 0) + 1
    mixed: dict[str, int] = {}
    for counts in by_layer.values():
        if len(counts) > 1:
            for colour, count in counts.items():
                mixed[colour] = mixed.get(colour, 0) + count
    return [say.colour_finding(mixed)] if mixed else []


def _stated_marks(
    sorted_out: dict[LineUse, list[Stroke]], joining_gap_mm: float, findings: list[Finding]
) -> list[tuple[str, Mark]]:
    """Marks of the layers and colours that score or engrave, each with its layer."""
    marks: list[tuple[str, Mark]] = []
    for use, kind in _MARK_KINDS.items():
        strokes = sorted_out[use]
        traced = trace_marks([s.path for s in strokes], joining_gap_mm=joining_gap_mm)
        findings += say.mend_findings(traced.mends, split=True)
        for c in (*traced.rings, *traced.runs):
            marks.append((strokes[c.members[0]].layer, Mark(c.path, kind)))
    return marks


def _layer_groups(cut: list[Stroke], settings: _Settings) -> list[list[Stroke]]:
    """Strokes that are chained and nested together; more than one group where layers stack."""
    layers = list(dict.fromkeys(s.layer for s in cut))
    if len(layers) < 2:
        return [cut] if cut else []
    by_layer = {name: [s for s in cut if s.layer == name] for name in layers}
    rings: dict[str, Sequence[Contour]] = {
        name: [
            c.path
            for c in trace([s.path for s in strokes], joining_gap_mm=settings.joining_gap_mm).rings
        ]
        for name, strokes in by_layer.items()
    }
    groups = stacked_layers(rings)
    if len(groups) == 1:
        return [cut]
    return [[s for s in cut if s.layer in set(names)] for names in groups]


class _Group:
    """Strokes that are chained and nested together, on their way to panels."""

    def __init__(
        self, drawing: Drawing, stem: str, strokes: list[Stroke], settings: _Settings
    ) -> None:
        self.findings: list[Finding] = []
        self.unclosed: list[Contour] = []
        """Outlines with a gap, which are neither cut nor marked."""
        self.lines: list[Stroke] = []
        """What encloses nothing and is no part of what does."""
        self._cancelled: list[Contour] = []
        self._drawing = drawing
        self._stem = stem
        self._strokes = strokes
        self._settings = settings

    def panels(self, marks: list[Mark]) -> tuple[list[Panel], list[Mark], int]:
        """The panels, the marks that lie on none, and how many open runs there were."""
        answers = self._settings.answers
        traced = trace(
            [s.path for s in self._strokes],
            joining_gap_mm=self._settings.joining_gap_mm,
            split_shared=answers.shared_edges != "mark",
            cut_dividing=answers.dividing_lines == "cut",
        )
        self.findings += say.mend_findings(traced.mends, split=answers.shared_edges != "mark")
        rings = self._sizeable(traced)
        review = reviewed(rings, answers, self._settings.kerf_mm, self._settings.chord_error_mm)
        self.findings += review.findings
        nest = review.nest
        self._find_crossings(nest)
        dividing, lines = self._find_open(traced.runs, nest)
        self.lines = self._lines_only(traced, lines + dividing)
        open_marks = [Mark(path) for path in (*dividing, *lines)]
        given, strays = marks_by_panel(nest, [*open_marks, *marks])
        left_out = {id(mark.path) for mark in strays}
        scored = [path.start for path in lines if id(path) not in left_out]
        if scored:
            self.findings.append(say.open_lines_finding(scored))
        panels = self._made(review, nest, given)
        return panels, strays, len(traced.runs)

    def _lines_only(self, traced: Traced, lines: list[Contour]) -> list[Stroke]:
        found = {id(path) for path in lines}
        members = {m for run in traced.runs if id(run.path) in found for m in run.members}
        used = {m for ring in traced.rings for m in ring.members}
        used |= {m for run in traced.runs if id(run.path) not in found for m in run.members}
        return [self._strokes[m] for m in sorted(members - used)]

    def _sizeable(self, traced: Traced) -> list[Chain]:
        if not traced.rings:
            return []
        areas = np.abs(measured([c.path for c in traced.rings]).areas_mm2).tolist()
        sized = list(zip(traced.rings, areas, strict=True))
        small = [c.path for c, area_mm2 in sized if area_mm2 <= SMALLEST_RING_MM2]
        # Loops walked in opposite directions cancel each other out in a ring's area.
        self._cancelled = [ring for ring in small if loops_mm2(ring) > SMALLEST_RING_MM2]
        empty = [ring.start for ring in small if ring not in self._cancelled]
        if empty:
            self.findings.append(flaws.small_ring_finding(empty))
        return [c for c, area_mm2 in sized if area_mm2 > SMALLEST_RING_MM2]

    def _find_crossings(self, nest: Nest) -> None:
        crossing = crossing_rings(nest)
        itself = self_crossings(nest.rings, nest.polygons)
        cancelled = ring_polygons(self._cancelled, chord_error_mm=CHORD_MM)
        itself += self_crossings(self._cancelled, cancelled)
        for code, found in (("self-crossing", itself), ("contours-cross", crossing)):
            if found:
                self.findings.append(flaws.crossing_finding(code, [c.at for c in found]))
        kerf_mm = self._settings.kerf_mm
        webs = thin_webs(nest, kerf_mm, {(min(c.rings), max(c.rings)) for c in crossing})
        if webs:
            thinnest = min(webs, key=lambda web: web.width_mm)
            self.findings.append(
                flaws.web_finding(len(webs), thinnest.at, thinnest.width_mm, kerf_mm)
            )

    def _find_open(
        self, runs: tuple[Chain, ...], nest: Nest
    ) -> tuple[list[Contour], list[Contour]]:
        """Say which outlines stay open; lines that divide panels, and the other lines."""
        unclosed = open_outlines(runs)
        for outline in unclosed:
            self.unclosed += [runs[k].path for k in outline.runs]
            layer = self._strokes[runs[outline.runs[0]].members[0]].layer
            self.findings.append(
                flaws.gap_finding(outline.at, outline.gap_mm, layer, gaps=outline.gaps)
            )
        gone = {k for outline in unclosed for k in outline.runs}
        others = [run for k, run in enumerate(runs) if k not in gone]
        which = dividing_runs(others, nest, self._settings.joining_gap_mm)
        dividing = [others[k].path for k in which]
        if dividing:
            self.findings.append(
                say.dividing_finding([middle_of(path) for path in dividing], cut=False)
            )
        return dividing, [run.path for k, run in enumerate(others) if k not in which]

    def _made(self, review: Review, nest: Nest, given: dict[int, list[Mark]]) -> list[Panel]:
        """Panels in reading order, named."""
        outers = nest.outers
        if not outers:
            return []
        members = [[self._strokes[m] for m in review.rings[i].members] for i in outers]
        names = panel_names(
            self._stem,
            [nest.rings[i] for i in outers],
            [_shared([s.block for s in strokes]) for strokes in members],
            [_shared([s.layer for s in strokes]) for strokes in members],
        )
        placed = sorted(range(len(outers)), key=names.order.__getitem__)
        panels = [
            Panel.of(
                names.names[k],
                nest.rings[outers[k]],
                [nest.rings[h] for h in nest.children(outers[k])],
                given.get(outers[k], []),
                source=self._drawing.path.name,
            )
            for k in placed
        ]
        islands = [
            (panel.name, panel.outer.start)
            for k, panel in zip(placed, panels, strict=True)
            if nest.depths[outers[k]] >= 2 and max(panel.size_mm) <= _SMALL_ISLAND_MM
        ]
        if islands:
            self.findings.append(flaws.island_finding([n for n, _ in islands], islands[0][1]))
        return panels


def _shared(values: list[str | None]) -> str | None:
    """The value all of them have, or None."""
    return values[0] if len(set(values)) == 1 else None


def _unique(panels: list[Panel]) -> list[Panel]:
    """Panels of stacked layers may come to the same name; the later one gets a number."""
    taken: set[str] = set()
    unique: list[Panel] = []
    for panel in panels:
        name, number = panel.name, 2
        while name.lower() in taken:
            name, number = f"{panel.name}-{number}", number + 1
        taken.add(name.lower())
        unique.append(
            panel
            if name == panel.name
            else Panel(name, panel.outer, panel.inner, panel.marks, panel.source)
        )
    return unique
