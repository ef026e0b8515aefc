"""A stock of the maker's own, entered, changed and removed on the card, and taken back."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QWidget
from pytestqt.qtbot import QtBot

from lasernest.domain.stock import SheetSize, Stock
from lasernest.errors import Cancelled
from lasernest.gui.lengths import lengths
from lasernest.gui.look.theme import theme
from lasernest.gui.obstacles import is_forbidden
from lasernest.gui.parts.basics import Text
from lasernest.gui.parts.fields import Field
from lasernest.gui.parts.stock_box import StockBox
from lasernest.gui.parts.stock_form import StockForm
from lasernest.gui.tiles import Step
from lasernest.gui.window import Window
from lasernest.services.commands import RenameJob
from lasernest.services.stock_exchange import CutPanelsFrom
from lasernest.shop.book import ShopBook
from tests.gui.helpers import wait_for

TAB, ENTER, ESCAPE = Qt.Key.Key_Tab, Qt.Key.Key_Return, Qt.Key.Key_Escape


def box_of(window: Window) -> StockBox:
    return window.sheets.settings.stock_box


def press(window: Window, *keys: Qt.Key, held: Any = Qt.KeyboardModifier.NoModifier) -> None:
    for key in keys:
        QTest.keyClick(window.windowHandle(), key, held)


def typed(window: Window, text: str) -> None:
    focused = window.focusWidget()
    assert isinstance(focused, Field), focused
    focused.selectAll()
    QTest.keyClicks(focused, text)


def give(qtbot: QtBot, window: Window, form: StockForm) -> None:
    form.give()
    wait_for(qtbot, window, "shop book")


def stock_in_book(name: str) -> Stock:
    return ShopBook.open().stock(name)


def chosen(window: Window) -> Stock:
    stock = window.desk.job.setup.stock
    assert stock is not None
    return stock


def said(window: Window) -> list[str]:
    return [note.text for note in box_of(window).notes.notes()]


def said_of(form: StockForm) -> list[str]:
    return [
        text.text()
        for text in form.findChildren(Text)
        if text.property("kind") == "bad" and text.isVisible()
    ]


def answer(window: Window, text: str) -> None:
    (note,) = box_of(window).notes.notes()
    (act,) = [a.act for a in note.answers if a.text == text]
    act()


# --- a new one ---------------------------------------------------------------------------


def test_a_stock_is_entered_by_keys_alone(qtbot: QtBot, sheets: Window) -> None:
    box = box_of(sheets)
    box.new_button.setFocus(Qt.FocusReason.TabFocusReason)
    press(sheets, ENTER)
    form = box.form
    assert sheets.focusWidget() is form.material
    QTest.keyClicks(form.material, "pop")  # as a list of choices takes letters
    assert form.material.currentText() == "poplar plywood"
    press(sheets, ENTER)
    assert sheets.focusWidget() is form.thickness
    typed(sheets, "3,6")
    press(sheets, ENTER)
    assert form.thickness.text() == "3.60 mm"
    assert form.name.placeholderText() == "poplar plywood 3.6 mm"
    assert sheets.focusWidget() is form.name
    press(sheets, TAB, TAB)
    (row,) = form.sheets.rows
    assert sheets.focusWidget() is row.width_field
    for text in ("1250", "610", "9,80", "4"):
        typed(sheets, text)
        press(sheets, TAB)
    assert sheets.focusWidget() is form.sheets.more_button
    press(sheets, TAB)
    typed(sheets, "from the yard")
    press(sheets, ENTER, held=Qt.KeyboardModifier.ControlModifier)  # the form's main action
    wait_for(qtbot, sheets, "shop book")
    kept = stock_in_book("poplar plywood 3.6 mm")
    assert kept.sizes == (SheetSize(1250, 610, 9.8, 4),)
    assert (kept.note, kept.grain, kept.kerf.measured) == ("from the yard", True, False)
    assert chosen(sheets) == kept
    assert sheets.desk.settings.stock_name == kept.name
    assert sheets.sheets.settings.stock.currentText() == kept.name
    assert form.isHidden()
    assert sheets.focusWidget() is box.new_button
    assert said(sheets) == ["poplar plywood 3.6 mm is in the shop book, and this job takes it."]
    assert not sheets.desk.arranging


def enter_new(window: Window, name: str = "own", material: str = "birch plywood") -> StockForm:
    box_of(window).open_new()
    form = box_of(window).form
    form.material.pick(material)
    form.thickness.set_mm(5.0)
    form.name.set_words(name)
    form.sheets.show_sheets([])
    row = form.sheets.rows[0]
    row.width_field.set_mm(700.0)
    row.height_field.set_mm(500.0)
    return form


def test_taking_it_back_is_for_the_book_and_the_job(qtbot: QtBot, sheets: Window) -> None:
    before = sheets.desk.job
    give(qtbot, sheets, enter_new(sheets))
    assert chosen(sheets).name == "own"
    assert sheets.desk.job.plan is None
    answer(sheets, "Take it back")
    wait_for(qtbot, sheets, "shop book")
    assert sheets.desk.job is before
    assert "own" not in [s.name for s in ShopBook.open().stocks()]
    assert "own" not in [s.name for s in sheets.desk.stocks]
    assert said(sheets) == []


def test_undo_takes_the_job_back_and_the_book_can_follow(qtbot: QtBot, sheets: Window) -> None:
    before = sheets.desk.job
    give(qtbot, sheets, enter_new(sheets))
    sheets.desk.undo()
    assert sheets.desk.job is before
    assert stock_in_book("own").name == "own"
    answer(sheets, "Take it back")
    wait_for(qtbot, sheets, "shop book")
    assert sheets.desk.job is before
    assert "own" not in [s.name for s in ShopBook.open().stocks()]


def test_what_is_missing_is_told_beside_its_field(qtbot: QtBot, sheets: Window) -> None:
    box = box_of(sheets)
    box.open_new()
    form = box.form
    form.give()
    assert said_of(form) == [
        "Say what it is made of.",
        "The thickness it is sold as is missing.",
        "The width of the sheet, along the grain, is missing.",
    ]
    assert sheets.focusWidget() is form.material
    assert form.thickness.is_wrong
    press(sheets, TAB)
    typed(sheets, "three")
    press(sheets, TAB)
    assert form.thickness.text() == "three"  # nothing is lost
    assert "'three' is not a length. Write it like 3, 3mm, 3.2in or 1/8in." in said_of(form)
    form.give()
    assert sheets.focusWidget() is form.thickness
    typed(sheets, "3")
    press(sheets, TAB)
    assert not form.thickness.is_wrong
    assert not any("three" in text for text in said_of(form))
    assert sheets.desk.tasks.task("shop book") is None


def test_a_name_that_is_taken_is_told_and_goes_when_another_is_typed(
    qtbot: QtBot, sheets: Window
) -> None:
    form = enter_new(sheets, "Birch plywood 4 mm")
    form.give()
    assert said_of(form) == [
        "There is a stock called birch plywood 4 mm already. Choose another name."
    ]
    assert sheets.focusWidget() is form.name
    typed(sheets, "mine")
    assert said_of(form) == []
    assert not form.name.is_wrong
    give(qtbot, sheets, form)
    assert stock_in_book("mine").thickness_mm == 5.0


def test_a_material_that_must_not_be_lasered_is_told_while_it_is_typed(
    qtbot: QtBot, sheets: Window
) -> None:
    form = enter_new(sheets, "banner")
    assert not form.caution.isVisible()
    form.material.pick("own words")
    assert sheets.focusWidget() is not None
    QTest.keyClicks(form.own_material, "vinyl")
    assert form.caution.text().startswith("It must not be laser cut: no cut file is written")
    assert form.caution.property("kind") == "bad"
    QTest.keyClicks(form.own_material, "\b\b\b\b\bpolycarbonate")
    assert form.caution.text() == "It chars and catches fire easily and cuts badly."
    assert form.caution.property("kind") == "question"
    form.own_material.selectAll()
    QTest.keyClicks(form.own_material, "PVC")
    give(qtbot, sheets, form)
    assert chosen(sheets).material == "PVC"
    assert is_forbidden(sheets.desk.job)


def test_inches_are_shown_and_read(qtbot: QtBot, sheets: Window) -> None:
    lengths.show_inches(True)
    form = enter_new(sheets)
    row = form.sheets.rows[0]
    row.width_field.setFocus()
    typed(sheets, "24")
    press(sheets, TAB)
    typed(sheets, "18 1/2")
    give(qtbot, sheets, form)
    size = stock_in_book("own").sizes[0]
    assert (size.width_mm, size.height_mm) == pytest.approx((609.6, 469.9))


def test_escape_keeps_what_was_typed_and_cancel_does_not(qtbot: QtBot, sheets: Window) -> None:
    box = box_of(sheets)
    form = enter_new(sheets, "half done")
    form.name.setFocus()
    press(sheets, ESCAPE)
    assert form.isHidden()
    box.open_new()
    assert form.name.words() == "half done"
    form.cancel_button.click()
    box.open_new()
    assert form.name.words() == ""
    assert form.sheets.rows[0].width_field.value_mm() is None


def test_rows_come_and_go_and_the_last_one_stays(qtbot: QtBot, sheets: Window) -> None:
    form = enter_new(sheets)
    assert not form.sheets.rows[0].away_button.isVisible()
    form.sheets.more_button.click()
    second = form.sheets.rows[1]
    assert sheets.focusWidget() is second.width_field
    assert second.width_field.accessibleName() == "Width of sheet 2, along the grain"
    second.width_field.set_mm(300.0)
    form.give()
    assert said_of(form) == ["The height of the sheet is missing."]
    assert sheets.focusWidget() is second.height_field
    form.sheets.rows[0].away_button.click()
    assert form.sheets.rows == [second]
    assert second.width_field.accessibleName() == "Width of sheet 1, along the grain"
    assert sheets.focusWidget() is second.width_field


# --- one that is changed -----------------------------------------------------------------


def test_another_price_keeps_the_plan_and_comes_into_it(qtbot: QtBot, sheets: Window) -> None:
    before = sheets.desk.job
    box_of(sheets).open_change()
    form = box_of(sheets).form
    row = form.sheets.rows[0]
    row.price.setFocus()
    typed(sheets, "7,25")
    give(qtbot, sheets, form)
    assert stock_in_book(chosen(sheets).name).sizes[0].price == 7.25
    plan = sheets.desk.job.plan
    assert plan is not None
    assert before.plan is not None
    assert plan.sheets[0].sheet.price == 7.25
    assert plan.sheets[0].placements == before.plan.sheets[0].placements
    assert sheets.desk.workbench.undo_label == "Change stock birch plywood 3 mm"
    answer(sheets, "Take it back")
    wait_for(qtbot, sheets, "shop book")
    assert sheets.desk.job is before
    assert stock_in_book(chosen(sheets).name).sizes[0].price == 6.5


def test_another_price_leaves_the_cut_file_written(
    qtbot: QtBot, sheets: Window, tmp_path: Path
) -> None:
    sheets.cut_file.choose_path(tmp_path / "feet.dxf")
    sheets.write_cut_file()
    wait_for(qtbot, sheets, "write")
    before = sheets.cut_file.tile()
    assert before.figure == "1 file proved"

    def change(price: float, thickness_mm: float) -> None:
        box_of(sheets).open_change()
        form = box_of(sheets).form
        form.sheets.rows[0].price.set_number(price)
        form.thickness.set_mm(thickness_mm)
        give(qtbot, sheets, form)

    sheets.go_to(Step.SHEETS)
    change(8.0, 3.0)
    assert sheets.cut_file.tile() == before
    sheets.desk.undo()
    assert sheets.cut_file.tile() == before
    sheets.desk.redo()
    assert sheets.cut_file.tile() == before
    change(8.0, 3.1)  # another thickness may be cut otherwise
    assert sheets.desk.job.plan is not None
    assert sheets.cut_file.tile().figure == "not written yet"


def test_taking_back_after_more_was_done_brings_the_old_stock_into_the_job(
    qtbot: QtBot, sheets: Window
) -> None:
    box_of(sheets).open_change()
    form = box_of(sheets).form
    form.name.set_words("ply")
    give(qtbot, sheets, form)
    assert chosen(sheets).name == "ply"
    sheets.desk.do(RenameJob("another"))
    answer(sheets, "Take it back")
    wait_for(qtbot, sheets, "shop book")
    assert chosen(sheets).name == "birch plywood 3 mm"
    assert sheets.desk.job.plan is not None
    assert sheets.desk.job.name == "another"
    assert sheets.desk.settings.stock_name != "ply"


def test_of_two_stocks_the_one_in_view_is_changed(qtbot: QtBot, sheets: Window) -> None:
    desk = sheets.desk
    cast = next(s for s in desk.stocks if s.name == "cast acrylic 3 mm")
    desk.do(CutPanelsFrom((desk.job.panels[-1].name,), cast), Step.SHEETS)
    desk.in_view.look(cast.name)
    sheets.sheets.refresh()
    own = chosen(sheets)
    box_of(sheets).open_change()
    form = box_of(sheets).form
    assert form.name.words() == "cast acrylic 3 mm"
    form.name.set_words("clear")
    give(qtbot, sheets, form)
    assert desk.in_view.name == "clear"
    assert sheets.sheets.settings.stock.currentText() == "clear"
    assert [p.stock_name for p in desk.job.panels] == ["", "", "clear"]
    assert chosen(sheets) == own
    answer(sheets, "Take it back")
    wait_for(qtbot, sheets, "shop book")
    assert [p.stock_name for p in desk.job.panels] == ["", "", "cast acrylic 3 mm"]
    assert stock_in_book("cast acrylic 3 mm") == cast
    assert desk.in_view.name == "cast acrylic 3 mm"


def test_another_size_says_why_it_must_be_arranged_again(qtbot: QtBot, sheets: Window) -> None:
    box_of(sheets).open_change()
    form = box_of(sheets).form
    form.sheets.rows[0].height_field.set_mm(410.0)
    give(qtbot, sheets, form)
    assert sheets.desk.job.plan is None
    assert said(sheets) == [
        "birch plywood 3 mm is changed in the shop book. "
        "Arrange again: a sheet of 600 x 400 mm was not offered."
    ]


def test_a_change_by_another_window_is_told_and_nothing_is_lost(
    qtbot: QtBot, sheets: Window
) -> None:
    box_of(sheets).open_change()
    form = box_of(sheets).form
    shown = chosen(sheets)
    theirs = replace(shown, supplier="somebody else")
    ShopBook.open().save_stock(theirs, instead_of=shown)
    form.note.set_words("mine")
    give(qtbot, sheets, form)
    assert form.isVisible()
    assert said_of(form) == [
        "The stock birch plywood 3 mm was changed by somebody else meanwhile. Look at it again "
        "and repeat your change. Done keeps what stands here in place of it."
    ]
    assert form.note.words() == "mine"
    assert stock_in_book(shown.name).supplier == "somebody else"
    give(qtbot, sheets, form)
    kept = stock_in_book(shown.name)
    assert (kept.note, kept.supplier) == ("mine", "somebody else")
    assert form.isHidden()


def test_after_undo_the_jobs_stock_is_told_apart_from_the_books(
    qtbot: QtBot, sheets: Window
) -> None:
    box_of(sheets).open_change()
    box_of(sheets).form.sheets.rows[0].price.set_number(8.0)
    give(qtbot, sheets, box_of(sheets).form)
    choice = sheets.sheets.settings.stock
    assert choice.currentText() == "birch plywood 3 mm"
    sheets.desk.undo()
    texts = [choice.itemText(i) for i in range(choice.count())]
    assert choice.currentText() == "this job's birch plywood 3 mm"
    assert texts.count("birch plywood 3 mm") == 1


def test_cancel_keeps_nothing_and_loses_nothing(
    qtbot: QtBot, sheets: Window, monkeypatch: pytest.MonkeyPatch
) -> None:
    def cancelled(*_: object, **__: object) -> None:
        raise Cancelled

    box_of(sheets).open_change()
    form = box_of(sheets).form
    form.sheets.rows[0].price.set_number(8.0)
    with monkeypatch.context() as patched:
        patched.setattr("lasernest.gui.shop_hands.plan_with_changed", cancelled)
        give(qtbot, sheets, form)
    assert said_of(form) == ["It was cancelled, and nothing is kept."]
    assert stock_in_book(chosen(sheets).name).sizes[0].price == 6.5
    assert form.sheets.rows[0].price.number() == 8.0
    give(qtbot, sheets, form)
    assert stock_in_book(chosen(sheets).name).sizes[0].price == 8.0


def test_one_thing_is_written_after_the_other(qtbot: QtBot, sheets: Window) -> None:
    form = enter_new(sheets)
    form.give()
    box_of(sheets).remove()  # while that is being kept
    assert said_of(form) == ["The shop book is being written. Try again in a moment."]
    wait_for(qtbot, sheets, "shop book")
    names = [stock.name for stock in ShopBook.open().stocks()]
    assert "own" in names
    assert "birch plywood 3 mm" in names
    assert form.isHidden()


def test_a_stock_that_only_the_job_has_can_be_put_into_the_book(
    qtbot: QtBot, sheets: Window
) -> None:
    shown = chosen(sheets)
    box_of(sheets).remove()
    wait_for(qtbot, sheets, "shop book")
    assert shown.name not in [s.name for s in sheets.desk.stocks]
    assert chosen(sheets) == shown
    assert said(sheets) == [
        "birch plywood 3 mm is out of the shop book. "
        "This job still has it; choose another one when you like."
    ]
    box_of(sheets).open_change()
    form = box_of(sheets).form
    assert form.heading.text() == "Put birch plywood 3 mm into the shop book"
    assert not form.remove_button.isVisible()
    give(qtbot, sheets, form)
    assert stock_in_book(shown.name).sizes[0].price == 6.5


def test_a_removed_stock_comes_back(qtbot: QtBot, sheets: Window) -> None:
    shown = chosen(sheets)
    box_of(sheets).open_change()
    box_of(sheets).form.remove_button.click()
    wait_for(qtbot, sheets, "shop book")
    assert box_of(sheets).form.isHidden()
    answer(sheets, "Take it back")
    wait_for(qtbot, sheets, "shop book")
    assert stock_in_book(shown.name) == shown
    assert shown in sheets.desk.stocks


def test_what_was_measured_is_told_and_when_it_no_longer_holds(
    qtbot: QtBot, sheets: Window
) -> None:
    shown = chosen(sheets)
    measured = replace(shown, measured_thickness_mm=3.05)
    ShopBook.open().save_stock(measured, instead_of=shown)
    with qtbot.waitSignal(sheets.desk.stocks_changed):
        sheets.desk.open_shop()
    box_of(sheets).open_change()
    form = box_of(sheets).form
    assert form.measured.text() == "Measured 3.05 mm; joints follow that."
    form.thickness.setFocus()
    typed(sheets, "6")
    press(sheets, TAB)
    assert form.measured.text() == (
        "Measured 3.05 mm, which is another sheet: measure thickness and kerf again."
    )
    give(qtbot, sheets, form)
    assert stock_in_book(shown.name).measured_thickness_mm is None


def test_opening_it_again_drops_nothing(qtbot: QtBot, sheets: Window) -> None:
    form = enter_new(sheets, "mine")
    box_of(sheets).open_change()
    assert form.heading.text() == "New stock"
    assert form.name.words() == "mine"
    assert sheets.focusWidget() is form.material


def test_kerf_has_it_too(qtbot: QtBot, sheets: Window) -> None:
    sheets.go_to(Step.KERF)
    sheets.acts.actions["new stock"].trigger()
    form = sheets.kerf.stock_box.form
    assert form.isVisible()
    assert sheets.page is sheets.kerf
    form.material.pick("MDF")
    form.thickness.set_mm(5.0)
    form.sheets.rows[0].width_field.set_mm(600.0)
    form.sheets.rows[0].height_field.set_mm(300.0)
    give(qtbot, sheets, form)
    assert form.isHidden()
    assert chosen(sheets).name == "MDF 5 mm"
    wait_for(qtbot, sheets, "tune")


def test_at_outlines_it_is_for_the_chosen_panels(qtbot: QtBot, sheets: Window) -> None:
    before = sheets.desk.job
    own = chosen(sheets)
    sheets.go_to(Step.OUTLINES)
    page = sheets.outlines
    last = before.panels[-1].name
    page.list.choose([last])
    box = page.chosen_box.stock_box
    assert not box.change_button.isVisible()
    box.new_button.click()
    assert box.form.heading.text() == "New stock for the chosen panels"
    box.form.material.pick("cast acrylic")
    box.form.thickness.set_mm(4.0)
    box.form.sheets.rows[0].width_field.set_mm(400.0)
    box.form.sheets.rows[0].height_field.set_mm(300.0)
    give(qtbot, sheets, box.form)
    assert stock_in_book("cast acrylic 4 mm").sizes == (SheetSize(400, 300),)
    job = sheets.desk.job
    assert [p.stock_name for p in job.panels] == ["", "", "cast acrylic 4 mm"]
    assert chosen(sheets) == own
    assert page.chosen_box.stock.currentText() == "cast acrylic 4 mm"
    (note,) = box.notes.notes()
    assert note.text == f"cast acrylic 4 mm is in the shop book, and {last} is cut from it."
    note.answers[0].act()
    wait_for(qtbot, sheets, "shop book")
    assert sheets.desk.job is before
    assert "cast acrylic 4 mm" not in [s.name for s in sheets.desk.stocks]


# --- how it looks ------------------------------------------------------------------------


@pytest.mark.parametrize("text_scale", [1.0, 2.0])
@pytest.mark.parametrize("size", [(1280, 800), (1024, 700)])
def test_nothing_of_the_form_is_wider_than_the_card(
    qtbot: QtBot, sheets: Window, text_scale: float, size: tuple[int, int]
) -> None:
    sheets.resize(*size)
    theme.choose(text_scale=text_scale)
    box_of(sheets).open_change()
    form = box_of(sheets).form
    form.sheets.rows[0].height_field.set_mm(None)
    form.give()
    qtbot.waitUntil(lambda: bool(said_of(form)))
    room = form.width()
    assert form.minimumSizeHint().width() <= room
    for part in form.findChildren(QWidget):
        if part.isVisible():
            right = part.mapTo(form, part.rect().topRight()).x()
            assert right < room, (part, part.accessibleName())
    for row in form.sheets.rows:
        for field in row.fields:
            needed = field.fontMetrics().horizontalAdvance(field.text() or field.placeholderText())
            assert needed + theme.pixels(16) <= field.width(), field.text()


def test_all_that_takes_keys_has_a_name(qtbot: QtBot, sheets: Window) -> None:
    box_of(sheets).open_change()
    form = box_of(sheets).form
    form.material.pick("own words")
    takers = [
        part
        for part in form.findChildren(QWidget)
        if part.isVisible() and part.focusPolicy() & Qt.FocusPolicy.TabFocus
    ]
    assert len(takers) > 20
    for part in takers:
        text = getattr(part, "text", str)() if not isinstance(part, Field) else ""
        assert part.accessibleName() or text, part
