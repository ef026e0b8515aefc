"""For keys and screen readers: every part that takes keys has a name, a ring, and a place in order.

Sources: WCAG 2.2, success criteria 4.1.2 (name, role, value), 2.4.7 (focus visible),
2.1.1 (keyboard), 2.4.3 (focus order), 1.4.3 (contrast), 2.5.8 (target size, 24 by 24).
"""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from PySide6.QtCore import QPoint, QSize, Qt
from PySide6.QtGui import QAccessible, QImage
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractScrollArea,
    QApplication,
    QScrollArea,
    QWidget,
)
from pytestqt.qtbot import QtBot

from lasernest.gui.look.palette import PALETTES, contrast
from lasernest.gui.look.style import style_sheet
from lasernest.gui.look.theme import Brightness, theme
from lasernest.gui.parts.basics import Text
from lasernest.gui.tiles import Step
from lasernest.gui.window import Window
from tests.gui.helpers import wait_for

_TAKES_KEYS = Qt.FocusPolicy.TabFocus


@pytest.fixture
def sample(qtbot: QtBot, window: Window) -> Window:
    window.settings.tour_seen = True
    window.open_sample()
    wait_for(qtbot, window, "import", "joints")
    window.outlines.list.choose([window.desk.job.panels[0].name])
    return window


def _places(window: Window) -> Iterator[str]:
    """Go to every place of the window; yields its name."""
    for step in Step:
        window.go_to(step)
        QApplication.sendPostedEvents()
        yield step.value
    window.show_guide()
    yield "guide"
    window.stage.show_settings()
    yield "settings"
    window.go_to(Step.OUTLINES)
    window.search.open()
    yield "search"
    window.search.close_search()


def _focusable(window: Window) -> list[QWidget]:
    return [
        w
        for w in window.findChildren(QWidget)
        if w.isVisible() and w.isEnabled() and bool(w.focusPolicy() & _TAKES_KEYS)
    ]


def _name(widget: QWidget) -> str:
    told = QAccessible.queryAccessibleInterface(widget)
    return told.text(QAccessible.Text.Name).strip() if told is not None else ""


def test_every_part_that_takes_keys_has_a_name(sample: Window) -> None:
    nameless = set()
    for place in _places(sample):
        widgets = _focusable(sample)
        assert len(widgets) >= 5, place
        nameless |= {f"{place}: {type(w).__name__}" for w in widgets if not _name(w)}
    assert not nameless, "\n".join(sorted(nameless))


def _picture(window: Window, widget: QWidget) -> QImage:
    around = widget.rect().adjusted(-3, -3, 3, 3)
    around.translate(widget.mapTo(window, QPoint(0, 0)))
    return window.grab(around & window.rect()).toImage()


def _changed_pixels(one: QImage, other: QImage) -> int:
    assert one.size() == other.size()
    return sum(
        one.pixel(x, y) != other.pixel(x, y)
        for x in range(one.width())
        for y in range(one.height())
    )


def test_what_has_the_keys_is_seen(sample: Window) -> None:
    theme.choose(brightness=Brightness.LIGHT)
    unseen = set()
    for place in _places(sample):
        if place == "search":
            continue  # its field is the only one and loses the search when it loses the keys
        for widget in _focusable(sample):
            if widget.focusProxy() is not None or widget.visibleRegion().isEmpty():
                continue
            sample.setFocus()
            without = _picture(sample, widget)
            widget.setFocus(Qt.FocusReason.TabFocusReason)
            if not widget.hasFocus():
                continue
            edge = min(widget.width(), widget.height())
            if _changed_pixels(without, _picture(sample, widget)) < edge:
                unseen.add(f"{place}: {type(widget).__name__} {_name(widget)}")
    assert not unseen, "\n".join(sorted(unseen))


def test_tab_goes_through_the_tiles_and_down_the_card(qtbot: QtBot, sample: Window) -> None:
    sample.go_to(Step.SHEETS)
    sample.tiles.tiles[Step.SHEETS].setFocus(Qt.FocusReason.TabFocusReason)
    seen: list[QWidget] = []
    for _ in range(60):
        focused = sample.focusWidget()
        assert focused is not None
        if seen and focused is seen[0]:
            break
        seen.append(focused)
        sample.focusNextPrevChild(True)
    else:
        pytest.fail("Tab does not come round")
    card = [w for w in seen if sample.sheets.card.isAncestorOf(w)]
    assert sample.sheets.settings.stock in card
    assert sample.sheets.main_button in card
    tops = [w.mapTo(sample, QPoint(0, 0)).y() for w in card if w.isVisible()]
    settings = tops[: card.index(sample.sheets.settings.grain) + 1]
    assert settings == sorted(settings)
    chosen = sample.tiles.tiles[Step.SHEETS]
    assert seen.index(chosen) < seen.index(sample.sheets.settings.stock)
    chosen.setFocus(Qt.FocusReason.TabFocusReason)
    qtbot.keyClick(chosen, Qt.Key.Key_Right)  # the tiles are one stop; arrows go among them
    assert sample.tiles.tiles[Step.CUT_FILE].hasFocus()


