"""The comb: one small test piece that tells kerf and fit of a sheet.

It carries (path sizes; x right, y up):

- along its lower edge, slots of graded width for the sheet's own thickness;
- along its upper edge, gaps of graded width for the strips as fingers;
- two frames of strips, across x and across y, for the calliper;
- a square plug and its hole;
- engraved labels: what each slot and gap is, and what the comb was drawn for.

The lines of a comb are what the beam's middle follows: strips share their
cuts, and the plug is what falls out of its hole. What should be left of them
by the kerf that is taken for granted goes to the proof, so a comb is proved
like any other cut file. *Uncompensated* combs have lines at round sizes;
*compensated* ones leave round sizes if that kerf is right. The comb itself is
only ever moved, never turned: x and y of its frames are those of the machine.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial
from itertools import pairwise

from lasernest.domain.contours import Bounds, Contour, Point, Pose
from lasernest.domain.cutting import CutPath, PathKind, SheetCut
from lasernest.domain.panels import Mark, MarkKind, Panel
from lasernest.domain.readings import Rung
from lasernest.domain.stock import Kerf
from lasernest.errors import BadValueError
from lasernest.geometry.lettering import Align, lettering, text_width_mm
from lasernest.kerf.widths import drawn_inner_mm, drawn_slot_mm, finished_outer_mm

WIDTH_MM, HEIGHT_MM = 148.0, 98.0
"""Of the path around it; the piece fits 150 x 100 mm."""
MOST_RUNGS, FEWEST_RUNGS = 11, 5
DEPTH_MM = 12.0
"""Of slots and gaps."""
PLUG_MM = 20.0
STRIPS = 10
FINEST_STEP_MM = 0.01
LEAST_THICKNESS_MM, MOST_THICKNESS_MM = 0.5, 12.0
BODY = "comb"

_TEXT_MM = 2.0
_WEB_MM = 5.0
_FRAME_MM = 50.0
_LABEL_MM = 4.5


@dataclass(frozen=True, slots=True)
class CombSpec:
    """What a comb is drawn for."""

    thickness_mm: float
    """Measured."""
    kerf: Kerf
    """Taken for granted, until the comb tells better."""
    interferences_mm: tuple[float, ...]
    """What to try, from loose to tight; where the sheet is too thick for so many
    slots, as many as fit are taken evenly from them."""
    compensated: bool = False
    lines: tuple[str, ...] = ()
    """Written on the piece: stock, date, number of the record."""

    def __post_init__(self) -> None:
        if not LEAST_THICKNESS_MM <= self.thickness_mm <= MOST_THICKNESS_MM:
            raise BadValueError(
                f"there is no comb for a sheet of {self.thickness_mm:g} mm",
                todo=f"Combs are for {LEAST_THICKNESS_MM:g} to {MOST_THICKNESS_MM:g} mm; "
                "for others measure a plug and its hole.",
            )
        steps = self.interferences_mm
        if len(steps) < FEWEST_RUNGS or any(b <= a for a, b in pairwise(steps)):
            raise BadValueError(
                f"a comb needs {FEWEST_RUNGS} different interferences or more, loosest first"
            )


def even_rungs(lowest_mm: float, highest_mm: float) -> tuple[float, ...]:
    """Interferences over a range, at whole hundredths of a millimetre, as many as a comb takes.

    Raises:
        BadValueError: not a range of interference.
    """
    if not (-1.0 <= lowest_mm < highest_mm <= 1.0):
        raise BadValueError(
            f"a comb cannot go from {lowest_mm:g} to {highest_mm:g} mm of interference",
            todo="Give the loosest first, like -0.10:0.20.",
        )
    # A hair less before rounding up: 0.30 / 10 is 0.03, not 0.04.
    steps = math.ceil((highest_mm - lowest_mm) / (MOST_RUNGS - 1) / FINEST_STEP_MM - 1e-6)
    step_mm = steps * FINEST_STEP_MM
    middle_mm = 0.5 * (lowest_mm + highest_mm)
    loosest_mm = round(middle_mm - 0.5 * (MOST_RUNGS - 1) * step_mm, 2)
    return tuple(round(loosest_mm + j * step_mm, 2) for j in range(MOST_RUNGS))


def finer_rungs(low_mm: float, high_mm: float) -> tuple[float, ...]:
    """Interferences around the two borders of one fit, for a second comb.

    Five about each border and one between, for that is where a rung tells most
    (see `lasernest.kerf.fit_model`). Each is best tried twice, with a fresh strip.
    """
    low, high = round(low_mm, 2), round(high_mm, 2)
    wanted = {round(0.5 * (low + high), 2)}
    reach = 0
    # Where the borders are close their rungs are the same: then reach further out.
    while len(wanted) < MOST_RUNGS:
        offset = (reach + 1) // 2 * FINEST_STEP_MM * (-1 if reach % 2 else 1)
        wanted |= {round(low + offset, 2), round(high - offset, 2)}
        reach += 1
    return tuple(sorted(wanted))[:MOST_RUNGS]


@dataclass(frozen=True, slots=True)
class CombRung:
    """One slot or gap of a comb."""

    rung: Rung
    drawn_mm: float
    """Width of its path."""
    finger_mm: float
    """What goes into it: the thickness, or the drawn width of a strip."""
    expected_mm: float
    """Interference if the kerf taken for granted is right."""
    label: str


@dataclass(frozen=True, slots=True)
class Comb:
    """A comb with its lower left path corner at 0, 0."""

    spec: CombSpec
    body: Panel
    """As it is left by the kerf taken for granted; its marks are the labels."""
    loose: tuple[tuple[Panel, int], ...]
    """Strips and plug, with the number of the copy; they share the body's cuts."""
    cuts: tuple[CutPath, ...]
    """In the order of work."""
    slots: tuple[CombRung, ...]
    gaps: tuple[CombRung, ...]
    strips: int
    """In each of the two frames."""
    pitch_mm: float
    """From shared cut to shared cut."""
    frame_x_mm: Bounds
    """Windows as drawn: strips along x, strips along y, plug."""
    frame_y_mm: Bounds
    hole_mm: Bounds

    @property
    def slot_centres_mm(self) -> list[float]:
        """Middles of the slots along the lower edge."""
        return _centres_mm(len(self.slots))

    @property
    def gap_centres_mm(self) -> list[float]:
        """Middles of the gaps along the upper edge."""
        return _centres_mm(len(self.gaps))

    @property
    def panels(self) -> tuple[tuple[Panel, int], ...]:
        """All that is left after cutting, for the proof."""
        return ((self.body, 1), *self.loose)

    def placed(self, at: Point) -> tuple[tuple[Panel, int], ...]:
        """The panels where the comb lies on the sheet."""
        return tuple((panel.posed(Pose(*at)), copy) for panel, copy in self.panels)

    def sheet_cut(
        self, width_mm: float, height_mm: float, *, at: Point, outline: Contour | None = None
    ) -> SheetCut:
        """The cut of a sheet with this comb alone on it, its corner at `at`.

        Raises:
            BadValueError: it would lie over an edge of the sheet.
        """
        x, y = at
        right, top = x + WIDTH_MM, y + HEIGHT_MM
        if not (x > 0 and y > 0 and right < width_mm and top < height_mm):
            raise BadValueError(
                f"the comb does not lie on a sheet of {width_mm:g} x {height_mm:g} mm",
                todo=f"It needs {WIDTH_MM + 2:g} x {HEIGHT_MM + 2:g} mm.",
            )
        pose = Pose(x, y)
        marks = [CutPath(PathKind(mark.kind.value), mark.path, BODY) for mark in self.body.marks]
        paths = tuple(
            CutPath(path.kind, path.path.posed(pose), path.panel_name, path.copy)
            for path in (*marks, *self.cuts)
        )
        return SheetCut(width_mm, height_mm, paths, outline)


