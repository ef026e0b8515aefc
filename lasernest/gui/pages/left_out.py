"""Panels that a plan has no room for, told on every page that shows what comes of the plan."""

from __future__ import annotations

from lasernest.domain.plan import Plan
from lasernest.gui.lengths import lengths
from lasernest.gui.parts.notes import Note
from lasernest.gui.words import count_of, tr

_FIRST = 4
"""So many are told one by one."""


def copies_left_out(plan: Plan) -> int:
    """How many panels lie on no sheet."""
    return sum(left.count for left in plan.unplaced)


def left_out_notes(plan: Plan) -> list[Note]:
    """The first of them with the reason, and how many more there are."""
    first, others = plan.unplaced[:_FIRST], plan.unplaced[_FIRST:]
    notes = [
        Note(
            f"{left.panel_name}, {count_of(left.count, 'copy', 'copies')}: "
            + lengths.retold(left.reason),
            "error",
            heading=tr("Not on any sheet"),
            why="sheets#not-on-any-sheet",
        )
        for left in first
    ]
    if others:
        count = sum(left.count for left in others)
        more = count_of(count, "more panel lies", "more panels lie")
        notes.append(Note(tr("{more} on no sheet.", more=more), "error"))
    return notes
