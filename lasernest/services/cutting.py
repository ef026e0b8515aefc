"""From a plan to proved cut files: compensate, order, write, read back, prove.

Nothing is written before everything that can be refused was refused: a
material that must not be lasered, a slot narrower than the kerf, a sheet
larger than the bed.
"""

from __future__ import annotations

import logging
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import shapely

from lasernest.domain.contours import Contour, Pose
from lasernest.domain.control import Control
from lasernest.domain.cutting import (
    Corner,
    CutChoices,
    CutPath,
    HoldingTabs,
    MachineProfile,
    MarkUse,
    PathKind,
    Proof,
    SheetCut,
)
from lasernest.domain.drawing import Drawing
from lasernest.domain.findings import Finding, Severity
from lasernest.domain.panels import MarkKind, Panel
from lasernest.domain.plan import Plan, Sheet, SheetPlan
from lasernest.domain.safety import Verdict, judge_material
from lasernest.domain.stock import Kerf, Machine, Stock
from lasernest.errors import BadValueError, NotFoundError, RefusedMaterialError, UsageError
from lasernest.exchange.registry import read_drawing
from lasernest.exchange.writers.dxf import DEFAULT_VERSION, refuse_version, write_cut_dxf
from lasernest.exchange.writers.svg import write_cut_svg
from lasernest.files import numbered, put_together
from lasernest.geometry.flatten import ring_polygon
from lasernest.job import Setup
from lasernest.kerf.compensate import cut_paths, posed_paths
from lasernest.kerf.cut_time import CutTime, cut_time
from lasernest.kerf.leads import with_leads
from lasernest.kerf.order import order_paths
from lasernest.kerf.proof import ProvedSheet, prove_sheet
from lasernest.kerf.tabs import with_tabs
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
    findings: tuple[Finding, ...] = ()

    @property
    def time_s(self) -> float:
        return self.time.total_s


def write_cut_files(
    plan: Plan,
    panels: Mapping[str, Panel],
    out: Path,
    *,
    setup: Setup,
    machine: Machine,
    control: Control,
    profile: MachineProfile | None = None,
    version: str = DEFAULT_VERSION,
    choices: CutChoices | None = None,
) -> tuple[WrittenSheet, ...]:
    """Write one cut file for each sheet of a plan and prove what was written.

    Args:
        plan: with a sheet or more.
        panels: by name, as they are to be cut (joints applied).
        out: the file of a single sheet; several get `-1`, `-2`, ... before the
            ending. `.svg` writes SVG, anything else DXF.
        setup: each sheet is cut for the kerf and at the speed of its own stock; all
            their materials are judged before anything is written.
        machine: bed, speeds and times.
        control: progress and Cancel.
        profile: layer names and colours; the machine's own when not given.
        version: of the DXF.
        choices: lead-ins, holding tabs, the order of cuts; none of these when not given.

    Returns:
        One entry for each sheet, in the plan's order. A file that fails its
        proof is kept and said to fail.

    Raises:
        RefusedMaterialError: a material that must not be lasered, or one whose
            warning was not acknowledged.
        UsageError: a form that cannot be written.
        VanishedContourError: the beam does not fit into a slot or gap.
        BadValueError: there is nothing to cut, or a sheet is larger than the bed.
        UnwritableFileError: a file cannot be written.
    """
    setups = [setup.for_stock(sheet.sheet.stock_name) for sheet in plan.sheets]
    for own in setups or [setup]:
        refuse_material(own.cut_from()[0], acknowledged=own.material_accepted)
    refuse_form(out, version)
    if not plan.sheets:
        raise BadValueError("there is nothing to cut", todo="Arrange the panels first.")
    styles = profile if profile is not None else machine.profile
    chosen = choices if choices is not None else CutChoices()
    panels = {name: with_mark_use(panel, styles.marks) for name, panel in panels.items()}
    cuts = []
    for number, (sheet, own) in enumerate(zip(plan.sheets, setups, strict=True)):
        control.check()
        control.report(number, 2 * len(plan.sheets), "Working out the cut paths")
        cuts.append(sheet_cut(sheet, panels, own.cut_from()[1], chosen, control=control))
    written = []
    files = numbered(out, len(cuts))
    # Sheets of two plans side by side would be cut together one day: all are new, or none is.
    with put_together(files) as made:
        rows = zip(files, made, plan.sheets, cuts, setups, strict=True)
        for number, (file, new, sheet, cut, own) in enumerate(rows, 1):
            stock, kerf = own.cut_from()
            control.check()
            said = f"Writing and proving sheet {number}"
            control.report(len(cuts) + number - 1, 2 * len(cuts), said)
            write_cut_file(cut, new, profile=styles, version=version)
            proved = prove_written(
                new,
                sheet,
                panels,
                kerf=kerf,
                profile=styles,
                control=control,
                tabs=chosen.tabs,
            )
            time = cut_time(cut, machine, cut_speed_mm_per_s=stock.cut_speed_mm_per_s)
            findings = tuple(_bed_findings(cut, machine, sheet_number=number))
            written.append(WrittenSheet(file, cut, time, proved.proof, proved.finished, findings))
            if not proved.proof.passed:
                log.warning("%s fails its proof: %s", file.name, "; ".join(proved.proof.problems))
    control.report(1, 1, "Written and proved")
    return tuple(written)


