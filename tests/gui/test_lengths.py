"""Millimetres and inches: shown, typed, and in sentences made elsewhere.

One inch is 25.4 mm exactly (international yard and pound agreement, 1959).
"""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot

from lasernest.domain.comparison import ComparisonRow
from lasernest.domain.figures import Figure
from lasernest.errors import BadValueError
from lasernest.gui.compare.figure_table import FigureTable
from lasernest.gui.lengths import lengths
from lasernest.gui.parts.basics import SettingRow
from lasernest.gui.parts.fields import LengthField, LengthsField
from lasernest.gui.parts.plain_fields import NumberField


@pytest.mark.parametrize(
    ("typed", "in_mm", "in_inches"),
    [
        ("3,05", 3.05, 77.47),
        ("3.05", 3.05, 77.47),
        ("1/8", 0.125, 3.175),
        ("3,05 mm", 3.05, 3.05),
        ("1/8in", 3.175, 3.175),
        ('1 1/2"', 38.1, 38.1),
        ("-0,1", -0.1, -2.54),
    ],
)
def test_a_bare_number_is_in_the_shown_unit_and_a_typed_unit_wins(
    typed: str, in_mm: float, in_inches: float
) -> None:
    assert lengths.read_mm(typed) == pytest.approx(in_mm)
    lengths.show_inches(True)
    assert lengths.read_mm(typed) == pytest.approx(in_inches)


@pytest.mark.parametrize("typed", ["", "mm", "3 bananas", "1,2,3", "1/0"])
def test_what_is_no_length_is_refused(typed: str) -> None:
    with pytest.raises(BadValueError):
        lengths.read_mm(typed)


def test_sentences_are_told_again_in_inches_and_names_left_alone() -> None:
    lengths.leave_alone(["birch plywood 3 mm", "acrylic 2.5 mm", "card"])
    said = (
        "An outline has a gap of 0.25 mm; birch plywood 3 mm is 3.05 mm thick, "
        "the bed 600 x 400 mm (2.54 to 5.08 mm), at 12.70, -25.40 mm."
    )
    assert lengths.retold(said) == said
    lengths.show_inches(True)
    assert lengths.retold(said) == (
        "An outline has a gap of 0.0098 in; birch plywood 3 mm is 0.120 in thick, "
        "the bed 23.6 x 15.7 in (0.100 to 0.200 in), at 0.500, -1.000 in."
    )
    assert lengths.retold("12 mm/s and 3.05 mms") == "0.5 in/s and 3.05 mms"


def test_fields_change_with_the_unit_and_keep_their_value(qtbot: QtBot) -> None:
    field, several = LengthField(), LengthsField(example_mm=(2.54,))
    for widget in (field, several):
        qtbot.addWidget(widget)
        widget.show()
    field.set_mm(12.7)
    several.set_mm((3.0, 3.1))
    lengths.show_inches(True)
    assert field.text() == "0.500 in"
    assert several.placeholderText() == "0.100"
    with qtbot.waitSignal(field.committed) as heard:
        field.setText("0,25")
        field.setModified(True)
        qtbot.keyClick(field, Qt.Key.Key_Return)
    assert heard.args == [pytest.approx(6.35)]
    with qtbot.waitSignal(several.committed) as heard:
        several.setText("3,02 mm  0,12; 3.04mm")
        several.setModified(True)
        qtbot.keyClick(several, Qt.Key.Key_Return)
    assert heard.args[0] == pytest.approx((3.02, 3.048, 3.04))
    lengths.show_inches(False)
    assert field.text() == "6.35 mm"


def test_a_speed_is_typed_in_inches_too(qtbot: QtBot) -> None:
    field = NumberField(unit="mm/s", inch_unit="in/s", least=0.1, most=2000.0, empty="unknown")
    qtbot.addWidget(field)
    field.show()
    field.set_number(12.7)
    assert field.text() == "12.7 mm/s"
    lengths.show_inches(True)
    assert field.text() == "0.5 in/s"
    with qtbot.waitSignal(field.committed) as heard:
        field.setText("1,5")
        field.setModified(True)
        qtbot.keyClick(field, Qt.Key.Key_Return)
    assert heard.args == [pytest.approx(38.1)]


def test_kerfs_and_areas_are_told_finely_enough_in_inches() -> None:
    # 0.18 / 25.4 = 0.0070866; 645.16 mm2 is one square inch exactly.
    assert (lengths.fine(0.18), lengths.area(645.16)) == ("0.18 mm", "6.5 cm²")
    lengths.show_inches(True)
    assert (lengths.fine(0.18), lengths.area(645.16)) == ("0.0071 in", "1.0 in²")


def test_a_kerf_is_told_alike_in_figures_and_sentences() -> None:
    said = "0.18 mm is a starting value"
    assert lengths.retold(said).startswith(lengths.fine(0.18) + " ")
    lengths.show_inches(True)
    assert lengths.retold(said).startswith(lengths.fine(0.18) + " ")
    # 1.18 / 25.4 = 0.0464567; 0.182 / 25.4 = 0.0071654: a thickness, and a measured kerf.
    assert lengths.retold("1.18 mm, 0.182 mm") == "0.046 in, 0.0072 in"


def test_tips_of_settings_speak_inches(qtbot: QtBot) -> None:
    field = LengthField()
    row = SettingRow("Thickness", field, explain="Measure 50 mm from the edge.")
    qtbot.addWidget(row)
    assert row.toolTip() == field.accessibleDescription() == "Measure 50 mm from the edge."
    lengths.show_inches(True)
    assert row.toolTip() == field.accessibleDescription() == "Measure 2.0 in from the edge."


def test_a_comparison_speaks_the_unit_that_is_shown(qtbot: QtBot) -> None:
    table = FigureTable()
    qtbot.addWidget(table)
    rows = (
        ComparisonRow(Figure.KERF_LOSS, "Kerf loss", "mm2", (6451.6, None), ("64.5 cm²", "–")),
        ComparisonRow(Figure.CUT_LENGTH, "Cut length", "mm", (25400.0, 0.0), ("25.40 m", "0 m")),
        ComparisonRow(Figure.PIERCES, "Pierces", "", (12.0, 3.0), ("12", "3")),
    )
    table.show_rows("", ("a", "b"), rows)
    assert table.texts()["Cut length"] == ("25.40 m", "0 m")
    lengths.show_inches(True)
    table.show_rows("", ("a", "b"), rows)
    assert table.texts() == {
        "Kerf loss": ("10.0 in²", "–"),
        "Cut length": ("1 000 in", "0 in"),
        "Pierces": ("12", "3"),
    }
