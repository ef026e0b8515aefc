"""What the maker sets on Sheets: stock, sheet, units, gap, margin, kerf, grain, wishes."""

from __future__ import annotations

from PySide6.QtWidgets import QWidget

from lasernest.domain.stock import Kerf, Stock
from lasernest.gui.desk import Desk
from lasernest.gui.lengths import lengths
from lasernest.gui.parts.basics import SettingRow, vertical
from lasernest.gui.parts.fields import ChoiceField, CountField, LengthField
from lasernest.gui.parts.offcut_box import OffcutBox
from lasernest.gui.parts.stock_box import StockBox
from lasernest.gui.parts.stock_picker import StockPicker
from lasernest.gui.parts.wish_box import WishBox
from lasernest.gui.tiles import Step
from lasernest.gui.words import tr
from lasernest.services.commands import (
    Command,
    SetGap,
    SetGrain,
    SetKerf,
    SetMargin,
    SetSheetSize,
    SetUnits,
)


class SheetSettings(QWidget):
    """The settings of the card; every change is one step of undo."""

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self._desk = desk
        self.stock = ChoiceField()
        self.stock.picked.connect(self._choose_stock)
        self.sheet_size = ChoiceField()
        self.sheet_size.picked.connect(lambda size: self._do(SetSheetSize(size, self._of)))
        self.units = CountField(least=1, most=100_000)
        self.units.committed.connect(lambda n: desk.do(SetUnits(n), Step.SHEETS))
        self.gap = LengthField(most_mm=500.0)
        self.gap.committed.connect(lambda mm: desk.do(SetGap(mm), Step.SHEETS))
        self.margin = LengthField(most_mm=500.0)
        self.margin.committed.connect(lambda mm: desk.do(SetMargin(mm), Step.SHEETS))
        self.kerf = LengthField(most_mm=1.0, decimals=3, step_mm=0.01)
        self.kerf.committed.connect(lambda mm: self._do(SetKerf(Kerf.same(mm), self._of)))
        self.grain = ChoiceField()
        self.grain.picked.connect(lambda keep: self._do(SetGrain(keep, self._of)))
        self.picker = StockPicker(desk.in_view)
        self.stock_box = StockBox(desk, Step.SHEETS)
        column = vertical(self, gap=6)
        column.addWidget(self.picker)
        for name, field, width, explain in (
            (tr("Stock"), self.stock, 196, tr("The kind of sheet, from the shop book.")),
            (tr("Sheet"), self.sheet_size, 196, tr("Width along the grain × height.")),
            (tr("Units to make"), self.units, 96, tr("How many products; each takes its panels.")),
            (tr("Gap between panels"), self.gap, 96, tr("Between finished panels, after the cut.")),
            (tr("Margin at the edge"), self.margin, 96, tr("Kept free along every edge.")),
            (tr("Kerf"), self.kerf, 96, tr("Full width of what the beam takes away.")),
            (tr("Grain"), self.grain, 148, tr("Along x, panels turn by 180° only.")),
        ):
            column.addWidget(SettingRow(name, field, explain=explain, width=width))
            if field is self.stock:
                column.addWidget(self.stock_box)
        self.offcuts = OffcutBox(desk, desk.shelf)
        self.wishes = WishBox(desk)
        column.addWidget(self.offcuts)
        column.addWidget(self.wishes)

    def refresh(self) -> None:
        """Show the job's setup as it is now, with what is chosen for the stock in view."""
        setup, desk = self._desk.in_view.setup, self._desk
        self.picker.refresh()
        self.stock.offer(desk.in_view.choices, setup.stock)
        sizes = setup.stock.sizes if setup.stock else ()
        self.stock_box.refresh()
        self.sheet_size.offer(
            [(lengths.size(s.width_mm, s.height_mm, 1), s) for s in sizes], setup.chosen_size
        )
        self.units.set_value(setup.units)
        self.offcuts.refresh()
        self.wishes.refresh()
        desk.shelf.look()
        self.gap.set_mm(setup.gap_mm)
        self.margin.set_mm(setup.margin_mm)
        kerf = setup.used_kerf
        self.kerf.set_mm(kerf.mean_mm if kerf else None)
        self.kerf.setEnabled(kerf is not None)
        self.grain.offer([(tr("keep along x"), True), (tr("turn freely"), False)], setup.grain_kept)

    def _choose_stock(self, stock: Stock) -> None:
        of = self._of
        if self._desk.in_view.exchange(stock, Step.SHEETS) and not of:
            self._desk.settings.stock_name = stock.name

    @property
    def _of(self) -> str:
        return self._desk.in_view.name

    def _do(self, command: Command) -> bool:
        return self._desk.do(command, Step.SHEETS)
