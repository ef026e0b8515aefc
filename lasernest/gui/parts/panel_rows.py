"""Which panels the list shows, in which order, and what a row says of each."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from enum import Enum

from lasernest.domain.plan import Turns
from lasernest.gui.lengths import lengths
from lasernest.gui.words import tr
from lasernest.job import JobPanel


class PanelSort(Enum):
    """Orders of the list."""

    DRAWN = "as drawn"
    NAME = "by name"
    SIZE = "largest first"
    COUNT = "most copies first"
    ORDER = "by order"
    STOCK = "by stock"


@dataclass(frozen=True, slots=True)
class PanelFacts:
    """What is known of the panels beyond themselves."""

    drawings: Mapping[str, str] = field(default_factory=dict)
    """Name of the drawing by name of the panel."""
    usual_turns: Mapping[str, Turns] = field(default_factory=dict)
    """By the panels' stock names, of panels that follow the stock's grain."""
    stock_name: str = ""
    """The job's own."""
    orders: Mapping[str, Mapping[str, int]] = field(default_factory=dict)
    """By name of the panel, copies booked for each order."""
    product: str = ""
    """What the job is booked as; an order of this name is the job itself."""

    def turning(self, panel: JobPanel) -> str:
        """The turns it may be given, in words."""
        return (panel.turns or self.usual_turns.get(panel.stock_name, Turns.HALF)).value

    def order(self, panel: JobPanel) -> str:
        """The orders it was cut for and how many were booked; empty where none is known."""
        return ", ".join(
            tr("{n} booked", n=count)
            if order == self.product
            else tr("{order}: {n} booked", order=order, n=count)
            for order, count in sorted(self.orders.get(panel.name, {}).items())
        )

    def row(self, panel: JobPanel) -> str:
        """The second line of its row."""
        parts = [lengths.size(*panel.panel.size_mm, 1), self.turning(panel)]
        if panel.stock_name:
            # There is room for two; how its stock turns it is told where the panel is chosen.
            parts = [panel.stock_name, *parts[: 1 if panel.turns is None else 2]]
        if panel.may_mirror:
            parts.append(tr("mirrored too"))
        if panel.as_many_as_fit:
            parts.append(tr("as many as fit"))
        if panel.priority:
            parts.append(tr("first") if panel.priority > 0 else tr("waits"))
        if order := self.order(panel):
            parts.append(order)
        return " · ".join(parts)

    def words(self, panel: JobPanel) -> str:
        """All that a search for it may name, in lower case."""
        parts = [
            panel.name,
            self.drawings.get(panel.name, ""),
            self.turning(panel),
            panel.stock_name or self.stock_name,
            self.order(panel),
            tr("may be mirrored") if panel.may_mirror else tr("face up only"),
            tr("marks") if panel.panel.marks else tr("no marks"),
            tr("holes") if panel.panel.inner else tr("no holes"),
            tr("left out") if panel.quantity == 0 and not panel.as_many_as_fit else "",
            tr("extra copies, as many as fit") if panel.as_many_as_fit else "",
            tr("comes first") if panel.priority > 0 else tr("waits") if panel.priority < 0 else "",
        ]
        return " ".join(parts).casefold()


def shown_panels(
    panels: Sequence[JobPanel], facts: PanelFacts, *, wanted: str = "", sort: PanelSort
) -> tuple[JobPanel, ...]:
    """The panels that hold every wanted word, sorted; equal ones stay as drawn."""
    words = wanted.casefold().split()
    found = [p for p in panels if all(word in facts.words(p) for word in words)]
    if sort is PanelSort.NAME:
        found.sort(key=lambda p: _natural(p.name))
    elif sort is PanelSort.SIZE:
        found.sort(key=lambda p: -p.panel.outer.area_mm2)
    elif sort is PanelSort.COUNT:
        found.sort(key=lambda p: -p.quantity)
    elif sort is PanelSort.ORDER:
        # Those of no order come last.
        found.sort(key=lambda p: (not facts.order(p), facts.order(p).casefold()))
    elif sort is PanelSort.STOCK:
        found.sort(key=lambda p: p.stock_name.casefold())
    return tuple(found)


def _natural(name: str) -> list[tuple[int, str]]:
    """Names with numbers in the order of the numbers: rib-2 before rib-10."""
    parts: list[tuple[int, str]] = []
    digits = ""
    for char in name.casefold():
        if char.isdecimal():
            digits += char
            continue
        if digits:
            parts.append((int(digits), ""))
            digits = ""
        parts.append((10**9, char))
    if digits:
        parts.append((int(digits), ""))
    return parts