def refuse_material(stock: Stock, *, acknowledged: bool, whose: Sequence[str] = ()) -> None:
    """Let only materials pass that may be cut.

    Args:
        stock: whose material is judged.
        acknowledged: the maker has seen the warning on this material.
        whose: panels that are cut from it, where others are not.

    Raises:
        RefusedMaterialError: see `write_cut_files`.
    """
    verdict = judge_material(f"{stock.material} {stock.name}")
    head = f"{', '.join(whose)} of {stock.name}: " if whose else ""
    if verdict.verdict is Verdict.REFUSED:
        raise RefusedMaterialError(
            f"{head}{stock.material} must not be laser cut, so no cut file is written. "
            f"{verdict.reason}",
            todo="Choose another material.",
        )
    if verdict.verdict is Verdict.WARNED and not acknowledged:
        raise RefusedMaterialError(
            f"{head}{stock.material} needs a decision before it is cut. {verdict.reason}",
            todo="Acknowledge this for the job, or choose another material.",
        )


def refuse_form(out: Path, version: str) -> None:
    """Let only forms pass that can be written, before anything long is done.

    Raises:
        UsageError: neither `.dxf` nor `.svg` at the end of the name, or a DXF
            version that cannot be written.
    """
    if out.suffix.lower() not in ("", ".dxf", ".svg"):
        raise UsageError(
            f"a cut file cannot be written as {out.suffix.lower()}",
            todo="Let its name end in .dxf or .svg.",
            on_command_line="lasernest template writes PDFs",
        )
    refuse_version(version)


def with_mark_use(panel: Panel, use: MarkUse) -> Panel:
    """The panel with its marks as the machine is to make them."""
    if use is MarkUse.KEEP or not panel.marks:
        return panel
    if use is MarkUse.LEFT_OUT:
        return replace(panel, marks=())
    kind = MarkKind.SCORE if use is MarkUse.ALL_SCORED else MarkKind.ENGRAVE
    return replace(panel, marks=tuple(replace(mark, kind=kind) for mark in panel.marks))


def sheet_cut(
    sheet: SheetPlan,
    panels: Mapping[str, Panel],
    kerf: Kerf,
    choices: CutChoices | None = None,
    *,
    control: Control | None = None,
) -> SheetCut:
    """The compensated paths of one sheet in the order of work, in sheet coordinates.

    Raises:
        NotFoundError: the plan names a panel that is not there.
        VanishedContourError: the beam does not fit into a slot or gap.
        Cancelled: the maker pressed Cancel.
    """
    chosen = choices if choices is not None else CutChoices()
    drawn: dict[str, tuple[CutPath, ...]] = {}
    paths: list[CutPath] = []
    for placement in sheet.placements:
        if control is not None:
            control.check()
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
    width_mm, height_mm = sheet.sheet.width_mm, sheet.sheet.height_mm
    outline = sheet.sheet.outline
    ordered = order_paths(paths, order=chosen.order, split_all=chosen.lead_mm > 0.0)
    if chosen.tabs is not None:
        ordered = with_tabs(ordered, chosen.tabs, kerf)
    if chosen.lead_mm > 0.0:
        edge = outline or Contour.rectangle(0.0, 0.0, width_mm, height_mm)
        ordered = with_leads(
            ordered,
            lead_mm=chosen.lead_mm,
            kerf=kerf,
            sheet=ring_polygon(edge, chord_error_mm=0.01),
        )
    return SheetCut(width_mm, height_mm, ordered, outline)


def write_cut_file(
    cut: SheetCut, file: Path, *, profile: MachineProfile, version: str = DEFAULT_VERSION
) -> None:
    """Write one sheet as SVG or DXF, by the file's ending.

    A DXF is in the machine's coordinates, whose zero may be any corner of the
    sheet; an SVG's page is the sheet.

    Raises:
        UsageError: a DXF version that cannot be written.
        BadValueError: two kinds of work have the same colour in an SVG.
        UnwritableFileError: the file cannot be written there.
    """
    if _is_svg(file):
        write_cut_svg(cut, file, profile=profile)
        return
    pose = Pose(*profile.origin.offset_mm(cut.width_mm, cut.height_mm))
    edge = cut.outline or Contour.rectangle(0.0, 0.0, cut.width_mm, cut.height_mm)
    placed = replace(
        cut,
        paths=tuple(replace(p, path=p.path.posed(pose)) for p in cut.paths),
        outline=edge.posed(pose),
    )
    write_cut_dxf(placed, file, profile=profile, version=version)


