"""What is wished besides the units; folded away until somebody wishes something."""

from __future__ import annotations

from PySide6.QtWidgets import QWidget

from lasernest.domain.plan import Axis
from lasernest.gui.desk import Desk
from lasernest.gui.parts.basics import SettingRow, link, vertical
from lasernest.gui.parts.fields import ChoiceField, CountField
from lasernest.gui.parts.plain_fields import NumberField
from lasernest.gui.tiles import Step
from lasernest.gui.words import tr
from lasernest.services.order_commands import SetScrap, SetSpares
from lasernest.services.wish_commands import KeepTogether, LayLongSides


class WishBox(QWidget):
    """Spares, expected scrap, units on one sheet, and which way long sides lie."""

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self._desk = desk
        self._open = False
        self.spares = CountField(least=0, most=100_000)
        self.spares.committed.connect(lambda n: desk.do(SetSpares(n), Step.SHEETS))
        self.scrap = NumberField(unit="%", least=0.0, most=90.0, empty="0 %")
        self.scrap.committed.connect(
            lambda percent: desk.do(SetScrap((percent or 0.0) / 100.0), Step.SHEETS)
        )
        self.together = ChoiceField()
        self.together.picked.connect(lambda on: desk.do(KeepTogether(on), Step.SHEETS))
        self.long_sides = ChoiceField()
        self.long_sides.picked.connect(lambda axis: desk.do(LayLongSides(axis), Step.SHEETS))
        column = vertical(self, gap=6)
        self.open_button = link(
            tr("Spares and more settings"),
            self._unfold,
            tip=tr("Spares, expected scrap, units on one sheet, long sides along x or y"),
        )
        rows = (
            (tr("Spares of each"), self.spares, 96, tr("Copies besides what the units need.")),
            (tr("Expected scrap"), self.scrap, 96, tr("Share that fails; more are cut for it.")),
            (
                tr("Panels of a unit"),
                self.together,
                148,
                tr("All panels of one unit on the same sheet, where a sheet can hold them."),
            ),
            (
                tr("Long sides"),
                self.long_sides,
                148,
                tr(
                    "Which way the longer side of a panel lies, where its turning lets it; "
                    "x is the machine's long axis."
                ),
            ),
        )
        self._rows = [
            SettingRow(name, field, explain=explain, width=width)
            for name, field, width, explain in rows
        ]
        column.addWidget(self.open_button)
        for row in self._rows:
            column.addWidget(row)
        self.refresh()

    def refresh(self) -> None:
        """Show what the job wishes; a wish that is set is always seen."""
        setup = self._desk.job.setup
        self.spares.set_value(setup.spares)
        self.scrap.set_number(round(100.0 * setup.scrap_share, 6) or None)
        self.together.offer(
            [(tr("on any sheets"), False), (tr("on one sheet"), True)], setup.units_together
        )
        self.long_sides.offer(
            [
                (tr("either way"), None),
                (tr("along x"), Axis.X),
                (tr("along y"), Axis.Y),
            ],
            setup.long_sides_along,
        )
        wished = (
            setup.spares > 0
            or setup.scrap_share > 0.0
            or setup.units_together
            or setup.long_sides_along is not None
        )
        self._open = self._open or wished
        self.open_button.setVisible(not self._open)
        for row in self._rows:
            row.setVisible(self._open)

    def _unfold(self) -> None:
        had_keys = self.open_button.hasFocus()
        self._open = True
        self.refresh()
        if had_keys:
            self.spares.setFocus()
