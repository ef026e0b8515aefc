"""What stands on the pages is seen whole: rules for all pages at once, at several sizes.

Source: WCAG 2.2, success criterion 1.4.4, text grows to 200 % without loss of content.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, QSize
from PySide6.QtGui import QFontMetrics
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QLabel,
    QLayout,
    QPushButton,
    QScrollArea,
    QWidget,
)
from pytestqt.qtbot import QtBot

from lasernest.errors import LasernestError, Where
from lasernest.gui.happened import Trouble
from lasernest.gui.joining.pair_names import PairText, pair_within
from lasernest.gui.look.theme import Brightness, theme
from lasernest.gui.parts.basics import Elided
from lasernest.gui.parts.card import Card
from lasernest.gui.parts.fields import ChoiceField, Field
from lasernest.gui.parts.tick import Tick
from lasernest.gui.tiles import Step
from lasernest.gui.window import Window
from tests.gui.helpers import wait_for


@pytest.fixture
def sample(qtbot: QtBot, window: Window) -> Window:
    window.settings.tour_seen = True
    window.open_sample()
    wait_for(qtbot, window, "import", "joints")
    window.outlines.list.choose([window.desk.job.panels[0].name])
    return window


def _places(qtbot: QtBot, window: Window) -> Iterator[str]:
    for step in Step:
        window.go_to(step)
        wait_for(qtbot, window, "tune")
        yield step.value
    window.stage.show_settings()
    yield "settings"
    window.show_compare()
    yield "compare"


def _room(column: QLayout) -> int:
    """How wide its parts may be."""
    sides = column.contentsMargins()
    return column.parentWidget().width() - sides.left() - sides.right()


def _cut_off(widget: QWidget) -> bool:
    """Whether it says more than it has room for. Names of the maker's files may be shortened."""
    metrics = QFontMetrics(widget.font())
    if isinstance(widget, QLabel):
        if widget.wordWrap():
            longest = max(map(metrics.horizontalAdvance, widget.text().split()), default=0)
            high = widget.heightForWidth(widget.width())
            return longest > widget.width() + 1 or high > widget.height() + 1
        lines = widget.text().split("\n")
        return max(map(metrics.horizontalAdvance, lines)) > widget.contentsRect().width() + 1
    if isinstance(widget, QPushButton | QCheckBox):
        return widget.sizeHint().width() > widget.width() + 1
    if isinstance(widget, QComboBox):
        return isinstance(widget, ChoiceField) and widget.shown_text() != widget.currentText()
    if isinstance(widget, Field):
        shown = widget.text() or widget.placeholderText()
        return metrics.horizontalAdvance(shown) + 12 > widget.width()
    return False


@pytest.mark.parametrize(
    ("size", "scale"),
    [(QSize(1024, 700), 1.0), (QSize(1280, 800), 1.5), (QSize(1920, 1080), 2.0)],
)
def test_no_page_cuts_off_what_it_says(
    qtbot: QtBot, sample: Window, size: QSize, scale: float
) -> None:
    theme.choose(text_scale=scale)
    sample.resize(size)
    for place in _places(qtbot, sample):
        qtbot.waitUntil(lambda: not theme.rooms.busy, timeout=60_000)
        sample.grab()  # lays out what was not laid out yet; what wraps takes another turn

        def whole(place: str = place) -> None:
            assert not _faults(sample), place

        qtbot.waitUntil(whole)


def _faults(window: Window) -> set[str]:
    """What is not seen whole, on the page that is open."""
    faults = set()
    for widget in window.findChildren(QWidget):
        if widget.isVisible() and not widget.visibleRegion().isEmpty() and _cut_off(widget):
            said = widget.accessibleName() or getattr(widget, "text", str)()
            faults.add(f"{type(widget).__name__} {said} is cut off")
    for area in window.findChildren(QScrollArea):
        inner = area.widget()
        if area.isVisible() and inner.width() > area.viewport().width():
            faults.add(f"{type(inner).__name__} is wider than its view")
    for card in window.findChildren(Card):
        if card.isVisible() and _room(card.column) != _room(card.foot):
            faults.add("the column is not as wide as the foot")
    return faults


@pytest.mark.parametrize("scale", [1.0, 1.5, 2.0])
def test_the_head_of_the_board_gives_room_to_what_it_says(
    qtbot: QtBot, sheets: Window, scale: float
) -> None:
    theme.choose(text_scale=scale)
    sheets.resize(round(1280 * max(1.0, scale / 1.5)), 800)
    sheets.grab()
    for said in (sheets.board._left, sheets.board._right):
        need = QFontMetrics(said.font()).horizontalAdvance(said.text())
        assert said.width() >= need, said.text()


