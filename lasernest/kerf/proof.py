"""The proof: cut the written file in simulation and look at what is left.

Takes what was read back from disk, never what was meant to be written. A disc
of the kerf's width is swept along every cut line (`leftovers`); each piece is
then held against the panel that should lie there:

- *found*: one piece, loose from the sheet, that is this panel and no other;
- *deviation*: the largest distance between the edges of piece and drawing,
  looked for from both sides, inner corners as a round beam leaves them;
- inner corners keep half the kerf as their radius: reported, not an error.

Everything else that would spoil a sheet is a problem in words: panels that
were not parted, extra pieces, open or doubled cut lines, marks that are
missing or became cuts, lines off the sheet.

Accuracy: 0.001 mm (chords 0.0005, beam 0.0001), so a tolerance of 0.005 mm is
meant.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import shapely
from shapely.geometry.base import BaseGeometry

from lasernest.domain.contours import Contour, Point
from lasernest.domain.cutting import HoldingTabs, PanelProof, PathKind, Proof
from lasernest.domain.panels import Panel
from lasernest.domain.stock import Kerf
from lasernest.geometry.flatten import all_points, polygon, ring_polygon
from lasernest.kerf.corners import BeamLimits
from lasernest.kerf.deviation import Deviation, deviations
from lasernest.kerf.leftovers import CHORD_ERROR_MM, Piece, leftovers
from lasernest.kerf.line_checks import line_problems, mark_problems
from lasernest.kerf.tabs import Bridge, bridged, tab_notes
from lasernest.units import format_mm

TOLERANCE_MM = 0.005
LONGEST_MITRE = 4.0
"""Where a path runs past a sharp corner, in half kerfs; longer points are cut off."""


@dataclass(frozen=True, slots=True)
class ProvedSheet:
    """A proof with the finished panels it looked at."""

    proof: Proof
    finished: tuple[tuple[str, int, shapely.Polygon], ...]
    """Panel name, copy and what the beam leaves of it, in sheet coordinates."""


def prove(
    paths: Sequence[tuple[PathKind, Contour]],
    *,
    width_mm: float,
    height_mm: float,
    expected: Sequence[tuple[Panel, int]],
    kerf: Kerf,
    outline: Contour | None = None,
    tabs: HoldingTabs | None = None,
    tolerance_mm: float = TOLERANCE_MM,
) -> Proof:
    """Prove one sheet; see `prove_sheet`."""
    return prove_sheet(
        paths,
        width_mm=width_mm,
        height_mm=height_mm,
        expected=expected,
        kerf=kerf,
        outline=outline,
        tabs=tabs,
        tolerance_mm=tolerance_mm,
    ).proof


def prove_sheet(
    paths: Sequence[tuple[PathKind, Contour]],
    *,
    width_mm: float,
    height_mm: float,
    expected: Sequence[tuple[Panel, int]],
    kerf: Kerf,
    outline: Contour | None = None,
    tabs: HoldingTabs | None = None,
    tolerance_mm: float = TOLERANCE_MM,
) -> ProvedSheet:
    """Simulate the cut of one sheet and hold what is left against the drawn panels.

    Args:
        paths: what a reader found in the cut file, in sheet coordinates.
        width_mm: of the sheet.
        height_mm: of the sheet.
        expected: the panels as they should lie on the sheet, with their copy.
        kerf: full width of the beam.
        outline: the sheet's shape where it is not a full rectangle.
        tabs: what holds small panels; their gaps in the lines are then known,
            and panels are judged as they are once the tabs are broken.
        tolerance_mm: largest deviation that passes.
    """
    shape = outline or Contour.rectangle(0.0, 0.0, width_mm, height_mm)
    sheet = ring_polygon(shape, chord_error_mm=CHORD_ERROR_MM)
    cuts = [contour for kind, contour in paths if kind.is_cut]
    bridges: list[Bridge] = []
    if tabs is not None:
        cuts, bridges = bridged(cuts, tabs, kerf)
    left = leftovers(cuts, sheet, kerf)
    problems = line_problems(cuts, left.touching, sheet, kerf)
    problems += mark_problems(paths, [panel for panel, _ in expected], tolerance_mm)
    judged, held = _judge(left.pieces, expected, kerf, tolerance_mm)
    for verdict in judged:
        problems += verdict.problems
    if tabs is not None:
        held_by, tab_problems = tab_notes(
            bridges, [panel for panel, _ in expected], tabs, tolerance_mm
        )
        problems += tab_problems
        judged = [
            replace(v, proof=replace(v.proof, note="; ".join(filter(None, (v.proof.note, note)))))
            for v, note in zip(judged, held_by, strict=True)
        ]
    kerf_mm = max(kerf.x_mm, kerf.y_mm)
    problems += _strangers(left.pieces, held, [panel for panel, _ in expected], kerf_mm)
    found = [verdict.proof for verdict in judged if verdict.proof.found]
    proof = Proof(
        passed=bool(expected) and len(found) == len(expected) and not problems,
        panels_expected=len(expected),
        panels_found=len(found),
        max_deviation_mm=max((p.deviation_mm for p in found), default=0.0),
        tolerance_mm=tolerance_mm,
        panels=tuple(verdict.proof for verdict in judged),
        problems=tuple(problems) if expected else ("There is no panel to be proved.", *problems),
    )
    return ProvedSheet(
        proof,
        tuple(
            (verdict.proof.panel_name, verdict.proof.copy, verdict.piece.shape)
            for verdict in judged
            if verdict.piece is not None and verdict.proof.found
        ),
    )


@dataclass(frozen=True, slots=True)
class _Verdict:
    proof: PanelProof
    problems: list[str]
    piece: Piece | None


def _judge(
    pieces: Sequence[Piece],
    expected: Sequence[tuple[Panel, int]],
    kerf: Kerf,
    tolerance_mm: float,
) -> tuple[list[_Verdict], set[int]]:
    """A verdict for each expected panel, and the numbers of the pieces that hold one."""
    drawn = [polygon(panel, chord_error_mm=CHORD_ERROR_MM) for panel, _ in expected]
    if not drawn:
        return [], set()
    places = shapely.point_on_surface(drawn)
    inside, holder = shapely.STRtree([p.shape for p in pieces]).query(places, predicate="within")
    piece_of = dict(zip(inside.tolist(), holder.tolist(), strict=True))
    tenants: dict[int, list[int]] = {}
    for i, j in piece_of.items():
        tenants.setdefault(j, []).append(i)
    alone = {
        i: pieces[j] for i, j in piece_of.items() if not pieces[j].on_rim and len(tenants[j]) == 1
    }
    found = dict(
        zip(
            alone,
            deviations([(expected[i][0], p.shape) for i, p in alone.items()], BeamLimits(kerf)),
            strict=True,
        )
    )
    verdicts = []
    for i, (panel, copy) in enumerate(expected):
        at: Point = (places[i].x, places[i].y)
        if i in found:
            verdicts.append(_compared(panel, copy, alone[i], found[i], tolerance_mm))
        elif i not in piece_of:
            verdicts.append(_lost(panel, copy, at, "the beam burns it away"))
        elif pieces[piece_of[i]].on_rim:
            verdicts.append(_lost(panel, copy, at, "it is not cut out of the sheet"))
        else:
            others = {expected[t][0].name for t in tenants[piece_of[i]] if t != i}
            verdicts.append(
                _lost(panel, copy, at, f"it is not parted from {', '.join(sorted(others))}")
            )
    return verdicts, set(tenants)


def _lost(panel: Panel, copy: int, at: Point, why: str) -> _Verdict:
    proof = PanelProof(panel.name, copy, False, 0.0, worst_at_mm=at, note=why)
    return _Verdict(proof, [f"{_called(panel, copy)} is lost: {why}{_place(at)}."], None)


def _compared(
    panel: Panel, copy: int, piece: Piece, found: Deviation, tolerance_mm: float
) -> _Verdict:
    problems = []
    note = ""
    if found.worst_mm > tolerance_mm:
        note = f"{'larger' if found.larger else 'smaller'} than drawn"
        if found.holes_too_many:
            off = abs(found.holes_too_many)
            count = "one hole" if off == 1 else f"{off} holes"
            note = f"{count} too {'many' if found.holes_too_many > 0 else 'few'}"
        problems.append(
            f"{_called(panel, copy)} is {format_mm(found.worst_mm, 3)} off its drawing"
            f"{_place(found.at)} ({note})."
        )
    if found.lost_at is not None:
        problems.append(
            f"{_called(panel, copy)} has a gap that the beam cannot enter{_place(found.lost_at)}."
        )
    proof = PanelProof(
        panel.name,
        copy,
        True,
        found.worst_mm,
        found.corner_radius_mm,
        worst_at_mm=found.at,
        note=note,
    )
    return _Verdict(proof, problems, piece)


def _strangers(
    pieces: Sequence[Piece], held: set[int], panels: Sequence[Panel], kerf_mm: float
) -> list[str]:
    """Loose pieces that are no panel, no waste out of its holes and pockets, and no dust."""
    loose = [
        p
        for i, p in enumerate(pieces)
        if i not in held and not p.on_rim and max(_sides(p.shape)) > kerf_mm
    ]
    if not loose:
        return []
    inner = [ring for panel in panels for ring in panel.inner]
    holes = [shapely.Polygon(points) for points in all_points(inner, chord_error_mm=0.01)]
    spots = shapely.point_on_surface([p.shape for p in loose])
    waste = _within(spots, holes)
    if len(waste) < len(loose):
        waste |= _within(spots, _pockets(panels, kerf_mm))
    return [
        f"An unexpected piece of {_size(p.shape)} comes loose{_place((spots[i].x, spots[i].y))}."
        for i, p in enumerate(loose)
        if i not in waste
    ]


def _within(spots: Sequence[shapely.Point], areas: Sequence[shapely.Polygon]) -> set[int]:
    """Numbers of the spots that lie in one of the areas."""
    if not areas:
        return set()
    return set(shapely.STRtree(areas).query(spots, predicate="within")[0].tolist())


def _pockets(panels: Sequence[Panel], kerf_mm: float) -> list[shapely.Polygon]:
    """Hollows of outlines with a mouth so narrow that the beam's ways in and out meet there.

    What is in such a hollow comes loose, such as the core of the round end of a slit. At
    sharp corners of the mouth the beam runs on past them, as far as mitres reach.
    """
    outlines = all_points([panel.outer for panel in panels], chord_error_mm=CHORD_ERROR_MM)
    reach_mm = kerf_mm + TOLERANCE_MM
    grown = shapely.buffer(
        [shapely.Polygon(points) for points in outlines],
        reach_mm,
        join_style="mitre",
        mitre_limit=LONGEST_MITRE,
    )
    return [shapely.Polygon(ring) for shape in grown for ring in shape.interiors]


def _sides(shape: BaseGeometry) -> tuple[float, float]:
    x0, y0, x1, y1 = shape.bounds
    return (x1 - x0, y1 - y0)


def _size(shape: BaseGeometry) -> str:
    width, height = _sides(shape)
    return f"{width:.2f} x {height:.2f} mm"


def _called(panel: Panel, copy: int) -> str:
    return panel.name if copy == 1 else f"{panel.name}, copy {copy}"


def _place(at: Point | None) -> str:
    return "" if at is None else f" at {at[0]:.2f}, {at[1]:.2f} mm"
