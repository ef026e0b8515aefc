"""The one chosen panel of a sheet: where it lies, typed to the hundredth; pin and turn."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QWidget

from lasernest.gui.parts.basics import Button, Elided, SettingRow, button, vertical
from lasernest.gui.parts.fields import LengthField
from lasernest.gui.parts.flow import FlowLayout
from lasernest.gui.words import tr


class PlacedBox(QWidget):
    """Name, place and what can be done."""

    place_typed = Signal(object, object)
    """Lower left corner in mm: x, y; None for the one that stays."""
    pin_wanted = Signal()
    turn_wanted = Signal()

    def __init__(self) -> None:
        super().__init__()
        column = vertical(self, gap=6)
        column.setContentsMargins(0, 8, 0, 4)  # parts it from the figures above
        self.name = Elided("", strong=True, middle=True)
        column.addWidget(self.name)
        self.left_edge = LengthField(most_mm=1e4)
        self.lower_edge = LengthField(most_mm=1e4)
        self.left_edge.committed.connect(lambda mm: self.place_typed.emit(mm, None))
        self.lower_edge.committed.connect(lambda mm: self.place_typed.emit(None, mm))
        for name, field in ((tr("Left edge"), self.left_edge), (tr("Lower edge"), self.lower_edge)):
            row = SettingRow(
                name,
                field,
                explain=tr("Of the panel's box, from the sheet's lower left corner."),
                width=96,
            )
            column.addWidget(row)
        buttons = FlowLayout(gap=8)
        self.pin_button: Button = button(
            tr("Pin here"),
            self.pin_wanted.emit,
            tip=tr("Stays when the rest is arranged again (P)"),
        )
        self.turn_button: Button = button(tr("Turn"), self.turn_wanted.emit, tip="R")
        buttons.addWidget(self.pin_button)
        buttons.addWidget(self.turn_button)
        column.addLayout(buttons)
        self.hide()

    def show_panels(
        self, name: str, corner_mm: tuple[float, float] | None, *, pinned: bool
    ) -> None:
        """Show one panel, or several without a place; an empty name hides the box."""
        self.setVisible(bool(name))
        self.name.set_text(name)
        for field in (self.left_edge, self.lower_edge):
            field.setEnabled(corner_mm is not None)
        if corner_mm is not None:
            self.left_edge.set_mm(corner_mm[0])
            self.lower_edge.set_mm(corner_mm[1])
        self.turn_button.setEnabled(corner_mm is not None)
        self.pin_button.setText(tr("Unpin") if pinned else tr("Pin here"))
