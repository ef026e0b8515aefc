"""What became of the job's drawings on disk, told at Outlines: changed, or gone."""

from __future__ import annotations

from functools import partial

from lasernest.gui.parts.change_list import in_short
from lasernest.gui.parts.notes import Answer, Note
from lasernest.gui.redrawer import Redrawer
from lasernest.gui.words import tr

_FIRST = 4
"""So many drawings that are gone are told by name."""


def notes_from_disk(redrawer: Redrawer) -> list[Note]:
    """Questions about drawings that changed, and one note on those that are gone."""
    changed = [
        Note(
            f"{news.name}: {in_short(news.changes)}.",
            "question",
            (
                Answer(
                    tr("Update the panels"),
                    partial(redrawer.take_in, news),
                    tr("Quantities, turns and joints stay with their panels; can be undone"),
                ),
                Answer(
                    tr("Update, plan only what changed"),
                    partial(redrawer.take_in, news, only_changed=True),
                    tr("Panels that stayed the same get quantity 0"),
                ),
                Answer(tr("Keep the old drawing"), partial(redrawer.let_be, news)),
            ),
            heading=tr("A drawing changed on disk"),
        )
        for news in redrawer.news
    ]
    return [*changed, *_gone(redrawer)]


def _gone(redrawer: Redrawer) -> list[Note]:
    gone = redrawer.gone
    if not gone:
        return []
    first, more = ", ".join(gone[:_FIRST]), len(gone) - _FIRST
    if more > 0:
        first = tr("{names} and {n} more", names=first, n=more)
    told = (
        tr("{name} is gone from its folder; the job keeps its panels.", name=first)
        if len(gone) == 1
        else tr("{names} are gone from their folders; the job keeps their panels.", names=first)
    )
    put_away = Answer(tr("Dismiss"), redrawer.put_gone_away)
    return [Note(told, answers=(put_away,), why="drawings#when-a-drawing-changes")]
