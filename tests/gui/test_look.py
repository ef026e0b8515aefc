"""Colours and type. Source of the contrast rules: WCAG 2.1, 1.4.3 and 1.4.11."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QObject
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QLabel,
    QLineEdit,
    QMenu,
    QWidget,
)
from pytestqt.qtbot import QtBot

from lasernest.gui.look.palette import (
    LIGHT,
    PALETTES,
    Palette,
    contrast,
    line_pairs,
    luminance,
    palette_for,
    text_pairs,
)
from lasernest.gui.look.theme import Brightness, TextSize, theme
from lasernest.gui.parts.basics import Text
from lasernest.gui.settings import Settings
from lasernest.gui.tiles import Step
from lasernest.gui.window import Window
from lasernest.services.workbench import Workbench


def test_contrast_of_black_on_white_is_21() -> None:
    # WCAG 2.1, definition of contrast ratio: ranges from 1 to 21.
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#777777", "#777777") == pytest.approx(1.0)


def test_luminance_of_the_primaries() -> None:
    # The weights of the sRGB primaries, IEC 61966-2-1.
    assert [luminance(c) for c in ("#ff0000", "#00ff00", "#0000ff")] == pytest.approx(
        [0.2126, 0.7152, 0.0722]
    )


@pytest.mark.parametrize("palette", PALETTES, ids=lambda p: p.name)
def test_text_can_be_read_on_every_ground(palette: Palette) -> None:
    least = 7.0 if "high contrast" in palette.name else 4.5
    poor = [(name, contrast(a, b)) for name, a, b in text_pairs(palette) if contrast(a, b) < least]
    assert poor == []


@pytest.mark.parametrize("palette", PALETTES, ids=lambda p: p.name)
def test_lines_stand_out_from_their_ground(palette: Palette) -> None:
    poor = [(name, contrast(a, b)) for name, a, b in line_pairs(palette) if contrast(a, b) < 3.0]
    assert poor == []


def test_each_brightness_and_contrast_has_its_own_palette() -> None:
    made = {palette_for(dark=d, high_contrast=h).name for d in (False, True) for h in (False, True)}
    assert len(made) == 4
    assert palette_for(dark=False, high_contrast=False) is LIGHT


def test_theme_changes_palette_and_tells(qtbot: object) -> None:
    heard: list[str] = []
    theme.changed.connect(lambda: heard.append(theme.palette.name))
    theme.choose(brightness=Brightness.DARK)
    theme.choose(high_contrast=True)
    assert heard == ["dark", "dark, high contrast"]


def test_text_scale_grows_type_and_sizes() -> None:
    theme.choose(text_scale=1.5)
    assert theme.font(TextSize.SMALL).pixelSize() == 18
    assert theme.pixels(10) == 15


@pytest.mark.parametrize("scale", [1.0, 1.5])
def test_first_words_are_never_clipped(qtbot: QtBot, window: Window, scale: float) -> None:
    theme.choose(text_scale=scale)
    for step in Step:
        window.go_to(step)
        words = [t for t in window.board.findChildren(Text) if t.isVisible() and t.wordWrap()]
        qtbot.waitUntil(
            lambda words=words: all(t.height() >= t.heightForWidth(t.width()) for t in words)
        )
    assert words


def test_every_part_of_a_window_is_in_just_one_room(window: Window) -> None:
    window.show_guide()
    window.stage.show_settings()
    kinds = (QAbstractButton, QLabel, QLineEdit, QMenu, QAbstractItemView)
    parts = [w for w in window.findChildren(QWidget) if isinstance(w, kinds)]
    assert len(parts) > 200
    assert {_rooms_around(part) for part in parts} == {1}


def test_dialogs_are_dressed_as_the_board_is(qtbot: QtBot) -> None:
    window = Window(Workbench(), Settings())
    qtbot.addWidget(window)
    assert _rooms_around(window.asking.over) == 1
    window.close()


def _rooms_around(part: QObject | None) -> int:
    """How many parts with a style sheet hold this one or are it."""
    count = 0
    while part is not None:
        count += isinstance(part, QWidget) and bool(part.styleSheet())
        part = part.parent()
    return count


def test_rooms_in_sight_are_dressed_first_and_the_others_when_shown(
    qtbot: QtBot, window: Window
) -> None:
    window.go_to(Step.SHEETS)
    sheets, joints, kerf = (p.card.heading for p in (window.sheets, window.joints, window.kerf))
    before = joints.styleSheet()
    assert sheets.styleSheet() == before
    theme.choose(brightness=Brightness.DARK, text_scale=1.5)
    qtbot.waitUntil(lambda: sheets.styleSheet() != before)
    assert joints.styleSheet() == before
    assert not sheets.dressed_wrong
    assert joints.dressed_wrong
    window.go_to(Step.JOINTS)
    assert joints.styleSheet() == sheets.styleSheet()
    assert not joints.dressed_wrong
    assert theme.rooms.busy
    qtbot.waitUntil(lambda: not theme.rooms.busy)
    assert kerf.styleSheet() == sheets.styleSheet()
