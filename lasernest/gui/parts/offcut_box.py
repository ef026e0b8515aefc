"""Which offcuts are filled before whole sheets; seen only where there are any."""

from __future__ import annotations

from PySide6.QtWidgets import QWidget

from lasernest.domain.offcuts import Offcut
from lasernest.gui.desk import Desk
from lasernest.gui.lengths import lengths
from lasernest.gui.parts.basics import SettingRow, vertical
from lasernest.gui.parts.fields import ChoiceField
from lasernest.gui.shelf import Shelf
from lasernest.gui.tiles import Step
from lasernest.gui.words import tr
from lasernest.services.order_commands import TakeOffcuts


class OffcutBox(QWidget):
    """The offcuts of the stock in view."""

    def __init__(self, desk: Desk, shelf: Shelf) -> None:
        super().__init__()
        self._desk, self._shelf = desk, shelf
        self.choice = ChoiceField()
        self.choice.picked.connect(
            lambda taken: desk.do(TakeOffcuts(taken, desk.in_view.name), Step.SHEETS)
        )
        column = vertical(self)
        column.addWidget(
            SettingRow(
                tr("Offcuts"), self.choice, explain=tr("Filled before whole sheets."), width=196
            )
        )
        shelf.changed.connect(self.refresh)
        desk.stocks_changed.connect(lambda: shelf.look(again=True))
        self.hide()

    def refresh(self) -> None:
        """Show what the job holds and the shelf offers."""
        setup = self._desk.in_view.setup
        stock_name = setup.stock.name if setup.stock is not None else ""
        on_hand = tuple(o for o in self._shelf.offcuts if o.stock_name == stock_name)
        choices: list[tuple[str, tuple[Offcut, ...]]] = [(tr("none, whole sheets"), ())]
        if len(on_hand) > 1:
            choices.append((tr("all {n} on the shelf", n=len(on_hand)), on_hand))
        choices += [
            (tr("{label}, {size}", label=o.label, size=lengths.size(*o.size_mm, 0)), (o,))
            for o in on_hand
        ]
        if setup.offcuts and setup.offcuts not in [taken for _, taken in choices]:
            labels = ", ".join(offcut.label for offcut in setup.offcuts)
            choices.append((tr("{labels} of this job", labels=labels), setup.offcuts))
        self.choice.offer(choices, setup.offcuts)
        self.setVisible(len(choices) > 1)
