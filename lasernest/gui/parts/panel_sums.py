"""What chosen panels come to together: the length of their cuts and their area."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from lasernest.gui.board.shapes import pictures
from lasernest.gui.lengths import lengths
from lasernest.gui.parts.chosen_box import name_of
from lasernest.gui.words import count_of, tr
from lasernest.job import JobPanel

_SOME = 50


def in_all(panels: Sequence[JobPanel]) -> str:
    """How many panels a unit takes, as the tile counts them, and how many of them differ."""
    total = count_of(sum(panel.quantity for panel in panels), "panel", "panels")
    if all(panel.quantity == 1 for panel in panels):
        return total
    return tr("{panels}, {n} different", panels=total, n=len(panels))


def sums(chosen: Sequence[JobPanel]) -> Iterator[str]:
    """Cut length and area of one panel, or of several together.

    Yields an empty text after some panels that are measured, the sums at last: a thousand
    panels take 0.05 s when they are first looked at.
    """
    length_mm = area_mm2 = 0.0
    for number, row in enumerate(chosen, start=1):
        picture = pictures.of(row.panel)
        length_mm += picture.cut_length_mm
        area_mm2 += picture.net_area_mm2
        if number % _SOME == 0:
            yield ""
    if chosen:
        length = lengths.path(length_mm)
        yield " · ".join(
            (name_of(chosen), tr("cut {length}", length=length), lengths.area(area_mm2))
        )
