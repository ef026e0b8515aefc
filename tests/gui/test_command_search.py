"""Every command is found by name, done by keys alone, and says what it is."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QMenu
from pytestqt.qtbot import QtBot

from lasernest.gui.command_search import Hit, best_hits
from lasernest.gui.lengths import lengths
from lasernest.gui.menu import keys_text
from lasernest.gui.tiles import Step
from lasernest.gui.window import Window


def _hit(text: str, group: str = "", explain: str = "", keys: str = "") -> Hit:
    return Hit(text, group, lambda: None, keys, explain)


def test_words_that_begin_words_come_first() -> None:
    hits = [
        _hit("Show everything", explain="Fit the drawing"),
        _hit("Fit the curve"),
        _hit("Outfit"),
        _hit("Kerf and fit", group="View"),
    ]
    assert [h.text for h in best_hits(hits, "fit")] == [
        "Fit the curve",
        "Kerf and fit",
        "Outfit",
        "Show everything",
    ]
    assert [h.text for h in best_hits(hits, "FIT kerf")] == ["Kerf and fit"]
    assert best_hits(hits, "nothing of it") == []
    assert best_hits(hits, "") == hits


def test_what_can_be_done_comes_before_what_can_be_read() -> None:
    def read(text: str) -> Hit:
        return Hit(text, "Guide", lambda: None, to_read=True)

    hits = [read("Comb"), read("Cut the comb"), _hit("Write the comb"), _hit("Honeycomb")]
    hits += [_hit("Show everything", explain="the comb, too"), read("Catacombs")]
    assert [h.text for h in best_hits(hits, "comb")] == [
        "Write the comb",
        "Comb",
        "Cut the comb",
        "Honeycomb",  # only within a word
        "Catacombs",
        "Show everything",
    ]


def test_commands_are_found_before_headings_that_begin_alike(window: Window) -> None:
    hits = [*window.acts.hits(), *window.stage.hits()]
    for typed in ("comb", "cut", "joints", "kerf"):
        found = best_hits(hits, typed)
        named = [h.to_read for h in found if typed in h.text.casefold().split()]
        assert not named[0], typed  # something can be done
        assert True in named, typed  # and something read
        assert named == sorted(named), typed


def _menu_actions(menu: QMenu) -> list[QAction]:
    menu.aboutToShow.emit()
    found = []
    for action in menu.actions():
        below = action.menu()
        found += _menu_actions(below) if isinstance(below, QMenu) else [action]
    return found


def test_every_action_of_every_menu_is_found_and_named(window: Window) -> None:
    actions = [a for a in _menu_actions(window.menu_tile.menu) if not a.isSeparator()]
    assert len(actions) > 30
    hits = window.acts.hits()
    found = {hit.text for hit in hits} | {hit.text.split(": ", 1)[-1] for hit in hits}
    named = [a for a in actions if a.text() != "none yet"]
    assert [a.text() for a in named if a.text() not in found] == []
    assert [a for a in named if not a.text().strip() or not a.toolTip().strip()] == []
    for act in window.acts.acts:
        tip = window.acts.actions[act.name].toolTip()
        assert not act.keys or keys_text(act.keys) in tip, act.name
    assert all(menu.toolTipsVisible() for menu in window.menu_tile.menu.findChildren(QMenu))


def test_an_action_is_found_by_its_own_name_at_once(window: Window) -> None:
    hits = window.acts.hits()
    for hit in hits:
        assert hit in best_hits(hits, hit.text)[:3]


def test_a_command_is_done_by_keys_alone(qtbot: QtBot, window: Window) -> None:
    window.go_to(Step.SHEETS)
    window.sheets.settings.units.setFocus()
    qtbot.keyClick(window, Qt.Key.Key_K, Qt.KeyboardModifier.ControlModifier)
    search = window.search
    assert search.isVisible()
    assert search.field.hasFocus()
    qtbot.keyClicks(search.field, "inches")
    assert search.shown()[0].keys == keys_text("Ctrl+I")
    qtbot.keyClick(search.field, Qt.Key.Key_Return)
    assert lengths.inches
    assert not search.isVisible()
    assert window.sheets.settings.units.hasFocus()


def test_up_and_down_choose_and_escape_does_nothing(qtbot: QtBot, window: Window) -> None:
    window.search.open()
    field = window.search.field
    qtbot.keyClicks(field, "go to the step")
    texts = [hit.text for hit in window.search.shown()]
    assert texts[:5] == [step.value for step in Step]
    for key in (Qt.Key.Key_Down, Qt.Key.Key_Down, Qt.Key.Key_Up):
        qtbot.keyClick(field, key)
    qtbot.keyClick(field, Qt.Key.Key_Escape)
    assert window.page.step is Step.OUTLINES
    window.search.open()
    qtbot.keyClicks(field, "go to the step")
    qtbot.keyClick(field, Qt.Key.Key_Down)
    qtbot.keyClick(field, Qt.Key.Key_Return)
    assert window.page.step is Step.JOINTS


def test_what_is_not_possible_is_shown_and_not_done(qtbot: QtBot, window: Window) -> None:
    window.search.open()
    qtbot.keyClicks(window.search.field, "undo")
    first = window.search.shown()[0]
    assert (first.text, first.possible) == ("Undo", False)
    qtbot.keyClick(window.search.field, Qt.Key.Key_Return)
    assert window.search.isVisible()


def test_sections_of_the_guide_are_found_too(qtbot: QtBot, window: Window) -> None:
    window.search.open()
    qtbot.keyClicks(window.search.field, "largest deviation")
    qtbot.keyClick(window.search.field, Qt.Key.Key_Return)
    assert window.stage.guide is not None
    assert window.stage.guide.shown_heading() == "Largest deviation"


def test_an_unknown_word_says_so(qtbot: QtBot, window: Window) -> None:
    window.search.open()
    qtbot.keyClicks(window.search.field, "xyzzy")
    assert window.search.shown() == []
    assert window.search.none.isVisible()
    qtbot.keyClick(window.search.field, Qt.Key.Key_Return)
    assert window.search.isVisible()


def test_the_search_is_as_high_as_what_it_found(qtbot: QtBot, window: Window) -> None:
    window.search.open()
    whole = window.search.height()
    qtbot.keyClicks(window.search.field, "undo")
    few = len(window.search.shown())
    assert 0 < few < 9
    assert window.search.list.height() == few * 32 + 4
    assert window.search.height() < whole
    qtbot.keyClicks(window.search.field, "zzzz")
    # The word on nothing stands right below the field.
    field, none = window.search.field.geometry(), window.search.none.geometry()
    assert 0 < none.top() - field.bottom() <= 8
    window.search.field.clear()
    assert window.search.height() == whole
    window.search.close_search()


def test_findings_are_found_in_words(qtbot: QtBot, window: Window) -> None:
    window.search.open()
    qtbot.keyClicks(window.search.field, "narrower than")
    (hit,) = [h for h in window.search.shown() if h.group == "Guide: Findings"]
    assert hit.text == "Narrower than kerf"
    window.search.close_search()
