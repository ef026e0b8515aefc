"""Panels held against those of an older drawing: which is which, and what changed.

First the same lines in the same place, then the same shape elsewhere, then what lies mostly
in the same place, then the same name. Where none of the shapes is known, as in another unit,
the order decides.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial

import numpy as np

from lasernest.domain.panel_changes import Change, PanelChange
from lasernest.domain.panels import Panel
from lasernest.geometry.like_panels import LikePanels
from lasernest.geometry.likeness import furthest_mm, is_same, overlap_share

_MOSTLY = 0.5
"""Share of common area above which two boxes are one panel, redrawn."""


def compare_panels(
    old: Sequence[tuple[str, Panel]], new: Sequence[Panel]
) -> tuple[PanelChange, ...]:
    """What changed from old panels, by their names in the job, to new ones.

    Returns:
        The new panels in their order, then those that are gone.
    """
    pairs = _pairs(old, new)
    changes = []
    for i, panel in enumerate(new):
        if i not in pairs:
            changes.append(PanelChange(Change.ADDED, panel.name, None, panel))
            continue
        name, before = old[pairs[i]]
        if is_same(before, panel, moved=True):
            # One object where nothing differs: then nobody compares corner by corner again.
            now = before if panel == before else panel
            changes.append(PanelChange(Change.SAME, name, before, now))
        else:
            off_mm = furthest_mm(before, panel, moved=not _overlap(before, panel))
            changes.append(PanelChange(Change.CHANGED, name, before, panel, off_mm))
    kept = set(pairs.values())
    gone = [entry for k, entry in enumerate(old) if k not in kept]
    return (*changes, *(PanelChange(Change.GONE, name, panel, None) for name, panel in gone))


def _overlap(old: Panel, new: Panel) -> bool:
    return overlap_share(old, new) > 0.0


def _pairs(old: Sequence[tuple[str, Panel]], new: Sequence[Panel]) -> dict[int, int]:
    """For each new panel the old one that it was, where there was one."""
    pairs: dict[int, int] = {}
    panels = [panel for _, panel in old]
    place = {name: k for k, (name, _) in enumerate(old)}
    like = LikePanels(panels)
    free = np.ones(len(old), dtype=bool)

    def pair(find: Callable[[Panel], int | None]) -> None:
        for i, panel in enumerate(new):
            found = find(panel) if i not in pairs else None
            if found is not None:
                pairs[i] = found
                free[found] = False

    def of_name(panel: Panel, is_it: Callable[[Panel, Panel], bool]) -> int | None:
        k = place.get(panel.name)
        return k if k is not None and free[k] and is_it(panels[k], panel) else None

    pair(lambda now: of_name(now, is_same))
    pair(lambda now: like.same(now, free))
    pair(lambda now: of_name(now, partial(is_same, moved=True)))
    pair(lambda now: like.same(now, free, moved=True))
    pair(lambda now: like.overlapping(now, free, share=_MOSTLY))
    nothing_alike = not pairs
    pair(lambda now: of_name(now, _overlap))
    pair(lambda now: of_name(now, lambda _was, _now: True))
    if nothing_alike and len(old) == len(new):
        # All of it in another unit, say: then only the order is left to go by.
        rest = iter(np.flatnonzero(free).tolist())
        pairs |= {i: next(rest) for i in range(len(new)) if i not in pairs}
    return pairs
