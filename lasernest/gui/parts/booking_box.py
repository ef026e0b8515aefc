"""The booking of what was cut."""

from __future__ import annotations

from PySide6.QtWidgets import QWidget

from lasernest.domain.bookings import Booking
from lasernest.gui.desk import Desk
from lasernest.gui.lengths import lengths
from lasernest.gui.look.theme import TextSize
from lasernest.gui.obstacles import why_not_cut
from lasernest.gui.parts.basics import Text, button, horizontal, vertical
from lasernest.gui.shelf import Shelf
from lasernest.gui.words import count_of, tr


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
        desk.beam.changed.connect(self.refresh)

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
        obstacle = why_not_cut(desk) if booking is None else ""
        self.book_button.setVisible(booking is None and not obstacle)
        self.book_button.setEnabled(not busy)
        alike = shelf.booked_alike
        self.book_button.setText(tr("Book it") if alike is None else tr("Book again"))
        self.back_button.setVisible(last is not None)
        self.back_button.setEnabled(not busy)
        if booking is not None:
            self.text.setText(tr("Booked as {what}", what=booking_words(booking)))
        elif obstacle:
            words = [tr("Nothing to book: {why}", why=obstacle)]
            if last is not None:
                words.append(tr("Last for this job: {what}", what=booking_words(last)))
            self.text.setText(" ".join(words))
        elif alike is not None:
            self.text.setText(
                tr(
                    "The same panels and sheets were booked before, as {what} Book again only what "
                    "was cut again.",
                    what=booking_words(alike),
                )
            )
        elif last is not None:
            self.text.setText(tr("Not booked. Last for this job: {what}", what=booking_words(last)))
        else:
            self.text.setText(tr("When it is cut, book it: the shop book counts its sheets."))


def booking_words(booking: Booking) -> str:
    """What a booking took and kept, in a sentence."""
    several = len({use.stock_name for use in booking.sheets}) > 1
    taken = [
        tr(
            "{sheets} of {size}",
            sheets=count_of(use.count, "sheet", "sheets"),
            size=lengths.size(use.width_mm, use.height_mm, 1),
        )
        + (f" {use.stock_name}" if several else "")
        for use in booking.sheets
    ]
    taken += [tr("offcut {label}", label=offcut.label) for offcut in booking.offcuts_used]
    panels = count_of(sum(panel.count for panel in booking.panels), "panel", "panels")
    words = tr(
        "number {n} on {day}: {panels} from {taken}.",
        n=booking.number,
        day=f"{booking.on:%d %b}",
        panels=panels,
        taken=", ".join(taken) or tr("nothing"),
    )
    for kept in booking.offcuts_kept:
        size = lengths.size(*kept.size_mm, 0)
        words += " " + tr("Write {label} on the piece of {size}.", label=kept.label, size=size)
    return words
