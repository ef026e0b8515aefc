"""Spares, scrap and offcuts at Sheets; a cut booked and taken back at Cut file."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot

from lasernest.domain.contours import Contour
from lasernest.domain.offcuts import Offcut
from lasernest.domain.panels import Panel
from lasernest.domain.plan import Axis
from lasernest.domain.stock import Kerf
from lasernest.gui.tiles import Step
from lasernest.gui.window import Window
from lasernest.job import JobPanel
from lasernest.services.commands import AcknowledgeMaterial, ChooseStock, KeepPlan, SetKerf
from tests.gui.helpers import arrange, read, wait_for


@pytest.fixture
def ready(qtbot: QtBot, window: Window, sample_panels: Path, tmp_path: Path) -> Window:
    """Three small panels on a stock that is counted, with an offcut of it on the shelf."""
    shop = window.desk.workbench.shop
    stock = shop.stock("MDF 3 mm")
    counted = replace(stock, sizes=(replace(stock.sizes[0], count=5),))
    shop.save_stock(counted, instead_of=stock)
    shop.add_offcut(Offcut.rectangle("B07", "MDF 3 mm", 200, 150))
    read(qtbot, window, sample_panels / "clock-feet.svg")
    window.desk.do(ChooseStock(counted), Step.SHEETS)
    window.go_to(Step.SHEETS)
    wait_for(qtbot, window, "shelf")
    window.cut_file.choose_path(tmp_path / "feet.dxf")
    return window


def test_spares_and_scrap_are_cut_too(qtbot: QtBot, ready: Window) -> None:
    ready.sheets.settings.units.committed.emit(19)
    wishes = ready.sheets.settings.wishes
    assert not wishes.spares.isVisible()
    wishes.open_button.click()
    wishes.spares.committed.emit(1)
    wishes.scrap.committed.emit(5.0)
    # 20 good of each, at 5 % scrap: 20 / 0.95 = 21.05, so 22 of each of the three panels
    copies = [ready.desk.job.copies_of(panel) for panel in ready.desk.job.panels]
    assert copies == [22] * len(copies)
    assert wishes.scrap.text() == "5 %"
    ready.desk.undo()
    ready.desk.undo()
    assert ready.desk.job.setup.spares == 0


def test_an_offcut_is_filled_booked_and_comes_back(qtbot: QtBot, ready: Window) -> None:
    shop = ready.desk.workbench.shop
    before = (shop.stock("MDF 3 mm"), shop.offcuts())
    field = ready.sheets.settings.offcuts.choice
    assert [field.itemText(i) for i in range(field.count())] == [
        "none, whole sheets", "B07, 200 × 150 mm",
    ]  # fmt: skip
    field.pick(ready.desk.shelf.offcuts)
    arrange(qtbot, ready)
    plan = ready.desk.job.plan
    assert plan is not None
    assert plan.sheets[0].sheet.label == "B07"
    ready.write_cut_file()
    wait_for(qtbot, ready, "write")
    booking = ready.cut_file.booking
    assert "book it" in booking.text.text()
    booking.book_button.click()
    wait_for(qtbot, ready, "book", "shelf", "shop")
    assert booking.text.text().startswith("Booked as number 1 on ")
    assert "offcut B07" in booking.text.text()
    assert not booking.book_button.isVisible()
    assert "B07" not in [offcut.label for offcut in shop.offcuts()]
    (kept,) = shop.bookings()
    assert {p.panel for p in kept.panels} == {p.name for p in ready.desk.job.panels}
    assert all(p.sheet == "offcut B07" or p.sheet.startswith("feet") for p in kept.panels)
    booking.back_button.click()
    wait_for(qtbot, ready, "book", "shelf", "shop")
    assert (shop.stock("MDF 3 mm"), shop.offcuts()) == before
    assert booking.book_button.isVisible()


def test_whole_sheets_go_off_the_count(qtbot: QtBot, ready: Window) -> None:
    arrange(qtbot, ready)
    ready.go_to(Step.CUT_FILE)
    ready.cut_file.booking.book_button.click()
    wait_for(qtbot, ready, "book", "shelf", "shop")
    shop = ready.desk.workbench.shop
    assert shop.stock("MDF 3 mm").sizes[0].count == 4
    (kept,) = shop.bookings()[0].offcuts_kept
    assert f"Write {kept.label} on the piece" in ready.cut_file.booking.text.text()
    assert kept in shop.offcuts()
    assert next(s for s in ready.desk.stocks if s.name == "MDF 3 mm").sizes[0].count == 4


def test_what_cannot_be_booked_is_told(qtbot: QtBot, ready: Window) -> None:
    arrange(qtbot, ready)
    ready.go_to(Step.CUT_FILE)
    shop = ready.desk.workbench.shop
    shop.remove_stock("MDF 3 mm")
    ready.cut_file.booking.book_button.click()
    wait_for(qtbot, ready, "book", "shelf", "shop")
    (trouble,) = [t for t in ready.desk.troubles if t.step is Step.CUT_FILE]
    assert "no stock called 'MDF 3 mm'" in trouble.sentence
    assert shop.bookings() == ()


def test_wishes_of_the_plan_unfold_and_stay_seen(qtbot: QtBot, ready: Window) -> None:
    wishes = ready.sheets.settings.wishes
    assert not wishes.together.isVisible()
    wishes.open_button.setFocus()
    qtbot.keyClick(wishes.open_button, Qt.Key.Key_Space)
    assert wishes.together.isVisible()
    assert wishes.spares.hasFocus()
    assert not wishes.open_button.isVisible()
    wishes.together.pick(True)
    wishes.long_sides.pick(Axis.Y)
    setup = ready.desk.job.setup
    assert (setup.units_together, setup.long_sides_along) == (True, Axis.Y)
    assert ready.desk.workbench.undo_label == "Lay long sides along y"
    arrange(qtbot, ready)
    plan = ready.desk.job.plan
    assert plan is not None
    for placed in plan.sheets[0].placements:
        outer = ready.desk.panels[placed.panel_name].outer
        x0, y0, x1, y1 = outer.posed(placed.pose).bounds_mm()
        assert y1 - y0 >= x1 - x0
    for _ in range(3):
        ready.desk.undo()
    assert ready.desk.job.setup.long_sides_along is None
    assert wishes.long_sides.value() is None


def test_a_job_opened_again_does_not_book_the_same_cut_twice_unasked(
    qtbot: QtBot, ready: Window, tmp_path: Path
) -> None:
    arrange(qtbot, ready)
    ready.go_to(Step.CUT_FILE)
    booking = ready.cut_file.booking
    assert booking.book_button.text() == "Book it"
    ready.desk.shelf.book()
    wait_for(qtbot, ready, "book", "shelf", "shop")
    ready.desk.workbench.save(tmp_path / f"{ready.desk.shelf.name}.lasernest")
    ready.desk.workbench.open(tmp_path / f"{ready.desk.shelf.name}.lasernest")
    wait_for(qtbot, ready, "shelf")
    assert ready.desk.shelf.booking is None
    assert booking.book_button.text() == "Book again"
    assert booking.text.text().startswith(
        "The same panels and sheets were booked before, as number 1"
    )
    # Another number of units is another cut.
    ready.sheets.settings.units.committed.emit(2)
    arrange(qtbot, ready)
    assert ready.desk.shelf.booked_alike is None
    assert booking.book_button.text() == "Book it"


def _choose_material(window: Window, material: str) -> None:
    stock = window.desk.job.setup.stock
    assert stock is not None
    window.desk.do(ChooseStock(replace(stock, name=f"{material} 3", material=material)))


@pytest.mark.parametrize(
    ("material", "why"),
    [
        ("PVC foam", "Nothing to book: this material must not be cut."),
        ("polycarbonate", "Nothing to book: polycarbonate must be decided on first, below."),
    ],
)
def test_what_must_not_be_cut_is_not_booked(
    qtbot: QtBot, ready: Window, material: str, why: str
) -> None:
    _choose_material(ready, material)
    arrange(qtbot, ready)
    ready.go_to(Step.CUT_FILE)
    booking = ready.cut_file.booking
    assert not booking.book_button.isVisible()
    assert booking.text.text() == why
    if material == "polycarbonate":
        ready.desk.do(AcknowledgeMaterial(material), Step.CUT_FILE)
        assert booking.book_button.isVisible()


def test_panels_that_the_beam_does_not_fit_into_are_not_booked(qtbot: QtBot, ready: Window) -> None:
    """A slot of 0.1 mm is known of before anything is written; a finer beam makes it good."""
    slot = Contour.rectangle(10.0, 10.0, 30.0, 0.1)
    panel = Panel.of("comb", Contour.rectangle(0.0, 0.0, 60.0, 30.0), [slot])
    job = ready.desk.job.changed(panels=(JobPanel(panel),), plan=None, sources=())
    ready.desk.workbench.new(job)
    ready.desk.do(SetKerf(Kerf.same(0.2)), Step.KERF)
    arrange(qtbot, ready)
    ready.go_to(Step.CUT_FILE)
    wait_for(qtbot, ready, "beam")
    booking = ready.cut_file.booking
    assert booking.text.text() == "Nothing to book: the beam does not fit into comb; see Outlines."
    assert not booking.book_button.isVisible()
    ready.cut_file.write()
    wait_for(qtbot, ready, "write")
    assert booking.text.text() == "Nothing to book: no cut file can be made of this plan."
    assert not booking.book_button.isVisible()
    plan = ready.desk.job.plan
    assert plan is not None
    ready.desk.do(SetKerf(Kerf.same(0.05)), Step.KERF)
    ready.desk.do(KeepPlan(plan))
    wait_for(qtbot, ready, "beam")
    assert booking.book_button.isVisible()


def test_a_failed_proof_is_not_booked_and_a_full_disk_says_nothing(
    qtbot: QtBot, ready: Window, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    arrange(qtbot, ready)
    ready.go_to(Step.CUT_FILE)
    booking = ready.cut_file.booking
    ready.cut_file.choose_path(tmp_path / "nowhere" / "feet.dxf")
    ready.cut_file.write()
    wait_for(qtbot, ready, "write")
    assert ready.desk.troubles
    assert booking.book_button.isVisible()
    ready.cut_file.choose_path(tmp_path / "feet.dxf")
    ready.cut_file.write()
    wait_for(qtbot, ready, "write")
    assert booking.book_button.isVisible()
    written = ready.desk.written
    assert written is not None
    ready.desk.written = replace(written, proof=replace(written.proof, passed=False))
    ready.cut_file.refresh()
    assert not booking.book_button.isVisible()
    assert booking.text.text() == "Nothing to book: the proof failed, so it is not to be cut."
