"""Which offcuts are filled before whole sheets, and what lies on the shelf."""

from __future__ import annotations

from collections.abc import Sequence

from lasernest.domain.offcuts import Offcut
from lasernest.gui.desk import Desk
from lasernest.gui.parts.basics import SettingRow, link
from lasernest.gui.parts.entry_box import EntryBox
from lasernest.gui.parts.fields import ChoiceField
from lasernest.gui.parts.notes import Answer
from lasernest.gui.parts.offcut_forms import OffcutForm, OffForm, offcut_text
from lasernest.gui.shelf import Shelf
from lasernest.gui.shop_hands import Kept, ShopPart
from lasernest.gui.tiles import Step
from lasernest.gui.words import tr
from lasernest.services.order_commands import TakeOffcuts


class OffcutBox(EntryBox):
    """The offcuts of the stock in view."""

    def __init__(self, desk: Desk, shelf: Shelf) -> None:
        super().__init__(desk, Step.SHEETS, part=ShopPart.SHELF)
        self._shelf = shelf
        self._put_form: OffcutForm | None = None
        self._off_form: OffForm | None = None
        self.choice = ChoiceField()
        self.choice.picked.connect(
            lambda taken: desk.do(TakeOffcuts(taken, desk.in_view.name), Step.SHEETS)
        )
        self._row = SettingRow(
            tr("Offcuts"), self.choice, explain=tr("Filled before whole sheets."), width=196
        )
        self.column.insertWidget(0, self._row)
        self.put_button = link(
            tr("+ Offcut"), self.open_put, tip=tr("Put a remainder of this stock on the shelf")
        )
        self.off_button = link(
            tr("Take one off the shelf"), self.open_off, tip=tr("It was used up or thrown away")
        )
        self.links.addWidget(self.put_button)
        self.links.addWidget(self.off_button)
        shelf.changed.connect(self.refresh)
        desk.stocks_changed.connect(lambda: shelf.look(again=True))

    @property
    def put_form(self) -> OffcutForm:
        """The form for an offcut, made when it is first wanted."""
        if self._put_form is None:
            self._put_form = OffcutForm()
            self._put_form.given.connect(
                lambda offcut: self._hands.put_offcut(
                    offcut, done=self.close_form, refused=self.refused
                )
            )
            self.stand(self._put_form)
        return self._put_form

    @property
    def off_form(self) -> OffForm:
        """The form that takes one off, made when it is first wanted."""
        if self._off_form is None:
            self._off_form = OffForm()
            self._off_form.given.connect(
                lambda offcut: self._hands.take_off(
                    offcut, done=self.close_form, refused=self.refused
                )
            )
            self.stand(self._off_form)
        return self._off_form

    @property
    def _stock_name(self) -> str:
        stock = self._desk.in_view.setup.stock
        return stock.name if stock is not None else ""

    @property
    def _on_hand(self) -> tuple[Offcut, ...]:
        return tuple(o for o in self._shelf.offcuts if o.stock_name == self._stock_name)

    def refresh(self) -> None:
        """Show what the job holds and the shelf offers."""
        setup, on_hand = self._desk.in_view.setup, self._on_hand
        choices: list[tuple[str, tuple[Offcut, ...]]] = [(tr("none, whole sheets"), ())]
        if len(on_hand) > 1:
            choices.append((tr("all {n} on the shelf", n=len(on_hand)), on_hand))
        choices += [(offcut_text(o), (o,)) for o in on_hand]
        if setup.offcuts and setup.offcuts not in [taken for _, taken in choices]:
            labels = ", ".join(offcut.label for offcut in setup.offcuts)
            choices.append((tr("{labels} of this job", labels=labels), setup.offcuts))
        self.choice.offer(choices, setup.offcuts)
        self._row.setVisible(len(choices) > 1)
        self.off_button.setVisible(bool(on_hand))
        self.setVisible(setup.stock is not None)
        self.show_notes()

    def open_put(self) -> None:
        """Let the maker put an offcut on the shelf."""
        if self._stock_name:
            labels = [offcut.label for offcut in self._shelf.offcuts]
            self.put_form.open_for(self._stock_name, labels, self.make_way(self.put_form))

    def open_off(self) -> None:
        """Let the maker take one off the shelf."""
        if self._on_hand:
            self.off_form.open_for(self._on_hand, self.make_way(self.off_form))
        else:
            self._desk.said.emit(tr("No offcut of this stock is on the shelf."))

    def answers(self, kept: Kept) -> Sequence[Answer]:
        new, desk = kept.offcut, self._desk
        taken = desk.in_view.setup.offcuts
        if new is None or new.stock_name != self._stock_name or new in taken:
            return ()
        fill = TakeOffcuts((*taken, new), desk.in_view.name)
        return (Answer(tr("Fill it first"), lambda: desk.do(fill, Step.SHEETS)),)