def draw_comb(spec: CombSpec) -> Comb:
    """The comb for a sheet.

    Raises:
        BadValueError: a slot or gap would be narrower than the kerf.
    """
    lay = _layout(spec)
    kerf = spec.kerf
    outline = _outline(lay.slots, lay.gaps)
    windows = (lay.frame_x, lay.frame_y, lay.hole)
    body = Panel.of(
        BODY,
        _shifted(outline, -0.5 * kerf.x_mm, -0.5 * kerf.y_mm),
        [window.grown(0.5 * kerf.x_mm, 0.5 * kerf.y_mm) for window in windows],
        [Mark(run, MarkKind.ENGRAVE) for run in _labels(spec, lay)],
    )
    pieces = [
        *(("strip X", copy, strip) for copy, strip in enumerate(lay.strips_x, 1)),
        *(("strip Y", copy, strip) for copy, strip in enumerate(lay.strips_y, 1)),
        ("plug", 1, lay.hole),
    ]
    # A frame's shared cuts come before the window that would set its strips free.
    inner = [
        *(Contour.polyline([(s.x_mm, s.y_mm), (s.x_mm, s.top_mm)]) for s in lay.strips_x[1:]),
        *(Contour.polyline([(s.x_mm, s.y_mm), (s.right_mm, s.y_mm)]) for s in lay.strips_y[1:]),
        *(window.grown(0.0, 0.0).reversed() for window in windows),
    ]
    return Comb(
        spec,
        body,
        tuple(
            (Panel.of(name, piece.grown(-0.5 * kerf.x_mm, -0.5 * kerf.y_mm)), copy)
            for name, copy, piece in pieces
        ),
        (
            *(CutPath(PathKind.CUT_INNER, path, BODY) for path in inner),
            CutPath(PathKind.CUT_OUTER, Contour.polygon(outline), BODY),
        ),
        lay.slots,
        lay.gaps,
        len(lay.strips_x),
        lay.pitch_mm,
        lay.frame_x.bounds_mm,
        lay.frame_y.bounds_mm,
        lay.hole.bounds_mm,
    )


