"""What a maker types and what is sent."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QSignalSpy
from pytestqt.qtbot import QtBot

from lasernest.gui.board.play_bar import PlayBar
from lasernest.gui.joining.joint_rows import plus_minus
from lasernest.gui.lengths import lengths
from lasernest.gui.look.style import style_sheet
from lasernest.gui.look.theme import theme
from lasernest.gui.parts.fields import ChoiceField, CountField, LengthField
from lasernest.gui.parts.plain_fields import NumberField


def _type(qtbot: QtBot, field: LengthField | CountField, text: str) -> None:
    field.selectAll()
    qtbot.keyClicks(field, text)
    qtbot.keyClick(field, Qt.Key.Key_Return)


@pytest.fixture
def gap(qtbot: QtBot) -> LengthField:
    field = LengthField(most_mm=50.0)
    qtbot.addWidget(field)
    field.set_mm(2.0)
    return field


@pytest.mark.parametrize(
    ("typed", "length_mm"),
    [("3", 3.0), ("3,05", 3.05), ("3.2 mm", 3.2), ("1/8in", 3.175), ("0.1in", 2.54)],
)
def test_lengths_in_every_spelling(
    qtbot: QtBot, gap: LengthField, typed: str, length_mm: float
) -> None:
    with qtbot.waitSignal(gap.committed) as sent:
        _type(qtbot, gap, typed)
    assert sent.args == [pytest.approx(length_mm)]
    assert gap.text() == f"{length_mm:.2f} mm"


def test_nonsense_stays_and_sends_nothing(qtbot: QtBot, gap: LengthField) -> None:
    spy = QSignalSpy(gap.committed)
    _type(qtbot, gap, "wide")
    assert gap.text() == "wide"
    assert gap.is_wrong
    assert gap.toolTip() == "'wide' is not a length. Write it like 3, 3mm, 3.2in or 1/8in."
    assert spy.count() == 0
    qtbot.keyClick(gap, Qt.Key.Key_Escape)
    assert (gap.text(), gap.is_wrong) == ("2.00 mm", False)


def test_a_field_that_cannot_be_used_keeps_its_height(qtbot: QtBot, gap: LengthField) -> None:
    """Its thicker border would move all that stands below."""
    gap.setStyleSheet(style_sheet(theme.palette))
    gap.show()
    before = gap.sizeHint().height()
    _type(qtbot, gap, "wide")
    assert gap.is_wrong
    gap.clearFocus()
    assert gap.sizeHint().height() == before


def test_out_of_range_says_the_range(qtbot: QtBot, gap: LengthField) -> None:
    _type(qtbot, gap, "51")
    assert gap.toolTip() == "This must be from 0.00 mm to 50.00 mm."


def test_the_same_length_again_sends_nothing(qtbot: QtBot, gap: LengthField) -> None:
    spy = QSignalSpy(gap.committed)
    _type(qtbot, gap, "2,0")
    assert spy.count() == 0


def test_arrows_step_and_stop_at_the_end(qtbot: QtBot, gap: LengthField) -> None:
    qtbot.keyClick(gap, Qt.Key.Key_Up)
    assert gap.value_mm() == 2.5
    for _ in range(9):
        qtbot.keyClick(gap, Qt.Key.Key_Down)
    assert gap.value_mm() == 0.0


def test_inches_are_shown_and_typed(qtbot: QtBot, gap: LengthField) -> None:
    lengths.show_inches(True)
    assert gap.text() == "0.079 in"
    with qtbot.waitSignal(gap.committed) as sent:
        _type(qtbot, gap, "1/4")
    assert sent.args == [pytest.approx(6.35)]
    with qtbot.waitSignal(gap.committed) as sent:
        _type(qtbot, gap, "4mm")
    assert sent.args == [pytest.approx(4.0)]


def test_counts(qtbot: QtBot) -> None:
    field = CountField(least=1, most=99)
    qtbot.addWidget(field)
    field.set_value(4)
    with qtbot.waitSignal(field.committed) as sent:
        _type(qtbot, field, "12")
    assert sent.args == [12]
    _type(qtbot, field, "1.5")
    assert field.toolTip() == "This must be a whole number from 1 to 99."


def test_choices_tell_only_what_the_maker_picks(qtbot: QtBot) -> None:
    field = ChoiceField()
    qtbot.addWidget(field)
    spy = QSignalSpy(field.picked)
    field.offer([("birch plywood 3 mm", "birch"), ("acrylic 3 mm", "acrylic")], "acrylic")
    assert (field.value(), spy.count()) == ("acrylic", 0)
    field.setFocus()
    qtbot.keyClick(field, Qt.Key.Key_Up)
    assert (field.value(), spy.count()) == ("birch", 1)


def test_a_number_being_typed_is_left_alone(qtbot: QtBot) -> None:
    """Another field's number came back from the shop book and took this one's place."""
    field = NumberField(unit="", least=0, most=100, empty="–")
    qtbot.addWidget(field)
    field.show()
    field.setFocus()
    qtbot.waitUntil(field.hasFocus)
    qtbot.keyClicks(field, "25")
    field.set_number(0.0)
    assert field.text() == "25"
    with qtbot.waitSignal(field.committed) as told:
        qtbot.keyClick(field, Qt.Key.Key_Return)
    assert told.args == [25.0]


def test_nothing_has_no_sign() -> None:
    assert plus_minus(-0.0004, 0.2) == "0.00 ± 0.20 mm"
    assert plus_minus(-0.006, 0.2) == "−0.01 ± 0.20 mm"
    assert plus_minus(0.05, 0.2) == "+0.05 ± 0.20 mm"


def test_a_choice_that_is_too_long_is_shortened_and_not_cut(qtbot: QtBot) -> None:
    field = ChoiceField()
    qtbot.addWidget(field)
    field.offer([("as narrow as it can be", 1), ("wide", 2)], 1)
    field.resize(100, 28)
    field.show()
    assert field.shown_text().startswith("as")
    assert field.shown_text().endswith("…")
    assert field.fontMetrics().horizontalAdvance(field.shown_text()) <= 100 - 20
    field.pick(2)
    assert field.shown_text() == "wide"


def test_the_handle_of_a_slider_is_round(qtbot: QtBot) -> None:
    """Its border is as thick above as below: nothing is cut off."""
    bar = PlayBar()
    qtbot.addWidget(bar)
    bar.take(100.0)
    bar.setStyleSheet(style_sheet(theme.palette))
    bar.resize(600, 40)
    bar.show()
    image = bar.scrub.grab().toImage()
    middle = next(
        x
        for x in range(image.width())
        if image.pixelColor(x, image.height() // 2) == theme.colour("card")
    )
    border = theme.colour("accent_ground")
    rows = [y for y in range(image.height()) if image.pixelColor(middle + 5, y) == border]
    half = image.height() / 2
    assert len(rows) == 4
    assert [sum(y < half for y in rows), sum(y > half for y in rows)] == [2, 2]
