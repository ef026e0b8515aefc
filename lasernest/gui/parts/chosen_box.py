"""The chosen panels of the list: how many, how they may lie, and which get a place first."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QWidget

from lasernest.gui.desk import Desk
from lasernest.gui.panel_hands import FILLINGS, MIRRORINGS, PRIORITIES, TURNINGS, PanelHands
from lasernest.gui.parts.basics import Elided, SettingRow, horizontal, link, vertical
from lasernest.gui.parts.fields import ChoiceField, CountField
from lasernest.gui.parts.stock_box import StockBox
from lasernest.gui.tiles import Step
from lasernest.gui.words import count_of, tr
from lasernest.job import JobPanel

_DIFFERENT = object()


class ChosenBox(QWidget):
    """Fields for what all chosen panels have; where they differ a field is empty."""

    removal_wanted = Signal()
    template_wanted = Signal()
    """The maker wants them at full size on paper."""

    def __init__(self, hands: PanelHands, desk: Desk) -> None:
        super().__init__()
        self.quantity = CountField(most=100_000)
        self.quantity.committed.connect(hands.set_quantity)
        self.stock = ChoiceField()
        self.stock.picked.connect(hands.set_stock)
        self.stock_box = StockBox(desk, Step.OUTLINES, panels=hands.chosen)
        self.turns = ChoiceField()
        self.turns.picked.connect(hands.set_turns)
        self.mirror = ChoiceField()
        self.mirror.picked.connect(hands.set_mirroring)
        self.filling = ChoiceField()
        self.filling.picked.connect(hands.set_filling)
        self.priority = ChoiceField()
        self.priority.picked.connect(hands.set_priority)
        column = vertical(self, gap=8)
        head = horizontal(gap=8)
        self._name = Elided("", strong=True, middle=True)
        head.addWidget(self._name, 1)
        remove_tip = tr("Del; undo brings it back")
        head.addWidget(link(tr("Remove"), self.removal_wanted.emit, tip=remove_tip))
        column.addLayout(head)
        for name, field, width, explain in (
            (
                tr("Copies in one unit"),
                self.quantity,
                84,
                tr("How many of this panel one unit takes; type it in the list too."),
            ),
            (
                tr("Cut from"),
                self.stock,
                196,
                tr("The stock of these panels; the first one is that of the job."),
            ),
            (
                tr("Turning"),
                self.turns,
                164,
                tr("Which turns the panel may be given on the sheet."),
            ),
            (
                tr("Mirroring"),
                self.mirror,
                164,
                tr("Mirrored panels lie face down; only for panels without a face side."),
            ),
            (
                tr("Extra copies"),
                self.filling,
                164,
                tr("Besides the copies, as many more as the sheets used have room for."),
            ),
            (
                tr("If sheets run short"),
                self.priority,
                140,
                tr("Which panels get a place first when not all fit on the sheets there are."),
            ),
        ):
            column.addWidget(SettingRow(name, field, explain=explain, width=width))
            if field is self.stock:
                column.addWidget(self.stock_box)
        column.addWidget(
            link(
                tr("Paper template…"),
                self.template_wanted.emit,
                tip=tr("At full size as PDF, tiled over A4, Letter or A3, with a check line"),
            )
        )

    def show_panels(
        self, chosen: Sequence[JobPanel], stocks: Sequence[tuple[str, str]] = ()
    ) -> None:
        """Show these; hidden when there are none.

        Args:
            chosen: panels of the job.
            stocks: to choose from, each with its text and the name that panels call it by.
        """
        self.setVisible(bool(chosen))
        if not chosen:
            return
        self._name.set_text(name_of(chosen))
        if len({p.quantity for p in chosen}) == 1:
            self.quantity.set_value(chosen[0].quantity)
        else:
            self.quantity.show_different()
        self.stock.offer(stocks, _common(p.stock_name for p in chosen))
        self.turns.offer(TURNINGS, _common(p.turns for p in chosen))
        self.mirror.offer(MIRRORINGS, _common(p.may_mirror for p in chosen))
        self.filling.offer(FILLINGS, _common(p.as_many_as_fit for p in chosen))
        odd = sorted({p.priority for p in chosen} - {n for _, n in PRIORITIES}, reverse=True)
        self.priority.offer(
            [*PRIORITIES, *((tr("rank {n}", n=n), n) for n in odd)],
            _common(p.priority for p in chosen),
        )


def name_of(chosen: Sequence[JobPanel]) -> str:
    """The name of one panel, or how many they are."""
    return chosen[0].name if len(chosen) == 1 else count_of(len(chosen), "panel", "panels")


def _common(values: Iterable[object]) -> object:
    """The one value that all have; otherwise one that stands for none of them."""
    found = set(values)
    return found.pop() if len(found) == 1 else _DIFFERENT
