"""Offcuts put on the shelf and taken off it on the card, and all of it taken back."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from lasernest.domain.offcuts import Offcut
from lasernest.gui.parts.offcut_box import OffcutBox
from lasernest.gui.tiles import Step
from lasernest.gui.window import Window
from lasernest.services.order_commands import TakeOffcuts
from lasernest.shop.book import ShopBook
from tests.gui.helpers import wait_for
from tests.gui.test_stock_form import press, said_of, typed

BIRCH = "birch plywood 3 mm"


def box_of(window: Window) -> OffcutBox:
    return window.sheets.settings.offcuts


def labels() -> list[str]:
    return [offcut.label for offcut in ShopBook.open().offcuts()]


def settled(qtbot: QtBot, window: Window) -> None:
    wait_for(qtbot, window, "shop book", "shelf")


def put(qtbot: QtBot, window: Window, label: str = "", width_mm: float = 310.0) -> Offcut:
    box_of(window).open_put()
    form = box_of(window).put_form
    form.width_field.set_mm(width_mm)
    form.height_field.set_mm(180.0)
    form.label.set_words(label)
    form.give()
    settled(qtbot, window)
    return ShopBook.open().offcuts()[-1]


def said(window: Window) -> list[str]:
    return [note.text for note in box_of(window).notes.notes()]


def answer(window: Window, text: str) -> None:
    (note,) = box_of(window).notes.notes()
    (act,) = [a.act for a in note.answers if a.text == text]
    act()


def test_an_offcut_is_put_on_the_shelf_by_keys(qtbot: QtBot, sheets: Window) -> None:
    box = box_of(sheets)
    assert not box.choice.isVisible()
    assert not box.off_button.isVisible()
    box.put_button.setFocus(Qt.FocusReason.TabFocusReason)
    press(sheets, Qt.Key.Key_Return)
    typed(sheets, "310,5")
    press(sheets, Qt.Key.Key_Return)
    typed(sheets, "180")
    press(sheets, Qt.Key.Key_Return, Qt.Key.Key_Tab, Qt.Key.Key_Tab)
    assert sheets.focusWidget() is box.put_form.done_button
    press(sheets, Qt.Key.Key_Return)
    settled(qtbot, sheets)
    (kept,) = ShopBook.open().offcuts()
    assert (kept.label, kept.stock_name, kept.size_mm) == ("A01", BIRCH, (310.5, 180.0))
    assert sheets.focusWidget() is box.put_button
    assert said(sheets) == ["On the shelf: write A01 on the piece of 310 × 180 mm."]
    assert box.choice.isVisible()
    assert not sheets.sheets.settings.stock_box.notes.isVisible()


def test_what_is_missing_is_told_and_a_label_stands_once(qtbot: QtBot, sheets: Window) -> None:
    put(qtbot, sheets, "B07")
    box = box_of(sheets)
    box.open_put()
    form = box.put_form
    assert not box.notes.isVisible()
    form.label.setFocus()
    typed(sheets, "b07")
    form.give()
    assert said_of(form) == [
        "The width, along the grain, is missing.",
        "The height is missing.",
        "There is an offcut labelled B07 already. Choose another label.",
    ]
    assert sheets.focusWidget() is form.width_field
    press(sheets, Qt.Key.Key_Escape)
    assert form.isHidden()
    assert box.notes.isVisible()


def test_a_label_that_was_taken_meanwhile_is_told_by_the_book(qtbot: QtBot, sheets: Window) -> None:
    ShopBook.open().add_offcut(Offcut.rectangle("C01", BIRCH, 100.0, 80.0))
    box_of(sheets).open_put()
    form = box_of(sheets).put_form
    form.width_field.set_mm(90.0)
    form.height_field.set_mm(80.0)
    form.label.set_words("c01")
    form.give()
    settled(qtbot, sheets)
    assert form.isVisible()
    assert said_of(form) == ["There is an offcut labelled c01 already. Choose another label."]
    assert form.label.words() == "c01"
    assert form.done_button.isEnabled()


def test_putting_one_on_the_shelf_is_taken_back_and_out_of_the_job(
    qtbot: QtBot, sheets: Window
) -> None:
    kept = put(qtbot, sheets)
    answer(sheets, "Fill it first")
    assert sheets.desk.job.setup.offcuts == (kept,)
    (note,) = box_of(sheets).notes.notes()
    assert [a.text for a in note.answers] == ["Take it back", "Dismiss"]
    answer(sheets, "Take it back")
    settled(qtbot, sheets)
    assert labels() == []
    assert sheets.desk.job.setup.offcuts == ()
    assert said(sheets) == []


def test_one_is_taken_off_and_comes_back(qtbot: QtBot, sheets: Window) -> None:
    first, second = put(qtbot, sheets), put(qtbot, sheets, width_mm=200.0)
    sheets.desk.do(TakeOffcuts((first, second)), Step.SHEETS)
    before = sheets.desk.job
    box = box_of(sheets)
    box.off_button.click()
    form = box.off_form
    assert sheets.focusWidget() is form.which
    assert form.which.currentText() == "A01, 310 × 180 mm"
    QTest.keyClick(form.which, Qt.Key.Key_Down)
    form.done_button.click()
    settled(qtbot, sheets)
    assert labels() == ["A01"]
    assert sheets.desk.job.setup.offcuts == (first,)
    assert said(sheets) == ["A02 is off the shelf."]
    answer(sheets, "Take it back")
    settled(qtbot, sheets)
    assert labels() == ["A01", "A02"]
    assert sheets.desk.job is before


def test_a_stock_that_is_not_in_the_book_keeps_no_offcuts(qtbot: QtBot, sheets: Window) -> None:
    sheets.sheets.settings.stock_box.remove()
    settled(qtbot, sheets)
    box_of(sheets).open_put()
    form = box_of(sheets).put_form
    form.width_field.set_mm(90.0)
    form.height_field.set_mm(80.0)
    form.give()
    settled(qtbot, sheets)
    (sentence,) = said_of(form)
    assert sentence.startswith("The shop book has no stock called 'birch plywood 3 mm'.")
    assert labels() == []


def test_a_book_that_cannot_be_written_is_told_in_the_form(
    qtbot: QtBot, sheets: Window, tmp_path: Path
) -> None:
    sheets.desk.workbench.shop.path.unlink()
    box_of(sheets).open_put()
    form = box_of(sheets).put_form
    form.width_field.set_mm(90.0)
    form.height_field.set_mm(80.0)
    form.give()
    settled(qtbot, sheets)
    (sentence,) = said_of(form)
    assert "the shop book is gone" in sentence
    assert form.width_field.value_mm() == 90.0
    with qtbot.waitSignal(sheets.desk.stocks_changed):
        sheets.desk.open_shop()
