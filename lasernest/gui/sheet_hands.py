"""What the maker does with panels on a sheet: move, turn, pin, lock, to another sheet."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from lasernest.domain.plan import Placement, Plan, SheetPlan, Turns
from lasernest.gui.board.handled_scene import HandledScene
from lasernest.gui.board.sheet_scene import PanelKey
from lasernest.gui.desk import Desk
from lasernest.gui.parts.entries import PART, Entry
from lasernest.gui.tiles import Step
from lasernest.gui.words import tr
from lasernest.services.plan_commands import (
    LockSheet,
    MoveToSheet,
    PinPanels,
    PlacePanels,
    key_of,
)

if TYPE_CHECKING:
    from lasernest.services.handling import Hand


class SheetHands(QObject):
    """Lets the maker change the kept plan on the sheet that is shown."""

    sheet_wanted = Signal(int)
    """A panel went to this sheet: show it."""

    def __init__(self, desk: Desk, scene: HandledScene, index: Callable[[], int]) -> None:
        super().__init__()
        self._desk, self._scene, self._index = desk, scene, index
        scene.hand_for = self._hand
        scene.moved.connect(self._place)
        scene.sent.connect(self.to_sheet)
        scene.refused.connect(self._refuse)
        scene.turn_wanted.connect(self.turn)
        scene.pin_wanted.connect(self.pin)

    # --- what there is -----------------------------------------------------------------

    def _plan(self) -> Plan | None:
        """The kept plan; None while another is being looked for."""
        return None if self._desk.arranging else self._desk.job.plan

    def sheet(self) -> SheetPlan | None:
        """The sheet that is shown, as far as it may be changed."""
        plan = self._plan()
        index = self._index()
        return plan.sheets[index] if plan is not None and index < len(plan.sheets) else None

    def chosen(self) -> list[Placement]:
        """The chosen copies of the shown sheet."""
        sheet = self.sheet()
        keys = self._scene.chosen
        return [p for p in sheet.placements if key_of(p) in keys] if sheet is not None else []

    def _hand(self, keys: frozenset[PanelKey]) -> Hand | None:
        sheet = self.sheet()
        if sheet is None or any(p.panel_name not in self._desk.panels for p in sheet.placements):
            return None
        if self._held_back(sheet):
            return None
        from lasernest.services.handling import Hand  # noqa: PLC0415 - heavy

        return Hand(sheet, self._desk.panels, keys, self._desk.job.setup.gap_mm)

    def _held_back(self, sheet: SheetPlan) -> bool:
        """True, and said, when the sheet is locked."""
        if sheet.locked:
            self._refuse(
                tr("Sheet {n} is locked; unlock it to move its panels.", n=self._index() + 1)
            )
        return sheet.locked

    # --- what can be done ----------------------------------------------------------------

    def _place(self, placements: tuple[Placement, ...], verb: str) -> None:
        self._desk.do(PlacePanels(self._index(), placements, verb), Step.SHEETS)

    def _refuse(self, why: str) -> None:
        self._desk.said.emit(why)

    def put_at(self, x_mm: float | None, y_mm: float | None) -> bool:
        """Put the one chosen panel where its box has this lower left corner."""
        chosen = self.chosen()
        hand = self._hand(self._scene.chosen)
        if len(chosen) != 1 or hand is None:
            return False
        x0, y0, _, _ = self._desk.panels[chosen[0].panel_name].posed_bounds_mm(chosen[0].pose)
        by = (0.0 if x_mm is None else x_mm - x0, 0.0 if y_mm is None else y_mm - y0)
        problem = hand.verdict(*by)
        if problem:
            self._refuse(problem)
            return False
        self._place(hand.moved(*by), tr("Move"))
        return True

    def turn(self, by_deg: float | None = None) -> None:
        """Turn the chosen panel, to the nearest free place."""
        from lasernest.services.handling import Hand, turned  # noqa: PLC0415 - heavy

        sheet, chosen = self.sheet(), self.chosen()
        if sheet is None or len(chosen) != 1 or self._held_back(sheet):
            return
        step = self._turn_step(chosen[0]) if by_deg is None else by_deg
        if step is None:
            self._refuse(tr("{name} may not be turned; see Outlines.", name=chosen[0].panel_name))
            return
        spun = turned(chosen[0], self._desk.panels[chosen[0].panel_name], step)
        places = tuple(spun if p is chosen[0] else p for p in sheet.placements)
        hand = Hand(
            SheetPlan(sheet.sheet, places),
            self._desk.panels,
            frozenset({key_of(spun)}),
            self._desk.job.setup.gap_mm,
        )
        by = hand.nearest_free()
        if by is None:
            self._refuse(tr("There is no room to turn {name} here.", name=spun.panel_name))
            return
        self._place(hand.moved(*by), tr("Turn"))

    def _turn_step(self, placement: Placement) -> float | None:
        job = self._desk.job
        entry = job.panel(placement.panel_name)
        kept = job.setup.for_stock(entry.stock_name).grain_kept
        turns = entry.turns or (Turns.HALF if kept else Turns.QUARTER)
        return {Turns.NONE: None, Turns.HALF: 180.0}.get(turns, 90.0)

    def pin(self) -> None:
        """Pin the chosen panels, or unpin them when all are pinned."""
        chosen = self.chosen()
        if chosen:
            pinned = not all(p.pinned for p in chosen)
            keys = tuple(key_of(p) for p in chosen)
            self._desk.do(PinPanels(self._index(), keys, pinned), Step.SHEETS)

    def lock(self) -> None:
        """Lock the shown sheet, or unlock it."""
        sheet = self.sheet()
        if sheet is not None:
            self._desk.do(LockSheet(self._index(), not sheet.locked), Step.SHEETS)

    def to_sheet(self, target: int) -> None:
        """Put the chosen panels on another sheet, or on a new one, where they find room."""
        from lasernest.services.handling import free_place  # noqa: PLC0415 - heavy

        plan, chosen, source = self._plan(), self.chosen(), self._index()
        if plan is None or not chosen or target == source or not 0 <= target <= len(plan.sheets):
            return
        if self._held_back(plan.sheets[source]):
            return
        stock_name = plan.sheets[source].sheet.stock_name
        if target < len(plan.sheets) and plan.sheets[target].sheet.stock_name != stock_name:
            self._refuse(tr("Sheet {n} is another stock.", n=target + 1))
            return
        if target == len(plan.sheets):
            onto = SheetPlan(plan.sheets[source].sheet, ())
        else:
            onto = plan.sheets[target]
        found: list[Placement] = []
        for placement in chosen:
            spot = free_place(onto, self._desk.panels, placement, self._desk.job.setup.gap_mm)
            if spot is None:
                name = placement.panel_name
                self._refuse(tr("{name} finds no room on sheet {n}.", name=name, n=target + 1))
                return
            found.append(spot)
            onto = replace(onto, placements=(*onto.placements, spot))
        if self._desk.do(MoveToSheet(source, target, tuple(found)), Step.SHEETS):
            keys = frozenset(map(key_of, found))
            now = self._desk.job.plan
            for index, one in enumerate(now.sheets if now is not None else ()):
                if keys & set(map(key_of, one.placements)):
                    self.sheet_wanted.emit(index)
            self._scene.choose(keys)

    def targets(self) -> list[int]:
        """Sheets that panels of the shown one may go to; the last may be a new one."""
        plan = self._plan()
        source = self._index()
        if plan is None or plan.sheets[source].locked:
            return []
        kind = plan.sheets[source].sheet
        others = [
            i
            for i, s in enumerate(plan.sheets)
            if i != source and not s.locked and s.sheet.stock_name == kind.stock_name
        ]
        used = sum(1 for s in plan.sheets if s.sheet == kind)
        more = kind.available is None or used < kind.available
        if more and len(self.chosen()) < len(plan.sheets[source].placements):
            others.append(len(plan.sheets))
        return others

    # --- the context menu ------------------------------------------------------------------

    def entries(self, keys: frozenset[PanelKey]) -> Sequence[Entry]:
        """What can be done with chosen panels, and with the sheet."""
        sheet, plan = self.sheet(), self._plan()
        if sheet is None or plan is None:
            return ()
        chosen = [p for p in sheet.placements if key_of(p) in keys]
        entries: list[Entry] = []
        if chosen and not sheet.locked:
            pinned = all(p.pinned for p in chosen)
            entries.append(Entry(tr("Unpin") if pinned else tr("Pin here"), self.pin, "P"))
        if len(chosen) == 1 and not sheet.locked:
            step = self._turn_step(chosen[0])
            if step is not None:
                text = tr("Turn by {angle}°", angle=f"{step:g}")
                entries.append(Entry(text, self.turn, "R"))
        targets = tuple(
            Entry(
                tr("Sheet {n}", n=i + 1) if i < len(plan.sheets) else tr("A new sheet"),
                partial(self.to_sheet, i),
            )
            for i in self.targets()
        )
        if chosen and targets:
            entries.append(Entry(tr("Move to"), entries=targets))
        if len(chosen) == 1:
            name = chosen[0].panel_name
            same = frozenset(key_of(p) for p in sheet.placements if p.panel_name == name)
            if len(same) > 1:
                entries.append(
                    Entry(
                        tr("Choose all {n} of {name}", n=len(same), name=name),
                        partial(self._scene.choose, same),
                    )
                )
        if entries:
            entries.append(PART)
        text = tr("Unlock this sheet") if sheet.locked else tr("Lock this sheet")
        entries.append(Entry(text, self.lock))
        return entries

    def corner_mm(self) -> tuple[float, float] | None:
        """Lower left corner of the one chosen panel's box, for the card."""
        chosen = self.chosen()
        if len(chosen) != 1 or chosen[0].panel_name not in self._desk.panels:
            return None
        panel = self._desk.panels[chosen[0].panel_name]
        x0, y0, _, _ = panel.posed_bounds_mm(chosen[0].pose)
        return (x0, y0)