def _is_svg(file: Path) -> bool:
    return file.suffix.lower() == ".svg"


def _bed_findings(cut: SheetCut, machine: Machine, *, sheet_number: int) -> Iterator[Finding]:
    """A warning where the beam would have to go beyond the bed."""
    boxes = [path.path.bounds_mm() for path in cut.paths]
    reach_x = max((box[2] for box in boxes), default=0.0)
    reach_y = max((box[3] for box in boxes), default=0.0)
    if machine.profile.origin in (Corner.LOWER_RIGHT, Corner.UPPER_RIGHT):
        reach_x = cut.width_mm - min((box[0] for box in boxes), default=cut.width_mm)
    if machine.profile.origin in (Corner.UPPER_LEFT, Corner.UPPER_RIGHT):
        reach_y = cut.height_mm - min((box[1] for box in boxes), default=cut.height_mm)
    if reach_x > machine.bed_width_mm or reach_y > machine.bed_height_mm:
        yield Finding(
            Severity.WARNING,
            "beyond-the-bed",
            f"Sheet {sheet_number} is cut up to {reach_x:.0f} x {reach_y:.0f} mm, the bed of "
            f"{machine.name} is {machine.bed_width_mm:g} x {machine.bed_height_mm:g} mm.",
            todo="Cut the sheet down, or choose another machine.",
        )


def prove_written(
    file: Path,
    sheet: SheetPlan,
    panels: Mapping[str, Panel],
    *,
    kerf: Kerf,
    profile: MachineProfile,
    control: Control,
    tabs: HoldingTabs | None = None,
) -> ProvedSheet:
    """Read a cut file back from disk and prove it against the sheet plan.

    Args:
        file: the cut file.
        sheet: what should lie on it.
        panels: by name, their marks as the machine is to make them.
        kerf: full width of the beam.
        profile: which layers are cut, and where the machine's zero lies.
        control: progress and Cancel.
        tabs: what holds small panels.

    Raises:
        LasernestError: the file cannot be read.
    """
    return prove_against(
        file,
        sheet.sheet,
        [(panels[p.panel_name].posed(p.pose), p.copy) for p in sheet.placements],
        kerf=kerf,
        profile=profile,
        control=control,
        tabs=tabs,
    )


def prove_against(
    file: Path,
    sheet: Sheet,
    expected: Sequence[tuple[Panel, int]],
    *,
    kerf: Kerf,
    profile: MachineProfile,
    control: Control,
    tabs: HoldingTabs | None = None,
) -> ProvedSheet:
    """Read a cut file back from disk and prove it against panels as they lie on a sheet.

    Raises:
        LasernestError: the file cannot be read.
    """
    back = back_on_sheet(file, profile, sheet.width_mm, sheet.height_mm)
    lines = read_cut_file(file, profile=profile, control=control)
    return prove_sheet(
        [(kind, contour.posed(back)) for kind, contour in lines],
        width_mm=sheet.width_mm,
        height_mm=sheet.height_mm,
        outline=sheet.outline,
        expected=expected,
        kerf=kerf,
        tabs=tabs,
    )


def back_on_sheet(file: Path, profile: MachineProfile, width_mm: float, height_mm: float) -> Pose:
    """From the coordinates of a cut file to those of the sheet, whose lower left is 0, 0."""
    if _is_svg(file):
        return Pose()
    x, y = profile.origin.offset_mm(width_mm, height_mm)
    return Pose(-x, -y)


def read_cut_file(
    file: Path, *, profile: MachineProfile, control: Control
) -> Sequence[tuple[PathKind, Contour]]:
    """The beam's paths in a cut file; lines on other layers than the profile's are left out.

    Raises:
        LasernestError: the file cannot be read.
    """
    drawing = read_drawing(file, control=control, unit=LengthUnit.MM)
    return cut_lines(drawing, profile)


def cut_lines(drawing: Drawing, profile: MachineProfile) -> list[tuple[PathKind, Contour]]:
    """The lines of a drawing that a machine of this profile would follow, and how.

    DXF tells kinds of work by layer, SVG by colour.
    """
    by_colour = drawing.format.startswith("SVG")
    found = []
    for stroke in drawing.strokes:
        kind = (
            profile.kind_of_colour(stroke.colour)
            if by_colour
            else profile.kind_of_layer(stroke.layer)
        )
        if kind is not None:
            found.append((kind, stroke.path))
    return found
