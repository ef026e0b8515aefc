"""What is wished of the whole plan; folded away until somebody wishes something."""

from __future__ import annotations

from PySide6.QtWidgets import QWidget

from lasernest.domain.plan import Axis
from lasernest.gui.desk import Desk
from lasernest.gui.parts.basics import SettingRow, button, vertical
from lasernest.gui.parts.fields import ChoiceField
from lasernest.gui.tiles import Step
from lasernest.gui.words import tr
from lasernest.services.wish_commands import KeepTogether, LayLongSides


class WishBox(QWidget):
    """Units on one sheet, and which way long sides lie."""

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self._desk = desk
        self._open = False
        self.together = ChoiceField()
        self.together.picked.connect(lambda on: desk.do(KeepTogether(on), Step.SHEETS))
        self.long_sides = ChoiceField()
        self.long_sides.picked.connect(lambda axis: desk.do(LayLongSides(axis), Step.SHEETS))
        column = vertical(self, gap=6)
        self.open_button = button(
            tr("More wishes"),
            self._unfold,
            kind="link",
            tip=tr("All panels of a unit on one sheet; long sides along x or y"),
        )
        self._rows = (
            SettingRow(
                tr("Panels of a unit"),
                self.together,
                explain=tr(
                    "All panels of one unit on the same sheet, where a sheet can hold them."
                ),
                width=148,
            ),
            SettingRow(
                tr("Long sides"),
                self.long_sides,
                explain=tr(
                    "Which way the longer side of a panel lies, where its turning lets it; "
                    "x is the machine's long axis."
                ),
                width=148,
            ),
        )
        column.addWidget(self.open_button)
        for row in self._rows:
            column.addWidget(row)
        self.refresh()

    def refresh(self) -> None:
        """Show what the job wishes; a wish that is set is always seen."""
        setup = self._desk.job.setup
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
        wished = setup.units_together or setup.long_sides_along is not None
        self._open = self._open or wished
        self.open_button.setVisible(not self._open)
        for row in self._rows:
            row.setVisible(self._open)

    def _unfold(self) -> None:
        had_keys = self.open_button.hasFocus()
        self._open = True
        self.refresh()
        if had_keys:
            self.together.setFocus()
