"""What the maker does with the chosen panels of the list: count, turn, wish, rename, remove."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from PySide6.QtCore import QObject, Signal

from lasernest.domain.plan import Turns
from lasernest.gui.desk import Desk
from lasernest.gui.parts.entries import PART, Entry
from lasernest.gui.parts.panel_list import PanelList
from lasernest.gui.words import count_of, tr
from lasernest.job import JobPanel
from lasernest.services.commands import (
    Command,
    RemovePanels,
    RenamePanel,
    SetQuantity,
    SetTurns,
    Together,
)
from lasernest.services.stock_exchange import CutPanelsFrom
from lasernest.services.wish_commands import FillUp, SetPriority

TURNINGS: tuple[tuple[str, Turns | None], ...] = (
    (tr("as the grain asks"), None),
    (tr("as drawn"), Turns.NONE),
    (tr("half turns"), Turns.HALF),
    (tr("quarter turns"), Turns.QUARTER),
    (tr("any angle"), Turns.FREE),
)
FILLINGS = ((tr("none"), False), (tr("as many as fit"), True))
PRIORITIES = ((tr("comes first"), 1), (tr("like the others"), 0), (tr("waits"), -1))
MIRRORINGS = ((tr("face up only"), False), (tr("may be mirrored"), True))

_OfPanel = SetQuantity | SetTurns | FillUp | SetPriority


class PanelHands(QObject):
    """Changes the panels that are chosen in the list, all at once, as one step of undo."""

    look_wanted = Signal(str)
    """The maker wants to see this panel closely."""

    def __init__(self, desk: Desk, panels: PanelList) -> None:
        super().__init__()
        self._desk, self._list = desk, panels
        panels.quantity_typed.connect(self.set_quantity)
        panels.quantity_stepped.connect(self.step_quantity)
        panels.removal_wanted.connect(self.remove)
        panels.renamed.connect(self.rename)
        panels.entries = self.entries

    def chosen(self) -> list[JobPanel]:
        """The chosen panels, as they come in the job."""
        names = set(self._list.chosen())
        return [p for p in self._desk.job.panels if p.name in names]

    def set_quantity(self, quantity: int) -> None:
        """So many copies of each in one unit."""
        commands = [SetQuantity(p.name, quantity) for p in self.chosen()]
        self._do(tr("Set quantity"), commands, merge=True)

    def step_quantity(self, by: int) -> None:
        """More or fewer copies of each."""
        commands = [SetQuantity(p.name, max(0, p.quantity + by)) for p in self.chosen()]
        self._do(tr("Set quantity"), commands, merge=True)

    def set_turns(self, turns: Turns | None) -> None:
        """Which turns they may be given; None follows the grain."""
        commands = [SetTurns(p.name, turns, p.may_mirror) for p in self.chosen()]
        self._do(tr("Set turning"), commands)

    def set_mirroring(self, may_mirror: bool) -> None:
        """Whether they may lie face down."""
        commands = [SetTurns(p.name, p.turns, may_mirror) for p in self.chosen()]
        self._do(tr("Set mirroring"), commands)

    def set_filling(self, wanted: bool) -> None:
        """Whether sheets are filled up with more of them."""
        self._do(tr("Set extra copies"), [FillUp(p.name, wanted) for p in self.chosen()])

    def set_priority(self, priority: int) -> None:
        """Whether they come before others where sheets are short."""
        self._do(tr("Set priority"), [SetPriority(p.name, priority) for p in self.chosen()])

    def stocks(self) -> list[tuple[str, str]]:
        """What panels can be cut from: a text, and the name that panels call it by."""
        setup = self._desk.job.setup
        own = setup.stock.name if setup.stock is not None else tr("no stock chosen")
        names = [choice.stock.name for choice in setup.other_stocks]
        names += [s.name for s in self._desk.stocks if s.name != own and s.name not in names]
        return [(own, ""), *((name, name) for name in names)]

    def set_stock(self, name: str) -> None:
        """Cut them from this stock; an empty name stands for the job's own."""
        job = self._desk.job
        known = [choice.stock for choice in job.setup.other_stocks]
        stock = next((s for s in (*known, *self._desk.stocks) if s.name == name), None)
        chosen = tuple(p.name for p in self.chosen())
        if chosen:
            self._desk.do(CutPanelsFrom(chosen, stock if name else None))

    def remove(self) -> None:
        """Take them out of the job."""
        names = tuple(p.name for p in self.chosen())
        if names:
            self._desk.do(RemovePanels(names))

    def rename(self, old: str, new: str) -> None:
        """Give a panel another name; it stays chosen."""
        if new.strip() != old and self._desk.do(RenamePanel(old, new)):
            self._list.choose([new.strip()])

    def _do(self, label: str, commands: Sequence[_OfPanel], *, merge: bool = False) -> None:
        if not commands:
            return
        names = [c.panel_name for c in commands]
        what = names[0] if len(names) == 1 else count_of(len(names), "panel", "panels")
        key = f"{label} {' '.join(names)}" if merge else None
        done: tuple[Command, ...] = tuple(commands)
        self._desk.do(Together(f"{label} of {what}", done, key))

    # --- the context menu ------------------------------------------------------------------

    def entries(self) -> Sequence[Entry]:
        """What can be done with the chosen panels."""
        chosen = self.chosen()
        if not chosen:
            return ()
        entries = []
        if len(chosen) == 1:
            name = chosen[0].name
            entries += [
                Entry(tr("Zoom to it"), partial(self.look_wanted.emit, name), "Return"),
                Entry(tr("Rename…"), partial(self._list.edit_name, name), "F2"),
            ]
        entries += [
            Entry(tr("One more"), partial(self.step_quantity, 1), "+"),
            Entry(tr("One fewer"), partial(self.step_quantity, -1), "-"),
            Entry(
                tr("Cut from"),
                entries=tuple(
                    Entry(text, partial(self.set_stock, name)) for text, name in self.stocks()
                ),
            ),
            Entry(
                tr("Turning"),
                entries=tuple(Entry(text, partial(self.set_turns, t)) for text, t in TURNINGS),
            ),
            Entry(
                tr("Mirroring"),
                entries=tuple(
                    Entry(text, partial(self.set_mirroring, may)) for text, may in MIRRORINGS
                ),
            ),
            Entry(
                tr("Extra copies"),
                entries=tuple(Entry(text, partial(self.set_filling, on)) for text, on in FILLINGS),
            ),
            Entry(
                tr("If sheets run short"),
                entries=tuple(Entry(text, partial(self.set_priority, n)) for text, n in PRIORITIES),
            ),
            PART,
        ]
        drawing = self._list.drawing_of(chosen[0].name)
        if drawing:
            same = self._list.names_of(drawing)
            text = tr("Choose all {n} of {drawing}", n=len(same), drawing=drawing)
            entries.append(Entry(text, partial(self._list.choose, same)))
        entries.append(Entry(tr("Remove"), self.remove, "Del"))
        return entries
