"""How many besides the units, from which offcuts, and the booking of what was cut."""

from __future__ import annotations

from PySide6.QtWidgets import QWidget

from lasernest.domain.bookings import Booking
from lasernest.domain.offcuts import Offcut
from lasernest.gui.desk import Desk
from lasernest.gui.lengths import lengths
from lasernest.gui.look.theme import TextSize
from lasernest.gui.parts.basics import SettingRow, Text, button, horizontal, vertical
from lasernest.gui.parts.fields import ChoiceField, CountField
from lasernest.gui.parts.plain_fields import NumberField
from lasernest.gui.shelf import Shelf
from lasernest.gui.tiles import Step
from lasernest.gui.words import count_of, tr
from lasernest.services.order_commands import SetScrap, SetSpares, TakeOffcuts


class OrderBox(QWidget):
    """Spares, expected scrap and offcuts of a job."""

    def __init__(self, desk: Desk, shelf: Shelf) -> None:
        super().__init__()
        self._desk, self._shelf = desk, shelf
        column = vertical(self, gap=6)
        self.spares = CountField(least=0, most=100_000)
        self.spares.committed.connect(lambda n: desk.do(SetSpares(n), Step.SHEETS))
        self.scrap = NumberField(unit="%", least=0.0, most=90.0, empty="0 %")
        self.scrap.committed.connect(
            lambda percent: desk.do(SetScrap((percent or 0.0) / 100.0), Step.SHEETS)
        )
        self.offcuts = ChoiceField()
        self.offcuts.picked.connect(
            lambda taken: desk.do(TakeOffcuts(taken, desk.in_view.name), Step.SHEETS)
        )
        for name, field, width, explain in (
            (tr("Spares of each"), self.spares, 96, tr("Copies besides what the units need.")),
            (tr("Expected scrap"), self.scrap, 96, tr("Share that fails; more are cut for it.")),
            (tr("Offcuts"), self.offcuts, 196, tr("Filled before whole sheets.")),
        ):
            column.addWidget(SettingRow(name, field, explain=explain, width=width))
        shelf.changed.connect(self.refresh)
        desk.stocks_changed.connect(lambda: shelf.look(again=True))

    def refresh(self) -> None:
        """Show what the job holds and the shelf offers."""
        setup = self._desk.in_view.setup
        self.spares.set_value(setup.spares)
        self.scrap.set_number(round(100.0 * setup.scrap_share, 6) or None)
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
        self.offcuts.offer(choices, setup.offcuts)
        self.offcuts.setEnabled(len(choices) > 1)


class BookingBox(QWidget):
    """Books the plan that was cut, and takes the booking back."""

    def __init__(self, desk: Desk, shelf: Shelf) -> None:
        super().__init__()
        self._desk, self._shelf = desk, shelf
        column = vertical(self, gap=6)
        self.text = Text("", size=TextSize.SMALL, wrap=True)
        column.addWidget(self.text)
        row = horizontal(gap=8)
        self.book_button = button(
            tr("Book it"),
            shelf.book,
            tip=tr("It was cut: take its sheets from the count, keep its offcuts"),
        )
        self.back_button = button(tr("Take back"), self._take_back, tip=tr("Undo the booking"))
        row.addWidget(self.book_button)
        row.addWidget(self.back_button)
        row.addStretch(1)
        column.addLayout(row)
        shelf.changed.connect(self.refresh)

    def _take_back(self) -> None:
        booking = self._shelf.booking or next(iter(self._shelf.bookings), None)
        if booking is not None:
            self._shelf.take_back(booking.number)

    def refresh(self) -> None:
        """Show whether the plan is booked."""
        desk, shelf = self._desk, self._shelf
        plan = desk.job.plan
        self.setVisible(plan is not None)
        booking = shelf.booking
        last = next(iter(shelf.bookings), None)
        busy = desk.tasks.task("book") is not None
        self.book_button.setVisible(booking is None)
        self.book_button.setEnabled(not busy and plan is not None)
        self.back_button.setVisible(last is not None)
        self.back_button.setEnabled(not busy)
        if booking is not None:
            self.text.setText(booking_words(booking))
        elif last is not None:
            self.text.setText(tr("Not booked. Last for this job: {what}", what=booking_words(last)))
        else:
            self.text.setText(tr("When it is cut, book it: the shop book counts its sheets."))


def booking_words(booking: Booking) -> str:
    """What a booking took and kept, in a sentence."""
    taken = [
        f"{use.count} × {lengths.size(use.width_mm, use.height_mm, 1)}" for use in booking.sheets
    ]
    taken += [tr("offcut {label}", label=offcut.label) for offcut in booking.offcuts_used]
    panels = count_of(sum(panel.count for panel in booking.panels), "panel", "panels")
    words = tr(
        "number {n} of {day}, {panels} from {taken}.",
        n=booking.number,
        day=f"{booking.on:%d %b}",
        panels=panels,
        taken=" + ".join(taken) or tr("nothing"),
    )
    for kept in booking.offcuts_kept:
        size = lengths.size(*kept.size_mm, 0)
        words += " " + tr("Write {label} on the piece of {size}.", label=kept.label, size=size)
    return words[:1].upper() + words[1:]
