"""The tour: offered once, points at real parts, can be left at any moment, changes nothing."""

from __future__ import annotations

from PySide6.QtCore import QPoint, QRect, Qt
from PySide6.QtWidgets import QPushButton, QWidget
from pytestqt.qtbot import QtBot

from lasernest.gui.parts.basics import Text
from lasernest.gui.parts.notes import NoteBox
from lasernest.gui.settings import load_settings
from lasernest.gui.tiles import Step
from lasernest.gui.tour import Tour
from lasernest.gui.window import Window
from tests.gui.helpers import wait_for


def _offer(window: Window) -> NoteBox | None:
    boxes = window.outlines.card.findChildren(NoteBox)
    return next((b for b in boxes if b.note.heading == "New here?"), None)


def _tour(qtbot: QtBot, window: Window) -> Tour:
    window.rounds.start()
    qtbot.waitUntil(lambda: window.rounds.tour is not None, timeout=60_000)
    assert window.rounds.tour is not None
    return window.rounds.tour


def _place(window: Window, widget: QWidget) -> QRect:
    return QRect(widget.mapTo(window, QPoint(0, 0)), widget.size())


def test_the_first_window_offers_the_tour_and_takes_no_for_an_answer(
    qtbot: QtBot, window: Window
) -> None:
    box = _offer(window)
    assert box is not None
    assert [a.text for a in box.note.answers] == ["Show me round", "Not now"]
    box.note.answers[1].act()
    assert _offer(window) is None or not _offer(window).isVisible()  # type: ignore[union-attr]
    assert load_settings().tour_seen


def test_every_stop_lights_a_real_part_and_the_card_does_not_cover_it(
    qtbot: QtBot, window: Window
) -> None:
    tour = _tour(qtbot, window)
    assert load_settings().tour_seen
    assert window.desk.job.name == "seed cabinet (demo)"
    before = window.desk.job
    assert len(tour.stops) == 6
    seen = []
    for index, stop in enumerate(tour.stops):
        assert tour.index == index
        target = stop.target()
        assert target.isVisible()
        assert tour.light().contains(_place(window, target).adjusted(8, 8, -8, -8))
        assert tour.rect().contains(tour.card.geometry())
        assert not tour.card.geometry().intersects(tour.light())
        for text in tour.card.findChildren(Text):
            assert text.height() >= text.heightForWidth(text.width()), "a text is clipped"
        seen.append(window.page.step)
        qtbot.mouseClick(tour.next_button, Qt.MouseButton.LeftButton)
    assert seen == [
        Step.OUTLINES,
        Step.OUTLINES,
        Step.KERF,
        Step.SHEETS,
        Step.CUT_FILE,
        Step.CUT_FILE,
    ]
    assert window.rounds.tour is None
    assert window.desk.job is before


def test_the_tour_is_walked_and_left_by_keys(qtbot: QtBot, window: Window) -> None:
    tour = _tour(qtbot, window)
    for key in (Qt.Key.Key_Right, Qt.Key.Key_Space, Qt.Key.Key_Left):
        qtbot.keyClick(tour.next_button, key)
    assert tour.index == 1
    names = []
    for _ in range(3):
        focused = window.focusWidget()
        assert focused is not None
        assert tour.isAncestorOf(focused)
        names.append(getattr(focused, "text", str)())
        qtbot.keyClick(focused, Qt.Key.Key_Tab)
    assert sorted(names) == ["Back", "End the tour", "Next"]
    qtbot.keyClick(tour, Qt.Key.Key_Escape)
    assert window.rounds.tour is None


def test_what_is_dimmed_cannot_be_pressed_by_mistake(qtbot: QtBot, window: Window) -> None:
    tour = _tour(qtbot, window)
    spot = _place(window, window.outlines.arrange_button).center()
    assert window.childAt(spot) is tour
    qtbot.mouseClick(tour, Qt.MouseButton.LeftButton, pos=spot)
    assert not window.desk.arranging


def test_the_light_follows_the_window(qtbot: QtBot, window: Window) -> None:
    tour = _tour(qtbot, window)
    tour.show_stop(3)
    window.resize(1000, 640)
    qtbot.waitUntil(lambda: tour.size() == window.size())
    button = window.sheets.main_button
    qtbot.waitUntil(lambda: tour.light().contains(_place(window, button)))


def test_a_job_in_use_is_toured_as_it_is(qtbot: QtBot, window: Window) -> None:
    window.open_sample()
    wait_for(qtbot, window, "import")
    before = window.desk.job
    tour = _tour(qtbot, window)
    tour.end()
    assert window.desk.job is before
    assert _offer(window) is None or not _offer(window).isVisible()  # type: ignore[union-attr]


def test_where_there_is_a_plan_the_tour_does_not_point_at_writing_it(
    qtbot: QtBot, sheets: Window
) -> None:
    tour = _tour(qtbot, sheets)
    stop = next(stop for stop in tour.stops if stop.step is Step.SHEETS)
    sheets.go_to(Step.SHEETS)
    assert sheets.sheets.main_button.text() == "Write cut file"
    target = stop.target()
    assert isinstance(target, QPushButton)
    assert target.isVisible()
    assert target.text() == "Arrange again"
    tour.end()
