"""Stocks compared in the window: chosen, planned behind, kept, saved, taken over."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from defusedxml import ElementTree
from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QFontMetrics
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from lasernest.domain.comparison import ComparisonRow
from lasernest.domain.figures import Figure
from lasernest.domain.rates import Rates
from lasernest.gui.compare.comparer import Chosen
from lasernest.gui.compare.figure_table import FigureTable
from lasernest.gui.compare.page import ComparePage
from lasernest.gui.guide.why import WhyMark
from lasernest.gui.lengths import lengths
from lasernest.gui.parts.basics import Text
from lasernest.gui.tiles import Step
from lasernest.gui.window import Window
from lasernest.job import load_job
from lasernest.services.commands import SetUnits
from tests.gui.conftest import Answers
from tests.gui.helpers import read, wait_for


@pytest.fixture
def page(qtbot: QtBot, window: Window, sample_panels: Path) -> ComparePage:
    """The page with a small job that nothing was done with."""
    window.desk.settings.search_seconds = 0.2
    read(qtbot, window, sample_panels / "clock-feet.svg")
    window.sheets.compare_button.click()
    wait_for(qtbot, window, "rates")
    return window.compare


def compare(qtbot: QtBot, window: Window) -> None:
    window.compare.main_button.click()
    wait_for(qtbot, window, "compare", "pictures")


def stock(page: ComparePage, name: str) -> Chosen:
    return Chosen(next(s for s in page.desk.stocks if s.name == name))


def test_two_stocks_chosen_and_compared(qtbot: QtBot, window: Window, page: ComparePage) -> None:
    assert page.isVisible()
    assert not window._cards.isVisible()
    page.columns[0].stock.pick(stock(page, "MDF 3 mm").stock)  # 1
    page.columns[1].stock.pick(stock(page, "cast acrylic 3 mm").stock)  # 2
    compare(qtbot, window)  # 3
    texts = page.table.texts()
    kept = window.desk.job.comparison
    assert kept is not None
    assert kept.names == ("MDF 3 mm", "cast acrylic 3 mm")
    assert texts["Yield"] == tuple(f"{100 * c.yield_share:.1f} %" for c in kept.columns)
    # the first sheets of both are of 600 x 400, at invented prices of 3.20 and 18.00
    assert texts["Cost per unit, 1 made, material"] == ("3.20", "18.00")
    assert [column.caption.text() for column in page.columns] == ["sheet 1 of 1"] * 2
    assert page.plot.accessibleName().startswith("MDF 3 mm: 3.20 (material 3.20)")
    assert window.desk.workbench.undo_label == "Compare stocks"
    why = next(mark for mark in page.findChildren(WhyMark) if mark.about == "Kerf loss")
    why.click()
    assert window.stage.guide is not None
    assert window.stage.currentWidget() is window.stage.guide
    window.stage.guide.back_wanted.emit()
    assert page.isVisible()


def test_what_an_hour_costs_is_kept_and_needs_no_other_plan(
    qtbot: QtBot, window: Window, page: ComparePage
) -> None:
    compare(qtbot, window)
    before = window.desk.job.comparison
    assert before is not None
    for field, typed in ((page.machine_rate, "30"), (page.wage, "25"), (page.overhead, "10")):
        field.setText(typed)
        field.setModified(True)
        field.editingFinished.emit()
        wait_for(qtbot, window, "rates")
    assert window.desk.workbench.shop.rates() == Rates(30.0, 25.0, 0.1)
    after = window.desk.job.comparison
    assert after is not None
    assert [c.plan for c in after.columns] == [c.plan for c in before.columns]
    cost = after.columns[0].made[0].cost
    assert page.table.texts()["Cost per unit, 1 made"][0] == f"{cost.per_unit_with_overhead:.2f}"
    parts = [part for part, _ in cost.parts_per_unit]
    assert parts == ["material", "machine", "work", "set-up", "overhead"]


def test_saved_with_the_job_and_shown_again(
    qtbot: QtBot, window: Window, page: ComparePage, tmp_path: Path, answers: Answers
) -> None:
    compare(qtbot, window)
    kept = window.desk.job.comparison
    window.desk.workbench.save(tmp_path / "feet.lasernest")
    assert load_job(tmp_path / "feet.lasernest").comparison == kept
    answers.paths = [tmp_path / "feet.pdf"]
    page.pdf_button.click()
    wait_for(qtbot, window, "write comparison")
    assert answers.paths[0].read_bytes().startswith(b"%PDF-")
    answers.paths = [tmp_path / "feet.csv"]
    page.csv_button.click()
    wait_for(qtbot, window, "write comparison")
    assert answers.paths[0].read_text().startswith("figure,unit,")
    window.desk.undo()
    assert page.comparer.shown is None
    window.open_job(tmp_path / "feet.lasernest")
    wait_for(qtbot, window, "pictures", "basis")
    window.show_compare()
    assert page.table.texts()["Yield"]
    assert page.comparer.is_fresh


def test_a_changed_job_says_so_and_a_plan_is_taken_over(
    qtbot: QtBot, window: Window, page: ComparePage
) -> None:
    compare(qtbot, window)
    kept = window.desk.job.comparison
    assert kept is not None
    window.desk.do(SetUnits(2), Step.SHEETS)
    wait_for(qtbot, window, "basis")
    assert "has changed since" in page.notes.notes()[0].text
    window.desk.undo()
    wait_for(qtbot, window, "basis")
    page._plan_buttons[1].click()
    job = window.desk.job
    assert job.setup.stock == kept.columns[1].stock
    assert job.plan == kept.columns[1].plan
    assert job.comparison == kept
    assert window.stage.currentWidget() is window.board
    assert window._cards.isVisible()


def test_stop_keeps_and_columns_come_and_go(
    qtbot: QtBot, window: Window, page: ComparePage
) -> None:
    window.desk.settings.search_seconds = 120.0
    page.add_button.click()
    assert len(page.columns) == 3
    page.columns[2].remove_button.click()
    assert len(page.columns) == 2
    page.main_button.click()
    assert page.main_button.text() == "Stop, keep best"
    page.main_button.click()
    wait_for(qtbot, window, "compare", "pictures")
    kept = window.desk.job.comparison
    assert kept is not None
    assert [c.panels for c in kept.columns] == [3, 3]
    qtbot.keyClick(page, Qt.Key.Key_Escape)
    assert window.stage.currentWidget() is window.board


def test_one_stock_twice_is_told_in_place(qtbot: QtBot, window: Window, page: ComparePage) -> None:
    page.columns[1].stock.pick(page.columns[0].stock.value())
    compare(qtbot, window)
    (note,) = [n for n in page.notes.notes() if n.kind == "error"]
    assert "is to be compared with itself" in note.text


def test_the_costs_are_saved_as_a_picture(
    qtbot: QtBot, window: Window, page: ComparePage, answers: Answers, tmp_path: Path
) -> None:
    assert window.picture_choices() == []  # nothing compared yet
    compare(qtbot, window)
    answers.paths = [tmp_path / "cost.svg"]
    (text, ask), *others = window.picture_choices()
    assert (text, others) == ("Cost per unit…", [])
    ask()
    qtbot.waitUntil(lambda: not window.picture_saver.busy, timeout=20_000)
    root = ElementTree.parse(tmp_path / "cost.svg").getroot()
    assert root is not None
    texts = ["".join(e.itertext()).strip() for e in root.iter() if e.tag.endswith("text")]
    kept = window.desk.job.comparison
    assert kept is not None
    assert "Cost per unit, material only, 1 made" in texts
    for name, column in zip(kept.names, kept.columns, strict=True):
        made = column.made_of(1)
        assert made is not None
        assert name in texts
        assert f"{made.cost.per_unit_with_overhead:.2f}" in texts
    (entry,) = page.plot.entries()
    assert entry.text == "Cost per unit…"


def test_the_mark_of_a_figure_stands_beside_its_name(qtbot: QtBot) -> None:
    table = FigureTable()
    qtbot.addWidget(table)
    rows = (
        ComparisonRow(Figure.PIERCES, "Pierces", "", (12.0, 3.0), ("12", "3")),
        ComparisonRow(Figure.CUT_LENGTH, "Cut length", "mm", (25400.0, 0.0), ("25.40 m", "0 m")),
    )
    table.show_rows("", ("a", "b"), rows)
    table.resize(680, 120)
    table.show()
    for mark in table.findChildren(WhyMark):
        name = next(t for t in table.findChildren(Text) if t.text() == mark.about)
        need = QFontMetrics(name.font()).horizontalAdvance(name.text())
        qtbot.waitUntil(lambda m=mark, n=name, w=need: 0 < m.x() - (n.x() + w) <= 10)


def test_only_what_changed_in_the_table_is_made_anew(qtbot: QtBot) -> None:
    table = FigureTable()
    qtbot.addWidget(table)
    table.resize(600, 200)
    table.show()

    def rows(*pierces: int) -> tuple[ComparisonRow, ...]:
        return (
            ComparisonRow(
                Figure.PIERCES, "Pierces", "", tuple(map(float, pierces)), tuple(map(str, pierces))
            ),
        )

    def said() -> list[str]:
        """Texts by where they stand, as one reads them."""
        QApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
        texts = [t for t in table.findChildren(Text) if t.isVisible() and t.text()]
        texts.sort(key=lambda t: (t.geometry().center().y() // 12, t.x()))
        return [t.text() for t in texts]

    def wait_for(*texts: str) -> None:
        qtbot.waitUntil(lambda: said() == list(texts))

    table.show_rows("nothing yet", (), ())
    wait_for("nothing yet")
    table.show_rows("1 unit", ("birch",), rows(12))
    wait_for("1 unit", "birch", "Pierces", "12")
    first = {t.text(): t for t in table.findChildren(Text) if t.isVisible()}
    table.show_rows("1 unit", ("birch", "acrylic"), rows(12, 3))
    wait_for("1 unit", "birch", "acrylic", "Pierces", "12", "3")
    assert all(first[t].isVisible() for t in ("1 unit", "birch", "Pierces", "12"))
    table.show_rows("10 units", ("birch", "cork"), rows(12, 5))
    wait_for("10 units", "birch", "cork", "Pierces", "12", "5")
    assert table.texts() == {"Pierces": ("12", "5")}
    names = {t.accessibleName() for t in table.findChildren(Text)}
    assert {"Pierces, birch: 12", "Pierces, cork: 5"} <= names
    table.show_rows("10 units", ("cork",), rows(5))
    wait_for("10 units", "cork", "Pierces", "5")
    anew = FigureTable()
    qtbot.addWidget(anew)
    anew.resize(table.size())
    anew.show()
    anew.show_rows("10 units", ("cork",), rows(5))

    def spots(shown: FigureTable) -> dict[str, int]:
        return {t.text(): t.geometry().right() for t in shown.findChildren(Text) if t.text()}

    wait_for("10 units", "cork", "Pierces", "5")
    # But for the gap beside the column that is gone, as if made anew.
    qtbot.waitUntil(
        lambda: (
            spots(anew)["5"] > 500
            and spots(table).keys() == spots(anew).keys()
            and all(abs(at - spots(anew)[text]) <= 8 for text, at in spots(table).items())
        )
    )
    table.show_rows("nothing yet", (), ())
    wait_for("nothing yet")


def test_what_must_not_be_cut_is_said_where_it_is_compared(page: ComparePage) -> None:
    column = page.columns[0]
    own = column.stock.value()
    assert not column.caution.isVisible()
    for material, told, colour in (
        ("PVC foam", "PVC foam must not be cut with a laser. It holds chlorine", "bad"),
        ("polycarbonate", "It chars and catches fire easily", "question"),
    ):
        other = replace(own, name="sheet", material=material)
        column.show_choice(Chosen(other), page.desk.stocks, removable=True)
        assert column.caution.isVisible()
        assert column.caution.text().startswith(told)
        assert column.caution.property("kind") == colour


def test_notes_of_a_comparison_speak_inches(
    qtbot: QtBot, window: Window, page: ComparePage
) -> None:
    compare(qtbot, window)
    lengths.show_inches(True)
    page.enter()
    unmeasured = [n.text for n in page.notes.notes() if "is a starting value" in n.text]
    assert unmeasured
    for text in unmeasured:
        name, told = text.split(": ", 1)
        assert name.endswith(" mm")  # as the stock is called
        assert " in " in told
        assert " mm " not in told
