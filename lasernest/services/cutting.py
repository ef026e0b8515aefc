"""From a plan to proved cut files: compensate, order, write, read back, prove.

Nothing is written before everything that can be refused was refused: a
material that must not be lasered, a slot narrower than the kerf, a sheet
larger than the bed.
"""

from __future__ import annotations

import logging
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import shapely

from lasernest.domain.contours import Contour
from lasernest.domain.control import Control
from lasernest.domain.cutting import CutPath, MachineProfile, PathKind, Proof, SheetCut
from lasernest.domain.panels import Panel
from lasernest.domain.plan import Plan, SheetPlan
from lasernest.domain.safety import Verdict, judge_material
from lasernest.domain.stock import Kerf, Machine, Stock
from lasernest.errors import BadValueError, NotFoundError, RefusedMaterialError
from lasernest.exchange.registry import read_drawing
from lasernest.exchange.writers.dxf import DEFAULT_VERSION, write_cut_dxf
from lasernest.kerf.compensate import cut_paths, posed_paths
from lasernest.kerf.cut_time import CutTime, cut_time
from lasernest.kerf.order import order_paths
from lasernest.kerf.proof import ProvedSheet, prove_sheet
from lasernest.units import LengthUnit

log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class WrittenSheet:
    """One cut file on disk, what it holds, and its proof."""

    file: Path
    cut: SheetCut
    time: CutTime
    proof: Proof
    finished: tuple[tuple[str, int, shapely.Polygon], ...]
    """What the beam leaves: panel name, copy and shape, in sheet coordinates."""

    @property
    def time_s(self) -> float:
        return self.time.total_s


def write_cut_files(
    plan: Plan,
    panels: Mapping[str, Panel],
    out: Path,
    *,
    kerf: Kerf,
    stock: Stock,
    machine: Machine,
    control: Control,
    profile: MachineProfile | None = None,
    version: str = DEFAULT_VERSION,
    material_acknowledged: bool = False,
) -> tuple[WrittenSheet, ...]:
    """Write one cut file for each sheet of a plan and prove what was written.

    Args:
        plan: with a sheet or more.
        panels: by name, as they are to be cut (joints applied).
        out: the file of a single sheet; several get `-1`, `-2`, ... before the ending.
        kerf: full width of the beam in this stock.
        stock: its material is judged before anything is written.
        machine: bed, speeds and times.
        control: progress and Cancel.
        profile: layer names and colours; the machine's own when not given.
        version: of the DXF.
        material_acknowledged: the maker has seen the warning on this material.

    Returns:
        One entry for each sheet, in the plan's order. A file that fails its
        proof is kept and said to fail.

    Raises:
        RefusedMaterialError: a material that must not be lasered, or one whose
            warning was not acknowledged.
        VanishedContourError: the beam does not fit into a slot or gap.
        BadValueError: there is nothing to cut, or a sheet is larger than the bed.
        UnwritableFileError: a file cannot be written.
    """
    refuse_material(stock, acknowledged=material_acknowledged)
    if not plan.sheets:
        raise BadValueError("there is nothing to cut", todo="Arrange the panels first.")
    styles = profile if profile is not None else machine.profile
    cuts = []
    for number, sheet in enumerate(plan.sheets):
        control.check()
        control.report(number, 2 * len(plan.sheets), "Working out the cut paths")
        cuts.append(sheet_cut(sheet, panels, kerf))
    written = []
    for number, (sheet, cut) in enumerate(zip(plan.sheets, cuts, strict=True), start=1):
        control.check()
        control.report(len(cuts) + number - 1, 2 * len(cuts), f"Writing and proving sheet {number}")
        file = out if len(cuts) == 1 else out.with_name(f"{out.stem}-{number}{out.suffix}")
        write_cut_dxf(cut, file, profile=styles, version=version)
        proved = prove_written(file, sheet, panels, kerf=kerf, profile=styles, control=control)
        time = cut_time(cut, machine, cut_speed_mm_per_s=stock.cut_speed_mm_per_s)
        written.append(WrittenSheet(file, cut, time, proved.proof, proved.finished))
        if not proved.proof.passed:
            log.warning("%s fails its proof: %s", file.name, "; ".join(proved.proof.problems))
    control.report(1, 1, "Written and proved")
    return tuple(written)


def refuse_material(stock: Stock, *, acknowledged: bool) -> None:
    """Let only materials pass that may be cut.

    Raises:
        RefusedMaterialError: see `write_cut_files`.
    """
    verdict = judge_material(f"{stock.material} {stock.name}")
    if verdict.verdict is Verdict.REFUSED:
        raise RefusedMaterialError(
            f"{stock.material} must not be laser cut, so no cut file is written. {verdict.reason}",
            todo="Choose another material.",
        )
    if verdict.verdict is Verdict.WARNED and not acknowledged:
        raise RefusedMaterialError(
            f"{stock.material} needs a decision before it is cut. {verdict.reason}",
            todo="Acknowledge this for the job, or choose another material.",
        )


def sheet_cut(sheet: SheetPlan, panels: Mapping[str, Panel], kerf: Kerf) -> SheetCut:
    """The compensated paths of one sheet in the order of work.

    Raises:
        NotFoundError: the plan names a panel that is not there.
        VanishedContourError: the beam does not fit into a slot or gap.
    """
    drawn: dict[str, tuple[CutPath, ...]] = {}
    paths: list[CutPath] = []
    for placement in sheet.placements:
        panel = panels.get(placement.panel_name)
        if panel is None:
            raise NotFoundError(
                f"the plan names a panel {placement.panel_name} that is not there",
                todo="Arrange the panels again.",
            )
        if kerf.is_round:
            # Worked out once in the drawing, so that errors name places there.
            if panel.name not in drawn:
                drawn[panel.name] = cut_paths(panel, kerf)
            paths += posed_paths(drawn[panel.name], placement.pose, copy=placement.copy)
        else:
            paths += cut_paths(panel.posed(placement.pose), kerf, copy=placement.copy)
    return SheetCut(
        sheet.sheet.width_mm, sheet.sheet.height_mm, order_paths(paths), sheet.sheet.outline
    )


def prove_written(
    file: Path,
    sheet: SheetPlan,
    panels: Mapping[str, Panel],
    *,
    kerf: Kerf,
    profile: MachineProfile,
    control: Control,
) -> ProvedSheet:
    """Read a cut file back from disk and prove it against the sheet plan.

    Raises:
        LasernestError: the file cannot be read.
    """
    return prove_sheet(
        read_cut_file(file, profile=profile, control=control),
        width_mm=sheet.sheet.width_mm,
        height_mm=sheet.sheet.height_mm,
        outline=sheet.sheet.outline,
        expected=[(panels[p.panel_name].posed(p.pose), p.copy) for p in sheet.placements],
        kerf=kerf,
    )


def read_cut_file(
    file: Path, *, profile: MachineProfile, control: Control
) -> Sequence[tuple[PathKind, Contour]]:
    """The beam's paths in a cut file; lines on other layers than the profile's are left out.

    Raises:
        LasernestError: the file cannot be read.
    """
    drawing = read_drawing(file, control=control, unit=LengthUnit.MM)
    found = []
    for stroke in drawing.strokes:
        kind = profile.kind_of_layer(stroke.layer)
        if kind is not None:
            found.append((kind, stroke.path))
    return found
