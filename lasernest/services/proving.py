"""The proof of any cut file on disk, with or without the panels it should leave."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import shapely

from lasernest.domain.contours import Contour
from lasernest.domain.control import Control
from lasernest.domain.cutting import JointProof, MachineProfile, PanelProof, PathKind, Proof
from lasernest.domain.panels import Panel
from lasernest.domain.stock import Kerf
from lasernest.errors import UnreadableFileError, Where
from lasernest.exchange.registry import read_drawing
from lasernest.geometry.flatten import ring_polygon
from lasernest.job import Job
from lasernest.kerf.leftovers import CHORD_ERROR_MM, Piece, leftovers
from lasernest.kerf.line_checks import line_problems
from lasernest.kerf.proof import TOLERANCE_MM, ProvedSheet, prove_sheet
from lasernest.kerf.recognise import Recogniser
from lasernest.services.cutting import cut_lines
from lasernest.services.joining import join_job
from lasernest.units import LengthUnit

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
    outline = max(borders, key=lambda c: c.area_mm2, default=None) or _around(paths)
    sheet = ring_polygon(outline, chord_error_mm=CHORD_ERROR_MM)
    control.check()
    cuts = [contour for kind, contour in paths if kind.is_cut]
    left = leftovers(cuts, sheet, kerf)
    parts = _outlined(left.pieces, [c for kind, c in paths if kind is PathKind.CUT_OUTER])
    if panels is None:
        return _seen(parts, line_problems(cuts, left.touching, sheet, kerf), tolerance_mm)
    return _against(paths, outline, parts, panels, kerf, tolerance_mm)


def prove_files(
    cut_files: Sequence[Path], kerf: Kerf, *, control: Control, against: Job | None = None
) -> Proof:
    """Prove all cut files of a job together.

    Args:
        cut_files: all of them, as copies of a panel may lie in any.
        kerf: full width of the beam.
        control: progress and Cancel.
        against: the job whose panels they should leave, joints applied.

    Raises:
        LasernestError: a file cannot be read, or holds nothing to cut.
    """
    panels = join_job(against).panels if against is not None else None
    proofs = []
    for number, cut_file in enumerate(cut_files):
        control.report(number, len(cut_files), f"Proving {cut_file.name}")
        proofs.append(prove_file(cut_file, kerf, control=control, panels=panels).proof)
    whole = combined_proof(proofs)
    if against is None:
        return whole
    found = Counter(panel.panel_name for panel in whole.panels)
    short = {p.name: (found[p.name], p.quantity) for p in against.panels}
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
) -> ProvedSheet:
    recogniser = Recogniser(panels)
    expected: list[tuple[Panel, int]] = []
    strange: list[str] = []
    copies: dict[str, int] = {}
    for part in parts:
        panel = recogniser.pose_of(part.shape)
        if panel is None:
            x, y = shapely.get_coordinates(part.shape.point_on_surface())[0]
            strange.append(
                f"The piece of {_size(part.shape)} at {x:.2f}, {y:.2f} mm is none of the panels."
            )
            continue
        copies[panel.name] = copies.get(panel.name, 0) + 1
        expected.append((panel, copies[panel.name]))
    _, _, x1, y1 = outline.bounds_mm()
    proved = prove_sheet(
        paths,
        width_mm=x1,
        height_mm=y1,
        outline=outline,
        expected=expected,
        kerf=kerf,
        tolerance_mm=tolerance_mm,
    )
    if not strange:
        return proved
    proof = replace(
        proved.proof,
        passed=False,
        panels_expected=proved.proof.panels_expected + len(strange),
        max_deviation_mm=proved.proof.max_deviation_mm,
        problems=(*strange, *proved.proof.problems),
    )
    return replace(proved, proof=proof)


def _size(shape: shapely.Polygon) -> str:
    x0, y0, x1, y1 = shape.bounds
    return f"{x1 - x0:.2f} x {y1 - y0:.2f} mm"
