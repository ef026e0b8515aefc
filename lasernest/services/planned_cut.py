"""The cut of one sheet as it would be written now, without writing it."""

from __future__ import annotations

from collections.abc import Mapping

from lasernest.domain.control import Control
from lasernest.domain.cutting import CutChoices
from lasernest.domain.panels import Panel
from lasernest.domain.plan import SheetPlan
from lasernest.domain.stock import Kerf, Machine
from lasernest.services.cut_timeline import CutTimeline
from lasernest.services.cutting import sheet_cut, with_mark_use


def planned_timeline(
    sheet: SheetPlan,
    panels: Mapping[str, Panel],
    *,
    kerf: Kerf,
    machine: Machine,
    cut_speed_mm_per_s: float,
    choices: CutChoices | None = None,
    control: Control,
) -> CutTimeline:
    """The cut of a sheet as it would be written now.

    Raises:
        VanishedContourError: the beam does not fit into a slot or gap.
        NotFoundError: the plan names a panel that is not there.
    """
    used = {name: with_mark_use(panel, machine.profile.marks) for name, panel in panels.items()}
    cut = sheet_cut(sheet, used, kerf, choices, control=control)
    return CutTimeline(cut, machine, cut_speed_mm_per_s=cut_speed_mm_per_s)