def test_a_long_text_at_the_right_of_the_head_takes_what_the_left_leaves(
    qtbot: QtBot, sheets: Window
) -> None:
    sheets.resize(1280, 800)
    scene, board = sheets.sheets.scene_of_sheet, sheets.board
    long = "36 of 119 · seed-cabinet-sides-1 1 · outer cut · x 390.9  y 189.4 mm"
    for left, whole in (
        ("short", True),
        ("a name of a stock that is as long as it can be " * 3, False),
    ):
        scene._captions = (left, long)
        scene.caption_changed.emit()
        need = QFontMetrics(board._right.font()).horizontalAdvance(long)
        qtbot.waitUntil(lambda n=need, w=whole: (board._right.width() >= n) is w)
    assert board._left.width() > 0.4 * board.width()


def test_the_tip_of_a_shortened_text_follows_it(qtbot: QtBot) -> None:
    text = Elided("a long name that does not fit")
    qtbot.addWidget(text)
    text.resize(60, 20)
    text.show()
    text.grab()
    assert text.toolTip() == "a long name that does not fit"
    text.set_text("another one that does not fit")
    text.grab()
    assert text.toolTip() == "another one that does not fit"
    text.set_text("short")
    text.grab()
    assert text.toolTip() == ""


@pytest.mark.parametrize("brightness", [Brightness.LIGHT, Brightness.DARK])
def test_the_board_keeps_its_border(qtbot: QtBot, sheets: Window, brightness: Brightness) -> None:
    theme.choose(brightness=brightness, high_contrast=True)
    qtbot.waitUntil(lambda: sheets.board.canvas.settled)
    picture = sheets.board.grab().toImage()
    middle = picture.height() // 2
    border, ground = theme.colour("card_border").lightness(), theme.colour("board").lightness()
    for x in (0, picture.width() - 1):
        seen = picture.pixelColor(x, middle).lightness()
        assert abs(seen - border) < abs(seen - ground)


def test_a_tick_is_seen_in_its_box(qtbot: QtBot, window: Window) -> None:
    theme.choose(brightness=Brightness.LIGHT)
    window.go_to(Step.OUTLINES)
    tick = Tick("for the other drawing too")
    window.outlines.card.add(tick)
    tick.show()
    qtbot.waitUntil(lambda: tick.width() > 40)
    inside = tick.box().toRect().adjusted(2, 2, -2, -2)

    def shades() -> set[str]:
        picture = tick.grab(inside).toImage()
        spots = [QPoint(x, y) for x in range(picture.width()) for y in range(picture.height())]
        return {picture.pixelColor(at).name() for at in spots}

    assert shades() == {theme.palette.field}
    tick.setChecked(True)
    seen = shades()
    assert theme.palette.accent_ground in seen
    assert len(seen) > 5  # the tick, with its soft edges


def test_a_file_is_not_named_twice_in_a_note() -> None:
    error = LasernestError(
        "the file breaks off", where=Where(file=Path("a.dxf")), todo="Export again."
    )
    trouble = Trouble(Step.OUTLINES, "a.dxf", error)
    assert trouble.sentence == "a.dxf: the file breaks off. Export again."
    assert trouble.below_heading == "The file breaks off. Export again."
    other = Trouble(Step.OUTLINES, "Arranging", error)
    assert other.below_heading == other.sentence


@pytest.mark.parametrize("scale", [1.0, 2.0])
def test_links_stand_in_line_with_the_labels_above_them(
    qtbot: QtBot, sheets: Window, scale: float
) -> None:
    theme.choose(text_scale=scale)
    sheets.resize(1280, 800)
    sheets.go_to(Step.CUT_FILE)
    qtbot.waitUntil(lambda: not theme.rooms.busy, timeout=60_000)
    place = sheets.cut_file.place
    for part in (place.file, place.change_button):
        picture = part.grab().toImage()
        ground = picture.pixelColor(picture.width() - 1, 0)
        inked = [
            x
            for x in range(picture.width())
            if any(picture.pixelColor(x, y) != ground for y in range(picture.height()))
        ]
        assert inked[0] / picture.devicePixelRatio() <= 2 * scale, part
        assert part.mapTo(sheets, QPoint(0, 0)).x() == place.mapTo(sheets, QPoint(0, 0)).x()


def test_both_names_of_a_pair_are_told_in_a_narrow_line(qtbot: QtBot) -> None:
    text = PairText("label-plates-1", "label-plates-4")
    qtbot.addWidget(text)
    text.resize(170, 20)
    metrics = QFontMetrics(text.font())
    short = text.shortened(metrics)
    first, second = short.split(" = ")
    assert (first[0], first[-2:]) == ("l", "-1")
    assert (second[0], second[-2:]) == ("l", "-4")
    assert metrics.horizontalAdvance(short) <= 170
    assert pair_within("lid", "label-plates-4", metrics, 130).startswith("lid = l")
    assert pair_within("label-plates-4", "lid", metrics, 130).endswith(" = lid")
    assert pair_within("lid", "floor", metrics, 130) == "lid = floor"
