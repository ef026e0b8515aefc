"""How sheets are cut: the order, lead-ins, tabs that hold small panels."""

from __future__ import annotations

from dataclasses import replace

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QWidget

from lasernest.domain.cutting import CutChoices, HoldingTabs, NamePlace, WorkOrder
from lasernest.gui.parts.basics import SettingRow, link, vertical
from lasernest.gui.parts.fields import ChoiceField, LengthField
from lasernest.gui.words import tr


class CuttingForm(QWidget):
    """Shows the choices of a job behind one line that says them in short."""

    committed = Signal(object)
    """New `CutChoices`."""

    def __init__(self) -> None:
        super().__init__()
        column = vertical(self, gap=6)
        self._head = link("", self._turn, tip=tr("Order, lead-ins, holding tabs"))
        column.addWidget(self._head)
        self._body = QWidget()
        column.addWidget(self._body)
        self.order = ChoiceField()
        self.order.picked.connect(self._set_order)
        self.lead = LengthField(most_mm=20.0, empty=tr("none"))
        self.lead.committed.connect(self._set_lead)
        self.lead.cleared.connect(lambda: self._set_lead(0.0))
        self.tabs = LengthField(least_mm=0.1, most_mm=5.0, step_mm=0.1, empty=tr("none"))
        self.tabs.committed.connect(self._set_tabs)
        self.tabs.cleared.connect(lambda: self._set_tabs(None))
        self.below = LengthField(most_mm=1000.0)
        self.below.committed.connect(self._set_below)
        rows = vertical(self._body, gap=6)
        self._below_row = SettingRow(
            tr("On panels narrower than"),
            self.below,
            explain=tr("Panels that could tip between the slats or cells of the bed."),
        )
        self.names = ChoiceField()
        self.names.picked.connect(self._set_names)
        for row in (
            SettingRow(
                tr("Engrave names"),
                self.names,
                explain=tr("In single strokes; in holes only where no panel could lie."),
                width=168,
            ),
            SettingRow(
                tr("Order of cuts"),
                self.order,
                explain=tr("Marks come first and holes before what holds them, in any order."),
                width=168,
            ),
            SettingRow(
                tr("Lead-in"),
                self.lead,
                explain=tr("The beam pierces beside the line, on the waste side, and runs in."),
            ),
            SettingRow(
                tr("Holding tabs"),
                self.tabs,
                explain=tr("What stays uncut, after the beam has passed; broken out by hand."),
            ),
            self._below_row,
        ):
            rows.addWidget(row)
        self._choices = CutChoices()
        self._body.hide()
        self.show_choices(self._choices)

    def show_choices(self, choices: CutChoices) -> None:
        """Show what the job holds."""
        self._choices = choices
        self.order.offer(
            [
                (tr("panel by panel"), WorkOrder.BY_PANEL),
                (tr("inner cuts first"), WorkOrder.BY_KIND),
                (tr("spread the heat"), WorkOrder.SPREAD_HEAT),
            ],
            choices.order,
        )
        self.names.offer([(tr(place.value), place) for place in NamePlace], choices.names)
        self.lead.set_mm(choices.lead_mm or None)
        self.tabs.set_mm(None if choices.tabs is None else choices.tabs.width_mm)
        self._below_row.setVisible(choices.tabs is not None)
        if choices.tabs is not None:
            self.below.set_mm(choices.tabs.below_mm)
        self._head.setText(f"{'▾' if self._body.isVisibleTo(self) else '▸'} {self._in_short()}")

    def _in_short(self) -> str:
        words = [self.order.currentText()]
        if self._choices.lead_mm:
            words.append(tr("lead-in"))
        if self._choices.tabs is not None:
            words.append(tr("tabs"))
        if self._choices.names is not NamePlace.NOWHERE:
            words.append(tr("names"))
        return tr("How it is cut: {what}", what=", ".join(words))

    def _turn(self) -> None:
        self._body.setVisible(not self._body.isVisibleTo(self))
        self.show_choices(self._choices)

    def _set_order(self, order: WorkOrder) -> None:
        self.committed.emit(replace(self._choices, order=order))

    def _set_names(self, place: NamePlace) -> None:
        self.committed.emit(replace(self._choices, names=place))

    def _set_lead(self, lead_mm: float) -> None:
        self.committed.emit(replace(self._choices, lead_mm=lead_mm))

    def _set_tabs(self, width_mm: float | None) -> None:
        tabs = None
        if width_mm is not None:
            tabs = replace(self._choices.tabs or HoldingTabs(), width_mm=width_mm)
        self.committed.emit(replace(self._choices, tabs=tabs))

    def _set_below(self, below_mm: float) -> None:
        tabs = replace(self._choices.tabs or HoldingTabs(), below_mm=below_mm)
        self.committed.emit(replace(self._choices, tabs=tabs))
