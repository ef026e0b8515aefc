"""Sheets as they lie on the bench: from a plan, from files just written, or read from disk.

Whatever the source, a sheet's lower left corner is 0, 0 and its lines are
those of the beam, in the order of work. What comes from a cut file is what
the file holds, known again by its shapes, whatever the plan says.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import shapely

from lasernest.domain.contours import Contour, Pose
from lasernest.domain.control import Control
from lasernest.domain.cutting import MachineProfile, Proof, SheetCut
from lasernest.domain.job_sheet import LyingPanel, SheetPicture
from lasernest.domain.offcuts import LEAST_OFFCUT_MM
from lasernest.domain.panels import Panel
from lasernest.domain.plan import Placement, Plan, Sheet, SheetPlan
from lasernest.domain.stock import Kerf, Machine, Stock
from lasernest.job import Job, Setup, parts_of
from lasernest.kerf.cut_time import CutTime, cut_time
from lasernest.services.costing import SheetAreas
from lasernest.services.cutting import WrittenSheet, sheet_cut
from lasernest.services.planning import sheet_figures
from lasernest.services.proving import beams_of, needs_of, prove_for_its_stock

Finished = tuple[str, int, shapely.Polygon]
"""Panel name, copy, and the shape that the beam leaves."""


@dataclass(frozen=True, slots=True)
class SheetAtHand:
    """One sheet with its lines and, where there is a cut file, its proof."""

    plan: SheetPlan
    """Panels where they lie; of a file read from disk, those known again."""
    cut: SheetCut
    stock: Stock
    kerf: Kerf
    """That its lines allow for."""
    file: Path | None = None
    proof: Proof | None = None
    finished: tuple[Finished, ...] = ()
    """In the coordinates of the plan."""


def planned_sheets(
    plan: Plan, panels: Mapping[str, Panel], setup: Setup
) -> tuple[SheetAtHand, ...]:
    """The sheets of a plan that no file was written of, each cut for the kerf of its stock.

    Raises:
        UsageError: no stock is chosen.
        VanishedContourError: the beam does not fit into a slot or gap.
    """
    found = []
    for sheet in plan.sheets:
        stock, kerf = setup.for_stock(sheet.sheet.stock_name).cut_from()
        found.append(SheetAtHand(sheet, sheet_cut(sheet, panels, kerf), stock, kerf))
    return tuple(found)


def written_sheets(
    plan: Plan, written: Sequence[WrittenSheet], setup: Setup
) -> tuple[SheetAtHand, ...]:
    """The sheets of a plan whose cut files were just written and proved."""
    found = []
    for sheet, entry in zip(plan.sheets, written, strict=True):
        stock, kerf = setup.for_stock(sheet.sheet.stock_name).cut_from()
        proved = (entry.file, entry.proof, entry.finished)
        found.append(SheetAtHand(sheet, entry.cut, stock, kerf, *proved))
    return tuple(found)


def sheets_on_disk(
    files: Sequence[Path],
    panels: Sequence[Panel],
    job: Job,
    *,
    control: Control,
    profile: MachineProfile | None = None,
) -> tuple[SheetAtHand, ...]:
    """The sheets that cut files hold, each read back and proved against the panels.

    Args:
        files: all cut files of a job, as copies of a panel may lie in any.
        panels: of the job, joints applied.
        job: tells kerf and stock, and how many copies the files should hold together.
        control: progress and Cancel.
        profile: which layers are cut.

    Raises:
        UsageError: no stock is chosen.
        LasernestError: a file cannot be read, or holds nothing to cut.
    """
    seen: dict[str, int] = {}
    lacking = needs_of(job)
    parts, beams = parts_of(job), beams_of(job, panels)
    found = []
    for number, file in enumerate(files):
        control.check()
        control.report(number, len(files), f"Reading and proving {file.name}")
        number_of_part, read = prove_for_its_stock(
            file, beams, control=control, profile=profile, needs=lacking
        )
        stock, kerf = parts[number_of_part].setup.cut_from()
        x0, y0, x1, y1 = read.outline.bounds_mm()
        home = Pose(-x0, -y0)
        outline = None if _is_box(read.outline) else read.outline.posed(home)
        before = dict(seen)
        placements = []
        for p in read.placements:
            seen[p.panel_name] = seen.get(p.panel_name, 0) + 1
            lying = replace(p.pose, x_mm=p.pose.x_mm - x0, y_mm=p.pose.y_mm - y0)
            placements.append(Placement(p.panel_name, seen[p.panel_name], lying))
        paths = tuple(replace(p, path=p.path.posed(home)) for p in read.paths)
        finished = tuple(
            (name, before.get(name, 0) + copy, shapely.transform(shape, lambda xy: xy - (x0, y0)))  # noqa: B023 - used at once
            for name, copy, shape in read.proved.finished
        )
        found.append(
            SheetAtHand(
                SheetPlan(
                    Sheet(
                        x1 - x0,
                        y1 - y0,
                        job.setup.margin_mm,
                        outline,
                        stock_name=stock.name,
                    ),
                    tuple(placements),
                ),
                SheetCut(x1 - x0, y1 - y0, paths, outline),
                stock,
                kerf,
                file,
                read.proved.proof,
                finished,
            )
        )
    return tuple(found)


def _is_box(outline: Contour) -> bool:
    x0, y0, x1, y1 = outline.bounds_mm()
    return abs((x1 - x0) * (y1 - y0) - outline.area_mm2) < 1e-6


def kept_rectangle(
    sheet: SheetPlan, panels: Mapping[str, Panel], *, kerf_mm: float = 0.0
) -> Contour | None:
    """The end of a rectangular sheet that is worth keeping; None when there is none.

    It starts a margin beyond the last panel, and never within the beam's reach.
    """
    whole = sheet.sheet
    if whole.outline is not None or whole.holes:
        return None
    used_mm = sheet_figures(sheet, panels).used_length_mm + max(0.0, kerf_mm - whole.margin_mm)
    if not sheet.placements or whole.width_mm - used_mm < LEAST_OFFCUT_MM:
        return None
    return Contour.rectangle(used_mm, 0.0, whole.width_mm - used_mm, whole.height_mm)


def kept_of(sheet: SheetAtHand, panels: Mapping[str, Panel]) -> Contour | None:
    """The end of a sheet that is worth keeping; None when there is none."""
    return kept_rectangle(sheet.plan, panels, kerf_mm=max(sheet.kerf.x_mm, sheet.kerf.y_mm))


def picture_of(sheet: SheetAtHand, panels: Mapping[str, Panel]) -> SheetPicture:
    """What a printed plan of a sheet shows."""
    kept = kept_of(sheet, panels)
    count = Counter(p.panel_name for p in sheet.plan.placements)
    lying = tuple(
        LyingPanel(
            f"{p.panel_name} {p.copy}" if p.copy > 1 or count[p.panel_name] > 1 else p.panel_name,
            panels[p.panel_name].posed(p.pose),
        )
        for p in sheet.plan.placements
    )
    return SheetPicture(
        sheet.cut, lying, (kept,) if kept is not None else (), sheet.plan.sheet.holes
    )


def sheet_areas(sheet: SheetAtHand, panels: Mapping[str, Panel]) -> SheetAreas:
    """Where the area of one sheet goes."""
    kept = kept_of(sheet, panels)
    return SheetAreas(
        sheet.plan.sheet.area_mm2,
        math.fsum(panels[p.panel_name].net_area_mm2 for p in sheet.plan.placements),
        kept.area_mm2 if kept is not None else 0.0,
        sheet.cut.cut_length_mm * sheet.kerf.mean_mm,
    )


def sheet_time(sheet: SheetAtHand, machine: Machine) -> CutTime:
    """How long a sheet takes on a machine, at the speed of its stock."""
    return cut_time(sheet.cut, machine, cut_speed_mm_per_s=sheet.stock.cut_speed_mm_per_s)


def together(areas: Sequence[SheetAreas]) -> SheetAreas:
    """Where the area of several sheets goes."""
    return SheetAreas(
        math.fsum(a.sheet_mm2 for a in areas),
        math.fsum(a.net_mm2 for a in areas),
        math.fsum(a.offcut_mm2 for a in areas),
        math.fsum(a.kerf_mm2 for a in areas),
    )