@dataclass(frozen=True, slots=True)
class _Window:
    """A rectangle of the beam's path."""

    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float

    @property
    def right_mm(self) -> float:
        return self.x_mm + self.width_mm

    @property
    def top_mm(self) -> float:
        return self.y_mm + self.height_mm

    @property
    def bounds_mm(self) -> Bounds:
        return (self.x_mm, self.y_mm, self.right_mm, self.top_mm)

    def grown(self, dx_mm: float, dy_mm: float) -> Contour:
        """The ring of it with each side moved out."""
        return Contour.rectangle(
            self.x_mm - dx_mm,
            self.y_mm - dy_mm,
            self.width_mm + 2.0 * dx_mm,
            self.height_mm + 2.0 * dy_mm,
        )


@dataclass(frozen=True, slots=True)
class _Layout:
    """Where everything on a comb lies."""

    slots: tuple[CombRung, ...]
    gaps: tuple[CombRung, ...]
    pitch_mm: float
    frame_x: _Window
    frame_y: _Window
    hole: _Window

    @property
    def strips_x(self) -> list[_Window]:
        f, p = self.frame_x, self.pitch_mm
        return [
            _Window(f.x_mm + j * p, f.y_mm, p, f.height_mm) for j in range(round(f.width_mm / p))
        ]

    @property
    def strips_y(self) -> list[_Window]:
        f, p = self.frame_y, self.pitch_mm
        return [
            _Window(f.x_mm, f.y_mm + j * p, f.width_mm, p) for j in range(round(f.height_mm / p))
        ]


