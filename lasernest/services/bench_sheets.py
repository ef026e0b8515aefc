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
from lasernest.domain.stock import Kerf
from lasernest.services.costing import SheetAreas
from lasernest.services.cutting import WrittenSheet, sheet_cut
from lasernest.services.planning import sheet_figures
from lasernest.services.proving import read_and_prove

Finished = tuple[str, int, shapely.Polygon]
"""Panel name, copy, and the shape that the beam leaves."""


@dataclass(frozen=True, slots=True)
class SheetAtHand:
    """One sheet with its lines and, where there is a cut file, its proof."""

    plan: SheetPlan
    """Panels where they lie; of a file read from disk, those known again."""
    cut: SheetCut
    file: Path | None = None
    proof: Proof | None = None
    finished: tuple[Finished, ...] = ()
    """In the coordinates of the plan."""


def planned_sheets(plan: Plan, panels: Mapping[str, Panel], kerf: Kerf) -> tuple[SheetAtHand, ...]:
    """The sheets of a plan that no file was written of.

    Raises:
        VanishedContourError: the beam does not fit into a slot or gap.
    """
    return tuple(SheetAtHand(sheet, sheet_cut(sheet, panels, kerf)) for sheet in plan.sheets)


def written_sheets(plan: Plan, written: Sequence[WrittenSheet]) -> tuple[SheetAtHand, ...]:
    """The sheets of a plan whose cut files were just written and proved."""
    return tuple(
        SheetAtHand(sheet, entry.cut, entry.file, entry.proof, entry.finished)
        for sheet, entry in zip(plan.sheets, written, strict=True)
    )


def sheets_on_disk(
    files: Sequence[Path],
    panels: Sequence[Panel],
    kerf: Kerf,
    *,
    control: Control,
    profile: MachineProfile | None = None,
    margin_mm: float = 0.0,
    needs: Mapping[str, int] | None = None,
) -> tuple[SheetAtHand, ...]:
    """The sheets that cut files hold, each read back and proved against the panels.

    Args:
        files: all cut files of a job, as copies of a panel may lie in any.
        panels: joints applied.
        kerf: full width of the beam.
        control: progress and Cancel.
        profile: which layers are cut.
        margin_mm: of the job, for figures.
        needs: copies of each panel that the files should hold together.

    Raises:
        LasernestError: a file cannot be read, or holds nothing to cut.
    """
    seen: dict[str, int] = {}
    lacking = dict(needs or {})
    found = []
    for number, file in enumerate(files):
        control.check()
        control.report(number, len(files), f"Reading and proving {file.name}")
        read = read_and_prove(
            file, kerf, control=control, panels=panels, profile=profile, needs=lacking
        )
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
                SheetPlan(Sheet(x1 - x0, y1 - y0, margin_mm, outline), tuple(placements)),
                SheetCut(x1 - x0, y1 - y0, paths, outline),
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


def picture_of(sheet: SheetAtHand, panels: Mapping[str, Panel], kerf: Kerf) -> SheetPicture:
    """What a printed plan of a sheet shows."""
    kept = kept_rectangle(sheet.plan, panels, kerf_mm=max(kerf.x_mm, kerf.y_mm))
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


def sheet_areas(
    sheet: SheetPlan, cut: SheetCut, panels: Mapping[str, Panel], kerf: Kerf
) -> SheetAreas:
    """Where the area of one sheet goes."""
    kept = kept_rectangle(sheet, panels, kerf_mm=max(kerf.x_mm, kerf.y_mm))
    return SheetAreas(
        sheet.sheet.area_mm2,
        math.fsum(panels[p.panel_name].net_area_mm2 for p in sheet.placements),
        kept.area_mm2 if kept is not None else 0.0,
        cut.cut_length_mm * kerf.mean_mm,
    )


def together(areas: Sequence[SheetAreas]) -> SheetAreas:
    """Where the area of several sheets goes."""
    return SheetAreas(
        math.fsum(a.sheet_mm2 for a in areas),
        math.fsum(a.net_mm2 for a in areas),
        math.fsum(a.offcut_mm2 for a in areas),
        math.fsum(a.kerf_mm2 for a in areas),
    )
