"""Panel names engraved in single strokes: on the panels, or in holes that fall out.

A name becomes marks of its panel, so that it is nested, written, read back and
proved like any other mark. It stands where the largest free rectangle of its
shape is, over no edge and no other mark; a panel without room stays bare, and
that is told.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from lasernest.domain.contours import Contour
from lasernest.domain.cutting import NamePlace
from lasernest.domain.findings import Finding, Severity, counted
from lasernest.domain.panels import Mark, MarkKind, Panel
from lasernest.geometry.label_spots import label_spot
from lasernest.geometry.lettering import Align, lettering, text_width_mm

LEAST_HEIGHT_MM, MOST_HEIGHT_MM = 2.0, 6.0
"""Of capitals: smaller ones char shut, larger ones waste time (common practice, no source)."""
ROOM_SHARE = 0.7
"""Of the free height that capitals fill; the rest is air."""


def lettered(
    panels: Sequence[Panel], place: NamePlace
) -> tuple[tuple[Panel, ...], tuple[Finding, ...]]:
    """Panels with their names as engraved marks.

    Args:
        panels: as they are cut, joints applied.
        place: where names may stand.

    Returns:
        The panels, and a note that names those without room.
    """
    if place is NamePlace.NOWHERE:
        return tuple(panels), ()
    smallest_mm2 = min((panel.outer.area_mm2 for panel in panels), default=0.0)
    done, bare = [], []
    for panel in panels:
        ground = panel if place is NamePlace.ON_PANELS else _widest_hole(panel, smallest_mm2)
        runs = _name_on(ground, panel.name) if ground is not None else ()
        if not runs:
            bare.append(panel.name)
        marks = tuple(Mark(run, MarkKind.ENGRAVE) for run in runs)
        done.append(replace(panel, marks=(*panel.marks, *marks)))
    return tuple(done), (_left_bare(bare, place),) if bare else ()


def _widest_hole(panel: Panel, smallest_mm2: float) -> Panel | None:
    """The largest hole as a panel; only one that no panel could be nested into."""
    holes = [h.oriented(anticlockwise=True) for h in panel.inner if h.area_mm2 < smallest_mm2]
    return Panel.of("", max(holes, key=lambda hole: hole.area_mm2)) if holes else None


def _name_on(ground: Panel, name: str) -> tuple[Contour, ...]:
    aspect = max(1.0, text_width_mm(name, height_mm=1.0) / (1.0 / ROOM_SHARE))
    spot = label_spot(ground, aspect=aspect)
    if spot is None:
        return ()
    height_mm = min(MOST_HEIGHT_MM, ROOM_SHARE * 2.0 * spot.half_height_mm)
    if height_mm < LEAST_HEIGHT_MM:
        return ()
    at = (spot.x_mm, spot.y_mm - 0.5 * height_mm)
    return lettering(name, height_mm=height_mm, at=at, align=Align.CENTRE)


def _left_bare(names: Sequence[str], place: NamePlace) -> Finding:
    listed = ", ".join(names[:6]) + (" and more" if len(names) > 6 else "")
    where = "of their own" if place is NamePlace.ON_PANELS else "in a hole that falls out"
    return Finding(
        Severity.NOTE,
        "no-room-for-name",
        f"{counted(len(names), 'panel has', 'panels have')} no room {where} for the name: "
        f"{listed}.",
        todo="Mark them by hand, or give them shorter names.",
    )