def _layout(spec: CombSpec) -> _Layout:
    t = spec.thickness_mm
    # A strip serves as a finger, and a finger is no narrower than the sheet is thick.
    pitch_mm = max(5.0, math.ceil(t + 1.0))
    frame_mm = pitch_mm * min(STRIPS, int(_FRAME_MM // pitch_mm))
    web_mm = max(_WEB_MM, t)
    floor_mm = DEPTH_MM + web_mm
    along_mm = 40.0 if t <= 6.0 else 30.0
    across_mm = HEIGHT_MM - 2.0 * floor_mm - _LABEL_MM
    frame_x = _Window(web_mm, floor_mm, frame_mm, across_mm)
    frame_y = _Window(frame_x.right_mm + web_mm, floor_mm, along_mm, frame_mm)
    hole = _Window(frame_y.right_mm + web_mm, floor_mm, PLUG_MM, PLUG_MM)
    return _Layout(
        tuple(_rungs(spec, Rung.SLOT, t)),
        tuple(_rungs(spec, Rung.GAP, pitch_mm)),
        pitch_mm,
        frame_x,
        frame_y,
        hole,
    )


def _rungs(spec: CombSpec, rung: Rung, finger_mm: float) -> Iterator[CombRung]:
    """Slots or gaps from loose to tight, as many as the edge has room for."""
    kerf_mm = spec.kerf.x_mm
    web_mm = max(7.0, spec.thickness_mm)
    room = max(FEWEST_RUNGS, int((WIDTH_MM - web_mm) // (finger_mm + web_mm)))
    wanted = spec.interferences_mm
    count = min(room, MOST_RUNGS, len(wanted))
    if rung is Rung.SLOT:
        drawn = partial(drawn_slot_mm, finger_mm, kerf_mm=kerf_mm)
    else:
        left_mm = finished_outer_mm(finger_mm, kerf_mm)
        drawn = partial(_drawn_gap_mm, left_mm, kerf_mm=kerf_mm)
    for j in range(count):
        wanted_mm = wanted[round(j * (len(wanted) - 1) / (count - 1))]
        width_mm = drawn(wanted_mm)
        if not spec.compensated:
            width_mm = round(width_mm, 2)
            wanted_mm += drawn(wanted_mm) - width_mm
        if width_mm <= kerf_mm:
            raise BadValueError(
                f"a {rung.value} of {width_mm:.2f} mm is narrower than the kerf",
                todo="Try less interference, or a thicker sheet.",
            )
        label = f"{100.0 * wanted_mm:+.0f}" if spec.compensated else f"{width_mm:.2f}"
        yield CombRung(rung, width_mm, finger_mm, wanted_mm, label)


def _drawn_gap_mm(finger_mm: float, interference_mm: float, *, kerf_mm: float) -> float:
    return drawn_inner_mm(finger_mm - interference_mm, kerf_mm)


def _centres_mm(count: int) -> list[float]:
    """Middles of slots or gaps along an edge."""
    return [(j + 0.5) * WIDTH_MM / count for j in range(count)]


def _outline(slots: tuple[CombRung, ...], gaps: tuple[CombRung, ...]) -> list[Point]:
    """The path around the comb, anticlockwise, with slots below and gaps above."""
    points: list[Point] = [(0.0, 0.0)]
    for x_mm, slot in zip(_centres_mm(len(slots)), slots, strict=True):
        left, right = x_mm - 0.5 * slot.drawn_mm, x_mm + 0.5 * slot.drawn_mm
        points += [(left, 0.0), (left, DEPTH_MM), (right, DEPTH_MM), (right, 0.0)]
    points += [(WIDTH_MM, 0.0), (WIDTH_MM, HEIGHT_MM)]
    floor_mm = HEIGHT_MM - DEPTH_MM
    for x_mm, gap in reversed(list(zip(_centres_mm(len(gaps)), gaps, strict=True))):
        left, right = x_mm - 0.5 * gap.drawn_mm, x_mm + 0.5 * gap.drawn_mm
        points += [(right, HEIGHT_MM), (right, floor_mm), (left, floor_mm), (left, HEIGHT_MM)]
    return [*points, (0.0, HEIGHT_MM)]


def _shifted(points: list[Point], dx_mm: float, dy_mm: float) -> Contour:
    """An anticlockwise ring of upright and level edges, each moved outward by dx or dy."""
    moved: list[Point] = []
    count = len(points)
    for i, (x, y) in enumerate(points):
        (x0, y0), (x1, y1) = points[i - 1], points[(i + 1) % count]
        # Outward is to the right of the walk: up has it at +x, to the right at -y.
        up = (y - y0) or (y1 - y)
        along = (x - x0) or (x1 - x)
        moved.append((x + math.copysign(1.0, up) * dx_mm, y - math.copysign(1.0, along) * dy_mm))
    return Contour.polygon(moved)


def _labels(spec: CombSpec, lay: _Layout) -> Iterator[Contour]:
    write = partial(lettering, height_mm=_TEXT_MM)
    centre = partial(write, align=Align.CENTRE)
    above_slots_mm = DEPTH_MM + 1.5
    below_gaps_mm = HEIGHT_MM - above_slots_mm - _TEXT_MM
    for rungs, y_mm in ((lay.slots, above_slots_mm), (lay.gaps, below_gaps_mm)):
        for x_mm, rung in zip(_centres_mm(len(rungs)), rungs, strict=True):
            yield from centre(rung.label, at=(x_mm, y_mm))
    for text, window in (
        (f"X {len(lay.strips_x)} STRIPS", lay.frame_x),
        (f"Y {len(lay.strips_y)} STRIPS", lay.frame_y),
        (f"PLUG {PLUG_MM:g}", lay.hole),
    ):
        yield from write(text, at=(window.x_mm, window.top_mm + 1.2))
    kerf = spec.kerf
    width = f"{kerf.x_mm:.3f}" if kerf.is_round else f"{kerf.x_mm:.3f} / {kerf.y_mm:.3f}"
    lines = (
        *spec.lines,
        f"T {spec.thickness_mm:.2f}",
        f"K {width}",
        "COMPENSATED" if spec.compensated else "NOT COMPENSATED",
    )
    # Stacked above the plug, from the label below the gaps down to that of the plug.
    x_mm, room_mm = lay.hole.x_mm, WIDTH_MM - 2.0 - lay.hole.x_mm
    top_mm, floor_mm = below_gaps_mm - 1.5, lay.hole.top_mm + _LABEL_MM
    step_mm = min(1.8 * _TEXT_MM, (top_mm - floor_mm) / len(lines))
    for number, line in enumerate(lines, 1):
        width_mm = text_width_mm(line, height_mm=1.0)
        height_mm = min(_TEXT_MM, 0.7 * step_mm, room_mm / max(width_mm, 1.0))
        yield from lettering(line, height_mm=height_mm, at=(x_mm, top_mm - number * step_mm))
