"""The form for a stock of the shop book: a new one, or one that is changed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QWidget

from lasernest.domain.stock import Stock
from lasernest.gui.lengths import lengths
from lasernest.gui.parts.basics import Text
from lasernest.gui.parts.fields import ChoiceField, LengthField
from lasernest.gui.parts.plain_fields import WordsField
from lasernest.gui.parts.record_form import WIDE, RecordForm
from lasernest.gui.parts.sheet_rows import SheetRows
from lasernest.gui.words import tr
from lasernest.services.entries import Wrong
from lasernest.services.stock_entry import (
    MATERIAL,
    NAME,
    THICKNESS,
    StockEntry,
    caution_of,
    has_grain,
    is_another_sheet,
    materials_of,
    sheet_field,
    stock_of,
    usual_name,
    wrongs_of,
)

_OWN_WORDS = "own words"


class StockForm(RecordForm[Stock, StockEntry]):
    """Material, thickness, name, grain, sheets and note."""

    def __init__(self) -> None:
        super().__init__(tr("Remove this stock"))
        self._grain_chosen = False
        self.material = ChoiceField()
        self.material.picked.connect(lambda _m: self._show_material())
        self.add_row(
            tr("Material"),
            self.material,
            explain=tr("What it is made of; cautions follow it."),
            width=WIDE,
        )
        self.own_material = WordsField(empty=tr("what is it made of?"))
        self.own_material.setAccessibleName(tr("Material in your own words"))
        self.own_material.textEdited.connect(lambda _text: self._show_caution())
        self.body.addWidget(self.own_material)
        self.body.addWidget(self.watched(self.own_material))
        self.caution = Text("", wrap=True)
        self.body.addWidget(self.caution)
        self.thickness = LengthField(least_mm=0.05, most_mm=50.0, step_mm=0.1, empty="–")
        self.thickness.committed.connect(lambda _mm: self._show_thickness())
        self.thickness.cleared.connect(self._show_thickness)
        self.add_row(tr("Sold as"), self.thickness, explain=tr("The thickness on the label."))
        self.measured = Text("", kind="quiet", wrap=True)
        self.body.addWidget(self.measured)
        self.name = WordsField(empty="")
        self.name.textEdited.connect(lambda _text: self._show_caution())
        self.add_row(
            tr("Called"),
            self.name,
            explain=tr("What the shop calls it; empty for material and thickness."),
            width=WIDE,
        )
        self.grain = ChoiceField()
        self.grain.picked.connect(lambda _keep: self._choose_grain())
        self.add_row(
            tr("Grain"), self.grain, explain=tr("Along x, panels turn by 180° only."), width=WIDE
        )
        self.sheets = SheetRows(self)
        self.body.addWidget(self.sheets)
        self.invented = Text(
            tr("Prices that came with the program are invented."), kind="quiet", wrap=True
        )
        self.body.addWidget(self.invented)
        self.note = WordsField(empty="–")
        self.add_row(tr("Note"), self.note, width=WIDE)
        self.add_remove()
        lengths.changed.connect(self._show_thickness)

    # --- opening ---------------------------------------------------------------------

    def open_new(self, stocks: Sequence[Stock], came_from: QWidget | None) -> None:
        """Enter a new stock; what was typed before Escape is still there."""
        if self.is_in_use():
            return
        self._listed = tuple(stocks)
        if self.begins_anew():
            self._old, self._grain_chosen = None, False
            self._fill(StockEntry())
        self.heading.setText(tr("New stock"))
        self.remove_button.hide()
        self.open(came_from)

    def open_change(self, stock: Stock, stocks: Sequence[Stock], came_from: QWidget | None) -> None:
        """Change a stock of the shop book, or put one into it that only the job has."""
        if self.is_in_use():
            return
        self._listed = tuple(stocks)
        held = next((s for s in stocks if s.name == stock.name), None)
        self._old, self._grain_chosen, self._kept_draft = held, True, False
        self._fill(StockEntry.of(held if held is not None else stock))
        self.heading.setText(
            tr("Change {stock}", stock=stock.name)
            if held is not None
            else tr("Put {stock} into the shop book", stock=stock.name)
        )
        self.remove_button.setVisible(held is not None)
        self.open(came_from)

    def _fill(self, entry: StockEntry) -> None:
        known = materials_of(self._listed)
        choices = [(material, material) for material in known]
        if entry.material and entry.material not in known:
            choices.insert(0, (entry.material, entry.material))
        self.material.offer([*choices, (tr("in your own words…"), _OWN_WORDS)], entry.material)
        self.own_material.set_words("")
        self.thickness.set_mm(entry.thickness_mm)
        self.name.set_words(entry.name)
        self._offer_grain(entry.grain)
        self.sheets.show_sheets(entry.sheets)
        self.note.set_words(entry.note)
        self._show_material()
        self._filled = self.entry()
        old = self._old
        self.invented.setVisible(old is not None and any(s.price_invented for s in old.sizes))

    def _offer_grain(self, keep: bool) -> None:
        self.grain.offer([(tr("keep along x"), True), (tr("turn freely"), False)], keep)

    # --- what is told while it is filled in ---------------------------------------------

    def material_text(self) -> str:
        """The material as it stands now, even while it is typed."""
        chosen = self.material.value()
        return self.own_material.text() if chosen == _OWN_WORDS else (chosen or "")

    def _choose_grain(self) -> None:
        self._grain_chosen = True

    def _show_material(self) -> None:
        own = self.material.value() == _OWN_WORDS
        appears = own and self.own_material.isHidden() and self.material.hasFocus()
        self.own_material.setVisible(own)
        if appears:
            self.own_material.setFocus(Qt.FocusReason.TabFocusReason)
        self._show_thickness()

    def _show_caution(self) -> None:
        material = self.material_text()
        caution = caution_of(material, self.name.text())
        self.caution.setVisible(caution is not None)
        if caution is not None:
            self.caution.setText(caution.sentence)
            self.caution.set_kind("bad" if caution.refused else "question")
        if not self._grain_chosen:
            self._offer_grain(has_grain(material, self._listed))
        self.name.setPlaceholderText(usual_name(material, self.thickness.value_mm()))

    def _show_thickness(self) -> None:
        self._show_caution()
        old, mm = self._old, self.thickness.value_mm()
        measured = old.measured_thickness_mm if old is not None else None
        self.measured.setVisible(old is not None and measured is not None)
        if old is None or measured is None:
            return
        told = lengths.text(measured)
        self.measured.setText(
            tr("Measured {mm}, which is another sheet: measure thickness and kerf again.", mm=told)
            if is_another_sheet(old, mm)
            else tr("Measured {mm}; joints follow that.", mm=told)
        )

    # --- done ------------------------------------------------------------------------

    def entry(self) -> StockEntry:
        return StockEntry(
            self.material_text(),
            self.thickness.value_mm(),
            self.name.words(),
            bool(self.grain.value()),
            self.sheets.entries(),
            self.note.words(),
        )

    def entry_of(self, record: Stock) -> StockEntry:
        return StockEntry.of(record)

    def fields(self) -> Mapping[str, QWidget]:
        own = self.material.value() == _OWN_WORDS
        sheets = self.sheets.named_fields()
        return {
            MATERIAL: self.own_material if own else self.material,
            THICKNESS: self.thickness,
            NAME: self.name,
            **{sheet_field(number, part): field for number, part, field in sheets},
        }

    def wrongs(self, entry: StockEntry) -> Sequence[Wrong]:
        return wrongs_of(entry, self._listed, old=self._old)

    def record_of(self, entry: StockEntry) -> Stock:
        return stock_of(entry, self._listed, old=self._old)
