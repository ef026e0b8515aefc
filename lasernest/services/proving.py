"""The proof of any cut file on disk, with or without the panels it should leave."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import shapely

from lasernest.domain.contours import Contour
from lasernest.domain.control import Control
from lasernest.domain.cutting import (
    CutChoices,
    CutPath,
    HoldingTabs,
    JointProof,
    MachineProfile,
    MarkUse,
    PanelProof,
    PathKind,
    Proof,
)
from lasernest.domain.panels import Panel
from lasernest.domain.plan import Placement
from lasernest.domain.stock import Kerf
from lasernest.errors import UnreadableFileError, UsageError, Where
from lasernest.exchange.registry import read_drawing
from lasernest.geometry.flatten import ring_polygon
from lasernest.job import Job, parts_of
from lasernest.kerf.leftovers import CHORD_ERROR_MM, Piece, leftovers
from lasernest.kerf.line_checks import line_problems
from lasernest.kerf.proof import TOLERANCE_MM, ProvedSheet, prove_sheet
from lasernest.kerf.recognise import Recogniser
from lasernest.kerf.tabs import bridged, tab_notes
from lasernest.services.cutting import back_on_sheet, cut_lines, with_mark_use
from lasernest.services.joining import join_job
from lasernest.services.lettered import lettered
from lasernest.units import LengthUnit


@dataclass(frozen=True, slots=True)
class ProvedFile:
    """A cut file with its proof, in the coordinates of the file."""

    outline: Contour
    """Of the sheet."""
    paths: tuple[CutPath, ...]
    """In the order of the file, which is the order of work."""
    placements: tuple[Placement, ...]
    """Panels that were known again by their shape."""
    proved: ProvedSheet


CORNER_MM = 0.01
"""How far the sheet's corner may be from the machine's zero: what files are rounded to."""
RIM_MM = 10.0
"""Sheet taken to lie around the cut lines of a file that shows no sheet."""


def prove_file(
    cut_file: Path,
    kerf: Kerf,
    *,
    control: Control,
    panels: Sequence[Panel] | None = None,
    profile: MachineProfile | None = None,
    tolerance_mm: float = TOLERANCE_MM,
) -> ProvedSheet:
    """Sweep the beam along a cut file and look at what is left.

    Args:
        cut_file: as a machine would get it.
        kerf: full width of the beam.
        control: progress and Cancel.
        panels: what the file may leave, as drawn; each piece is known again by
            its shape. None to look at the pieces and lines only.
        profile: which layers are cut; the usual ones when not given.
        tolerance_mm: largest deviation that passes.

    Raises:
        UnreadableFileError: not a drawing, or nothing in it is to be cut.
        LasernestError: the file cannot be read.
    """
    return read_and_prove(
        cut_file, kerf, control=control, panels=panels, profile=profile, tolerance_mm=tolerance_mm
    ).proved


def read_and_prove(
    cut_file: Path,
    kerf: Kerf,
    *,
    control: Control,
    panels: Sequence[Panel] | None = None,
    profile: MachineProfile | None = None,
    tolerance_mm: float = TOLERANCE_MM,
    needs: dict[str, int] | None = None,
    tabs: HoldingTabs | None = None,
) -> ProvedFile:
    """As `prove_file`, with what was found in the file.

    Of panels alike in all, the one is meant that lacks most by `needs`, which is
    counted down. Where a profile is given and the file shows its sheet, the sheet's
    corner must lie at the machine's zero.
    """
    styles = profile if profile is not None else MachineProfile()
    drawing = read_drawing(cut_file, control=control, unit=LengthUnit.MM)
    paths = cut_lines(drawing, styles)
    if not any(kind.is_cut for kind, _ in paths):
        layers = f"{styles.inner.layer} and {styles.outer.layer}"
        raise UnreadableFileError(
            "there is nothing in it to be cut",
            where=Where(file=cut_file),
            todo=f"Cut lines are looked for on the layers {layers}.",
        )
    borders = [
        stroke.path
        for stroke in drawing.strokes
        if stroke.path.closed
        and (stroke.layer == styles.sheet.layer or stroke.colour == styles.sheet.hex)
    ]
    border = max(borders, key=lambda c: c.area_mm2, default=None)
    outline = border or _around(paths)
    misplaced: tuple[str, ...] = ()
    if border is not None and profile is not None:
        x0, y0, x1, y1 = border.bounds_mm()
        back = back_on_sheet(cut_file, styles, x1 - x0, y1 - y0)
        paths = [(kind, contour.posed(back)) for kind, contour in paths]
        outline = border.posed(back)
        misplaced = _misplaced(outline, styles)
    sheet = ring_polygon(outline, chord_error_mm=CHORD_ERROR_MM)
    control.check()
    found = tuple(CutPath(kind, contour) for kind, contour in paths)
    cuts = [contour for kind, contour in paths if kind.is_cut]
    outers = [contour for kind, contour in paths if kind is PathKind.CUT_OUTER]
    tab_problems: list[str] = []
    if tabs is not None:
        outers, _ = bridged(outers, tabs, kerf)
        cuts, bridges = bridged(cuts, tabs, kerf)
        _, tab_problems = tab_notes(bridges, (), tabs, tolerance_mm)
    left = leftovers(cuts, sheet, kerf)
    parts = _outlined(left.pieces, outers)
    if panels is None:
        problems = [*line_problems(cuts, left.touching, sheet, kerf), *tab_problems, *misplaced]
        return ProvedFile(outline, found, (), _seen(parts, problems, tolerance_mm))
    placements, proved = _against(
        paths, outline, parts, panels, kerf, tolerance_mm, needs if needs is not None else {}, tabs
    )
    if misplaced:
        proof = proved.proof
        proof = replace(proof, passed=False, problems=(*misplaced, *proof.problems))
        proved = replace(proved, proof=proof)
    return ProvedFile(outline, found, placements, proved)


def _misplaced(outline: Contour, profile: MachineProfile) -> tuple[str, ...]:
    """A sentence where the sheet, in its own coordinates, does not begin at 0, 0."""
    x, y, _, _ = outline.bounds_mm()
    if math.hypot(x, y) <= CORNER_MM:
        return ()
    return (
        f"The {profile.origin.value} corner of the sheet lies at {x:.2f}, {y:.2f} mm, not at the "
        "machine's zero: the file was written for another corner.",
    )


Beam = tuple[Kerf, Sequence[Panel] | None]
"""What a file may have been cut for: the kerf, and the panels it may leave (see `prove_file`)."""


def beams_of(job: Job, panels: Sequence[Panel]) -> tuple[Beam, ...]:
    """What files of each part of a job (`parts_of`) are cut for.

    Args:
        job: with a stock.
        panels: of the whole job, as they are cut.

    Raises:
        UsageError: no stock is chosen.
    """
    beams = []
    for part in parts_of(job):
        names = {panel.name for panel in part.panels}
        beams.append((part.setup.cut_from()[1], [p for p in panels if p.name in names]))
    return tuple(beams)


def prove_for_its_stock(
    cut_file: Path,
    beams: Sequence[Beam],
    *,
    control: Control,
    profile: MachineProfile | None = None,
    needs: dict[str, int],
    tabs: HoldingTabs | None = None,
) -> tuple[int, ProvedFile]:
    """Prove a cut file for the beam whose panels it leaves.

    Args:
        cut_file: as a machine would get it.
        beams: one or more.
        control: progress and Cancel.
        profile: see `read_and_prove`.
        needs: copies that are lacking; those in the file are counted down.
        tabs: what holds small panels.

    Returns:
        Which beam fits best, and what it leaves.
    """
    best: tuple[tuple[bool, int, int], int, ProvedFile] | None = None
    for number, (kerf, panels) in enumerate(beams):
        control.check()
        read = read_and_prove(
            cut_file, kerf, control=control, panels=panels, profile=profile,
            needs=dict(needs), tabs=tabs,
        )  # fmt: skip
        held = Counter(placement.panel_name for placement in read.placements)
        filled = sum(min(count, max(0, needs.get(name, 0))) for name, count in held.items())
        fit = (read.proved.proof.passed, filled, held.total())
        if best is None or fit > best[0]:
            best = (fit, number, read)
    assert best is not None
    _, number, read = best
    for placement in read.placements:
        needs[placement.panel_name] = needs.get(placement.panel_name, 0) - 1
    return number, read


def prove_files(
    cut_files: Sequence[Path],
    kerf: Kerf | None,
    *,
    control: Control,
    against: Job | None = None,
    profile: MachineProfile | None = None,
    choices: CutChoices | None = None,
) -> Proof:
    """Prove all cut files of a job together.

    Args:
        cut_files: all of them, as copies of a panel may lie in any.
        kerf: full width of the beam; None for that of the job, where each file is
            proved for the stock whose panels it holds.
        control: progress and Cancel.
        against: the job whose panels they should leave, joints applied.
        profile: of the machine they were written for: layers, colours, where its zero
            lies, what became of marks.
        choices: how they were to be cut: holding tabs, engraved names.

    Raises:
        LasernestError: a file cannot be read, or holds nothing to cut.
    """
    chosen = choices if choices is not None else CutChoices()
    panels = None
    if against is not None:
        panels, _ = lettered(join_job(against).panels, chosen.names)
        use = profile.marks if profile is not None else MarkUse.KEEP
        panels = tuple(with_mark_use(panel, use) for panel in panels)
    needs = needs_of(against) if against is not None else {}
    if kerf is not None:
        beams: tuple[Beam, ...] = ((kerf, panels),)
    elif against is not None and panels is not None:
        beams = beams_of(against, panels)
    else:
        raise UsageError("a proof needs the kerf", todo="Tell the kerf, or the job.")
    proofs = []
    for number, cut_file in enumerate(cut_files):
        control.report(number, len(cut_files), f"Proving {cut_file.name}")
        _, read = prove_for_its_stock(
            cut_file, beams, control=control, profile=profile, needs=needs, tabs=chosen.tabs
        )
        proofs.append(read.proved.proof)
    whole = combined_proof(proofs)
    if against is None:
        return whole
    found = Counter(panel.panel_name for panel in whole.panels)
    short = {name: (found[name], wanted) for name, wanted in needs_of(against).items()}
    lost = [
        f"{name} is lost: {there} of {wanted} copies are in the file."
        for name, (there, wanted) in short.items()
        if there < wanted
    ]
    return replace(
        whole,
        passed=whole.passed and not lost,
        panels_expected=whole.panels_expected
        + sum(max(0, wanted - there) for there, wanted in short.values()),
        problems=(*lost, *whole.problems),
    )


def needs_of(job: Job) -> dict[str, int]:
    """Copies of each panel that a job cuts."""
    return {panel.name: job.copies_of(panel) for panel in job.panels}


def combined_proof(
    proofs: Sequence[Proof],
    *,
    joints: tuple[JointProof, ...] = (),
    problems: tuple[str, ...] = (),
) -> Proof:
    """The proofs of several sheets as one, with what belongs to no sheet alone."""
    every = (*(problem for proof in proofs for problem in proof.problems), *problems)
    return Proof(
        passed=bool(proofs) and all(proof.passed for proof in proofs) and not problems,
        panels_expected=sum(proof.panels_expected for proof in proofs),
        panels_found=sum(proof.panels_found for proof in proofs),
        max_deviation_mm=max((proof.max_deviation_mm for proof in proofs), default=0.0),
        tolerance_mm=max((proof.tolerance_mm for proof in proofs), default=0.0),
        panels=tuple(panel for proof in proofs for panel in proof.panels),
        problems=every,
        joints=joints,
    )


def _around(paths: Sequence[tuple[PathKind, Contour]]) -> Contour:
    boxes = [contour.bounds_mm() for _, contour in paths]
    x0, y0 = (min(box[i] for box in boxes) - RIM_MM for i in (0, 1))
    x1, y1 = (max(box[i] for box in boxes) + RIM_MM for i in (2, 3))
    return Contour.rectangle(x0, y0, x1 - x0, y1 - y0)


def _outlined(pieces: Sequence[Piece], outer: Sequence[Contour]) -> list[Piece]:
    """The loose pieces that outer cuts go round, in the order of those cuts."""
    loose = [piece for piece in pieces if not piece.on_rim]
    found: list[Piece] = []
    for contour in outer:
        box = contour.bounds_mm()
        nearest = min(
            loose,
            key=lambda p: max(abs(a - b) for a, b in zip(box, p.shape.bounds, strict=True)),
            default=None,
        )
        if nearest is not None and nearest not in found:
            found.append(nearest)
    return found


def _seen(parts: Sequence[Piece], problems: Sequence[str], tolerance_mm: float) -> ProvedSheet:
    """What can be said of a file without its drawing: its parts, and its lines."""
    names = [f"part-{i}" for i in range(1, len(parts) + 1)]
    proof = Proof(
        passed=bool(parts) and not problems,
        panels_expected=len(parts),
        panels_found=len(parts),
        max_deviation_mm=0.0,
        tolerance_mm=tolerance_mm,
        panels=tuple(
            PanelProof(name, 1, True, 0.0, note=f"{_size(part.shape)}, held against no drawing")
            for name, part in zip(names, parts, strict=True)
        ),
        problems=tuple(problems),
    )
    shapes = tuple((name, 1, part.shape) for name, part in zip(names, parts, strict=True))
    return ProvedSheet(proof, shapes)


def _against(
    paths: Sequence[tuple[PathKind, Contour]],
    outline: Contour,
    parts: Sequence[Piece],
    panels: Sequence[Panel],
    kerf: Kerf,
    tolerance_mm: float,
    needs: dict[str, int],
    tabs: HoldingTabs | None,
) -> tuple[tuple[Placement, ...], ProvedSheet]:
    recogniser = Recogniser(panels)
    marks = [(kind, contour) for kind, contour in paths if not kind.is_cut]
    expected: list[tuple[Panel, int]] = []
    placements: list[Placement] = []
    strange: list[str] = []
    copies: dict[str, int] = {}
    for part in parts:
        found = recogniser.place_of(part.shape, marks=marks, needs=needs)
        if found is None:
            x, y = shapely.get_coordinates(part.shape.point_on_surface())[0]
            strange.append(
                f"The piece of {_size(part.shape)} at {x:.2f}, {y:.2f} mm is none of the panels."
            )
            continue
        panel, pose = found
        copy = copies[panel.name] = copies.get(panel.name, 0) + 1
        needs[panel.name] = needs.get(panel.name, 0) - 1
        expected.append((panel.posed(pose), copy))
        placements.append(Placement(panel.name, copy, pose))
    _, _, x1, y1 = outline.bounds_mm()
    proved = prove_sheet(
        paths,
        width_mm=x1,
        height_mm=y1,
        outline=outline,
        expected=expected,
        kerf=kerf,
        tabs=tabs,
        tolerance_mm=tolerance_mm,
    )
    if not strange:
        return tuple(placements), proved
    proof = replace(
        proved.proof,
        passed=False,
        panels_expected=proved.proof.panels_expected + len(strange),
        max_deviation_mm=proved.proof.max_deviation_mm,
        problems=(*strange, *proved.proof.problems),
    )
    return tuple(placements), replace(proved, proof=proof)


def _size(shape: shapely.Polygon) -> str:
    x0, y0, x1, y1 = shape.bounds
    return f"{x1 - x0:.2f} x {y1 - y0:.2f} mm"