def _scroller(widget: QWidget) -> QWidget | None:
    """What scrolls it."""
    above = widget.parentWidget()
    while above is not None and not isinstance(above, QAbstractScrollArea):
        above = above.parentWidget()
    return above


def test_what_is_pressed_is_large_enough(sample: Window) -> None:
    """24 by 24, or so much room around it that a circle of 24 meets no other target."""
    small = set()
    for place in _places(sample):
        pressed = [w for w in _focusable(sample) if isinstance(w, QAbstractButton)]
        boxes = {w: (w.mapTo(sample, w.rect().center()), w.size()) for w in pressed}
        for widget, (centre, size) in boxes.items():
            if size.width() >= 24 and size.height() >= 24:
                continue
            for other, (there, its) in boxes.items():
                if other is widget or other.isAncestorOf(widget):
                    continue
                if widget.visibleRegion().isEmpty() and _scroller(widget) is not _scroller(other):
                    continue  # scrolled out of sight, it lies under what does not scroll
                apart_x = abs(there.x() - centre.x()) - its.width() / 2
                apart_y = abs(there.y() - centre.y()) - its.height() / 2
                if max(apart_x, apart_y) < 12:
                    small.add(f"{place}: {_name(widget)} {size.width()}x{size.height()}")
    assert not small, "\n".join(sorted(small))


def test_borders_of_fields_and_the_ring_stand_out() -> None:
    """WCAG 2.2, 1.4.11: what tells a control or its state has 3:1 against its neighbour."""
    poor = []
    for p in PALETTES:
        pairs = [
            ("ring on card", p.accent, p.card),
            ("ring on paper", p.accent, p.paper),
            ("ring on the board", p.accent, p.board),
            ("ring on what is chosen", p.accent, p.chosen),
            ("wrong field", p.bad, p.card),
            ("main button", p.accent_ground, p.card),
        ]
        if "high contrast" in p.name:
            pairs += [
                ("field", p.field_border, p.card),
                ("card", p.card_border, p.paper),
                ("question", p.question_border, p.card),
                ("error", p.bad_border, p.card),
            ]
        poor += [f"{p.name}: {name}" for name, a, b in pairs if contrast(a, b) < 3.0]
    assert poor == []


def test_the_style_uses_no_colour_beside_the_palette() -> None:
    """So that the contrast of texts, worked out from the palette, is that of the window."""
    for p in PALETTES:
        named = {getattr(p, name) for name in p.__dataclass_fields__}
        used = {word.strip(";,") for word in style_sheet(p).split() if word.startswith("#")}
        assert used <= named


@pytest.mark.parametrize(
    ("size", "scale"),
    [(QSize(1280, 800), 1.5), (QSize(920, 600), 1.0), (QSize(1366, 768), 2.0)],
)
def test_larger_text_stays_within_the_window(
    qtbot: QtBot, sample: Window, size: QSize, scale: float
) -> None:
    """WCAG 2.2, success criterion 1.4.4: text grows to 200 % without loss of content."""
    theme.choose(text_scale=scale)
    sample.resize(size)
    qtbot.waitUntil(lambda: not theme.rooms.busy, timeout=20_000)
    for place in _places(sample):
        inside = sample.rect().adjusted(-1, -1, 1, 1)
        assert sample.width() <= max(size.width(), sample.minimumSizeHint().width()), place
        for part in (sample.tiles, sample.menu_tile, sample.stage, sample.status):
            box = part.rect()
            box.translate(part.mapTo(sample, QPoint(0, 0)))
            assert inside.contains(box), place
        wrong = [
            text.text()
            for text in sample.findChildren(Text)
            if text.isVisible() and text.dressed_wrong
        ]
        assert wrong == [], place


@pytest.mark.parametrize("size", [QSize(1280, 800), QSize(1366, 768)])
def test_no_page_scrolls_sideways_with_text_twice_as_large(sample: Window, size: QSize) -> None:
    """WCAG 2.2, 1.4.10: pages reflow. The strip of small plans is a row on purpose."""
    theme.choose(text_scale=2.0)
    sample.resize(size)
    sample.show_compare()
    sideways = set()
    for place in ("compare", *_places(sample)):
        for area in sample.stage.findChildren(QScrollArea):
            bar = area.horizontalScrollBar()
            if area.isVisible() and bar.maximum() > 0 and area.widget() is not None:
                sideways.add(f"{place}: {type(area).__name__} {bar.maximum()}")
    assert not sideways, "\n".join(sorted(sideways))
